"""An aircraft looked over: its standard sector flown, and what in it can never happen.

What no flight showed is told apart from what the rules exclude. The first is a finding of so many
flights; only the second is certain.
"""

from dataclasses import dataclass

from fuelkit.aircraft import model
from fuelkit.flight.fly import fly
from fuelkit.flight.many import fly_many
from fuelkit.flight.state import ACTIVE
from fuelkit.physics.errors import FuelkitError
from fuelkit.survey.possible import impossible_rules
from fuelkit.survey.standard_sector import standard_sector
from fuelkit.survey.supply import supply_of, unreachable_tanks
from fuelkit.survey.variants import variants

MOST_VARIANTS = 120
"""How many variants are flown at most; enough for any aircraft of the usual size."""

_FIRST_BATCH, _BATCH = 8, 32  # variants flown before a look at what is still missing
_IDLE_SHARE = 0.5  # a tank that keeps more than this of its load was not drained


@dataclass(frozen=True)
class Survey:
    """What was found out about an aircraft. Frozen.

    flight : History or None
        The standard sector, None if it cannot be flown; then `failed` says why.
    first_held : dict of str to str
        For every rule that took hold in some flight, which one: "" is the standard sector.
    flown : int
        How many variants were flown.
    left_out : int
        How many variants were not flown because there are too many.
    not_flyable : tuple of (str, str)
        Variants that could not be flown, and why.
    impossible : tuple of Impossible
        Rules that can never matter, by their conditions.
    unreachable : tuple of str
        Tanks from which no way leads to an engine.
    undrained : tuple of (str, float, float)
        Tanks that kept their fuel in the standard sector: name, held at first, at the least [kg].
    supplies : tuple of Supply
        For each engine and APU.
    """

    aircraft: object
    sector: object
    flight: object
    failed: str
    first_held: dict
    flown: int
    left_out: int
    not_flyable: tuple
    impossible: tuple
    unreachable: tuple
    undrained: tuple
    supplies: tuple

    @property
    def never_seen(self):
        """Rules that took hold in no flight and that their conditions do not exclude."""
        excluded = {x.rule for x in self.impossible if x.kind == "cannot"}
        return tuple(
            r.name
            for r in self.aircraft.rules
            if r.name not in self.first_held and r.name not in excluded
        )

    @property
    def one_source(self):
        """Supplies of engines that a single pump, tank or bus cuts off."""
        kinds = {c.name: c.kind for c in self.aircraft.consumers}
        return tuple(
            s
            for s in self.supplies
            if kinds[s.consumer] == "engine" and (s.single_sources or not s.sources)
        )


def survey(aircraft, *, tell=None, most=MOST_VARIANTS):
    """Return what can be found out about an aircraft by looking at its rules and flying it.

    Parameters
    ----------
    aircraft : Aircraft
    tell : callable, optional
        Called as ``tell(done, total)``: flights flown, and how many there are at most.
    most : int
        How many variants are flown at most. They are flown until every rule has taken hold,
        a batch at a time over the cores.

    Returns
    -------
    Survey

    Examples
    --------
    >>> from fuelkit.aircraft.load import load_aircraft
    >>> found = survey(load_aircraft("halbrook-180"), most=0)
    >>> found.failed, found.unreachable, found.one_source
    ('', (), ())
    """
    tell = tell or (lambda done, total: None)
    impossible = impossible_rules(aircraft)
    sector = standard_sector(aircraft)
    tell(0, 1)
    flight, failed = _try(aircraft, sector)
    search = _Search(aircraft, dict.fromkeys(_took_hold(flight), "") if flight else {})
    excluded = {x.rule for x in impossible if x.kind == "cannot"}
    search.wanted = {r.name for r in aircraft.rules} - excluded
    many = search.in_order(variants(aircraft, sector)) if search.missing else ()
    search.fly(many[:most], tell)
    left_out = max(0, len(many) - most) if search.missing else 0
    return Survey(
        aircraft, sector, flight, failed, search.held, search.flown, left_out,
        tuple(search.not_flyable), impossible, unreachable_tanks(aircraft),
        _undrained(aircraft, flight), tuple(supply_of(aircraft, c) for c in aircraft.consumers),
    )  # fmt: skip


