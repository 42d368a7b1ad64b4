"""Pumps, buses and valves that fail, each by itself: what it does to the feed, and why.

Masses are held against sums by hand, flows against the loss law of one line solved by hand,
unless a test says something else.
"""

import math

import pytest

from fuelkit.aircraft.load import aircraft_from
from fuelkit.flight.failures import Failure
from fuelkit.flight.fly import fly
from fuelkit.flight.reasons import why
from fuelkit.flight.sector import Action
from fuelkit.physics.units import HOUR, STANDARD_GRAVITY
from tests.flight.situations import (
    CENTRE,
    INBOARD,
    LEFT,
    changed,
    flown,
    loaded_first,
    phase,
    sector_of,
    started,
    switched,
    unaccounted,
    without_returns,
)

GRAM = 1e-3


# --------------------------------------------------------------------------------------- pumps
def test_with_one_pump_failed_the_other_feeds_the_engine_from_the_same_tank(halbrook):
    """The engine notices nothing, and its tank loses what it lost before."""
    failed = Failure(600.0, LEFT[0], "failed")
    flight, sound = flown(halbrook, failed), flown(halbrook)
    assert flight.position(LEFT[0], 600.0) == "FAIL" and flight.position(LEFT[0], 599.0) == "RUN"
    assert flight.feeding("engine 1", 2000.0) == {"left inboard": pytest.approx(1.0)}
    assert flight.samples([3600.0]) == pytest.approx(sound.samples([3600.0]), abs=1e-6)
    text = why(flight, LEFT[0], 2000.0)
    assert text == (
        "Left inboard forward pump is FAIL since 0:10:00, because it has failed. "
        "Behind it: left inboard forward pump failed at 0:10:00."
    )


def test_with_both_pumps_failed_low_down_the_engine_draws_by_gravity(halbrook):
    """1500 kg/h for the engine and 480 kg/h for its hot return still come out of its tank."""
    both = [Failure(600.0, name, "failed") for name in LEFT]
    flight = flown(halbrook, *both)
    assert flight.position("engine 1", 3600.0) == "RUN"
    assert flight.feeding("engine 1", 2000.0) == {"left inboard": pytest.approx(1.0)}
    (flows,) = [f.flows for f in flight.flows(2000.0) if "left gravity feed valve" in f.flows]
    assert flows["left gravity feed valve"] * HOUR == pytest.approx(1500.0 + 480.0, abs=0.01)
    lost = flight.quantity("left inboard", 1000.0) - flight.quantity("left inboard", 3000.0)
    assert lost == pytest.approx((1500.0 + 480.0) * 2000.0 / HOUR, abs=0.01)


def test_a_centre_pump_that_fails_leaves_its_engine_to_the_inboard_pumps(halbrook):
    """The other engine goes on from the centre tank."""
    flight = flown(
        halbrook, Failure(2000.0, CENTRE[0], "failed"), total=12_000.0, pumps=INBOARD + CENTRE
    )
    time = 2100.0
    assert flight.feeding("engine 1", 1900.0) == {"centre": pytest.approx(1.0)}
    assert flight.feeding("engine 1", time) == {"left inboard": pytest.approx(1.0)}
    assert flight.feeding("engine 2", time) == {"centre": pytest.approx(1.0)}


# -------------------------------------------------------------------------- electrical buses
def test_a_dead_bus_stops_its_pumps_and_leaves_its_valves_where_they_are(halbrook):
    """The left bus drives one pump of each side, the left centre pump and three valves."""
    flight = flown(
        halbrook, Failure(600.0, "left bus", "failed"),
        actions=(Action(900.0, switched("on", "crossfeed")),),
    )  # fmt: skip
    for pump in halbrook.pumps:
        asked = pump.name in INBOARD
        state = "RUN" if asked and pump.bus == "right bus" else "OFF"
        assert flight.position(pump.name, 700.0) == state
    assert flight.position("crossfeed valve", 3600.0) == "SHUT"
    assert flight.position("engine 1 shut-off valve", 3600.0) == "OPEN"
    assert flight.position("Left bus is dead", 700.0) == "SHOWN"
    assert why(flight, LEFT[0], 700.0) == (
        "Left inboard forward pump is OFF since 0:10:00, because the left bus is dead. "
        "Behind it: left bus failed at 0:10:00."
    )


