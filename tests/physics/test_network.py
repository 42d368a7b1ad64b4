"""Promises of the pipe-and-pump network: limiting cases, closed forms, shares, bad input."""

import math

import pytest

from fuelkit.physics.lone_link import flow_through
from fuelkit.physics.network import Link, Network, NetworkError, solve, supply_shares

KPA = 1000.0


def pipe(name, start, end, resistance=40e3, **more):
    """A two-way link with a nearly quadratic loss."""
    return Link(name, start, end, resistance=resistance, **{"friction": 1e-3, **more})


def check_valve(name, start, end, resistance=10e3, **more):
    """A link that lets fuel through to its end only."""
    return pipe(name, start, end, resistance, one_way=True, **more)


def pump(name, start, end, rise=200 * KPA, resistance=80e3, **more):
    """A pump with a check valve."""
    return pipe(name, start, end, resistance, rise=rise, one_way=True, **more)


def relief(name, start, end, opening=100 * KPA, resistance=20e3, **more):
    """A check valve that opens at a pressure difference."""
    return pipe(name, start, end, resistance, opening=opening, one_way=True, **more)


def network(*links):
    """Network whose sources are the nodes with "tank" in their name."""
    nodes = dict.fromkeys(node for link in links for node in (link.start, link.end))
    return Network(links, tuple(node for node in nodes if "tank" in node))


# ------------------------------------------------------------------------- limiting cases first
def test_nothing_flows_without_demand_and_pressure_is_everywhere_that_of_the_tank():
    """No demand and one tank: no flow, and no pressure is lost."""
    net = network(pipe("a", "tank", "line"), pipe("b", "line", "engine"))
    found = solve(net, {"tank": 5 * KPA}, {})
    assert found.flows == pytest.approx({"a": 0.0, "b": 0.0}, abs=1e-12)
    assert found.pressures == pytest.approx({"tank": 5e3, "line": 5e3, "engine": 5e3}, abs=1e-6)


def test_equal_pressures_exchange_nothing():
    """Tanks at one level and one density do not run into each other."""
    net = network(pipe("a", "tank 1", "line", 10.0), pipe("b", "line", "tank 2", 1e6))
    found = solve(net, {"tank 1": 312_345.678, "tank 2": 312_345.678}, {})
    assert found.flows == pytest.approx({"a": 0.0, "b": 0.0}, abs=1e-9)


def test_a_dead_headed_pump_gives_its_whole_rise():
    """A pump that runs against closed ends holds its line at tank pressure plus rise."""
    net = network(
        pump("pump", "tank", "line"), check_valve("flap", "line", "rail"), pipe("b", "rail", "end")
    )
    found = solve(net, {"tank": 3 * KPA}, {})
    assert found.flows == pytest.approx({"pump": 0.0, "flap": 0.0, "b": 0.0}, abs=1e-11)
    assert [found.pressures[n] for n in ("line", "rail", "end")] == pytest.approx([203e3] * 3)
    assert found.passing == {"pump", "flap", "b"}


def test_a_dead_headed_line_has_its_pumps_pressure_even_beside_a_higher_one():
    """A check valve that holds back a higher pressure does not hide what the pump imposes."""
    net = network(
        pump("pump", "tank", "line", 200 * KPA),
        check_valve("flap", "line", "rail"),
        pump("override", "tank", "rail", 500 * KPA),
        pump("weak", "tank", "line", 100 * KPA),
    )
    found = solve(net, {"tank": 0.0}, {"rail": 0.1})
    assert found.pressures["line"] == pytest.approx(200e3)
    assert (found.flows["pump"], found.flows["flap"], found.flows["weak"]) == (0.0, 0.0, 0.0)
    assert found.passing == {"pump", "override"}


def test_a_relief_valve_below_its_opening_pressure_passes_exactly_nothing():
    """A pressure difference of 99 kPa does not lift a valve set to 100 kPa; 101 kPa does."""
    net = network(relief("relief", "tank high", "line"), pipe("pipe", "line", "tank low"))
    assert solve(net, {"tank high": 99e3, "tank low": 0.0}, {}).flows == pytest.approx(
        {"relief": 0.0, "pipe": 0.0}, abs=1e-12
    )
    found = solve(net, {"tank high": 99e3, "tank low": 0.0}, {})
    assert found.flows["relief"] == 0.0 and "relief" not in found.passing
    over = solve(net, {"tank high": 101e3, "tank low": 0.0}, {})
    # (101 - 100) kPa = (20 + 40) kPa/(kg/s)² · q²
    assert over.flows["relief"] == pytest.approx(math.sqrt(1.0 / 60.0), rel=1e-6)


