"""How much memory a learner's processes may take, and what on this machine sees to it.

A control group holds all processes of a learner together; where the system lets nobody make one
(in many containers), each process is limited by itself.
"""

import os
import resource
from dataclasses import dataclass
from pathlib import Path

_ROOT = Path("/sys/fs/cgroup")
_NAME = "fuelkit-classroom"
_PROCESSES = 250  # threads of a learner, all together
_LARGEST_FILE = 100_000_000
_MB = 1 << 20


@dataclass(frozen=True)
class Limits:
    """The way in which limits are set. Frozen.

    Attributes
    ----------
    kind : str
        "group" (version 2 of control groups), "old group" (version 1) or "process".
    root : Path
        Folder of control groups.
    """

    kind: str
    root: Path = _ROOT

    @classmethod
    def of_machine(cls, root=_ROOT):
        """Return the best way that this machine has, for whoever asks."""
        if _has_memory(root / "cgroup.controllers") and os.access(root, os.W_OK):
            return cls("group", root)
        if (root / "memory/memory.limit_in_bytes").exists() and os.access(root / "memory", os.W_OK):
            return cls("old group", root)
        return cls("process", root)

    @property
    def words(self):
        """What is in force, as a sentence says it."""
        if self.kind == "process":
            return "each process of a learner by itself (this system lets nobody make groups)"
        version = 2 if self.kind == "group" else 1
        return f"all processes of a learner together (control group, version {version})"

    def prepared(self, account, megabytes):
        """Make the limit for an account; return a function that a new process calls as root.

        Parameters
        ----------
        account : str
        megabytes : int
            Most memory. [MB]
        """
        procs = self._group(account, megabytes * _MB)

        def enter():
            if procs is None:
                resource.setrlimit(resource.RLIMIT_DATA, (megabytes * _MB,) * 2)
            else:
                procs.write_text(str(os.getpid()))
            resource.setrlimit(resource.RLIMIT_NPROC, (_PROCESSES,) * 2)
            resource.setrlimit(resource.RLIMIT_FSIZE, (_LARGEST_FILE,) * 2)
            resource.setrlimit(resource.RLIMIT_CORE, (0, 0))

        return enter

    def _group(self, account, size):
        """Make or adjust the group of an account; return the file that takes processes in."""
        if self.kind == "process":
            return None
        if self.kind == "old group":
            group = self.root / "memory" / _NAME / account
            group.mkdir(parents=True, exist_ok=True)
            (group / "memory.limit_in_bytes").write_text(str(size))
            return group / "cgroup.procs"
        above = self.root / _NAME
        group = above / account
        group.mkdir(parents=True, exist_ok=True)
        for folder in (self.root, above):
            (folder / "cgroup.subtree_control").write_text("+memory")
        (group / "memory.max").write_text(str(size))
        if (group / "memory.swap.max").exists():
            (group / "memory.swap.max").write_text("0")
        return group / "cgroup.procs"

    def forget(self, account):
        """Take the group of an account away, once nothing runs in it."""
        above = {"group": self.root, "old group": self.root / "memory"}.get(self.kind)
        if above is not None and (above / _NAME / account).is_dir():
            (above / _NAME / account).rmdir()


def _has_memory(path):
    try:
        return "memory" in path.read_text().split()
    except OSError:
        return False
