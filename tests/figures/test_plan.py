"""The fuel plan: each part by hand, rule sets on both sides of their limits, laws, random plans."""

import os
from dataclasses import replace

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.draws import Draw
from fuelkit.figures.limits import PlanError
from fuelkit.figures.performance import at_level, holding
from fuelkit.figures.plan import PlanRequest, fuel_plan, plan_without_limits
from fuelkit.figures.plan_variants import (
    cost_of_carrying,
    most_carried,
    reduced_contingency,
    tankering,
)
from fuelkit.figures.policies import policies
from fuelkit.figures.quantities import FigureError
from fuelkit.figures.trip import Route, mass_after
from fuelkit.physics.units import FOOT, HOUR, MINUTE, NAUTICAL_MILE

RANDOM = int(os.environ.get("FUELKIT_RANDOM_PLANS", "40"))
HALBROOK = load_aircraft("halbrook-180")
FLEET = [load_aircraft(name) for name in ("halbrook-40", "halbrook-180", "halbrook-300")]
KNOT = NAUTICAL_MILE / HOUR


def route(miles, feet=35_000.0, knots=0.0, warmer=0.0):
    """Return a route in the units that people say."""
    return Route(miles * NAUTICAL_MILE, feet * FOOT, knots * KNOT, warmer)


USUAL = PlanRequest(15_000.0, route(1300.0, knots=20.0), route(180.0, 17_000.0))


def planned(**changes):
    """Return the plan of the usual request with some things changed."""
    return fuel_plan(HALBROOK, replace(USUAL, **changes))


# --------------------------------------------------------------------------- a plan by hand
def test_parts_follow_from_the_tables_at_the_masses_of_the_plan():
    """Each part worked again, forward, from the take-off mass that the plan found."""
    plan, tables = planned(extra=150.0, discretionary=200.0), HALBROOK.performance
    at = at_level(tables, USUAL.route.level)
    top = plan.take_off - at.climb_fuel.at(plan.take_off)
    ground_speed = at.speed - USUAL.route.headwind
    climb_time = at.climb_time.at(plan.take_off)
    climb = at.climb_distance.at(plan.take_off) - USUAL.route.headwind * climb_time
    descent = at.descent_distance - USUAL.route.headwind * at.descent_time
    cruise = USUAL.route.distance - climb - descent - tables.approach_distance
    end = mass_after(at.cruise.at, top, cruise / ground_speed, steps=500)
    landing = end - at.descent_fuel - tables.approach_fuel
    assert plan.take_off - landing == pytest.approx(plan.trip, rel=1e-4)
    assert plan.contingency == pytest.approx(0.05 * plan.trip, abs=1e-4)
    before_reserve = plan.landing - plan.alternate
    hold = mass_after(holding(tables).at, before_reserve, 30 * MINUTE, steps=100)
    assert before_reserve - hold == pytest.approx(plan.final_reserve, rel=1e-4)
    assert plan.taxi == pytest.approx(10 * MINUTE * tables.taxi)


def test_the_sums_of_a_plan():
    """Block less taxi is on board at take-off, less trip after landing; masses go along."""
    plan = planned(extra=150.0, discretionary=200.0, additional=80.0, tankered=500.0)
    assert plan.zero_fuel == HALBROOK.mass_limits.dry_operating + 15_000.0
    assert plan.block == pytest.approx(sum(plan.parts.values()))
    assert plan.take_off == pytest.approx(plan.zero_fuel + plan.block - plan.taxi)
    assert plan.landing == pytest.approx(plan.flown.landing, abs=1e-3)
    assert plan.take_off == pytest.approx(plan.flown.take_off, abs=1e-3)
    unburned = plan.contingency + plan.alternate + plan.final_reserve + 150 + 200 + 80 + 500
    assert plan.fuel_at_destination == pytest.approx(unburned)
    assert plan.minimum == plan.final_reserve


def test_the_alternate_begins_where_the_trip_ends():
    """Its take-off mass is the landing mass at the destination; its landing mass, the reserve's."""
    plan = planned()
    assert plan.diversion.take_off == pytest.approx(plan.landing, abs=1e-3)
    assert plan.diversion.fuel == pytest.approx(plan.alternate, abs=1e-3)
    assert plan.diversion.landing == pytest.approx(plan.landing - plan.alternate, abs=1e-3)