def test_gravity_alone_feeds_an_engine_when_its_pump_is_shut():
    """With the pump off, the bypass check valve lets the head of the tank feed the engine."""
    net = network(pump("pump", "tank", "line"), check_valve("bypass", "tank", "line"))
    found = solve(net, {"tank": 9 * KPA}, {"line": 0.3}, shut={"pump"})
    assert found.flows == pytest.approx({"pump": 0.0, "bypass": 0.3})
    assert found.pressures["line"] == pytest.approx(9e3 - 10e3 * 0.3**2, abs=0.01)


def test_a_section_that_no_source_reaches_has_no_pressure_and_is_at_rest():
    """Behind shut valves, and behind a check valve against the flow, pressure is nan."""
    net = network(
        pipe("open", "tank", "line"),
        pipe("valve", "line", "trapped"),
        pipe("inside", "trapped", "trapped too"),
        check_valve("flap", "behind", "line"),
        pipe("leg", "behind", "end"),
    )
    found = solve(net, {"tank": 1e3}, {"line": 0.2}, shut={"valve"})
    for node in ("trapped", "trapped too", "behind", "end"):
        assert math.isnan(found.pressures[node])
    assert found.passing == {"open"}
    assert found.flows == pytest.approx({**dict.fromkeys(found.flows, 0.0), "open": 0.2})


def test_all_pumps_off_and_no_demand_is_a_network_at_rest():
    """Nothing runs, nothing is drawn: no flow, and no pressure beyond the pumps."""
    net = network(
        pump("1", "tank 1", "line"), pump("2", "tank 2", "line"), pipe("feed", "line", "engine")
    )
    found = solve(net, {"tank 1": 4e3, "tank 2": 5e3}, {"engine": 0.0}, shut={"1", "2"})
    assert set(found.flows.values()) == {0.0}
    assert math.isnan(found.pressures["engine"]) and not found.passing


def test_a_network_of_one_link_between_tanks_needs_no_junction():
    """The flow from tank to tank is that of the law of its one link, solved either way."""
    link = pipe("cross", "tank 1", "tank 2", 2000.0, friction=1.0)
    found = solve(network(link), {"tank 1": 2001.0, "tank 2": 0.0}, {})
    assert found.flows["cross"] == pytest.approx(1.0, rel=1e-12)
    assert flow_through(link, 2001.0, 0.0) == pytest.approx(1.0, rel=1e-12)


# --------------------------------------------------------------------- hand-worked closed forms
def test_losses_in_series_add_up():
    """200 - 80·0.6² - 40·0.6² - 25·0.6² - 5 kPa, worked by hand, is 142.8 kPa."""
    net = network(
        pump("pump", "tank", "a"),
        pipe("pipe", "a", "b"),
        relief("valve", "b", "engine", 5e3, 25e3),
    )
    found = solve(net, {"tank": 0.0}, {"engine": 0.6})
    assert found.pressures["engine"] == pytest.approx(142_800.0, abs=0.01)


@pytest.mark.parametrize("exponent", [1.0, 1.85, 2.0])
@pytest.mark.parametrize("spread", [1.0, 4.0, 1e9])
def test_parallel_pipes_share_the_flow_by_their_resistance(exponent, spread):
    """Equal falls: q1/q2 = (R2/R1)^(1/n), whatever the resistances, 1 to 1e9."""
    low, high = 1.0, spread
    more = {"exponent": exponent, "friction": 1e-12}
    net = network(
        pipe("low", "tank", "engine", low, **more), pipe("high", "tank", "engine", high, **more)
    )
    flows = solve(net, {"tank": 0.0}, {"engine": 1.0}).flows
    ratio = spread ** (1.0 / exponent)
    assert flows["low"] == pytest.approx(ratio / (1.0 + ratio), rel=1e-9)
    assert flows["high"] == pytest.approx(1.0 / (1.0 + ratio), rel=1e-9)


