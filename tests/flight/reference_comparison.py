"""How far a flight of the kit and one of the reference are apart."""

import numpy as np

EVENT_TIME = 0.010  # s; the promise
TANK_MASS = 0.1  # kg; the promise
TEMPERATURE = 0.01  # K; our own


def by_name(events):
    """Sort (time, name, state) by name, without what lasts no time at all.

    An overflow that just stops may start and stop again at the same instant, by rounding.
    """
    found = {}
    for time, name, state in events:
        found.setdefault(name, []).append((float(time), state))
    return {name: _lasting(changes) for name, changes in found.items()}


def _lasting(changes):
    found = []
    for time, state in changes:
        there_and_back = len(found) > 1 and found[-1][0] == time and found[-2][1] == state
        if there_and_back and state in ("STILL", "RUNNING"):
            found.pop()
        else:
            found.append((time, state))
    return found


class Comparison:
    """A flight by the kit and the same by the reference."""

    def __init__(self, flight, reference):
        self.flight, self.reference = flight, reference
        self.ours = by_name((c.time, c.name, c.after) for c in flight.changes)
        self.theirs = by_name(reference.events)

    def different_states(self):
        """Return the names whose states do not follow each other in the same order, first first."""
        found = []
        for name in self.ours.keys() | self.theirs.keys():
            ours, theirs = self.ours.get(name, []), self.theirs.get(name, [])
            if [state for _, state in ours] != [state for _, state in theirs]:
                same = 0
                while ours[same : same + 1] and theirs[same : same + 1]:
                    if ours[same][1] != theirs[same][1]:
                        break
                    same += 1
                at = min(events[same][0] for events in (ours, theirs) if len(events) > same)
                found.append((at, name, ours[same : same + 2], theirs[same : same + 2]))
        return sorted(found)

    def latest_event(self):
        """Return the largest difference in time between the same events [s], and whose it is."""
        apart = {
            name: max(abs(a - b) for (a, _), (b, _) in zip(events, self.theirs[name], strict=True))
            for name, events in self.ours.items()
        }
        worst = max(apart, key=apart.get)
        return apart[worst], worst

    def largest_differences(self, times):
        """Return the largest difference in any tank's mass [kg] and temperature [K] at times."""
        tanks = len(self.flight.aircraft.tanks)
        ours = np.array([self.flight.state_at(float(time)).quantities for time in times])
        masses = np.array([self.reference.masses(float(time)) for time in times])
        temperatures = np.array([self.reference.temperatures(float(time)) for time in times])
        return (
            float(np.abs(ours[:, :tanks] - masses).max()),
            float(np.abs(ours[:, -tanks:] - temperatures).max()),
        )
