"""The receipt of a paper's sheet, as a learner reads it out."""

from fuelkit.assess.integrity.canonical import canonical
from fuelkit.assess.integrity.receipt import confirms, receipt


def spoken(sheet):
    """Return the receipt of a handed-in sheet as it is read out; see `integrity.receipt`."""
    return receipt(_said_of(sheet))


def fits(text, sheet):
    """Return whether a receipt, as it was heard, is that of a sheet.

    Raises
    ------
    IntegrityError
        If it was misheard: a receipt has a sign that checks the others.
    """
    return confirms(text, _said_of(sheet))


def _said_of(sheet):
    return canonical({"sheet": sheet.true_receipt(), "of": sheet.unit})