# -------------------------------------------------------------------------------- rule sets
def test_five_minute_floor_on_both_sides():
    """ICAO Annex 6, AMC1 CAT.OP.MPA.181: the greater of 5 % of the trip and 5 min holding."""
    flow = holding(HALBROOK.performance)
    short, long = (planned(route=route(d, 25_000.0)) for d in (280.0, 1300.0))
    assert short.floor_rules and 0.05 * short.trip < short.contingency
    assert short.contingency == pytest.approx(5 * MINUTE * flow.at(short.landing), abs=1e-3)
    assert not long.floor_rules and long.contingency == pytest.approx(0.05 * long.trip, abs=1e-3)
    assert long.contingency > 5 * MINUTE * flow.at(long.landing)


def test_the_floor_takes_over_at_one_distance_without_a_jump():
    """Where 5 % of the trip is just 5 min of holding, both ways give the same fuel."""
    low, high = 200.0, 1300.0
    for _ in range(40):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if planned(route=route(middle, 25_000.0)).floor_rules else (
            low, middle)  # fmt: skip
    below, above = (planned(route=route(d, 25_000.0)) for d in (low - 0.01, high + 0.01))
    assert below.floor_rules and not above.floor_rules
    assert above.contingency == pytest.approx(below.contingency, abs=0.05)


def test_variations_of_contingency():
    """AMC6 CAT.OP.MPA.181: 3 % with an en-route alternate; 20 min of the trip's; statistical."""
    three = planned(contingency="en-route alternate", route=route(1700.0))
    assert three.contingency == pytest.approx(0.03 * three.trip, abs=1e-3)
    twenty = planned(contingency="20 minutes")
    mean = twenty.trip / twenty.time
    assert twenty.contingency == pytest.approx(20 * MINUTE * mean, rel=1e-6)
    own = planned(contingency="statistical", statistical=400.0)
    assert own.contingency == 400.0


def test_the_operators_figure_is_never_below_five_minutes():
    """AMC6 CAT.OP.MPA.181 (c)(2): 5 min at holding speed, whatever the statistics say."""
    plan = planned(contingency="statistical", statistical=10.0)
    assert plan.floor_rules and plan.contingency > 150.0


def test_no_alternate_carries_fifteen_minutes():
    """15 min at holding speed, 1 500 ft above the destination, as additional fuel; else none."""
    without, with_it = planned(alternate=None), planned()
    flow = holding(HALBROOK.performance).at(without.landing)
    assert without.additional == pytest.approx(15 * MINUTE * flow, abs=1e-3)
    assert without.alternate == 0.0
    assert with_it.additional == 0.0 and with_it.alternate > 0.0


def test_an_isolated_aerodrome_takes_two_hours_final_reserve_included():
    """2 h at normal cruise above the destination: final reserve and additional fuel together."""
    plan = planned(alternate=None, isolated=True)
    at = at_level(HALBROOK.performance, USUAL.route.level)
    end = plan.landing - plan.final_reserve - plan.additional
    burned = mass_after(at.cruise.at, end, -2 * HOUR, steps=200) - end
    assert plan.final_reserve + plan.additional == pytest.approx(burned, rel=1e-4)
    assert plan.alternate == 0.0
    assert plan.block > planned(alternate=None).block


def test_an_isolated_aerodrome_has_no_alternate():
    """Both at once contradict each other; and not every rule set knows it."""
    with pytest.raises(FigureError, match="isolated: it is True and there is an alternate"):
        planned(isolated=True)
    with pytest.raises(FigureError, match="'faa-domestic' does not provide for an isolated"):
        planned(isolated=True, alternate=None, policy="faa-domestic")


def test_domestic_rules_take_forty_five_minutes_at_cruise():
    """14 CFR 121.639: destination, alternate, 45 min at normal cruising fuel consumption."""
    plan = planned(policy="faa-domestic")
    flow = at_level(HALBROOK.performance, USUAL.route.level).cruise
    end = plan.zero_fuel
    assert plan.contingency == plan.additional == 0.0
    expected = mass_after(flow.at, end, -45 * MINUTE, steps=200) - end
    assert plan.final_reserve == pytest.approx(expected, rel=1e-5)
    assert planned(policy="faa-ifr").block == pytest.approx(plan.block)  # 14 CFR 91.167


def test_flag_rules_take_a_tenth_of_the_time():
    """14 CFR 121.645(b)(2): 10 % of the total time, not of the fuel; 121.645(c): 2 h, no more."""
    plan = planned(policy="faa-flag")
    flow = at_level(HALBROOK.performance, USUAL.route.level).cruise.at(plan.flown.cruise_end)
    assert plan.contingency == pytest.approx(0.1 * plan.time * flow, rel=1e-6)
    assert plan.contingency != pytest.approx(0.1 * plan.trip, rel=0.02)
    alone = planned(policy="faa-flag", alternate=None, isolated=True)
    assert alone.contingency == 0.0


