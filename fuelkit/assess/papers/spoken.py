"""The receipt of a paper's sheet, as a learner reads it out."""

from fuelkit.assess.integrity.canonical import canonical
from fuelkit.assess.integrity.receipt import confirms, receipt
from fuelkit.assess.integrity.sittings import is_paper


def spoken(sheet):
    """Return the receipt of a handed-in sheet as it is read out; see `integrity.receipt`."""
    return receipt(_said_of(sheet))


def told(sheet):
    """Return the receipt that the learner was told: of a paper as `spoken`, else the sheet's."""
    return spoken(sheet) if is_paper(sheet.unit) else sheet.true_receipt()


def fits(text, sheet):
    """Return whether a receipt, as it was heard, is that of a sheet.

    Raises
    ------
    IntegrityError
        If it was misheard: a paper's receipt has a sign that checks the others.
    """
    if is_paper(sheet.unit):
        return confirms(text, _said_of(sheet))
    return _signs(text) == _signs(sheet.true_receipt())


def _signs(text):
    return "".join(filter(str.isalnum, text)).upper()


def _said_of(sheet):
    return canonical({"sheet": sheet.true_receipt(), "of": sheet.unit})
