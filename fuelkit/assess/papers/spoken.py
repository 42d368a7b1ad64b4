"""The receipt of a paper's sheet, as a learner reads it out."""

from fuelkit.assess.integrity.canonical import canonical
from fuelkit.assess.integrity.receipt import receipt


def spoken(sheet):
    """Return the receipt of a handed-in sheet as it is read out; see `integrity.receipt`."""
    return receipt(canonical({"sheet": sheet.true_receipt(), "of": sheet.unit}))
