"""A learner's server: a process of the learner's own account, within its limits."""

import ctypes
import os
import pwd

from jupyterhub.spawner import LocalProcessSpawner, set_user_setuid
from tornado import web

from fuelkit.classroom.layout import Classroom
from fuelkit.classroom.limits import Limits
from fuelkit.classroom.register import INSTRUCTOR, read_register

_NO_NEW_PRIVILEGES = 38  # PR_SET_NO_NEW_PRIVS, linux/prctl.h
_LIBC = ctypes.CDLL(None)


class LearnerSpawner(LocalProcessSpawner):
    """Starts servers under accounts whose names tell no code; see `register`."""

    @property
    def code(self):
        """The learner's code."""
        return self.user.name.upper()

    @property
    def account(self):
        """What the system knows of the learner's account."""
        register = read_register(Classroom.of_variable())
        return pwd.getpwnam(register.account(self.code))

    async def start(self):
        """Start the server; the instructor has none, whose page is the list of sheets."""
        if self.code == INSTRUCTOR:
            raise web.HTTPError(403, "The instructor has no server of their own.")
        return await super().start()

    def make_preexec_fn(self, name):
        """Return what a new process does before anything else, as root, and then for good not."""
        account = self.account.pw_name
        enter = Limits.of_machine().prepared(
            account, Classroom.of_variable().read_settings().memory_mb
        )
        become = set_user_setuid(account)

        def first():
            enter()
            os.umask(0o077)
            # No program that lends rights (su, sudo, at, crontab) lends any from here on.
            if _LIBC.prctl(_NO_NEW_PRIVILEGES, 1, 0, 0, 0):
                raise OSError("rights could not be given up")
            become()

        return first

    def user_env(self, env):
        """Add what depends on the learner."""
        account = self.account
        home = account.pw_dir
        return {
            **env,
            "USER": account.pw_name,
            "LOGNAME": account.pw_name,
            "HOME": home,
            "SHELL": "/bin/bash",
            "FUELKIT_ANSWERS": f"{home}/course/answers",
            "JUPYTER_RUNTIME_DIR": f"{home}/.run",
        }

    async def _signal(self, sig):
        """Send a signal, to a process of this learner only.

        After the machine was started anew, a number that was kept may be another's process.
        """
        try:
            if os.stat(f"/proc/{self.pid}").st_uid != self.account.pw_uid:
                return False
        except FileNotFoundError:
            return False
        return await super()._signal(sig)
