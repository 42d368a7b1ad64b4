"""Where the parts of a classroom lie, and who may look into them."""

import json
import os
import re
from dataclasses import asdict, dataclass
from pathlib import Path

from fuelkit.assess.sheet import write_atomically
from fuelkit.physics.errors import FuelkitError

FOLDER = Path("/opt/fuelkit-classroom")
VARIABLE = "FUELKIT_CLASSROOM_FOLDER"
"""Environment variable that tells the processes of a classroom where it lies."""

REGISTER_VARIABLE = "FUELKIT_REGISTER"

PREFIX = "learner-"
_PREFIX = re.compile(r"[a-z][a-z0-9]{1,9}-")
_SCHEMA = 1


class ClassroomError(FuelkitError):
    """The classroom cannot be set up, started or asked; the message says why and what to do."""


@dataclass(frozen=True)
class Settings:
    """What an instructor chooses; kept from one start to the next. Frozen.

    Attributes
    ----------
    prefix : str
        How the names of the learners' system accounts begin.
    address, port : str, int
        Where learners' browsers find the classroom. The three ports after it are used too, on
        127.0.0.1 alone.
    memory_mb : int
        Most memory a learner may use. [MB]
    certificate, certificate_key : str
        Files for an encrypted connection; both or neither.
    """

    prefix: str = PREFIX
    address: str = "127.0.0.1"
    port: int = 8000
    memory_mb: int = 600
    certificate: str = ""
    certificate_key: str = ""

    def __post_init__(self):
        if not _PREFIX.fullmatch(self.prefix):
            raise ClassroomError(
                f"prefix: it is {self.prefix!r}; it must be 2 to 10 small letters and digits "
                f"with a hyphen after them, such as {PREFIX}"
            )
        if not 1024 <= self.port <= 65532:
            raise ClassroomError(f"port: it is {self.port}; it must be from 1024 to 65532.")
        if not 150 <= self.memory_mb <= 100_000:
            raise ClassroomError(
                f"memory: it is {self.memory_mb}; it must be from 150 to 100000 megabytes."
            )
        if bool(self.certificate) != bool(self.certificate_key):
            raise ClassroomError("certificate: give both, --certificate and --certificate-key.")

    @property
    def hub_port(self):
        """Where the hub listens, on this machine alone."""
        return self.port + 1

    @property
    def proxy_port(self):
        """Where the proxy takes its orders, on this machine alone."""
        return self.port + 2

    @property
    def desk_port(self):
        """Where the desk takes sheets in, on this machine alone."""
        return self.port + 3

    @property
    def desk_account(self):
        """The system account that takes sheets in and can do nothing else."""
        return f"{self.prefix}desk"

    @property
    def proxy_account(self):
        """The system account of the proxy, the part that faces the network."""
        return f"{self.prefix}proxy"


@dataclass(frozen=True)
class Classroom:
    """A classroom on disk. Frozen; holds nothing but where it lies.

    Attributes
    ----------
    folder : Path
        Belongs to root; everybody may pass through it.
    """

    folder: Path

    @classmethod
    def of_variable(cls):
        """Return the classroom that this process belongs to."""
        return cls(Path(os.environ[VARIABLE]))

    @property
    def course(self):
        """The course as it is given out: everybody reads it, root alone writes."""
        return self.folder / "course"

    @property
    def python(self):
        """The interpreter that has the course's packages and JupyterHub."""
        return self.course / ".venv/bin/python"

    @property
    def proxy(self):
        """The program that stands between browsers and servers."""
        return self.folder / "proxy"

    @property
    def homes(self):
        """A home for each learner, which only they can read. Nobody may list them."""
        return self.folder / "homes"

    @property
    def given(self):
        """A folder for each learner with what is for them alone: they read it, root writes."""
        return self.folder / "given"

    @property
    def handed_in(self):
        """Sheets that were handed in: the desk writes here, root reads, nobody else gets in."""
        return self.folder / "handed-in"

    @property
    def certificate(self):
        """Copies of certificate and key, for the proxy alone."""
        return self.folder / "certificate"

    @property
    def private(self):
        """Class list, hashed words, keys and log of the hub: root alone."""
        return self.folder / "private"

    @property
    def register_file(self):
        """Codes, accounts and hashed words; on a cluster a variable names another place."""
        if named := os.environ.get(REGISTER_VARIABLE):
            return Path(named)
        return self.private / "register.json"

    @property
    def settings_file(self):
        """See `Settings`."""
        return self.private / "settings.json"

    @property
    def log(self):
        """What the hub says."""
        return self.private / "hub.log"

    def home(self, account):
        """Return the home of an account."""
        return self.homes / account

    def read_settings(self):
        """Return the settings; the usual ones where none were made yet.

        Raises
        ------
        ClassroomError
            If the file is damaged.
        """
        try:
            content = json.loads(self.settings_file.read_text(encoding="utf-8"))
            if content.pop("schema") != _SCHEMA:
                raise ValueError("another schema")
            return Settings(**content)
        except FileNotFoundError:
            return Settings()
        except (OSError, ValueError, KeyError, TypeError, AttributeError) as problem:
            raise ClassroomError(
                f"'{self.settings_file}' cannot be used ({problem}); remove it, and give your "
                "options again."
            ) from None

    def write_settings(self, settings):
        """Keep the settings for the next start."""
        content = {"schema": _SCHEMA, **asdict(settings)}
        write_atomically(self.settings_file, json.dumps(content, indent=1) + "\n")