def test_a_rule_set_that_is_not_for_a_turboprop_says_so():
    """14 CFR 121.645: turbine-engine powered aeroplanes other than turbo-propeller ones."""
    request = PlanRequest(3000.0, route(300.0, 20_000.0), policy="faa-flag")
    with pytest.raises(FigureError, match="'faa-flag', which is not for a turboprop"):
        fuel_plan(FLEET[0], request)


def test_too_little_fuel_is_made_up_to_the_least_for_take_off():
    """A very short flight carries the least fuel for take-off; a longer one needs nothing more."""
    aircraft = replace(
        HALBROOK, mass_limits=replace(HALBROOK.mass_limits, least_fuel=6000.0)
    )  # fmt: skip
    short = replace(USUAL, route=route(280.0, 25_000.0), alternate=None)
    plan = fuel_plan(aircraft, short)
    assert plan.take_off_fuel == pytest.approx(6000.0, abs=1e-3) and plan.made_up > 1000.0
    assert fuel_plan(aircraft, USUAL).made_up == 0.0


# ------------------------------------------------------------------- carrying, decision point
def test_tankering_burns_fuel_to_carry_fuel():
    """What arrives is asked for; more than nothing and less than all of it is burned besides."""
    carried = tankering(HALBROOK, replace(USUAL, payload=9000.0), 1500.0)
    assert carried.with_it.fuel_at_destination - carried.without.fuel_at_destination > 1500.0
    assert 0.05 < carried.share < 0.30
    assert carried.burned == pytest.approx(carried.share * 1500.0)
    assert carried.share == pytest.approx(
        cost_of_carrying(HALBROOK, carried.without.request), rel=0.1
    )


def test_no_more_is_carried_than_the_limits_allow():
    """The most that can be carried is planned; 10 kg more are refused."""
    most = most_carried(HALBROOK, USUAL)
    assert fuel_plan(HALBROOK, replace(USUAL, tankered=most)).bites.margin < 0.1
    with pytest.raises(PlanError):
        fuel_plan(HALBROOK, replace(USUAL, tankered=most + 10.0))


def test_reduced_contingency_counts_from_the_decision_point():
    """5 % of what is burned from the decision point on, if the second plan needs no more."""
    far = replace(USUAL, payload=12_000.0, route=route(1850.0))
    second = replace(far, route=route(1450.0))
    decision = 900.0 * NAUTICAL_MILE
    first, other = reduced_contingency(HALBROOK, replace(far, decision=decision), second)
    usual = fuel_plan(HALBROOK, far)
    at = at_level(HALBROOK.performance, far.route.level)
    descent_and_approach = at.descent_distance + HALBROOK.performance.approach_distance
    left = far.route.distance - decision - descent_and_approach
    there = mass_after(at.cruise.at, first.flown.cruise_end, -left / at.speed, steps=200)
    assert first.contingency == pytest.approx(0.05 * (there - first.landing), rel=1e-4)
    assert first.contingency < usual.contingency and first.block < usual.block
    assert first.block >= other.block


def test_the_second_plan_of_a_decision_point_may_ask_for_more():
    """Then the first carries what is missing as additional fuel."""
    first_request = replace(USUAL, route=route(1500.0), decision=900.0 * NAUTICAL_MILE)
    second = replace(USUAL, route=route(1580.0))
    first, other = reduced_contingency(HALBROOK, first_request, second)
    assert first.block == pytest.approx(other.block, abs=0.05)
    assert first.additional > 0.0


def test_a_decision_point_off_the_cruise_is_refused():
    """In the climb nothing is decided; behind the destination neither."""
    for miles in (10.0, 1295.0):
        with pytest.raises(FigureError, match="decision: .* must lie on the cruise"):
            planned(decision=miles * NAUTICAL_MILE)


