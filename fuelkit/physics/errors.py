"""Named errors of the physics room, and the base of all errors of the kit."""


class FuelkitError(Exception):
    """Base of every error that the kit raises on purpose."""


class NetworkError(FuelkitError, ValueError):
    """A network has no solution. `unfed` names the nodes that no source reaches."""

    def __init__(self, message, *, unfed=()):
        super().__init__(message)
        self.unfed = tuple(unfed)
