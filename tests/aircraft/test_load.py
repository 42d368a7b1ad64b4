"""What the loader promises of a sound file, and of single typical mistakes in one."""

from dataclasses import FrozenInstanceError, fields, is_dataclass

import numpy as np
import pytest

from fuelkit.aircraft.load import aircraft_file, aircraft_from, load_aircraft
from fuelkit.aircraft.reading import DataFileError


def part(content, section, name):
    """Return the table of one part."""
    return next(table for table in content[section] if table["name"] == name)


def faults_of(content):
    """Return what the loader finds wrong with a content."""
    with pytest.raises(DataFileError) as caught:
        aircraft_from(content, "halbrook-180.toml")
    return caught.value.faults


# ------------------------------------------------------------------------------- a sound file
def test_the_course_s_aircraft_loads(halbrook):
    """Tanks, pumps and the rest are there, as many as the file has."""
    assert halbrook.name == "Halbrook 180"
    assert [t.name for t in halbrook.tanks if t.holds_fuel] == [
        "left outboard", "left inboard", "centre", "right inboard", "right outboard",
    ]  # fmt: skip
    assert (len(halbrook.pumps), len(halbrook.consumers), len(halbrook.returns)) == (6, 3, 2)


def test_two_loads_give_equal_aircraft(halbrook):
    """Nothing is left over from one load to the next."""
    assert load_aircraft("halbrook-180") == halbrook
    assert load_aircraft("halbrook-180").fingerprint == halbrook.fingerprint


def test_an_own_file_loads_by_its_path(tmp_path, halbrook):
    """An instructor's file is read like the kit's own."""
    own = tmp_path / "own aircraft.toml"
    own.write_bytes(aircraft_file("halbrook-180").read_bytes())
    assert load_aircraft(own) == halbrook == load_aircraft(str(own))


def test_right_tanks_are_mirror_images_of_the_left_ones(halbrook):
    """Equal volume at every level, opposite y."""
    for name in ("outboard", "inboard", "surge"):
        left, right = halbrook.tank(f"left {name}"), halbrook.tank(f"right {name}")
        assert right.levels.capacity == pytest.approx(left.levels.capacity, rel=1e-12)
        low, high = left.levels.heights[[0, -1]]
        for level in np.linspace(low, high, 11):
            assert right.levels.volume_below(level) == pytest.approx(
                left.levels.volume_below(level), rel=1e-12, abs=1e-12
            )
        assert np.abs(right.solid[..., 1]).min() == np.abs(left.solid[..., 1]).min()
        assert right.solid[..., 1].min() > 0.0 > left.solid[..., 1].max()


def test_every_fuel_tank_keeps_its_expansion_space(halbrook):
    """At least 2 % of its capacity: 14 CFR 25.969; it cannot be filled by refuelling."""
    for tank in (t for t in halbrook.tanks if t.holds_fuel):
        assert tank.highest_volume <= 0.98 * tank.levels.capacity
        assert tank.refuelled_volume <= tank.highest_volume


def test_an_aircraft_is_frozen_in_every_part(halbrook):
    """Assigning to any field of any part raises."""
    waiting, seen = [halbrook], 0
    while waiting:
        thing = waiting.pop()
        seen += 1
        for field in fields(thing):
            value = getattr(thing, field.name)
            with pytest.raises(FrozenInstanceError):
                setattr(thing, field.name, value)
            items = value if isinstance(value, tuple) else (value,)
            waiting += [item for item in items if is_dataclass(item)]
    assert seen > 150


# ---------------------------------------------------------------------------- single mistakes
def missing(content):
    """Make the mistake: missing."""
    del part(content, "pumps", "left centre pump")["inlet"]


def retyped(content):
    """Make the mistake: retyped."""
    content["attitude"]["rewet_height_m"] = "ten"


def unknown_field(content):
    """Make the mistake: unknown field."""
    part(content, "valves", "crossfeed valve")["travels_s"] = 6


def too_little_expansion(content):
    """Make the mistake: too little expansion."""
    part(content, "tanks", "centre")["expansion_space_percent"] = 1.5


def mirror_too_little_expansion(content):
    """Make the mistake: mirror too little expansion."""
    part(content, "tanks", "right surge")["holds_fuel"] = True


