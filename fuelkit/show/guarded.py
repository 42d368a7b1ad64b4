"""Errors of a board's callbacks: told on the board in plain words, and in full in the log."""

import traceback

from fuelkit.physics.errors import FuelkitError

FAILED = object()
"""What a guarded call returns if it has failed."""


class Guarded:
    """For widgets with a trait `error`, which their page shows."""

    own_fault = (
        "Something is wrong in the course, not in your answer ({}). Please tell your instructor."
    )
    """What is said of an error that no input can have caused."""

    def guarded(self, failed, function, *arguments):
        """Call a function; return what it returns, or FAILED with the error told.

        Parameters
        ----------
        failed : str
            What has not come about, as a sentence.
        """
        try:
            return function(*arguments)
        except Exception as problem:
            traceback.print_exc()
            self.error = f"{failed} {self._in_words(problem)}"
            return FAILED

    def _in_words(self, problem):
        if isinstance(problem, FuelkitError):
            return str(problem)
        if isinstance(problem, OSError):
            return f"The computer says: {problem.strerror or problem}."
        return self.own_fault.format(f"{type(problem).__name__}: {problem}")
