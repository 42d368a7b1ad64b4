"""Secret words and bytes, and whether a reading of a file holds one."""

import base64
import re

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.scan_rules import plain, squeezed

SHORTEST_TEXT = 2
SHORTEST_BYTES = 8
_SHORT = 8
_WORD = re.compile(r"[^\W_]+")
_RANDOM_NAME = re.compile(r"\b[0-9a-f]{8}-(?:[0-9a-f]{4}-){3}[0-9a-f]{12}\b")


class Secrets:
    """Secrets as they are looked for; which one was found is told by its place, never itself.

    A text is looked for without regard to capitals and, from 8 signs, to blanks. A shorter one,
    such as a learner's code, counts only as a word of its own, and only in what is text: in other
    bytes it would be found by chance. Bytes are looked for as they are, in hexadecimal, in base64
    and as a whole number.
    """

    def __init__(self, secrets):
        self._words, self._parts, self._long, self._raw = {}, [], [], []
        if isinstance(secrets, str | bytes):
            raise IntegrityError("secrets: one text was given; it must be a list of them")
        for place, secret in enumerate(secrets, start=1):
            if isinstance(secret, bytes):
                self._add_bytes(place, secret)
            else:
                self._add_text(place, secret)

    def _add_text(self, place, secret):
        text = plain(secret).strip() if isinstance(secret, str) else ""
        if len(text) < SHORTEST_TEXT:
            raise IntegrityError(
                f"secrets: number {place} must be a text of {SHORTEST_TEXT} signs or more, or bytes"
            )
        tight = squeezed(text)
        if len(tight) >= _SHORT:
            self._long.append((place, tight))
        elif _WORD.fullmatch(text):
            self._words[text] = place
        else:
            self._parts.append((place, re.compile(rf"(?<![^\W_]){re.escape(text)}(?![^\W_])")))

    def _add_bytes(self, place, secret):
        if len(secret) < SHORTEST_BYTES:
            raise IntegrityError(
                f"secrets: number {place} must be {SHORTEST_BYTES} bytes or more, or a text"
            )
        self._raw.append((place, secret))
        coded = base64.b64encode(secret).decode().rstrip("=")
        urlsafe = base64.urlsafe_b64encode(secret).decode().rstrip("=")
        for text in {secret.hex(), coded, urlsafe, str(int.from_bytes(secret, "big"))}:
            if len(text) >= _SHORT:
                self._long.append((place, plain(text)))

    def found(self, view, text, squeezed_text):
        """Yield the places of the secrets that a reading holds.

        Parameters
        ----------
        view : View
        text, squeezed_text : str
            Its text by `plain`, and that by `squeezed`.
        """
        yield from (place for place, secret in self._raw if secret in view.data)
        yield from (place for place, secret in self._long if secret in squeezed_text)
        if view.is_text and (self._words or self._parts):
            yield from self.found_words(_RANDOM_NAME.sub(" ", text))

    def found_words(self, text):
        """Yield the places of the short secrets that stand in a text as words."""
        for word in self._words.keys() & set(_WORD.findall(text)):
            yield self._words[word]
        yield from (place for place, pattern in self._parts if pattern.search(text))

    def found_in_name(self, name):
        """Yield the places of the secrets that stand in the name of a file."""
        text = plain(name)
        yield from (place for place, secret in self._long if secret in squeezed(text))
        yield from self.found_words(text)