def test_two_identical_pumps_share_equally():
    """Each gives half; the line is at the pressure of one pump at half the flow."""
    net = network(pump("1", "tank", "line"), pump("2", "tank", "line"))
    found = solve(net, {"tank": 0.0}, {"line": 0.8})
    assert found.flows == pytest.approx({"1": 0.4, "2": 0.4})
    assert found.pressures["line"] == pytest.approx(200e3 - 80e3 * 0.4**2, abs=0.01)
    idle = solve(net, {"tank": 0.0}, {})
    assert idle.flows == pytest.approx({"1": 0.0, "2": 0.0}, abs=1e-11)
    assert idle.pressures["line"] == pytest.approx(200e3) and idle.passing == {"1", "2"}


def test_the_pump_with_the_higher_pressure_feeds_alone_until_it_sags():
    """The override pump falls to the other's 200 kPa at sqrt(100/80) kg/s; then both feed."""
    net = network(pump("wing", "tank", "rail"), pump("override", "tank", "rail", 300e3))
    alone = solve(net, {"tank": 0.0}, {"rail": 1.0})
    assert alone.flows == pytest.approx({"wing": 0.0, "override": 1.0})
    assert alone.flows["wing"] == 0.0 and alone.passing == {"override"}
    edge = math.sqrt(100.0 / 80.0)
    assert solve(net, {"tank": 0.0}, {"rail": edge - 1e-6}).flows["wing"] == 0.0
    assert solve(net, {"tank": 0.0}, {"rail": edge + 1e-3}).flows["wing"] > 0.0


def test_two_pumps_in_series_add_their_pressures():
    """200 + 150 - (80 + 30)·0.5² kPa, worked by hand, is 322.5 kPa; the first alone 180 - 7.5."""
    net = network(
        pump("1", "tank", "a"), pump("2", "a", "line", 150e3, 30e3), check_valve("by", "a", "line")
    )
    both = solve(net, {"tank": 0.0}, {"line": 0.5})
    assert both.pressures["line"] == pytest.approx(322_500.0, abs=0.01)
    assert both.flows == pytest.approx({"1": 0.5, "2": 0.5, "by": 0.0})
    alone = solve(net, {"tank": 0.0}, {"line": 0.5}, shut={"2"})
    assert alone.pressures["line"] == pytest.approx(200e3 - 80e3 * 0.25 - 10e3 * 0.25, abs=0.01)


def test_a_relief_valve_opens_and_closes_as_the_draw_falls_and_rises():
    """Set to 150 kPa behind a pump of 200 kPa, it is at its edge at sqrt(50/80) kg/s."""
    net = network(pump("pump", "tank", "line"), relief("relief", "line", "tank back", 150e3))
    edge, pressures = math.sqrt(50.0 / 80.0), {"tank": 0.0, "tank back": 0.0}
    for drawn in (edge + 1e-3, edge + 1e-6):
        found = solve(net, pressures, {"line": drawn})
        assert found.flows["relief"] == 0.0 and "relief" not in found.passing
    assert solve(net, pressures, {"line": edge - 1e-3}).flows["relief"] > 0.0
    # With nothing drawn: 200 - 80·q² = 150 + 20·q² kPa, so that q = sqrt(1/2) kg/s.
    idle = solve(net, pressures, {})
    assert idle.flows["relief"] == pytest.approx(math.sqrt(0.5), rel=1e-6)
    assert idle.pressures["line"] == pytest.approx(160e3, abs=0.1)


def test_a_jet_pumps_motive_line_takes_its_flow_from_the_pumps_line():
    """200 - 80·(0.5 + q)² = 16,000·q² kPa for the motive flow q: a quadratic, solved by hand."""
    net = network(
        pump("pump", "tank", "line"), check_valve("motive line", "line", "tank back", 16e6)
    )
    found = solve(net, {"tank": 0.0, "tank back": 0.0}, {"line": 0.5})
    # 16,080·q² + 80·q - 180 = 0
    by_hand = (-80.0 + math.sqrt(80.0**2 + 4.0 * 16_080.0 * 180.0)) / (2.0 * 16_080.0)
    assert found.flows["motive line"] == pytest.approx(by_hand, rel=1e-6)