def test_a_bus_that_dies_while_a_valve_travels_leaves_it_half_open(halbrook):
    """The crossfeed takes 6 s; its bus dies after 3 s, and no switch moves it any more."""
    flight = flown(
        halbrook, Failure(103.0, "left bus", "failed"),
        actions=(
            Action(100.0, switched("on", "crossfeed")),
            Action(200.0, switched("off", "crossfeed")),
        ),
    )  # fmt: skip
    assert flight.position("crossfeed valve", 102.0) == "MOVING"
    assert {flight.position("crossfeed valve", t) for t in (103.0, 150.0, 3600.0)} == {"HALF OPEN"}
    assert "left bus failed at 0:01:43" in why(flight, "crossfeed valve", 3600.0)


def test_with_both_buses_dead_both_engines_draw_by_gravity(halbrook):
    """No pump runs, and near the ground both engines keep running."""
    dead = [Failure(600.0, f"{side} bus", "failed") for side in ("left", "right")]
    flight = flown(halbrook, *dead)
    assert not [p.name for p in halbrook.pumps if flight.position(p.name, 700.0) == "RUN"]
    assert [flight.position(f"engine {n}", 3600.0) for n in (1, 2)] == ["RUN", "RUN"]
    assert abs(unaccounted(flight, 3600.0)) < GRAM


# ------------------------------------------------------------------------------- stuck valves
@pytest.mark.parametrize("state", ["SHUT", "HALF OPEN", "OPEN"])
def test_a_stuck_valve_goes_to_its_state_and_no_switch_moves_it(halbrook, state):
    """Whatever the crew set, it stays; the reason leads back to the failure."""
    flight = flown(
        halbrook, Failure(300.0, "crossfeed valve", "stuck", state=state),
        actions=(
            Action(600.0, switched("on", "crossfeed")),
            Action(1200.0, switched("off", "crossfeed")),
        ),
    )  # fmt: skip
    assert {flight.position("crossfeed valve", float(t)) for t in range(300, 3600, 60)} == {state}
    if state == "SHUT":  # where it was: no change, so the failure itself is told
        assert why(flight, "crossfeed valve", 700.0) == (
            "Crossfeed valve is SHUT since the start. It is stuck there since 0:05:00."
        )
    else:
        assert why(flight, "crossfeed valve", 700.0) == (
            f"Crossfeed valve is {state} since 0:05:00, because it is stuck there. "
            "Behind it: crossfeed valve stuck at 0:05:00."
        )


def test_a_valve_that_sticks_on_its_way_stays_half_open(halbrook):
    """Sent to OPEN at 100 s with 6 s to go, it sticks at 104 s."""
    flight = flown(
        halbrook, Failure(104.0, "crossfeed valve", "stuck"),
        actions=(Action(100.0, switched("on", "crossfeed")),),
    )  # fmt: skip
    assert flight.position("crossfeed valve", 103.9) == "MOVING"
    assert flight.position("crossfeed valve", 104.0) == "HALF OPEN"
    assert flight.position("crossfeed valve", 3600.0) == "HALF OPEN"


def gravity_flow(valve, fall, factor=1.0, pressure=0.0, density=800.0):
    """Flow through a line by hand: the loss f·q + factor·R·q² takes up the whole drive [kg/s]."""
    joins_tanks = valve.inlet is not None and valve.outlet is not None
    friction = max(1.0, (0.05 if joins_tanks else 0.002) * valve.resistance)
    drive = density * STANDARD_GRAVITY * fall + pressure
    quadratic = factor * valve.resistance
    return (-friction + math.sqrt(friction**2 + 4.0 * quadratic * drive)) / (2.0 * quadratic)


@pytest.mark.parametrize(("state", "factor"), [("OPEN", 1.0), ("HALF OPEN", 16.0)])
def test_fuel_runs_through_a_stuck_transfer_valve_by_its_loss_law(cells_first, state, factor):
    """Half open it loses 16 times as much pressure: about a quarter of the flow."""
    stuck = Failure(5.0, "left transfer valve", "stuck", state=state)
    flight = fly(cells_first, sector_of(cells_first, 5200.0, (), (stuck,), end=60.0))
    valve, time = cells_first.by_name["left transfer valve"], 10.0
    fills = [flight.quantity(n, time) / 800.0 for n in ("left outboard", "left inboard")]
    levels = [
        cells_first.tank(n).levels.level_of(v)
        for n, v in zip(("left outboard", "left inboard"), fills, strict=True)
    ]
    fall = levels[0] - max(levels[1], valve.outlet[2])
    assert fall > 0.05
    flows = {name: q for flow in flight.flows(time) for name, q in flow.flows.items()}
    expected = gravity_flow(valve, fall, factor)
    assert flows["left transfer valve"] == pytest.approx(expected, rel=1e-6)
    assert not flows["right transfer valve"]


