"""Identifiers that stay the same for the same thing, so that a second export replaces the first."""

import json
import uuid

# Under a name that by RFC 2606 can belong to nobody.
_NAMESPACE = uuid.uuid5(uuid.NAMESPACE_DNS, "fuelkit.invalid")


def stable_uuid(*parts):
    """Return the UUID (version 5, RFC 4122) of texts, numbers and what is made of them.

    Examples
    --------
    >>> stable_uuid("line item", "a") == stable_uuid("line item", "a")
    True
    >>> stable_uuid("a", "bc") == stable_uuid("ab", "c")
    False
    """
    text = json.dumps(parts, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return str(uuid.uuid5(_NAMESPACE, text))