# ------------------------------------------------------------------------------- bad input
@pytest.mark.parametrize(
    ("changes", "words"),
    [
        ({"payload": -5.0}, "payload: it is -5 kg; it must be 0 or more"),
        ({"payload": "16 t"}, "payload: it is '16 t'; it must be a number"),
        ({"payload": float("nan")}, "payload: it is nan"),
        ({"payload": float("inf")}, "payload: it is inf"),
        ({"payload": True}, "payload: it is True"),
        ({"extra": None}, "extra: it is None"),
        ({"taxi_time": 1e5}, "taxi_time: .* from 0 to 240 min, in seconds"),
        ({"density": 0.8}, "density: it is 0.8 kg/m³; it must be from 700 to 900"),
        ({"route": route(0.0)}, "route: distance: it is 0 NM"),
        ({"route": Route(1300.0, 10_668.0)}, "route: distance is 1 NM; climb to 35 000 ft"),
        ({"route": Route(2e6, 350.0)}, "level: it is 1 148 ft; .* from 10 000 ft"),
        ({"route": Route(2e6, 35_000.0)}, "route: level: it is 114 829 ft"),
        ({"route": route(1300.0, knots=400.0)}, "headwind: it is 400 kt; .* -290 to 290"),
        ({"route": route(1300.0, warmer=288.0)}, "route: deviation: it is 288.0 K"),
        ({"route": None}, "route: it is None; it must be a Route"),
        ({"isolated": "yes"}, "isolated: it is 'yes'"),
        ({"policy": "house"}, "policy: it is 'house'"),
        ({"contingency": "none"}, "contingency: it is 'none'"),
        ({"contingency": "statistical"}, "statistical: it is None"),
        ({"take_off_limit": 0.0}, "take_off_limit: it is 0 kg"),
    ],
)
def test_what_no_plan_can_be_made_from_is_named(changes, words):
    """Field, value, and what would be right; infeasible, absurd, and mixed units."""
    with pytest.raises(FigureError, match=words):
        planned(**changes)


def test_a_headwind_as_fast_as_the_aircraft_is_refused():
    """It would never arrive."""
    request = PlanRequest(3000.0, route(300.0, 10_000.0, knots=250.0))
    with pytest.raises(FigureError, match="headwind is 250 kt; true airspeed is 230 kt"):
        fuel_plan(FLEET[0], request)


def test_something_else_than_a_request_is_refused():
    """A dictionary of the same fields is not checked by hope."""
    with pytest.raises(FigureError, match="must be a PlanRequest"):
        fuel_plan(HALBROOK, {"payload": 5})


# -------------------------------------------------------------------------- infeasible plans
@pytest.mark.parametrize(
    ("changes", "limit"),
    [
        ({"payload": 21_600.0, "route": route(400.0)}, "zero-fuel mass"),
        ({"take_off_limit": 68_000.0}, "take-off mass"),
        ({"landing_limit": 58_000.0}, "landing mass"),
        ({"payload": 6000.0, "route": route(2300.0)}, "tank capacity"),
    ],
)
def test_an_infeasible_plan_names_the_limit_and_by_how_much(changes, limit):
    """The error and the plan without limits say the same; the sentence has the figure."""
    with pytest.raises(PlanError, match=limit) as caught:
        planned(**changes)
    free = plan_without_limits(HALBROOK, replace(USUAL, **changes))
    assert caught.value.limit == limit == free.bites.name
    assert caught.value.excess == pytest.approx(-free.bites.margin)
    assert f"{caught.value.excess:.0f}"[-3:] in str(caught.value)


def test_a_limit_just_met_is_met():
    """A take-off limit of exactly the plan's take-off mass passes; a kilogram less does not."""
    mass = planned().take_off
    assert planned(take_off_limit=mass + 1e-3).bites.name == "take-off mass"
    with pytest.raises(PlanError) as caught:
        planned(take_off_limit=mass - 1.0)
    assert caught.value.excess == pytest.approx(1.0, abs=1e-3)


def test_a_journey_that_no_fuel_is_enough_for_is_refused_at_once():
    """Around the world against the wind: more take-off mass than is worth saying."""
    with pytest.raises(PlanError, match="take-off mass: the plan needs more than"):
        planned(route=route(19_000.0, knots=200.0))


# -------------------------------------------------------------------------------------- laws
@st.composite
def requests(draw):
    """A request that is often feasible, for one of the fleet."""
    aircraft = draw(st.sampled_from(FLEET))
    tables, own = aircraft.performance, aircraft.mass_limits
    fitting = [name for name, rules in policies().items() if rules.not_for != tables.engines]
    level = draw(st.floats(tables.levels[0], tables.levels[-1]))
    request = PlanRequest(
        payload=draw(st.floats(0.0, own.zero_fuel - own.dry_operating)),
        route=Route(
            draw(st.floats(100.0, 2500.0)) * NAUTICAL_MILE,
            level,
            draw(st.floats(-80.0, 80.0)) * KNOT,
            draw(st.floats(-20.0, 20.0)),
        ),
        alternate=draw(st.one_of(st.none(), st.just(route(200.0, tables.levels[1] / FOOT)))),
        policy=draw(st.sampled_from(fitting)),
    )
    return aircraft, request


