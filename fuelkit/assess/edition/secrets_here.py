"""What this machine's instructor keeps secret: looked for in every file that is given out."""

from fuelkit.assess.integrity.keeping import folder_if_there, read_record
from fuelkit.assess.integrity.sittings import (
    key_file,
    learners_of,
    paper_name,
    secret_file,
    sittings,
)


def secrets_here():
    """Return the secrets of all sittings and the salts of all keys; none on another's machine.

    Returns
    -------
    list of bytes

    Raises
    ------
    IntegrityError
        If the instructor's folder is open to others, or a record in it is damaged.
    """
    folder, found = folder_if_there(), []
    for sitting in sittings(folder) if folder else ():
        name = secret_file(sitting.name)
        if (folder / name).exists():
            found.append(bytes.fromhex(read_record(folder, name, "secret")["secret"]))
        for code in learners_of(sitting):
            record = read_record(sitting.personal, key_file(code), "key")
            found.append(bytes.fromhex(record["salt"]))
    return found


def others_of(paper, learner):
    """Return the codes of all who have another paper in the sitting of a paper.

    Parameters
    ----------
    paper, learner : str
        Name of the paper, and the code of who it is for.
    """
    folder = folder_if_there()
    for sitting in sittings(folder) if folder else ():
        if paper_name(sitting.name, learner) == paper:
            return [code for code in learners_of(sitting) if code != learner]
    return []
