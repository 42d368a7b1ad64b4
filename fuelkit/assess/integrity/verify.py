"""Is the mark log as it was written? Names each line at which its chain breaks."""

from pathlib import Path

from fuelkit.assess.integrity.entry import START, own_digest, parsed
from fuelkit.assess.integrity.lines import lines
from fuelkit.assess.integrity.log import held_to_read, tokens_of
from fuelkit.assess.integrity.parts import parts_by_digest


def verify(path, expected=None):
    """Check a log line by line.

    Parameters
    ----------
    path : str or Path
    expected : Head, optional
        A head that was kept elsewhere, such as on a printed mark sheet: only with it can lines
        that were cut off at the end, and a log written anew, be found.

    Returns
    -------
    tuple of str
        A sentence for each break, in the order of lines; none if the log is whole.

    Raises
    ------
    IntegrityError
        If others can read the log, so that it may have been changed already.
    """
    path = Path(path)
    with held_to_read(path):
        chain, sentences = _read(path)
        parts = set(parts_by_digest(path))
    sentences += _breaks(chain)
    sentences += _missing_parts(chain, parts)
    said = [text for _, text in sorted(sentences, key=lambda item: item[0])]
    return tuple(said + _against(chain, expected))


def _read(path):
    """Return the readable lines, each with its place, and sentences about the others."""
    chain, sentences = [], []
    for place, data, is_whole in lines(path):
        line = parsed(data) if is_whole else None
        if line is not None:
            chain.append((place, line))
        elif is_whole:
            text = "it was changed: it is not a line as this log writes them"
            sentences.append((place, f"Line {place}: {text}."))
        else:
            text = "it is torn, as by a stop in the middle of writing; the next entry sets it aside"
            sentences.append((place, f"Line {place}: {text}."))
    return chain, sentences


def _breaks(chain):
    """Return (place, sentence) for each line that is not what it says or not where it belongs."""
    sentences = []
    number, digest, last_place = 0, START, 0
    for place, line in chain:
        if own_digest(line) != line["digest"]:
            why = "it was changed: its digest does not fit what it says"
            sentences.append((place, f"Line {place} (entry {line['number']}): {why}."))
        follows = line["number"] == number + 1 and line["before"] == digest
        if not follows:
            why = _why_not(line["number"], number, place - last_place > 1)
            sentences.append((place, f"Line {place} (entry {line['number']}): {why}."))
        number, digest, last_place = line["number"], line["digest"], place
    return sentences


def _why_not(number, before, skipped):
    """Return why an entry does not follow from the one that stands before it."""
    if skipped:
        return "what stands before it cannot be read, so it follows from nothing"
    if number > before + 1:
        lost = f"entry {before + 1}"
        if number > before + 2:
            lost = f"entries {before + 1} to {number - 1}"
        return f"{lost} should stand before it: deleted, or moved elsewhere"
    if number <= before:
        return f"it stands after entry {before}: moved, or put in"
    return "it does not follow from the line before: one of the two was replaced or put in"


def _missing_parts(chain, parts):
    """Return sentences about personal parts that are gone without a purge, or still there."""
    purged = {number for _, line in chain for number in tokens_of(line)}
    sentences = []
    for place, line in chain:
        is_there = line["part"] in parts
        if line["part"] and not is_there and line["number"] not in purged:
            why = "its personal part is missing or was changed, and no purge of it is recorded"
        elif is_there and line["number"] in purged:
            why = "its personal part is still there: the purge was interrupted; purge again"
        else:
            continue
        sentences.append((place, f"Line {place} (entry {line['number']}): {why}."))
    return sentences


def _against(chain, expected):
    """Return sentences about a head that was kept elsewhere and is not met."""
    if expected is None or expected.number == 0:
        return []
    digests = [line["digest"] for _, line in chain if line["number"] == expected.number]
    if expected.digest in digests:
        return []
    if digests:
        return [
            f"Entry {expected.number} is not the one whose digest was kept: the log was written "
            "anew, there or before."
        ]
    end = chain[-1][1]["number"] if chain else 0
    return [
        f"The log ends with entry {end}, but entry {expected.number} was kept as its head: what "
        "came after is cut off or cannot be read."
    ]
