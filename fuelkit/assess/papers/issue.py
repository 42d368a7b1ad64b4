"""Draw and issue the papers of a sitting: pool, papers, keys, seals, and the instructor's files."""

import gc
import multiprocessing
import os
import sys
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import date, timedelta

from fuelkit.assess.flights import aircraft_of
from fuelkit.assess.integrity.commitment import Commitment, commit
from fuelkit.assess.integrity.entry import happened
from fuelkit.assess.integrity.keeping import read_record, write_record
from fuelkit.assess.integrity.log import append
from fuelkit.assess.integrity.seeds import derive, new_secret, seed
from fuelkit.assess.integrity.sittings import key_file, new_sitting, secret_file, sittings
from fuelkit.assess.papers.draw import check_counts, draw_papers
from fuelkit.assess.papers.keys import Key, make_key
from fuelkit.assess.papers.placed import flight_asked
from fuelkit.assess.papers.pool import FLIGHT, FROM_FLIGHTS, sources, worked_questions

LOG_FILE, PLAN_FILE = "mark-log.jsonl", "plan.json"
_SELDOM = 100_000  # objects: flights and keys hold no circles, to look for some took a fifth
_THREADED = "typst"  # the typesetter's threads are not in a copy of a process, which then hangs
_ENOUGH_TO_SPREAD = 4  # sources; fewer are quicker on one core


@dataclass(frozen=True)
class Issued:
    """One learner's paper as drawn. Frozen.

    key : Key
    seal : Commitment
    """

    key: Key
    seal: Commitment


def draw_sitting(
    blueprint, learners, secret, progress=lambda what, done, total: None, work=None, kept=None
):
    """Return the papers of a sitting with their keys and seals.

    Parameters
    ----------
    blueprint : Blueprint
    learners : sequence of str
        Codes, in the order in which they sit.
    secret : bytes
        Of the sitting. The same secret, blueprint and list give the same papers.
    progress : callable
        Called with what is being done, how much is done and how much there is.
    work : callable, optional
        Maps a function over a sequence, such as that of a cluster; by default over the cores.
    kept : KeptQuestions, optional
        Where questions that were worked out before are found, and new ones kept.

    Returns
    -------
    tuple of Issued

    Raises
    ------
    BlueprintError
        If the blueprint cannot be met.
    """
    pool = make_pool(blueprint, secret, progress, work, kept)
    seeds = [seed(secret, "paper", blueprint.sitting, code) for code in learners]
    work = work or over_cores
    drawn = draw_papers(blueprint, pool, seeds, lambda d, n: progress("papers drawn", d, n), work)
    fingerprint = aircraft_of(blueprint.aircraft).fingerprint
    right, issued = {}, []
    for number, (code, paper) in enumerate(zip(learners, drawn, strict=True), start=1):
        key = make_key(blueprint, paper, code, fingerprint, right)
        salt = derive(secret, "salt", blueprint.sitting, code)
        issued.append(Issued(key, commit(key.table(), salt)))
        progress("keys made", number, len(learners))
    return tuple(issued)


def make_pool(blueprint, secret, progress=lambda what, done, total: None, work=None, kept=None):
    """Return the questions that the papers of a sitting are drawn from.

    Only those that can be marked, each with its right answers. They are the same, in the same
    order, whether `kept` has some of them or not.

    Raises
    ------
    BlueprintError
        If a line that flights have nothing to give to cannot be met: before they are computed.
    """
    kinds = {kind for line in blueprint.lines for kind in line.kinds}
    number = seed(secret, "pool", blueprint.sitting)
    wanted = sources(blueprint.aircraft, blueprint.flights, kinds, number)
    found = {source: kept.read(source) for source in wanted} if kept else {}
    found = {source: questions for source, questions in found.items() if questions is not None}
    ready = [line for line in blueprint.lines if not FROM_FLIGHTS & set(line.kinds)]
    for is_flight in (False, True):
        missing = [s for s in wanted if (s.kind == FLIGHT) is is_flight and s not in found]
        worked = (work or over_cores)(worked_questions, missing)
        for source, questions in zip(missing, worked, strict=True):
            found[source] = questions
            if kept:
                kept.keep(source, questions)
            progress("situations worked out", len(found), len(wanted))
        check_counts(ready, [q for questions in found.values() for q in questions])
    pool = [question for source in wanted for question in found[source]]
    return [q for q in pool if any(line.fits(q) for line in blueprint.lines)]


def over_cores(function, items, begin=None):
    """Map over the cores; the results come in order.

    Parameters
    ----------
    function : callable
    items : iterable
    begin : callable, optional
        Called once in each new process.
    """
    items = list(items)
    if len(items) < _ENOUGH_TO_SPREAD or (os.cpu_count() or 1) < 2:
        yield from map(function, items)
        return
    thresholds = gc.get_threshold()
    gc.set_threshold(_SELDOM)  # also in copies of this process
    try:
        with ProcessPoolExecutor(None, _context(), begin) as cores:
            yield from cores.map(function, items, chunksize=1 + len(items) // 64)
    finally:
        gc.set_threshold(*thresholds)


def _context():
    """How to begin processes: afresh where a copy of this one would wait for lost threads."""
    return multiprocessing.get_context("spawn" if _THREADED in sys.modules else None)


def secret_of(folder, sitting):
    """Return the secret of a sitting in the instructor's folder; made the first time. [32 bytes]"""
    name = secret_file(sitting)
    if not (folder / name).exists():
        write_record(folder, name, "secret", {"secret": new_secret().hex()})
    return bytes.fromhex(read_record(folder, name, "secret")["secret"])


def changed_keys(folder, name, issued):
    """Return the learners for whom another key is kept in a sitting than the one issued now.

    Parameters
    ----------
    folder : Path
        The instructor's.
    name : str
        Of the sitting; one that is not there has no keys.
    issued : sequence of Issued
    """
    return tuple(
        one.key.learner
        for sitting in sittings(folder) if sitting.name == name
        for one in issued if _kept_digest(sitting.personal, one) not in (None, one.seal.digest)
    )  # fmt: skip


def _kept_digest(personal, one):
    """The digest of the key that is kept for a learner, or None."""
    name = key_file(one.key.learner)
    return read_record(personal, name, "key")["digest"] if (personal / name).exists() else None


def keep_sitting(folder, blueprint, issued, today=None):
    """Write keys, seals and plan into the instructor's folder, and an entry a new key into the log.

    Parameters
    ----------
    folder : Path
        The instructor's.
    blueprint : Blueprint
    issued : sequence of Issued
    today : date, optional
        From which the time that answers are kept is counted.

    Returns
    -------
    Sitting
    """
    until = (today or date.today()) + timedelta(days=blueprint.keep_days)
    sitting = new_sitting(folder, blueprint.sitting, until)
    plan = {
        "title": blueprint.title, "minutes": blueprint.minutes,
        "pass share": blueprint.pass_share,
        "lines": [[line.name, line.count, line.marks] for line in blueprint.lines],
        "flights": sorted({flight_asked(q.board) for one in issued for q in one.key.questions}),
    }  # fmt: skip
    write_record(sitting.folder, PLAN_FILE, "plan", plan)
    new = [one for one in issued if _kept_digest(sitting.personal, one) != one.seal.digest]
    for one in new:
        content = {"key": one.key.table(), "salt": one.seal.salt, "digest": one.seal.digest}
        write_record(sitting.personal, key_file(one.key.learner), "key", content)
    events = [
        happened("issued", blueprint.sitting, one.key.learner, {"seal": one.seal.digest})
        for one in new
    ]
    append(folder / LOG_FILE, *events)
    return sitting
