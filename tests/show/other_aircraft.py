"""Aircraft unlike the course's own, made up for the tests.

One to four engines, with or without an APU, with wing tanks or a single tank in the middle.
"""

from dataclasses import replace

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.fly import fly
from fuelkit.flight.sector import load_sector, sector_from


def made_up(engines, *, apu=False, middle_tank=False, narrow=False, more_tanks=()):
    """Return an aircraft with that many engines, a pump and a shut-off valve for each.

    more_tanks : tuple of dict
        Tanks beside those that feed the engines.
    """
    tanks = [_tank("middle", -1.5, 1.5)] if middle_tank else [
        _tank("port wing", -2.0 if narrow else -9.0, -1.0),
        _tank("starboard wing", 1.0, 2.0 if narrow else 9.0),
    ]  # fmt: skip
    names = [tank["name"] for tank in tanks]
    content = {
        "schema": 2, "name": f"Trial {engines}", "identifier": f"trial-{engines}",
        "summary": "Made up.", "source": "Made up for a test.",
        "attitude": {"rewet_height_m": 0.01},
        "tanks": [*tanks, *more_tanks],
        "loading": {"order": [names]},
        "overflows": [{"name": f"{n} overflow", "from": n, "to": "overboard"}
                      for n in (*names, *(tank["name"] for tank in more_tanks))],
        "refuelling": {"coupling": "coupling", "pressure_kpa": 300, "at": [1200, 70]},
    }  # fmt: skip
    users = [f"engine {k + 1}" for k in range(engines)] + (["APU"] if apu else [])
    for key in ("junctions", "pumps", "valves", "consumers", "switches", "rules"):
        content[key] = []
    for place, user in enumerate(users):
        _add_line(content, user, place, len(users), names)
    content["rules"] = sorted(content["rules"], key=lambda rule: rule["name"])
    return aircraft_from(content, "made up")


def many_tanks():
    """Return an aircraft with four tanks out along each wing and four in the fuselage."""
    wing = [
        _tank(f"{side} cell {i}", sign * 2.0 * i, sign * 2.0 * (i + 1))
        for sign, side in ((-1, "port"), (1, "starboard"))
        for i in (1, 2, 3)
    ]
    body = [_tank(f"body {i}", -1.0, 1.0, x=20.0 + 5.0 * i) for i in range(4)]
    return made_up(2, narrow=True, more_tanks=(*wing, *body))


def _tank(name, inner, outer, *, x=10.0):
    inner, outer = sorted((inner, outer))
    ribs = [
        {"y": y, "front": [x, -1.0 + 0.05 * abs(y), -0.4 + 0.03 * abs(y)],
         "rear": [x + 2.0, -0.95 + 0.05 * abs(y), -0.45 + 0.03 * abs(y)]}
        for y in (inner, outer)
    ]  # fmt: skip
    return {
        "name": name, "title": f"{name} tank".capitalize(), "ribs": ribs,
        "expansion_space_percent": 2.5, "refuel_limit_percent": 96.0,
    }  # fmt: skip


def _add_line(content, user, place, count, tanks):
    """One consumer with its tank, pump, shut-off valve and switch."""
    side = place * len(tanks) // count
    x = 230 + 820 * (place + 0.5) / count
    inner, outer = sorted((rib["y"] for rib in content["tanks"][side]["ribs"]), key=abs)
    y = 0.9 * inner + 0.1 * outer
    content["junctions"] += [
        {"name": f"{user} delivery", "position": [12.0, 0.0, -1.0], "at": [x, 420]},
        {"name": f"{user} inlet", "position": [11.0, 0.0, -1.2], "at": [x, 560]},
    ]
    content["pumps"].append({
        "name": f"{user} pump", "kind": "boost", "from": tanks[side], "to": f"{user} delivery",
        "inlet": [11.0, y, -0.9 + 0.05 * abs(y)],
        "curve": [[0, 200], [2000, 180], [4000, 120]], "at": [x, 340],
    })  # fmt: skip
    content["valves"].append({
        "name": f"{user} shut-off valve", "from": f"{user} delivery", "to": f"{user} inlet",
        "loss_kpa": 20, "loss_at_kg_h": 2000, "travel_s": 2, "at": [x, 500],
    })  # fmt: skip
    consumer = {"name": user, "kind": "APU" if user == "APU" else "engine",
                "from": f"{user} inlet", "at": [x, 623]}  # fmt: skip
    content["consumers"].append(consumer | ({"burn_kg_h": 100} if user == "APU" else {}))
    content["switches"].append({"name": f"{user} switch", "positions": ["off", "on"]})
    content["rules"].append({
        "name": f"{user} selected", "all": [f"{user} switch is on"],
        "set": {f"{user} pump": "RUN", f"{user} shut-off valve": "OPEN"},
        "because": "it is selected",
    })  # fmt: skip
    content["rules"].append({
        "name": f"{user} alight", "all": [f"{user} shut-off valve is OPEN"], "after_s": 5,
        "set": {user: "RUN"}, "because": "it has fuel",
    })  # fmt: skip


def short_sector(aircraft):
    """Return ten minutes on which everything is switched on after one."""
    switches = {switch.name: "on" for switch in aircraft.switches}
    return sector_from({
        "schema": 1, "name": "Trial", "identifier": "trial", "aircraft": aircraft.identifier,
        "departure": "XEAM", "destination": "XPTL", "source": "Made up for a test.",
        "load": {"total_kg": 1500, "density_15_kg_m3": 800.0, "fuel_temperature_c": 15.0},
        "phases": [{"name": "stand", "from": "0:00:00", "burn_kg_h": 400}],
        "actions": [{"at": "0:01:00", "set": switches}],
        "end": {"at": "0:10:00"},
    }, aircraft, "made up")  # fmt: skip


def flown(aircraft, name, failures, end):
    """The first part of a sector of the kit, with failures."""
    sector = load_sector(name, aircraft)
    phases = tuple(phase for phase in sector.phases if phase.start < end)
    actions = tuple(action for action in sector.actions if action.time < end)
    return fly(
        aircraft, replace(sector, failures=failures, end=end, phases=phases, actions=actions)
    )