class _Search:
    """The search for a flight in which each rule takes hold, and what it has found so far."""

    def __init__(self, aircraft, held):
        self.aircraft, self.held = aircraft, held
        self.wanted, self.flown, self.not_flyable = set(), 0, []

    @property
    def missing(self):
        """Rules that have taken hold in no flight yet."""
        return self.wanted - self.held.keys()

    def fly(self, many, tell):
        """Fly variants, batch by batch, until no rule is missing."""
        begin, size = 0, _FIRST_BATCH
        while begin < len(many) and self.missing:
            batch = many[begin : begin + size]
            begin, size = begin + size, _BATCH
            done = self.flown + 1
            results = _results(
                self.aircraft, batch, lambda n, _, done=done: tell(done + n, len(many) + 1)
            )
            for variant, result in zip(batch, results, strict=True):
                self._note(variant.words, result)

    def _note(self, words, result):
        self.flown += 1
        if isinstance(result, Exception):
            self.not_flyable.append((words, _reason(result)))
            return
        for name in sorted(result):
            self.held.setdefault(name, words)

    def in_order(self, many):
        """Return variants, those first that touch what missing rules look at; else as given."""
        rules = [rule for rule in self.aircraft.rules if rule.name in self.missing]
        looked_at = {fact.name for rule in rules for fact in rule.condition.facts}
        looked_at |= {s.tank for s in self.aircraft.sensors if s.name in looked_at} | self.missing
        return sorted(many, key=lambda variant: not (variant.touches & looked_at))


def _results(aircraft, batch, progress):
    """For each variant the rules that took hold, or why it could not be flown."""
    sectors = [variant.sector for variant in batch]
    try:
        return fly_many(aircraft, sectors, keep=_took_hold, progress=progress)
    except ArithmeticError:  # one of them broke down; find out which
        found = []
        for number, sector in enumerate(sectors, start=1):
            flight, reason = _try(aircraft, sector)
            found.append(_took_hold(flight) if flight else FuelkitError(reason))
            progress(number, len(sectors))
        return found


def _try(aircraft, sector):
    """The flight and no words, or none and why it cannot be flown."""
    try:
        return fly(aircraft, sector), ""
    except (FuelkitError, ArithmeticError) as problem:
        return None, _reason(problem)


def _reason(problem):
    """Why a flight could not be computed, in words."""
    if isinstance(problem, FuelkitError):
        return str(problem)
    return f"the computation broke down ({problem})"  # far outside of what its laws are made for


def _took_hold(flight):
    """The rules that took hold in a flight."""
    rules = {rule.name for rule in flight.aircraft.rules}
    return {c.name for c in flight.changes if c.name in rules and c.after == ACTIVE}


def _undrained(aircraft, flight):
    """Fuel tanks that kept more than half of what they held when the engines ran."""
    if flight is None:
        return ()
    times = sorted({s.state.time for s in flight.segments})
    last = flight.sector.phases[-1].start
    times = [t for t in times if t <= last]
    rows = flight.samples(times)
    found = []
    for i, tank in enumerate(aircraft.tanks):
        first, least = float(rows[0, i]), float(rows[:, i].min())
        if tank.holds_fuel and first > 0.0 and least > _IDLE_SHARE * first:
            found.append((tank.name, first, least))
    return tuple(found)


def told_changes(flight):
    """Return the changes of a flight that are worth telling: no sensors, openings or rules.

    Returns
    -------
    tuple of Change
    """
    parts = flight.aircraft.by_name
    kinds = (
        model.Pump | model.Consumer | model.Return | model.Filler | model.Overflow | model.Alert
        | model.Bus
    )  # fmt: skip
    return tuple(
        c
        for c in flight.changes
        if c.before != c.after
        and c.after != "MOVING"
        and (
            c.name == "phase"
            or isinstance(parts.get(c.name), kinds)
            or (isinstance(parts.get(c.name), model.Line) and parts[c.name].kind == "valve")
        )
    )
