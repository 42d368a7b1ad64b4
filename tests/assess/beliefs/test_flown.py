"""Beliefs flown: each leads to a flight that differs where it says so, and papers find it.

FUELKIT_BELIEFS=all flies every belief on every aircraft that it speaks of, in many situations.
"""

import os
from functools import lru_cache

import numpy as np
import pytest

from fuelkit.assess.beliefs.flown import (
    answers_by_belief,
    beliefs_about,
    believed_aircraft,
    believed_flight,
)
from fuelkit.assess.beliefs.models import belief_of, load_beliefs
from fuelkit.assess.beliefs.situations import situations
from fuelkit.assess.flights import STANDARD, aircraft_of, flight_of, sectors_for
from fuelkit.assess.stages import told_parts
from fuelkit.flight.fly import fly
from tests.assess.beliefs.boards import AFTER, table
from tests.assess.beliefs.choosing import choose, information
from tests.assess.beliefs.synthetic import learners, outcome
from tests.figures.fleet import STARTER

ALL = os.environ.get("FUELKIT_BELIEFS") == "all"
FLEET = (STARTER, "halbrook-180", "halbrook-40", "halbrook-300")  # the quick ones first
A_WHILE = 5400.0  # s; most beliefs show by then
SHOWN = 3
"""A belief counts as one that a pool of questions shows if so many of its parts differ."""

BRINGS_OUT = {
    "always-from-its-own-side": "crossfeed open, left pumps off",
    "crossfeed-levels-tanks": "crossfeed open, left pumps off",
    "crossfeed-balances-by-itself": "crossfeed open, left pumps off",
    "crossfeed-opens-when-pumps-stop": "left pumps off",
    "crossfeed-holds-no-pump-off": "right feed pump failed",
    "no-gravity-feed": "left pumps off",
    "low-pressure-is-failed": "crossfeed open, left pumps off",
    "all-tanks-end-together": "crossfeed open, left pumps off",
    "dead-bus-shuts-valves": "left bus failed",
    "pumps-of-a-side-on-one-bus": "left bus failed",
}
"""Where the flight as it is says nothing of a belief: the situation that does."""


@lru_cache(maxsize=64)
def more_of(aircraft, sector, words):
    """The failures and actions of a situation; None if the flight has no such situation."""
    return {s.words: s.more for s in situations(aircraft, sector)}.get(words)


def differ(right, other):
    """Whether two flights differ in a part's state, a tank by more than 60 kg, or a feeding tank.

    Looked at soon after each change in the right flight, the first 60 of them, and each half hour.
    """
    told = told_parts(right.aircraft)
    changes = [c.time + AFTER for c in right.changes if c.name in told][:60]
    times = [*changes, *range(0, int(right.sector.end), 1800)]
    tanks = [i for i, t in enumerate(right.aircraft.tanks) if t.holds_fuel]
    for time in sorted(t for t in times if t <= right.sector.end):
        one, two = right.state_at(time), other.state_at(time)
        if any(one.positions[n] != two.positions[n] for n in told):
            return True
        if any(abs(one.quantities[i] - two.quantities[i]) > 60.0 for i in tanks):
            return True
        for consumer in right.aircraft.consumers:
            if set(right.feeding(consumer.name, time)) != set(other.feeding(consumer.name, time)):
                return True
    return False


def flown(belief, aircraft):
    """Fly a belief on an aircraft, first a while and then the whole sector; errors as they come."""
    for sector in sectors_for(aircraft_of(aircraft)):
        more = more_of(aircraft, sector, BRINGS_OUT.get(belief.name, "as it is"))
        if more is None:
            continue
        for until in (A_WHILE, None):
            right = flight_of(aircraft, sector, 0, more, until)
            yield right, fly(believed_aircraft(belief.name, aircraft), right.sector)


@pytest.mark.parametrize("name", [b.name for b in load_beliefs() if not b.is_of_figures])
def test_every_belief_is_flown_and_shows(name):
    """On the first aircraft and sector on which it is worth a question, fuel being conserved."""
    belief = belief_of(name)
    about = [a for a in FLEET if believed_aircraft(name, a) is not None]
    for aircraft in about:
        for right, other in flown(belief, aircraft):
            assert abs(other.conservation_error()) < 0.05
            if differ(right, other):
                return
    pytest.fail(f"nothing in the flights of {', '.join(about)} shows '{name}'")


@pytest.mark.skipif(not ALL, reason="FUELKIT_BELIEFS=all flies every belief on every aircraft")
@pytest.mark.parametrize("aircraft", FLEET)
def test_every_belief_flies_on_every_aircraft_that_it_speaks_of(aircraft):
    """On every sector, with no rules without end and fuel conserved."""
    for belief in beliefs_about(aircraft):
        for sector in sectors_for(aircraft_of(aircraft)):
            plain = flight_of(aircraft, sector).sector
            flight = fly(believed_aircraft(belief.name, aircraft), plain)
            assert abs(flight.conservation_error()) < 0.05, (belief.name, sector)