def refuelled_too_far(content):
    """Make the mistake: refuelled too far."""
    part(content, "tanks", "centre")["refuel_limit_percent"] = 99


def crossed_ribs(content):
    """Make the mistake: crossed ribs."""
    part(content, "tanks", "left outboard")["ribs"][0]["front"] = [19.5, -0.640, -0.300]


def ribs_in_one_place(content):
    """Make the mistake: ribs in one place."""
    for rib in part(content, "tanks", "centre")["ribs"]:
        rib["y"] = 0.0


def one_rib(content):
    """Make the mistake: one rib."""
    del part(content, "tanks", "left outboard")["ribs"][1]


def rising_curve(content):
    """Make the mistake: rising curve."""
    part(content, "pumps", "left centre pump")["curve"] = [[0, 250], [3000, 322], [6000, 345]]


def curve_in_words(content):
    """Make the mistake: curve in words."""
    part(content, "pumps", "left centre pump")["curve"] = [["0", "345"], ["1", "2"], ["2", "1"]]


def curve_bent_up(content):
    """Make the mistake: curve bent up."""
    part(content, "pumps", "left centre pump")["curve"] = [[0, 345], [3000, 100], [6000, 90]]


def inlet_outside(content):
    """Make the mistake: inlet outside."""
    part(content, "pumps", "left inboard aft pump")["inlet"] = [15.90, -2.10, -2.0]


def inlet_without_tank(content):
    """Make the mistake: inlet without tank."""
    part(content, "valves", "crossfeed valve")["inlet"] = [1.0, 2.0, -1.0]


def no_inlet(content):
    """Make the mistake: no inlet."""
    del part(content, "check_valves", "left gravity feed valve")["inlet"]


def to_nothing(content):
    """Make the mistake: to nothing."""
    part(content, "pumps", "left centre pump")["to"] = "left center outlet"


def from_no_tank(content):
    """Make the mistake: from no tank."""
    part(content, "pumps", "left centre pump")["from"] = "left manifold"


def to_itself(content):
    """Make the mistake: to itself."""
    valve = part(content, "valves", "crossfeed valve")
    valve["to"] = valve["from"]


def doubled_name(content):
    """Make the mistake: doubled name."""
    part(content, "sensors", "centre low sensor")["name"] = "left centre pump"


def doubled_tank(content):
    """Make the mistake: doubled tank."""
    part(content, "tanks", "right outboard")["name"] = "left inboard"


def kept_name(content):
    """Make the mistake: kept name."""
    part(content, "sensors", "centre low sensor")["name"] = "left centre pump inlet"


def rule_of_nothing(content):
    """Make the mistake: rule of nothing."""
    part(content, "rules", "left centre rests")["all"] = ["left inboard ful sensor is WET"]


def rule_of_no_state(content):
    """Make the mistake: rule of no state."""
    part(content, "rules", "left centre rests")["all"] = ["left inboard full sensor is FULL"]


def rule_without_sense(content):
    """Make the mistake: rule without sense."""
    part(content, "rules", "left centre rests")["all"] = ["when the tank is"]


def rule_without_condition(content):
    """Make the mistake: rule without condition."""
    del part(content, "rules", "left centre rests")["all"]


def rule_sets_nothing(content):
    """Make the mistake: rule sets nothing."""
    part(content, "rules", "crossfeed selected")["set"] = {"crossfed valve": "OPEN"}


def rule_sets_no_state(content):
    """Make the mistake: rule sets no state."""
    part(content, "rules", "crossfeed selected")["set"] = {"crossfeed valve": "RUN"}


def loss_as_condition(content):
    """Make the mistake: loss as condition."""
    part(content, "rules", "left centre rests")["all"] = ["left inboard has lost 400 kg"]


def loss_of_nothing(content):
    """Make the mistake: loss of nothing."""
    part(content, "rules", "left centre rests")["until"] = ["left inboard has lost 0 kg"]


def overflow_circle(content):
    """Make the mistake: overflow circle."""
    part(content, "overflows", "left surge overflow")["to"] = "left outboard"


def two_overflows(content):
    """Make the mistake: two overflows."""
    part(content, "overflows", "centre overflow")["from"] = "left inboard"


