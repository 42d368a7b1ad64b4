"""How often a word may be tried: few wrong ones a minute, from one place and for one code."""

import time
from collections import defaultdict, deque

_SECONDS = 60.0
_SAME = 5  # wrong words a minute for one code from one place
_CODE = 30  # for one code from anywhere: so high that nobody is shut out by a neighbour
_PLACE = 60  # from one place for any code: a whole class may sit behind one address
_MOST = 10_000


class Attempts:
    """Counts of wrong words in the last minute.

    Parameters
    ----------
    now : callable
        Gives the time. [s]
    """

    def __init__(self, now=time.monotonic):
        self._now = now
        self._wrong = defaultdict(deque)

    def wait(self, code, place):
        """Return how long to wait before a word may be tried again. [s]"""
        now = self._now()
        return max(self._left(key, most, now) for key, most in self._keys(code, place))

    def failed(self, code, place):
        """Count a wrong word."""
        if len(self._wrong) > _MOST:
            self._forget()
        for key, _ in self._keys(code, place):
            self._wrong[key].append(self._now())

    @staticmethod
    def _keys(code, place):
        return ((code, place), _SAME), (("code", code), _CODE), (("place", place), _PLACE)

    def _left(self, key, most, now):
        times = self._wrong.get(key, ())
        while times and times[0] <= now - _SECONDS:
            times.popleft()
        return times[-most] + _SECONDS - now if len(times) >= most else 0.0

    def _forget(self):
        """Drop what is over, so that tries for codes without end do not fill the memory."""
        before = self._now() - _SECONDS
        for key in [k for k, times in self._wrong.items() if not times or times[-1] <= before]:
            del self._wrong[key]