def block(aircraft, request):
    """Return the block fuel, or nothing if there is no such plan."""
    try:
        return plan_without_limits(aircraft, request).block
    except FigureError:
        return None


@pytest.mark.parametrize("what", ["payload", "distance", "headwind", "extra", "additional"])
@given(case=requests(), more=st.floats(1e-3, 1.0))
@settings(max_examples=60, deadline=None)
def test_block_fuel_never_falls_when_more_is_asked(what, case, more):
    """Payload, distance, headwind, fuel kept in reserve: more of one never needs less fuel."""
    aircraft, request = case
    if what in ("payload", "extra", "additional"):
        bigger = replace(request, **{what: getattr(request, what) + 1000.0 * more})
    else:
        span = 100.0 * NAUTICAL_MILE if what == "distance" else 20.0
        value = getattr(request.route, what) + span * more
        bigger = replace(request, route=replace(request.route, **{what: value}))
    first, second = block(aircraft, request), block(aircraft, bigger)
    assume(first is not None and second is not None)
    assert second >= first - 1e-5


@pytest.mark.parametrize("field", ["reserve_time", "no_alternate"])
@given(case=requests(), more=st.floats(1.0, 1800.0))
@settings(max_examples=40, deadline=None)
def test_block_fuel_never_falls_when_a_rule_asks_for_more(field, case, more):
    """A rule set with a longer reserve, or longer holding without an alternate."""
    aircraft, request = case
    known = policies()
    rules = known[request.policy]
    stricter = replace(rules, name="stricter", **{field: getattr(rules, field) + more})
    first = block(aircraft, request)
    known["stricter"] = stricter
    try:
        second = block(aircraft, replace(request, policy="stricter"))
    finally:
        del known["stricter"]
    assume(first is not None and second is not None)
    assert second >= first - 1e-5


# -------------------------------------------------------------------------------- at random
def random_request(draw, aircraft):
    """Return a request from anywhere that is not plain nonsense, and a little beyond."""
    tables, own = aircraft.performance, aircraft.mass_limits
    levels = (0.8 * tables.levels[0], 1.1 * tables.levels[-1])
    contingency = draw.one_of((None, None, "20 minutes", "en-route alternate", "basic"), "way")
    alternate = Route(
        draw.between(20.0, 800.0, "alternate") * NAUTICAL_MILE,
        draw.between(*levels, "alternate level"),
    )
    return PlanRequest(
        payload=draw.between(-0.02, 1.2, "payload") * (own.zero_fuel - own.dry_operating),
        route=Route(
            draw.between(1.0, 9000.0, "distance") * draw.share("short") * NAUTICAL_MILE,
            draw.between(*levels, "level"),
            draw.between(-160.0, 160.0, "wind"),
            draw.between(-22.0, 22.0, "deviation"),
        ),
        alternate=alternate if draw.chance(0.5, "has alternate") else None,
        isolated=draw.chance(0.2, "isolated"),
        policy=draw.one_of(tuple(policies()), "policy"),
        contingency=contingency,
        tankered=draw.one_of((0.0, 0.0, 3000.0), "tankered"),
        landing_limit=draw.one_of((None, None, 0.9 * own.landing), "landing limit"),
    )


def test_random_plans_are_plans_or_named_errors():
    """FUELKIT_RANDOM_PLANS of them (150): a sound plan, or a sentence, and never anything else."""
    made = refused = 0
    for number in range(RANDOM):
        draw = Draw("random plan", number)
        aircraft = draw.one_of(FLEET, "aircraft")
        try:
            plan = fuel_plan(aircraft, random_request(draw, aircraft))
        except FigureError as refusal:
            assert len(str(refusal)) > 20 and "nan" not in str(refusal)
            refused += 1
            continue
        made += 1
        assert all(part >= -1e-6 for part in plan.parts.values())
        assert all(limit.margin >= -1e-6 for limit in plan.limits)
        assert plan.take_off == pytest.approx(plan.flown.take_off, abs=1e-3)
        assert plan.flown.part("cruise").distance >= 0.0
    assert made > 0.05 * RANDOM and refused > 0.05 * RANDOM