def test_a_pump_in_a_closed_loop_drives_its_loop():
    """Through two pipes of 40 and a pump of 80 kPa/(kg/s)²: q = sqrt(200/160) kg/s around."""
    net = network(
        pipe("in", "tank", "a"), pump("pump", "a", "b"), pipe("1", "b", "c"), pipe("2", "c", "a")
    )
    found = solve(net, {"tank": 0.0}, {})
    around = math.sqrt(200.0 / 160.0)
    assert [found.flows[n] for n in ("in", "pump", "1", "2")] == pytest.approx(
        [0.0, around, around, around], abs=1e-6
    )


def test_returned_fuel_feeds_on_its_way_and_the_rest_runs_to_the_tank():
    """0.5 kg/s put in, 0.2 drawn, 0.3 spilt; the tank, at a lower pressure, supplies nothing."""
    net = network(
        check_valve("spill", "cooler", "tank"),
        check_valve("feed", "cooler", "engine"),
        check_valve("supply", "tank", "engine"),
    )
    found = solve(net, {"tank": 0.0}, {"cooler": -0.5, "engine": 0.2})
    assert found.flows == pytest.approx({"spill": 0.3, "feed": 0.2, "supply": 0.0})
    assert found.pressures["engine"] == pytest.approx(10e3 * (0.3**2 - 0.2**2), abs=0.01)


def test_a_small_draw_beside_a_held_back_pressure_is_fed():
    """A closed valve leaks nothing at all, so even 0.01 g/s draws through its own check valve."""
    net = network(
        check_valve("feed", "tank 1", "a"),
        relief("relief", "a", "b", 500 * KPA),
        pipe("pipe", "tank 2", "b"),
    )
    found = solve(net, {"tank 1": 0.0, "tank 2": 0.0}, {"a": 1e-5})
    assert found.flows["feed"] == pytest.approx(1e-5) and found.flows["relief"] == 0.0


# ------------------------------------------------------------------------------- supply shares
def test_shares_mix_in_proportion_at_each_junction():
    """2 kg/s of A meet 1 kg/s of B; half of the mix meets 1.5 kg/s of C: worked by hand."""
    net = network(
        pipe("a", "tank A", "mix"),
        pipe("b", "tank B", "mix"),
        pipe("on", "mix", "far"),
        pipe("c", "far", "tank C"),
    )
    shares = supply_shares(net, {"a": 2.0, "b": 1.0, "on": 1.5, "c": -1.5})
    assert shares["mix"] == pytest.approx({"tank A": 2 / 3, "tank B": 1 / 3})
    assert shares["far"] == pytest.approx({"tank A": 1 / 3, "tank B": 1 / 6, "tank C": 1 / 2})


def test_fuel_that_only_goes_round_comes_from_nowhere():
    """A loop that a pump drives, without any supply, has no shares."""
    net = network(pipe("in", "tank", "a"), pump("pump", "a", "b"), pipe("back", "b", "a"))
    assert supply_shares(net, {"in": 0.0, "pump": 1.0, "back": 1.0}) == {"a": {}, "b": {}}


# ------------------------------------------------------------------------------------ bad input
def test_a_demand_that_nothing_reaches_is_named():
    """Both against a shut valve and against a check valve, the error names the node."""
    net = network(check_valve("flap", "engine 1", "tank"), pipe("feed", "tank", "engine 2"))
    with pytest.raises(NetworkError, match="engine 1 draws fuel but no open path") as caught:
        solve(net, {"tank": 9e3}, {"engine 1": 0.1, "engine 2": 0.1})
    assert caught.value.unfed == ("engine 1",)
    with pytest.raises(NetworkError, match="engine 1, engine 2 draws") as caught:
        solve(net, {"tank": 9e3}, {"engine 1": 0.1, "engine 2": 0.1}, shut={"feed"})
    assert caught.value.unfed == ("engine 1", "engine 2")


