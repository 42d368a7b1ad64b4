"""Take away what is personal of sittings whose time is over; the log stays checkable."""

from datetime import date

from fuelkit.assess.integrity.keeping import instructor_folder
from fuelkit.assess.integrity.purge import purge
from fuelkit.assess.integrity.sittings import due

SUMMARY = "Take away what is personal of sittings whose retention date is over."


def add_arguments(parser):
    """Say what the command takes."""
    parser.add_argument("--sitting", help="purge this sitting before its date")
    parser.add_argument("--why", default="", help="why before its date; stands in the log")


def run(arguments):
    """Purge what is due, or one sitting early; print what was done."""
    folder, today = instructor_folder(), date.today()
    names = [arguments.sitting] if arguments.sitting else [s.name for s in due(folder, today)]
    if not names:
        print("No sitting is over its date.")
        return 0
    for name in names:
        done = purge(folder, name, today, early=arguments.why, tell=print)
        print(f"{name}: {done}")
    return 0
