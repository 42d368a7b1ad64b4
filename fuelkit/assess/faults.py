"""Failures in plain words, as a learner names them."""

from fuelkit.physics.units import HOUR

_SENTENCES = {
    "failed": "{part} has failed",
    "leaking": "fuel leaks from {part}",
    "misreading": "the gauge of {part} is wrong",
    "blocked": "the vent of {part} is blocked",
}


def failure_sentence(failure):
    """Return what has failed as a sentence without its time or size.

    Examples
    --------
    >>> from fuelkit.flight.failures import Failure
    >>> failure_sentence(Failure(0.0, "crossfeed valve", "stuck", state="SHUT"))
    'crossfeed valve is stuck SHUT'
    """
    if failure.kind == "stuck":
        where = f" {failure.state}" if failure.state else " where it was"
        return f"{failure.part} is stuck{where}"
    return _SENTENCES[failure.kind].format(part=failure.part)


def failure_size(failure):
    """Return how much a failure does, or nothing: "900 kg/h" for a leak."""
    return f"{failure.leak * HOUR:.0f} kg/h" if failure.kind == "leaking" else ""
