"""Set a classroom up: folders, accounts, register. Done again, it adds what is missing."""

import os
import pwd
import shutil
from dataclasses import replace

from fuelkit.assess.edition.making import PAPER_FILES
from fuelkit.classroom.accounts import account, make_account, make_folder, remove_account
from fuelkit.classroom.layout import FOLDER, ClassroomError
from fuelkit.classroom.limits import Limits
from fuelkit.classroom.register import read_register, write_register


def make_folders(classroom, settings):
    """Make the folders of a classroom and the accounts of its desk and proxy.

    Raises
    ------
    ClassroomError
        If it would lie where others can replace it.
    """
    _refuse_open(classroom.folder)
    classroom.folder.mkdir(parents=True, exist_ok=True)
    make_folder(classroom.folder, 0o755)
    make_folder(classroom.private, 0o700)
    make_folder(classroom.homes, 0o711)
    make_folder(classroom.given, 0o711)
    make_folder(classroom.course, 0o755)
    make_folder(classroom.proxy, 0o755)
    desk = make_account(settings.desk_account, classroom.handed_in)
    make_folder(classroom.handed_in, 0o700, desk)
    proxy = make_account(settings.proxy_account, classroom.certificate)
    make_folder(classroom.certificate, 0o700, proxy)
    classroom.write_settings(settings)


def _refuse_open(folder):
    """Refuse a place that somebody but root could take away or fill."""
    for above in folder.resolve().parents:
        if not above.exists():
            continue
        about, why = above.stat(), ""
        if about.st_uid != 0 or (about.st_mode & 0o022 and not about.st_mode & 0o1000):
            why = "others than root can write to"
        elif not about.st_mode & 0o001:
            why = "learners cannot get through"
        if why:
            raise ClassroomError(f"folder: {why} '{above}'; choose a place such as {FOLDER}.")


def enrol(classroom, codes, prefix):
    """Give everybody of a class list an account and a home; return the words of who is new.

    The register is written first: an account that a stop left out is made the next time.
    """
    register, words = read_register(classroom).with_class(codes, prefix)
    if words:
        write_register(classroom, register)
    for code in register.learners:
        name = register.account(code)
        about = make_account(name, classroom.home(name))
        make_folder(classroom.home(name), 0o700, about)
        make_folder(classroom.given / name, 0o750, _read_by(about))
    return words


def _read_by(about):
    """Return the owner of what an account may read and root alone write."""
    return pwd.struct_passwd((*about[:2], 0, *about[3:]))


def give_papers(classroom, folder):
    """Give each learner the paper that is theirs; return the codes of who got one.

    Parameters
    ----------
    classroom : Classroom
    folder : Path
        Of a sitting, as `paper` writes it: a folder for each learner, by code.

    Raises
    ------
    ClassroomError
        If there is no paper in it for anybody of this class.
    """
    register, done = read_register(classroom), []
    for code in register.learners:
        if all((folder / code / name).is_file() for name in PAPER_FILES):
            _give(folder / code, classroom.given / register.account(code), folder.name)
            done.append(code)
    if not done:
        raise ClassroomError(
            f"'{folder}' has no folder with {' and '.join(PAPER_FILES)} for a learner of this "
            "class."
        )
    return tuple(done)


def _give(source, given, sitting):
    group, mode = given.stat().st_gid, 0o750
    for place in (given / "papers", given / "papers" / sitting):
        place.mkdir(exist_ok=True)
        os.chown(place, 0, group)
        os.chmod(place, mode)
    for name in PAPER_FILES:
        new = place / f".{name}.new"
        shutil.copyfile(source / name, new)
        os.chown(new, 0, group)
        os.chmod(new, 0o640)
        new.replace(place / name)


def new_word(classroom, code):
    """Give somebody another word; return it."""
    register, word = read_register(classroom).with_new_word(code)
    write_register(classroom, register)
    return word


def copy_certificate(classroom, settings):
    """Give the proxy its own copies of certificate and key, which nobody else can read."""
    if not settings.certificate:
        return
    about = account(settings.proxy_account)
    for source, name in (
        (settings.certificate, "certificate.pem"),
        (settings.certificate_key, "key.pem"),
    ):
        new = classroom.private / f"new-{name}"
        try:
            shutil.copyfile(source, new)
        except OSError as problem:
            raise ClassroomError(
                f"certificate: '{source}' cannot be read ({problem.strerror})."
            ) from None
        os.chmod(new, 0o400)
        os.chown(new, about.pw_uid, about.pw_gid)
        new.replace(classroom.certificate / name)


def remove(classroom, tell=lambda sentence: None):
    """Take a classroom away: homes with all answers, sheets, accounts, words. For good.

    What says that it is one goes last, so that a removal that was stopped can be ended.
    """
    settings, register = classroom.read_settings(), read_register(classroom)
    limits = Limits.of_machine()
    for code in register.learners:
        tell(f"Taking away {code}.")
        name = register.account(code)
        remove_account(name, classroom.home(name))
        limits.forget(name)
    remove_account(settings.desk_account, classroom.handed_in)
    remove_account(settings.proxy_account, classroom.certificate)
    tell("Taking away the programs, which takes a while.")
    for path in classroom.folder.iterdir():
        if path != classroom.private and path.is_dir() and not path.is_symlink():
            shutil.rmtree(path)
    shutil.rmtree(classroom.folder)


def with_options(settings, **given):
    """Return settings with those options that were given on the command line."""
    return replace(settings, **{name: value for name, value in given.items() if value is not None})
