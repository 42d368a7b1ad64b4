"""Put the course in front of a class: one machine, a browser a learner, nothing to install."""

import os
import shlex
import signal
import sys
from functools import partial
from pathlib import Path

from fuelkit.assess.papers.class_list import read_class_list
from fuelkit.assess.papers.spoken import told
from fuelkit.assess.sheet import learner_code
from fuelkit.classroom import running, set_up
from fuelkit.classroom.handed_in import by_work, listed
from fuelkit.classroom.layout import FOLDER, Classroom, ClassroomError, Settings
from fuelkit.classroom.limits import Limits
from fuelkit.classroom.register import read_register
from fuelkit.command import classroom_install as install
from fuelkit.command.classroom_slips import write_slips

SUMMARY = "Serve the course to a class from one machine; learners need a browser only."

_USUAL = Settings()
_ON_THIS_MACHINE_ONLY = (
    "Only this machine can reach it. To open it to the classroom's network, stop it and start it "
    "with --address and this machine's address there."
)
_IN_THE_CLEAR = (
    "CAUTION: without --certificate and --certificate-key, words and answers travel through the "
    "network in the clear: whoever listens can read them. Use it so only on a network of your own."
)


def add_arguments(parser):
    """Add the options of this command."""
    parser.add_argument("--class", dest="list", metavar="LIST", help="learner codes, one a line")
    parser.add_argument("--slips", metavar="FILE", help="write the new words to print, as HTML")
    parser.add_argument("--address", help=f"address to listen on (first time: {_USUAL.address})")
    parser.add_argument("--port", type=int, help=f"port number (first time: {_USUAL.port})")
    parser.add_argument("--certificate", metavar="FILE", help="for an encrypted connection (PEM)")
    parser.add_argument("--certificate-key", metavar="FILE", help="its key (PEM)")
    parser.add_argument(
        "--memory", type=int, metavar="MB", help=f"most for a learner ({_USUAL.memory_mb})"
    )
    parser.add_argument(
        "--folder", type=Path, default=FOLDER, help="where all of it lies (%(default)s)"
    )
    parser.add_argument("--prefix", help=f"how names of system accounts begin ({_USUAL.prefix})")
    parser.add_argument("--yes", action="store_true", help="do not ask before installing")
    other = parser.add_argument_group("instead of starting it").add_mutually_exclusive_group()
    other.add_argument("--check", action="store_true", help="say what is there and what is not")
    other.add_argument("--handed-in", action="store_true", help="list who has handed in")
    other.add_argument("--new-word", metavar="CODE", help="give a learner another word")
    other.add_argument(
        "--give", type=Path, metavar="FOLDER", help="give out the papers of a sitting, each its own"
    )
    other.add_argument("--stop", action="store_true", help="stop it")
    other.add_argument("--set-up-only", action="store_true", help="set it up and do not start it")
    other.add_argument(
        "--take-away", action="store_true",
        help="remove all of it, answers and sheets included, for good",
    )  # fmt: skip


def run(arguments):
    """Do what was asked for; without such a wish set the classroom up and keep it running."""
    _refuse_without_rights()
    if python := install.better_python():
        os.execv(python, [str(python), "-m", "fuelkit", *sys.argv[1:]])
    os.umask(0o022)
    classroom = Classroom(arguments.folder.absolute())
    if arguments.check:
        return _check(classroom)
    if any((arguments.handed_in, arguments.new_word, arguments.give, arguments.stop,
            arguments.take_away)):  # fmt: skip
        if not classroom.register_file.exists():
            raise ClassroomError(f"There is no classroom in {classroom.folder}.")
        return _other(classroom, arguments)
    settings, words = _set_up(classroom, arguments)
    _tell_words(words, arguments.slips, _named(classroom))
    if arguments.set_up_only:
        print(f"The classroom in {classroom.folder} is set up.")
        return 0
    return _serve(classroom, settings)


def _refuse_without_rights():
    if os.name != "posix" or not hasattr(os, "setuid") or not Path("/proc/self").exists():
        raise ClassroomError("A classroom needs a Linux machine, such as Debian.")
    if os.geteuid() != 0:
        raise ClassroomError(
            "A classroom gives each learner an account of their own, which root alone can do. Run "
            "it with sudo, or as root."
        )


def _other(classroom, arguments):
    if arguments.handed_in:
        return _list(classroom)
    if arguments.new_word:
        code = learner_code(arguments.new_word)
        print(f"{code}: {set_up.new_word(classroom, code)}")
        return 0
    if arguments.give:
        codes = set_up.give_papers(classroom, arguments.give.absolute())
        print(f"Given to: {', '.join(codes)}. It lies in their folder 'papers' the next time they")
        print("sign in; whoever is at work signs out (File, Log Out) and in again.")
        return 0
    if arguments.stop:
        was_there = running.stop_running(classroom)
        print("The classroom is stopped." if was_there else "The classroom was not running.")
        return 0
    return _take_away(classroom, arguments)


