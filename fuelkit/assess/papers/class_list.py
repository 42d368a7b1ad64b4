"""A class list: learner codes in the order in which they sit, one a line."""

from pathlib import Path

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.sheet import SheetError, learner_code

_MOST, _LARGEST = 2000, 200_000


def read_class_list(path):
    """Return the learner codes of a file, in its order.

    Parameters
    ----------
    path : str or Path
        One code a line; what stands after a comma or a # is not read, so that no name goes
        into the kit. A first line "code" is left out.

    Raises
    ------
    DataFileError
        With every line that is no code, and every code that stands twice.
    """
    path = Path(path)
    try:
        data = path.read_bytes()
        if len(data) > _LARGEST:
            raise DataFileError(path.name, [f"it is larger than {_LARGEST // 1000} kB."])
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise DataFileError(path.name, ["it is not text in UTF-8; save it as such."]) from None
    codes, faults = [], []
    for number, line in enumerate(text.splitlines(), start=1):
        word = line.split("#")[0].split(",")[0].split(";")[0].strip()
        if not word or (number == 1 and word.lower() == "code"):
            continue
        try:
            codes.append(learner_code(word))
        except SheetError as problem:
            faults.append(f"line {number}: {problem}")
    faults += [f"code {c} stands twice." for c in sorted({c for c in codes if codes.count(c) > 1})]
    if not codes and not faults:
        faults.append("it has no learner code; write one a line, such as A07.")
    if len(codes) > _MOST:
        faults.append(f"it has {len(codes)} codes; {_MOST} is the most.")
    if faults:
        raise DataFileError(path.name, faults)
    return tuple(codes)
