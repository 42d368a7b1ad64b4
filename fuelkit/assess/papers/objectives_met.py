"""Which objectives a question tests: found from what changes in its flight, and what led to it."""

from fuelkit.aircraft import model
from fuelkit.flight.reasons import chain
from fuelkit.survey.crew_switches import crew_switches

_OF_STAGE = {
    "cockpit-preparation": "indications", "engine-start": "start-feed", "climb": "feed-sequence",
    "cruise": "feed-sequence", "descent": "feed-sequence", "after-landing": "fuel-used",
    "abnormal": "pump-failures",
}  # fmt: skip
_OF_SHEET = {
    "stand": ("sticks", "density"), "uplift": ("uplift",), "plan": ("block-fuel", "final-reserve"),
    "masses": ("masses",), "computer": ("masses",), "distribution": ("balance",),
    "in-flight": ("in-flight-check", "minimum-fuel"), "leak": ("leak-or-imbalance",),
    "gravity-feed": ("gravity-feed",), "freezing": ("freezing",), "jettison": ("jettison",),
    "after-flight": ("fuel-used",), "equal-time": ("in-flight-check",),
    "safe-return": ("in-flight-check",),
}  # fmt: skip
_OF_SCENE = {
    "walk-around": ("walk-around",), "sticks": ("sticks",), "water": ("water-draining",),
    "tanks": ("layout", "capacities"),
}  # fmt: skip
_OF_FAILURE = {"leaking": "leak-or-imbalance", "misreading": "quantity", "blocked": "vents"}


def objectives_of_changes(history, changes, stage):
    """Return the objectives that foreseeing some changes tests, the nearest first.

    Parameters
    ----------
    history : History
    changes : sequence of Change
    stage : str
        Name of a lesson; says what is tested where no change tells.

    Returns
    -------
    tuple of str
    """
    crew = crew_switches(history.aircraft)
    found = {}
    for change in changes:
        for name in _of_change(history, change, crew):
            found[name] = True
    return tuple(found) or (_OF_STAGE.get(stage, "feed-sequence"),)


def objectives_on_the_stand(board):
    """Return the objectives of a board without a flight."""
    asked = dict.fromkeys(name for ask in board.asks for name in ask.objectives)
    if board.scene == "sheet":
        return _OF_SHEET[board.sheet]
    return tuple(asked) or _OF_SCENE[board.scene]


def objective_of_failure(failure, aircraft):
    """Return the objective that recognising a failure tests."""
    if failure.kind in _OF_FAILURE:
        return _OF_FAILURE[failure.kind]
    part = aircraft.by_name[failure.part]
    if isinstance(part, model.Line):
        return "stuck-transfer" if _joins_tanks(part) else "crossfeed"
    return "pump-failures"


def _of_change(history, change, crew):
    part = history.aircraft.by_name.get(change.name)
    behind = [history.aircraft.by_name.get(c.name) for c in chain(history, change)]
    names = {c.name for c in chain(history, change)}
    if isinstance(part, model.Return):
        yield "hot-return"
    elif isinstance(part, model.Overflow):
        yield "overflow"
    elif isinstance(part, model.Consumer):
        yield "apu-feed" if part.kind == "APU" else "start-feed"
    elif isinstance(part, model.Line):
        yield from _of_valve(part, behind, history.aircraft)
    elif isinstance(part, model.Pump) and part.kind == "override":
        yield from _of_override(behind, names, crew)
    elif isinstance(part, model.Pump):
        yield "start-feed" if names & set(crew.pumps) else "pumps-and-valves"


def _of_valve(part, behind, aircraft):
    fed = [c for c in aircraft.consumers if c.start == part.end]
    if part.group == "refuelling":
        level = any(isinstance(other, model.Sensor) for other in behind)
        yield "high-level-shut-off" if level else "refuelling"
    elif _joins_tanks(part):
        yield "outboard-transfer"
    elif fed:
        yield "apu-feed" if fed[0].kind == "APU" else "start-feed"
    elif part.inlet is None and part.outlet is None:
        yield "crossfeed"


def _of_override(behind, names, crew):
    """A pump that wins over the others: held off, resting, running on, or selected."""
    if names & set(crew.high_lift):
        yield "high-lift-inhibition"
    if any(isinstance(other, model.Sensor | model.Overflow) for other in behind):
        yield "rest-and-resume"
    if any(isinstance(other, model.Rule) and other.delay > 0.0 for other in behind):
        yield "run-on"


def _joins_tanks(part):
    return part.inlet is not None and part.outlet is not None
