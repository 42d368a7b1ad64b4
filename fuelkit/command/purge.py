"""Take away what is personal of sittings whose time is over; the log stays checkable."""

import os
from datetime import date

from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.purge import purge
from fuelkit.assess.integrity.sittings import due, sitting_of
from fuelkit.assess.papers.kept_pool import forget

SUMMARY = "Take away what is personal of sittings whose retention date is over."


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("--sitting", help="purge this sitting before its date")
    parser.add_argument("--why", default="", help="why before its date; stands in the log")
    parser.add_argument(
        "--for-good",
        action="store_true",
        help="do it; else you are only told what would go",
    )


def run(arguments):
    """Purge what is due, or one sitting early, once that is asked for; print what was done."""
    folder, today = instructor_folder(), date.today()
    names = [arguments.sitting] if arguments.sitting else [s.name for s in due(folder, today)]
    if not names:
        print("No sitting is over its date.")
        return 0
    if not arguments.for_good:
        return _told(folder, names)
    for name in names:
        done = purge(folder, name, today, early=arguments.why, tell=print)
        forget(folder, name)
        print(f"{name}: {done}")
    return 0


def _told(folder, names):
    """Say what a purge would take away, and take nothing."""
    for name in names:
        sitting = sitting_of(folder, name)
        count = sum(len(files) for _, _, files in os.walk(sitting.personal))
        print(f"{name}, kept until {sitting.keep_until}: {count} files with keys, mark schemes and "
              "marks, and what is personal in the mark log.")  # fmt: skip
    print("Nothing is taken away yet. Add --for-good to do it; it cannot be undone.")
    return 0