def test_a_belief_that_says_nothing_has_no_flight():
    """Nothing is asked of it: its answer is None, and counts as the right one."""
    assert believed_flight("never-rests", STARTER, STANDARD) is None
    beliefs = [belief_of("never-rests"), belief_of("lights-at-once")]
    asked = answers_by_belief(
        beliefs, lambda f: f.changes_of("engine 1")[0].time, STARTER, STANDARD
    )
    assert asked[1] is None and asked[2] < asked[0]


@pytest.mark.parametrize("aircraft", FLEET if ALL else FLEET[:1])
def test_a_believed_flight_is_followed_well_enough_for_any_answer(aircraft):
    """Followed less exactly, it has the same states at each minute, and the same masses.

    Within a tenth of the least tolerance of a mass, 30 kg. A state that comes and goes within
    seconds, as a warning may, need not do so as often.
    """
    sector = sectors_for(aircraft_of(aircraft))[0]
    for belief in beliefs_about(aircraft):
        rough = believed_flight(belief.name, aircraft, sector)
        exact = fly(believed_aircraft(belief.name, aircraft), rough.sector)
        times, parts = np.arange(30.0, rough.sector.end, 60.0), told_parts(rough.aircraft)
        states = [[[f.position(p, t) for t in times] for p in parts] for f in (rough, exact)]
        same = np.array(states[0]) == np.array(states[1])
        assert same.mean() > 0.999, belief.name
        masses = [flight.samples(times) for flight in (rough, exact)]
        assert np.allclose(*masses, rtol=0.0, atol=3.0), belief.name


def test_situations_are_flights_of_the_same_sector_with_something_more():
    """The flight as it is first; each other one has a failure or an action, and flies."""
    found = situations(STARTER, STANDARD)
    assert found[0].more == "" and len({s.more for s in found}) == len(found) >= 5
    plain = flight_of(STARTER, STANDARD).sector
    for situation in found[1:]:
        sector = flight_of(STARTER, STANDARD, 0, situation.more).sector
        assert len(sector.failures) + len(sector.actions) > len(plain.failures) + len(plain.actions)


@pytest.mark.parametrize("sector", sectors_for(aircraft_of("halbrook-180")))
def test_the_fuller_side_is_never_the_one_that_is_switched_off(sector):
    """With the crossfeed open the other side then feeds both engines: it holds no less."""
    flight = flight_of("halbrook-180", sector)
    seen = 0
    for case in situations("halbrook-180", sector):
        off = next((s for s in ("left", "right") if f"crossfeed open, {s} pumps off" in case.words),
                   None)  # fmt: skip
        if off:
            held = {
                side: sum(flight.quantity(f"{side} {tank}", case.begin)
                          for tank in ("inboard", "outboard"))
                for side in ("left", "right")
            }  # fmt: skip
            assert held[off] <= 1.011 * min(held.values())
            seen += 1
    assert 2 <= seen <= 3


# ---------------------------------------------------------------------------------- real papers
def held_to_promise(pool, count=150):
    """Draw a paper for beliefs and one at random; hold both to what the issue promises."""
    told = information(pool)
    parts = (pool.predicted[1:] != pool.predicted[0]).sum(axis=1)
    kept = [n for n, p in zip(pool.beliefs, parts, strict=True) if p >= SHOWN]
    pool = pool.with_beliefs(kept)
    told = information(pool)
    chosen = pool.of(choose(told, 20))
    lots = np.random.default_rng(1)
    random = pool.of(lots.choice(pool.questions, 20, replace=False))
    group = {"count": count, "seed": 2, "slip": 0.10}
    found = [outcome(p, learners(p, **group, holding=1)).first_true for p in (chosen, random)]
    assert found[0] >= 0.90, found
    assert found[0] > found[1]
    for paper in (chosen, random):
        assert outcome(paper, learners(paper, **group, holding=0)).named <= 0.05
    return kept


def test_papers_of_an_own_aircraft_find_beliefs():
    """The guide's aircraft, three situations: 20 questions chosen, beside 20 at random."""
    words = ("as it is", "crossfeed open, left pumps off", "left pumps off")
    cases = [(STARTER, STANDARD, 0, more_of(STARTER, STANDARD, w)) for w in words]
    assert len(held_to_promise(table(beliefs_about(STARTER), cases, 20))) >= 6


@pytest.mark.skipif(not ALL, reason="FUELKIT_BELIEFS=all draws papers of the course's aircraft")
@pytest.mark.parametrize("aircraft", FLEET[1:])
def test_papers_of_the_kit_find_beliefs(aircraft):
    """Drawn sectors of the first route, and situations, as a pool of questions."""
    sector = sectors_for(aircraft_of(aircraft))[0]
    words = ("as it is", "crossfeed open, left pumps off", "left pumps off", "left bus failed")
    mores = [more_of(aircraft, sector, w) for w in words]
    cases = [(aircraft, sector, 0, more) for more in mores if more is not None]
    cases += [(aircraft, sector, draw, "") for draw in (1, 2)]
    assert len(held_to_promise(table(beliefs_about(aircraft), cases, 30))) >= 10
