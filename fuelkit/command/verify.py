"""Check the mark log and the seals of a sitting."""

from fuelkit.assess.integrity.commitment import Commitment, opens
from fuelkit.assess.integrity.keeping import instructor_folder, read_record
from fuelkit.assess.integrity.log import head
from fuelkit.assess.integrity.sittings import sittings
from fuelkit.assess.integrity.verify import verify
from fuelkit.assess.papers.issue import LOG_FILE

SUMMARY = "Check that the mark log is whole and that keys fit their printed seals."


def add_arguments(parser):
    """Say what the command takes: nothing."""


def run(arguments):
    """Check, and print what was found; 1 if anything is wrong."""
    folder = instructor_folder()
    log = folder / LOG_FILE
    faults = list(verify(log)) if log.exists() else []
    keys = 0
    for sitting in sittings(folder):
        for path in sorted(sitting.personal.glob("key-*.json")):
            content = read_record(sitting.personal, path.name, "key")
            keys += 1
            if not opens(Commitment(content["salt"], content["digest"]), content["key"]):
                faults.append(f"{sitting.name}: {path.name} does not fit its seal.")
    for fault in faults:
        print(f"  {fault}")
    if log.exists():
        print(f"Mark log: {'; '.join(head(log).printed.splitlines())}")
    print(f"{keys} keys looked at. {len(faults) or 'No'} fault{'s' if len(faults) != 1 else ''}.")
    return 1 if faults else 0