@pytest.mark.parametrize("state", ["SHUT", "OPEN"])
def test_a_stuck_shut_off_valve_stops_the_engine_or_keeps_its_line_open(halbrook, state):
    """Stuck SHUT the engine finds no fuel; stuck OPEN the lever still ends its burning."""
    flight = flown(
        halbrook, Failure(600.0, "engine 1 shut-off valve", "stuck", state=state),
        actions=(Action(1200.0, (("engine 1 fuel lever", "cut-off"),)),),
    )  # fmt: skip
    assert flight.position("engine 1", 700.0) == {"SHUT": "OFF", "OPEN": "RUN"}[state]
    assert flight.position("engine 1", 1300.0) == "OFF"
    assert flight.position("engine 1 shut-off valve", 1300.0) == state
    assert flight.position("engine 2", 1300.0) == "RUN"
    if state == "SHUT":
        assert "engine 1 shut-off valve stuck at 0:10:00" in why(flight, "engine 1", 700.0)


def test_a_refuelling_valve_stuck_shut_leaves_its_tank_as_it_was(halbrook):
    """The other tanks get their order; what is missing is what this tank was to get."""
    opened = (Action(20.0, (("refuel panel", "open"),), 9000.0),)
    stuck = Failure(0.0, "right inboard refuel valve", "stuck")
    flight = fly(halbrook, sector_of(halbrook, 5000.0, opened, (stuck,), end=1800.0))
    assert flight.quantity("right inboard", 1800.0) == flight.quantity("right inboard", 0.0)
    assert flight.quantity("left inboard", 1800.0) > flight.quantity("right inboard", 1800.0) + 500


# ---------------------------------------------------------------- check valves and flap valves
def test_a_gravity_valve_stuck_shut_starves_an_engine_without_pumps(halbrook):
    """Both pumps fail with the gravity feed valve stuck: no way is left."""
    failures = [Failure(300.0, "left gravity feed valve", "stuck", state="SHUT")]
    failures += [Failure(600.0, name, "failed") for name in LEFT]
    flight = flown(halbrook, *failures)
    assert flight.position("engine 1", 599.0) == "RUN"
    assert changed(flight, "engine 1", "STARVED").time == 600.0
    assert flight.position("engine 1 hot return", 601.0) == "SHUT"
    text = why(flight, "engine 1", 700.0)
    assert text.startswith("Engine 1 is STARVED since 0:10:00, because no fuel reaches it.")
    assert "left inboard aft pump failed at 0:10:00" in text


def test_a_gravity_valve_stuck_open_lets_pumped_fuel_back_into_the_tank(centre_first):
    """The centre pumps then fill the left inboard tank: what it gains the centre tank loses."""
    stuck = Failure(600.0, "left gravity feed valve", "stuck", state="OPEN")
    pumps = INBOARD + CENTRE
    flight = flown(centre_first, stuck, total=10_000.0, pumps=pumps, end=900.0, burn=1000.0)
    sound = flown(centre_first, total=10_000.0, pumps=pumps, end=900.0, burn=1000.0)
    flows = {name: q for flow in flight.flows(610.0) for name, q in flow.flows.items()}
    back = -flows["left gravity feed valve"]
    assert back * HOUR > 2000.0
    back -= flows[LEFT[0]] + flows[LEFT[1]]  # what its own pumps only send round
    span = 60.0
    gain = flight.quantity("left inboard", 600.0 + span) - flight.quantity("left inboard", 600.0)
    usual = sound.quantity("left inboard", 600.0 + span) - sound.quantity("left inboard", 600.0)
    assert gain - usual == pytest.approx(back * span, rel=2e-3)  # the pressure follows the levels
    lost = sound.quantity("centre", 660.0) - flight.quantity("centre", 660.0)
    assert lost == pytest.approx(gain - usual, abs=0.01)
    assert abs(unaccounted(flight, 900.0)) < GRAM


