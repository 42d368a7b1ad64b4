"""A class list: learner codes in the order in which they sit, one a line."""

from pathlib import Path

from fuelkit.aircraft.reading import DataFileError
from fuelkit.assess.sheet import SheetError, learner_code

_MOST, _LARGEST = 2000, 200_000
_ASK = " Ask your instructor for yours."  # told to learners; here the instructor reads it
_NO_TEXT = (
    "it is not plain text in UTF-8; from a spreadsheet, save the column of codes as a CSV file "
    "in UTF-8."
)


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
        If it cannot be read; with every line that is no code, and every code that stands twice.
    """
    path = Path(path)
    if path.suffix.lower() == ".toml":
        raise DataFileError(
            path.name, ["this is a blueprint or another data file; name your class list here, a "
                        "plain text file with one learner code a line."]
        )  # fmt: skip
    try:
        data = path.read_bytes()
        if len(data) > _LARGEST:
            raise DataFileError(path.name, [f"it is larger than {_LARGEST // 1000} kB."])
        text = data.decode("utf-8-sig")
    except OSError:
        raise DataFileError(
            path.name, ["there is no such file, or it cannot be read; check the name."]
        ) from None
    except UnicodeDecodeError:
        raise DataFileError(path.name, [_NO_TEXT]) from None
    codes, where, faults = [], {}, []
    for number, line in enumerate(text.splitlines(), start=1):
        word = line.split("#")[0].split(",")[0].split(";")[0].strip()
        if not word or (number == 1 and word.lower() == "code"):
            continue
        try:
            codes.append(learner_code(word))
            where.setdefault(codes[-1], []).append(str(number))
        except SheetError as problem:
            faults.append(f"line {number}: {str(problem).removesuffix(_ASK)}")
    faults += [
        f"code {code} stands more than once, in lines {', '.join(lines)}; capital and small "
        "letters are the same."
        for code, lines in sorted(where.items()) if len(lines) > 1
    ]  # fmt: skip
    if not codes and not faults:
        faults.append("it has no learner code; write one a line, such as A07.")
    if len(codes) > _MOST:
        faults.append(f"it has {len(codes)} codes; {_MOST} is the most.")
    if faults:
        raise DataFileError(path.name, faults)
    return tuple(codes)