def _set_up(classroom, arguments):
    """Install and make what is missing; return the settings and the words of who is new."""
    settings = set_up.with_options(
        classroom.read_settings(),
        prefix=arguments.prefix,
        address=arguments.address,
        port=arguments.port,
        certificate=arguments.certificate and os.path.abspath(arguments.certificate),
        certificate_key=arguments.certificate_key and os.path.abspath(arguments.certificate_key),
        memory_mb=arguments.memory,
    )
    codes = read_class_list(arguments.list) if arguments.list else ()
    if not codes and not classroom.register_file.exists():
        raise ClassroomError("Who is in the class? Give --class with a file, one code a line.")
    if running.is_running(classroom):
        raise ClassroomError("The classroom is running. Stop it first, with --stop.")
    install.ask(classroom, yes=arguments.yes)
    set_up.make_folders(classroom, settings)
    install.install(classroom)
    words = set_up.enrol(classroom, codes, settings.prefix)
    set_up.copy_certificate(classroom, settings)
    return settings, words


def _named(classroom):
    """What a line needs besides, where the classroom lies in another folder than the usual."""
    return "" if classroom.folder == FOLDER else f" --folder {shlex.quote(str(classroom.folder))}"


def _tell_words(words, slips, where):
    if not words:
        return
    print("\nThe words to sign in with. They are shown this once and are kept only as hashes; for")
    print(f"another one: python3 -m fuelkit classroom{where} --new-word CODE\n")
    for code, word in words.items():
        print(f"  {code:<20} {word}")
    if slips:
        print(f"\nTo print and cut: {write_slips(Path(slips), words)}")
    print(flush=True)


def _serve(classroom, settings):
    """Start the hub and stay until it is stopped."""
    hub = running.Hub(classroom, settings)
    signal.signal(signal.SIGTERM, signal.default_int_handler)
    with hub.alone():
        try:
            print("Starting the classroom ...", flush=True)
            hub.start()
            _tell(hub, settings)
            hub.keep(lambda words: print(words, flush=True))
        except KeyboardInterrupt:
            print("\nClosing the classroom ...", flush=True)
        finally:
            hub.stop()
    print("The classroom is closed. All answers are kept.")
    return 0


def _tell(hub, settings):
    print(f"The classroom is open at {hub.address}")
    print(f"Memory: at most {settings.memory_mb} MB for {Limits.of_machine().words}.")
    if settings.address in ("127.0.0.1", "localhost", "::1"):
        print(_ON_THIS_MACHINE_ONLY)
    elif not settings.certificate:
        print(_IN_THE_CLEAR)
    print("Leave this window open. To end, press Ctrl+C in it.", flush=True)


def _list(classroom):
    sheets = listed(classroom.handed_in)
    for item in sheets:
        print(f"{item.sheet.learner:<20} {item.sheet.unit:<32} {item.arrived:%Y-%m-%d %H:%M} UTC  "
              f"{told(item.sheet)}")  # fmt: skip
    for work, own, missing in by_work(sheets, read_register(classroom).learners):
        print(f"{work}: {len(own)} handed in; not yet: {', '.join(missing) or 'nobody'}.")
    if not sheets:
        print("Nothing has been handed in yet.")
    print(f"To mark them: python3 -m fuelkit mark {classroom.handed_in} --out FOLDER-OF-YOUR-OWN")
    return 0


def _check(classroom):
    """Print what is there and what is not; 0 if all is there."""
    rows = [*install.state(classroom), ("class list", classroom.register_file.exists())]
    for what, is_there in rows:
        print(f"  {'is there' if is_there else 'MISSING ':<9} {what}")
    print(f"Memory limit: {Limits.of_machine().words}.")
    if classroom.register_file.exists():
        print(f"Learners: {len(read_register(classroom).learners)}.")
    is_running = classroom.private.is_dir() and running.is_running(classroom)
    print(f"The classroom {'is' if is_running else 'is not'} running.")
    return 0 if all(is_there for _, is_there in rows) else 1


def _take_away(classroom, arguments):
    if running.is_running(classroom):
        raise ClassroomError("The classroom is running. Stop it first, with --stop.")
    if not arguments.yes and input(
        f"All answers, sheets and accounts in {classroom.folder} go for good. Type yes: "
    ) != "yes":  # fmt: skip
        print("Nothing was taken away.")
        return 1
    set_up.remove(classroom, partial(print, flush=True))
    print("The classroom is taken away.")
    return 0