def test_a_sequence_valve_stuck_shut_takes_its_pump_out_of_use(halbrook):
    """With the other pump of the side failed too, the engine is back to gravity."""
    failures = (
        Failure(300.0, "left aft sequence valve", "stuck", state="SHUT"),
        Failure(600.0, LEFT[0], "failed"),
    )
    flight = flown(halbrook, *failures)
    assert flight.position(LEFT[1], 700.0) == "RUN"  # it turns, and nothing leaves it
    flows = {name: q for flow in flight.flows(700.0) for name, q in flow.flows.items()}
    assert flows[LEFT[1]] == 0.0
    assert flows["left gravity feed valve"] * HOUR == pytest.approx(1980.0, abs=0.01)


def test_a_sequence_valve_stuck_open_opens_without_its_spring(halbrook):
    """30 kPa less to overcome: its pump gives all the fuel and the other one none."""
    stuck = Failure(300.0, "left aft sequence valve", "stuck", state="OPEN")
    flight = flown(halbrook, stuck)
    flows = {name: q for flow in flight.flows(700.0) for name, q in flow.flows.items()}
    assert flows[LEFT[1]] * HOUR == pytest.approx(1980.0, abs=0.01) and flows[LEFT[0]] == 0.0


def test_a_flap_valve_stuck_shut_cuts_a_collector_off_from_its_bay(content):
    """The inner tank runs dry while fuel stands in the cell beside it: not a gram comes over."""
    flapped = aircraft_from(with_flap(without_returns(loaded_first(content, "left outboard"))))
    stuck = Failure(10.0, "left flap valve", "stuck", state="SHUT")
    sound, cut = (
        fly(flapped, sector_of(flapped, 3000.0, started(*INBOARD), f, end=2700.0))
        for f in ((), (stuck,))
    )
    assert sound.quantity("left outboard", 2700.0) < sound.quantity("left outboard", 0.0) - 300.0
    assert cut.quantity("left outboard", 10.0) == cut.quantity("left outboard", 2700.0) > 600.0
    starved = changed(cut, "engine 1", "STARVED")
    assert 10.0 < starved.time < 2700.0 and sound.position("engine 1", 2700.0) == "RUN"


def test_a_flap_valve_stuck_open_lets_a_collector_run_back_at_an_attitude(content):
    """Left wing down, fuel runs outboard through the stuck flap and not through a sound one."""
    flapped = aircraft_from(with_flap(content))
    stuck = Failure(10.0, "left flap valve", "stuck", state="OPEN")
    level, tilted = phase(), phase(60.0, roll=-5.0)
    flights = [
        fly(flapped, sector_of(flapped, 3000.0, (), f, end=5400.0, phases=(level, tilted)))
        for f in ((), (stuck,))
    ]
    changes = [
        f.quantity("left outboard", 900.0) - f.quantity("left outboard", 60.0) for f in flights
    ]
    assert changes[0] == pytest.approx(0.0, abs=1e-6)
    assert changes[1] > 50.0
    # in the end one surface stands in both, as high as the plane of the tilted flight says
    final = flights[1].levels(5400.0)
    names = flights[1].quantities.tanks
    outboard, inboard = (final[names.index(f"left {w}")] for w in ("outboard", "inboard"))
    assert outboard == pytest.approx(inboard, abs=2e-3)


@pytest.fixture
def cells_first(content):
    """The aircraft with its outboard cells loaded before the inboard tanks."""
    return aircraft_from(loaded_first(content, "left outboard"))


@pytest.fixture
def centre_first(content):
    """The aircraft with its centre tank loaded before the wings."""
    return aircraft_from(loaded_first(content, "centre"))


def with_flap(content):
    """Return the content with a flap valve in the place of the left transfer valve."""
    valve = next(v for v in content["valves"] if v["name"] == "left transfer valve")
    content["valves"].remove(valve)
    content["check_valves"].append({
        "name": "left flap valve", "from": "left outboard", "to": "left inboard",
        "inlet": valve["inlet"], "outlet": valve["outlet"],
        "loss_kpa": 1.2, "loss_at_kg_h": 2500, "at": valve["at"],
    })  # fmt: skip
    for rule in content["rules"]:
        rule["set"].pop("left transfer valve", None)
    for alert in content["alerts"]:
        alert["any"] = [f for f in alert.get("any", []) if "left transfer" not in f]
        alert.pop("any") if not alert["any"] else None
    return content
