"""A short receipt for a handed-in sheet: shows whether it was changed afterwards."""

import hashlib
import json

# Letters and digits that are not mistaken for one another when read out (no I, L, O, U).
_SIGNS = "0123456789ABCDEFGHJKMNPQRSTVWXYZ"


def receipt(content):
    """Return the receipt of the content of a sheet: three groups of four signs.

    Depends on every answer, the learner, the exercise and the time of handing in, and on nothing
    else: neither the order of fields nor the layout of the file.

    Examples
    --------
    >>> receipt({"learner": "A07", "answers": {}})
    'GM9V-J9MF-AC69'
    """
    text = json.dumps(content, sort_keys=True, ensure_ascii=False, separators=(",", ":"))
    number = int.from_bytes(hashlib.sha256(text.encode()).digest()[:8], "big")
    signs = "".join(_SIGNS[(number >> (5 * i)) & 31] for i in range(12))
    return "-".join(signs[i : i + 4] for i in (0, 4, 8))