def test_fuel_put_in_where_it_cannot_go_is_named():
    """A return line that is shut at its end takes no fuel."""
    net = network(pipe("return", "cooler", "tank"))
    with pytest.raises(NetworkError, match="cooler takes fuel in but no open path") as caught:
        solve(net, {"tank": 0.0}, {"cooler": -0.1}, shut={"return"})
    assert caught.value.unfed == ("cooler",)


def test_more_drawn_than_is_put_in_where_nothing_else_feeds_is_named():
    """0.3 kg/s put in feeds 0.2 kg/s beyond a check valve, but not 0.5 kg/s."""
    net = network(
        check_valve("spill", "cooler", "tank"), check_valve("feed", "cooler", "engine"),
        pipe("far", "engine", "far engine"), pipe("near", "far engine", "engine"),
    )  # fmt: skip
    found = solve(net, {"tank": 0.0}, {"cooler": -0.3, "engine": 0.1, "far engine": 0.1})
    assert found.flows["feed"] == pytest.approx(0.2) and found.flows["spill"] == pytest.approx(0.1)
    with pytest.raises(NetworkError, match="far engine draws more fuel than is put") as caught:
        solve(net, {"tank": 0.0}, {"cooler": -0.3, "engine": 0.3, "far engine": 0.2})
    assert caught.value.unfed == ("engine", "far engine")


@pytest.mark.parametrize(
    ("pressures", "demands", "message"),
    [
        ({}, {}, "pressure of tank is None; every source needs a number"),
        ({"tank": math.nan}, {}, "pressure of tank is nan"),
        ({"tank": 0.0}, {"engine": math.inf}, "demand at engine is inf"),
        ({"tank": 0.0}, {"engin": 0.1}, "demand at engin is 0.1.*junctions are engine"),
        ({"tank": 0.0}, {"tank": 0.1}, "demand at tank is 0.1"),
    ],
)
def test_what_is_no_pressure_or_demand_is_refused(pressures, demands, message):
    """A misspelt node or a missing number is an error, not a silent nothing."""
    with pytest.raises(NetworkError, match=message):
        solve(network(pipe("feed", "tank", "engine")), pressures, demands)


@pytest.mark.parametrize(
    ("field", "value", "message"),
    [
        ("resistance", -1.0, "link p: resistance is -1.0; it may not be negative"),
        ("resistance", math.nan, "link p: resistance is nan"),
        ("exponent", 0.5, "exponent is 0.5; it must be at least 1"),
        ("friction", 0.0, "friction is 0.0; it must be above 0"),
        ("opening", 5.0, "opening is 5.0; only a one-way link has one"),
        ("rise", math.inf, "rise is inf; it must be a number of pascals"),
    ],
)
def test_a_link_with_an_impossible_law_is_refused(field, value, message):
    """The error names the link, the field and the rule."""
    with pytest.raises(NetworkError, match=message):
        Link("p", "tank", "engine", **{field: value})


@pytest.mark.parametrize(
    "law",
    [
        {"exponent": 1e6}, {"exponent": 500.0, "resistance": 1e200}, {"resistance": 1e308},
        {"friction": 1e300}, {"friction": 1e-300}, {"rise": 1e300, "one_way": True},
    ],
)  # fmt: skip
@pytest.mark.filterwarnings("ignore::RuntimeWarning")
@pytest.mark.parametrize("drawn", [0.0, 1e-3, 50.0])
def test_a_law_out_of_all_proportion_gives_numbers_or_a_named_error(law, drawn):
    """Beside sound links, in a loop: never a failure of arithmetic."""
    odd = Link("odd", "a", "b", **{"resistance": 1e4, **law})
    net = network(pump("pump", "tank", "a"), odd, pipe("by", "a", "b"), pipe("on", "b", "tank 2"))
    try:
        found = solve(net, {"tank": 0.0, "tank 2": 1e3}, {"b": drawn})
    except NetworkError as error:
        assert "out of proportion" in str(error)
        return
    assert all(map(math.isfinite, found.flows.values()))
    assert found.flows["pump"] - found.flows["on"] == pytest.approx(drawn, abs=1e-9)


def test_two_links_of_one_name_are_refused():
    """Flows are by name, so a name stands once."""
    with pytest.raises(NetworkError, match="links are named p more than once"):
        network(pipe("p", "tank", "a"), pipe("p", "a", "b"))