def no_overflow(content):
    """Make the mistake: no overflow."""
    content["overflows"] = [o for o in content["overflows"] if o["from"] != "centre"]


def unreached(content):
    """Make the mistake: unreached."""
    for section in ("valves", "check_valves"):
        content[section] = [x for x in content[section] if x["to"] != "engine 1 inlet"]


def order_twice(content):
    """Make the mistake: order twice."""
    content["loading"]["order"].append(["centre"])


def order_of_surge(content):
    """Make the mistake: order of surge."""
    content["loading"]["order"].append(["left surge"])


def too_small(content):
    """Make the mistake: too small."""
    part(content, "valves", "crossfeed valve")["loss_at_kg_h"] = 1e-300


def wrong_schema(content):
    """Make the mistake: wrong schema."""
    content["schema"] = 3


MISTAKES = {
    missing: "pumps 'left centre pump': inlet is missing; add it.",
    retyped: "[attitude]: rewet_height_m is 'ten'; it must be a number",
    unknown_field: "valves 'crossfeed valve': travels_s is not a known field. Did you mean "
    "'travel_s'?",
    too_little_expansion: "tanks 'centre': expansion_space_percent is 1.5; a fuel tank keeps at "
    "least 2 % free for expansion (14 CFR 25.969).",
    mirror_too_little_expansion: "tanks 'right surge': expansion_space_percent is 0.0; a fuel tank",
    refuelled_too_far: "refuel_limit_percent is 99.0; it must leave the expansion space free: at "
    "most 97.5.",
    crossed_ribs: "tanks 'left outboard'",
    ribs_in_one_place: "tanks 'centre': ribs is 'a shape'; it encloses no sound solid",
    one_rib: "tanks 'left outboard': ribs is 1; a tank needs at least two ribs.",
    rising_curve: "curve is [[0, 250], [3000, 322], [6000, 345]]; it must be three points",
    curve_in_words: "curve is [['0', '345'], ['1', '2'], ['2', '1']]; it must be three points",
    curve_bent_up: "curve is [[0, 345], [3000, 100], [6000, 90]]; it must bend down",
    inlet_outside: "'left inboard aft pump': inlet is [15.9, -2.1, -2]; at this place 'left "
    "inboard' reaches from z = -1.120 to -0.644 m. Put it inside.",
    inlet_without_tank: "'crossfeed valve': inlet is given but 'left manifold' is not a tank",
    no_inlet: "'left gravity feed valve': inlet is missing; say where it opens in 'left inboard'",
    to_nothing: "'left centre pump': to is 'left center outlet'; it must name a junction. Did you "
    "mean 'left centre outlet'?",
    from_no_tank: "'left centre pump': from is 'left manifold'; it must name a tank.",
    to_itself: "'crossfeed valve': to is 'left manifold', where it comes from",
    doubled_name: "'left centre pump' is the name of 2 parts; give each a name of its own.",
    doubled_tank: "'left inboard' is the name of 2 parts; give each a name of its own.",
    kept_name: "'left centre pump inlet' is a name that the kit uses itself",
    rule_of_nothing: "'left centre rests': fact is 'left inboard ful sensor'; it must name a part "
    "that has states. Did you mean 'left inboard full sensor'?",
    rule_of_no_state: "can never be; 'left inboard full sensor' is DRY or WET.",
    rule_without_sense: "rules 'left centre rests': all is 'when the tank is'; a fact reads "
    '"NAME is STATE".',
    rule_without_condition: "rules 'left centre rests' has no condition; add all = [...]",
    rule_sets_nothing: "'crossfeed selected': set is 'crossfed valve'; it must name a pump, valve "
    "or consumer. Did you mean 'crossfeed valve'?",
    rule_sets_no_state: "'crossfeed selected': sets 'crossfeed valve' to RUN; it can be set to "
    "SHUT or OPEN.",
    loss_as_condition: "can only end a rule; write it in until = [...].",
    loss_of_nothing: "'left inboard has lost 0 kg' can never be waited for; give a mass above 0",
    overflow_circle: "overflows: 'left outboard', 'left inboard', 'left surge' run over in a "
    "circle; the last one must end overboard.",
    two_overflows: "overflows: 2 of them are from 'left inboard'",
    no_overflow: "overflows: 0 of them are from 'centre'",
    unreached: "'engine 1': no line leads from any tank to 'engine 1 inlet'.",
    order_twice: "[loading]: order has 'centre' 2 times; name it once.",
    order_of_surge: "[loading]: order is 'left surge'; it must name a tank that is refuelled.",
    too_small: "loss_at_kg_h is 1e-300; it must be a number, of a size",
    wrong_schema: "schema is 3; this kit reads version 2.",
}


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda mistake: mistake.__name__)
def test_a_mistake_is_named_with_its_value_and_what_would_be_right(content, mistake):
    """The message says where, which field, which value, and what would be right."""
    mistake(content)
    found = faults_of(content)
    assert any(MISTAKES[mistake] in fault for fault in found), found


