"""How long a fuel plan takes, against one update of a bare ipywidgets.HTML value.

Run with ``python -m tests.benchmarks.plan_speed``. Both are timed in one run, by turns, and the
best of several is taken of each; times are of the processor, so that other programs that run
meanwhile count for little. What counts is the ratio; the plan is to take less than 5 ms.
"""

import statistics
import time

import ipywidgets

from fuelkit.aircraft.load import load_aircraft
from fuelkit.figures.plan import PlanRequest, fuel_plan
from fuelkit.figures.trip import Route
from fuelkit.physics.units import FOOT, NAUTICAL_MILE

_TURNS, _EACH = 15, 20


def _request(payload, miles, feet, alternate_miles, alternate_feet):
    route = Route(miles * NAUTICAL_MILE, feet * FOOT, 8.0, 4.0)
    return PlanRequest(
        payload, route, Route(alternate_miles * NAUTICAL_MILE, alternate_feet * FOOT)
    )


CASES = {
    "halbrook-40": _request(3500.0, 400.0, 21_000.0, 130.0, 11_000.0),
    "halbrook-180": _request(15_000.0, 1400.0, 35_000.0, 200.0, 17_000.0),
    "halbrook-300": _request(26_000.0, 4700.0, 35_000.0, 260.0, 17_000.0),
}


def _timed(work):
    start = time.process_time()
    for _ in range(_EACH):
        work()
    return (time.process_time() - start) / _EACH * 1e3


def main():
    """Print the time of a plan and of a widget update [ms], and their ratio."""
    text = ipywidgets.HTML("0")
    counted = iter(range(10**9))

    def update():
        text.value = str(next(counted))

    for name, request in CASES.items():
        aircraft = load_aircraft(name)
        fuel_plan(aircraft, request)  # tanks measured once
        plans, updates = [], []
        for _ in range(_TURNS):
            plans.append(_timed(lambda a=aircraft, r=request: fuel_plan(a, r)))
            updates.append(_timed(update))
        plan, bare = min(plans), min(updates)
        print(
            f"{name}: plan {plan:.2f} ms (median {statistics.median(plans):.2f}), "
            f"widget {bare:.3f} ms, ratio {plan / bare:.1f}"
        )


if __name__ == "__main__":
    main()
