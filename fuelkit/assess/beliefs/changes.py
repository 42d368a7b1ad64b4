"""A change that a belief makes to an aircraft, as its data file names it, and how it is made."""

import inspect
from dataclasses import dataclass

from fuelkit.aircraft.reading import nearest
from fuelkit.assess.beliefs import part_changes, rule_changes
from fuelkit.assess.beliefs.roles import roles_of
from fuelkit.assess.beliefs.rule_changes import KINDS, Which

ON_RULES = {
    "drop": rule_changes.drop,
    "at once": rule_changes.at_once,
    "end with condition": rule_changes.end_with_condition,
    "end by hand": rule_changes.end_by_hand,
    "need all": rule_changes.need_all,
    "need any": rule_changes.need_any,
    "by side": rule_changes.by_side,
    "only switches": rule_changes.only_switches,
    "forget": rule_changes.forget,
    "only pumps of any": rule_changes.ask_only_pumps_of_any,
    "turn round": rule_changes.turn_round,
    "when empty": rule_changes.when_empty,
    "at share of mass": rule_changes.at_share_of_mass,
    "all orders": rule_changes.all_orders,
}
"""What can be done to rules that are selected."""

ON_PARTS = {
    "crossfeed levels": part_changes.crossfeed_levels,
    "crossfeed passes nothing": part_changes.crossfeed_passes_nothing,
    "crossfeed opens for balance": part_changes.crossfeed_opens_for_balance,
    "crossfeed opens for pumps": part_changes.crossfeed_opens_for_pumps,
    "override loses": part_changes.override_loses,
    "boost rests": part_changes.boost_rests,
    "no gravity feed": part_changes.no_gravity_feed,
    "low pressure stops": part_changes.low_pressure_stops,
    "APU from other side": part_changes.apu_from_other_side,
    "no jet pumps": part_changes.no_jet_pumps,
    "flaps both ways": part_changes.flaps_both_ways,
    "return to feed tank": part_changes.return_to_feed_tank,
    "overflow overboard": part_changes.overflow_overboard,
    "empty tank shuts valve": part_changes.empty_tank_shuts_valve,
    "dead bus shuts valves": part_changes.dead_bus_shuts_valves,
    "pumps on own bus": part_changes.pumps_on_own_bus,
}
"""What can be done to parts, found by their roles."""

ROLES = (
    "pump", "override pump", "boost pump", "valve", "crossfeed", "gravity transfer valve",
    "transfer valve", "refuelling valve", "return", "engine", "consumer",
)  # fmt: skip
STATES = ("OFF", "RUN", "SHUT", "OPEN")


@dataclass(frozen=True)
class Change:
    """One change: what is done, to which rules, and with what more. Frozen.

    which : Which or None
        None for a change to parts.
    more : tuple of (str, value)
    """

    do: str
    which: Which | None = None
    more: tuple = ()

    def made_on(self, aircraft):
        """Return the changed aircraft; an equal one if there is nothing to change."""
        roles = roles_of(aircraft)
        if self.which is None:
            return ON_PARTS[self.do](aircraft, roles)
        return ON_RULES[self.do](aircraft, roles, self.which, **dict(self.more))


def read_change(table):
    """Return a change from a table of a data file; faults go to the table's list."""
    do = table.text("do")
    if do in ON_PARTS:
        table.finish()
        return Change(do)
    if do not in ON_RULES:
        known = [*ON_RULES, *ON_PARTS]
        if do:
            table.fault(
                "do", do, f"it must be one of {', '.join(known)}.{nearest(do, known)}".rstrip(".")
            )
        return Change("drop", Which())
    which = Which(
        sets=_one_of(table, "sets", ROLES),
        to=_one_of(table, "to", STATES),
        asks=_one_of(table, "asks", KINDS),
        ends=_one_of(table, "ends", (*KINDS, "anything")),
        without=_one_of(table, "without", KINDS),
        delayed=table.flag("delayed", False),
    )
    more = _more(table, ON_RULES[do])
    if which == Which():
        table.fault_here("selects no rules; give sets, to, asks, ends, without or delayed")
    table.finish()
    return Change(do, which, more)


def _one_of(table, field, known):
    return table.choice(field, known, "") if field in table else ""


def _more(table, operator):
    """The further fields that an operator asks for: its keyword arguments."""
    found = []
    for name, argument in inspect.signature(operator).parameters.items():
        if argument.kind is inspect.Parameter.KEYWORD_ONLY:
            if name == "share":
                found.append((name, table.number(name, low=0.0, high=1.0)))
            else:
                found.append((name, table.choice(name, KINDS)))
    return tuple(found)
