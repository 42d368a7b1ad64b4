"""Check the mark log and the seals of a sitting."""

from pathlib import Path

from fuelkit.assess.integrity.commitment import Commitment, opens
from fuelkit.assess.integrity.keeping import instructor_folder, read_record
from fuelkit.assess.integrity.log import head
from fuelkit.assess.integrity.sittings import key_file, learners_of, sittings
from fuelkit.assess.integrity.verify import verify
from fuelkit.assess.papers.issue import LOG_FILE
from fuelkit.assess.papers.spoken import fits, told
from fuelkit.assess.sheet import moment_words, read_sheet

SUMMARY = "Check that the mark log is whole and that keys fit their printed seals."


def add_arguments(parser):
    """Say what the command takes: nothing, or a receipt and a sheet."""
    parser.add_argument(
        "--receipt", nargs=2, metavar=("RECEIPT", "SHEET"),
        help="check a receipt, as a learner reads it out, against a sheet (a .json file), and stop",
    )  # fmt: skip


def run(arguments):
    """Check, and print what was found; 1 if anything is wrong."""
    if arguments.receipt:
        return _check_receipt(*arguments.receipt)
    folder = instructor_folder()
    log = folder / LOG_FILE
    faults = list(verify(log)) if log.exists() else []
    keys = 0
    for sitting in sittings(folder):
        for name in map(key_file, learners_of(sitting)):
            content = read_record(sitting.personal, name, "key")
            keys += 1
            if not opens(Commitment(content["salt"], content["digest"]), content["key"]):
                faults.append(f"{sitting.name}: {name} does not fit its seal.")
    for fault in faults:
        print(f"  {fault}")
    if log.exists():
        print(f"Mark log: {'; '.join(head(log).printed.splitlines())}")
    print(f"{keys} keys looked at. {len(faults) or 'No'} fault{'s' if len(faults) != 1 else ''}.")
    return 1 if faults else 0


def _check_receipt(text, file):
    sheet = read_sheet(Path(file))
    if not sheet.handed_in:
        print(f"{file} is not handed in: it has no receipt.")
        return 1
    if fits(text, sheet):
        print(f"It fits: {sheet.learner}, handed in {moment_words(sheet.handed_in)}.")
        return 0
    print(f"It does not fit: {sheet.learner} handed in other answers, or at another time, than "
          f"this file has. The receipt of this file is {told(sheet)}.")  # fmt: skip
    return 1
