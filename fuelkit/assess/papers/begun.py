"""What an answer sheet says of the beginning of its paper: when, and which paper it was.

Apart from the marking, so that to sit a paper needs no flight.
"""

from fuelkit.assess.sheet import SheetError

BEGIN = "begin"
"""Name of the entry of a sheet that is committed when its paper is begun."""

SEAL = "seal"
"""What that entry keeps: the seal of the key to the paper that was begun."""


def check_seal(sheet, digest):
    """Raise SheetError if a sheet was begun on a paper with another key than that of a digest.

    One that was typed in, or begun with an earlier kit, names no seal.
    """
    begun = sheet.answers.get(BEGIN, {"given": {}})["given"]
    if begun.get(SEAL, digest) != digest:
        raise SheetError("it answers a paper in whose place another one was drawn")