def test_a_loading_order_of_the_wrong_shape_is_refused(content):
    """It is a list of lists of names."""
    for wrong in ("centre", ["centre"], [[]], [[1]], {"centre": 1}):
        content["loading"]["order"] = wrong
        assert any("order is" in fault for fault in faults_of(content))


def test_all_faults_of_a_file_are_told_at_once(content):
    """Three slips in three sections give three faults, and the message counts them."""
    missing(content)
    retyped(content)
    unknown_field(content)
    with pytest.raises(DataFileError, match=r"^own.toml: 3 faults\.\n") as caught:
        aircraft_from(content, "own.toml")
    for mistake in (missing, retyped, unknown_field):
        assert any(MISTAKES[mistake] in fault for fault in caught.value.faults)


def test_all_faults_between_parts_are_told_at_once(content):
    """References, facts and circles that only the whole shows come together too."""
    for mistake in (to_nothing, rule_of_nothing, overflow_circle, inlet_outside):
        mistake(content)
    assert len(faults_of(content)) == 4


# ---------------------------------------------------------------------------- the file itself
def test_a_name_that_the_kit_has_not_is_refused_with_the_nearest():
    """A slip in the name is told with what was meant."""
    with pytest.raises(DataFileError, match=r"the kit has .*Did you mean 'halbrook-180'"):
        load_aircraft("halbrok-180")


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "schema is missing"),
        (b"this is no TOML", "not a valid TOML file"),
        (b"\xff\xfe\x00", "cannot be read"),
        (b"schema = 1\nschema = 1\n", "not a valid TOML file"),
        (b"schema = " + b"9" * 5000, "not a valid TOML file"),
        (b"a = " + b"[" * 5000, "not a valid TOML file"),
        (b'name = "' + b"x" * 2_000_001 + b'"', "larger than"),
        (b'{"schema": 1}', "not a valid TOML file"),
    ],
    ids=["empty", "prose", "bytes", "doubled", "long number", "deep", "large", "JSON"],
)
def test_a_file_that_is_no_aircraft_file_is_refused(tmp_path, content, message):
    """Whatever the bytes, the answer is a DataFileError that names the file."""
    path = tmp_path / "own.toml"
    path.write_bytes(content)
    with pytest.raises(DataFileError, match=message) as caught:
        load_aircraft(path)
    assert str(caught.value).startswith("own.toml: ")


def test_a_missing_file_and_a_folder_are_refused(tmp_path):
    """Both are told for what they are."""
    with pytest.raises(DataFileError, match="there is no such file"):
        load_aircraft(tmp_path / "none.toml")
    (tmp_path / "folder.toml").mkdir()
    with pytest.raises(DataFileError, match="folder|cannot be read"):
        load_aircraft(tmp_path / "folder.toml")
    with pytest.raises(DataFileError):
        load_aircraft("\0.toml")


def test_a_high_level_sensor_that_is_never_wet_in_time_is_refused(content):
    """It would end refuelling only after the tank has run over."""
    sensor = part(content, "sensors", "left outboard high-level sensor")
    sensor["at"] = [19.00, -10.40, -0.170]
    (fault,) = faults_of(content)
    assert fault.startswith("'left outboard high-level sensor': at is z = -0.17 m, wet only from")
    assert fault.endswith("which runs over at 1029.6 l. Put it lower.")
