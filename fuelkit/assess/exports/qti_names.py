"""Names that questions and their files may have in a QTI package."""

import re

from fuelkit.assess.exports.identity import stable_uuid

_NAME = re.compile(r"[a-z0-9_-]{1,29}")


def item_name(identifier):
    """Return a name for a question, made from its identifier, that is a safe file name too.

    A QTI identifier begins with a letter or an underscore, goes on with letters, digits,
    underscores, hyphens and dots, and should have at most 32 signs (QTI 3.0, from memory). Here
    are no dots and no capitals, which some systems of files take for small letters. An identifier
    that does not fit is replaced by 30 hexadecimal digits made from it, more than any that fits
    can have, so two questions never share a name.

    Examples
    --------
    >>> item_name("climb-3"), len(item_name("../climb 3"))
    ('q-climb-3', 32)
    """
    if _NAME.fullmatch(identifier):
        return f"q-{identifier}"
    return "q-" + stable_uuid("item", identifier).replace("-", "")[:30]
