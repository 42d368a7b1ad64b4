"""The same bytes as they can be read: decoded from the usual encodings, one inside another.

Text in UTF-8, UTF-16 and UTF-32; escapes of JSON and Python, of HTML, of addresses and of mail;
base64, also with ends of lines, and from any of its four beginnings; hexadecimal and lists of
numbers; compressed with gzip, zlib, bzip2 or xz; the compressed streams of a PDF. What is
encrypted, or encoded in a way of somebody's own, is not read.
"""

import base64
import binascii
import bz2
import html
import lzma
import quopri
import re
import zlib
from dataclasses import dataclass
from urllib.parse import unquote_to_bytes

DEEPEST = 5
_CODINGS = ("in base64", "in hexadecimal", "as a list of numbers", "compressed", "in a PDF")
MOST_BYTES = 100_000_000
_SURE = 12  # bytes that were decoded are text by chance less often than once in 100,000 times
_ESCAPE = re.compile(r"\\(?:u\{?([0-9a-fA-F]{4})\}?|x([0-9a-fA-F]{2})|(.))", re.DOTALL)
_SHORT = {"n": "\n", "t": "\t", "r": "\r", "b": "\b", "f": "\f", "\n": ""}
_JOINS = re.compile(r"""["']\s*[,+\\]?\s*["']""")
_BASE64 = re.compile(r"[A-Za-z0-9+/_-]{8,}")
_WORDS = re.compile(r"[A-Z]?[a-z]+(?:[-_/][A-Z]?[a-z]+)*")
_BASE64_LINES = re.compile(
    r"(?:^[ \t]*[A-Za-z0-9+/_-]{4,}={0,2}[ \t]*\r?(?:\n|\Z)){2,}", re.MULTILINE
)
_HEX = re.compile(r"[0-9a-fA-F]{8,}")
_HEX_PAIRS = re.compile(r"(?:(?:0x|\\x)?[0-9a-fA-F]{2}[\s,:;]+){3,}(?:0x|\\x)?[0-9a-fA-F]{2}\b")
_NUMBERS = re.compile(r"(?:\b\d{1,3}[\s,;]+){3,}\d{1,3}\b")
_PRINTABLE = re.compile(rb"[\x20-\x7e]{6,}")
_PDF_STREAM = re.compile(rb"stream\r?\n")
_URLSAFE = str.maketrans("-_", "+/")


class TooMuchError(Exception):
    """More can be decoded from a file than is looked at."""


@dataclass(frozen=True)
class View:
    """One reading of a file. Frozen.

    data : bytes
        What was decoded.
    text : str
        The same as text; "?" signs where it is none.
    is_text : bool
        Whether it is text throughout.
    how : str
        How it was come by, for a sentence: "", or such as "in base64".
    """

    data: bytes
    text: str
    is_text: bool
    how: str


def views(data):
    """Yield every reading of some bytes, each once.

    Raises
    ------
    TooMuchError
        If there is more than MOST_BYTES, or text is coded deeper than DEEPEST in other text.
    """
    seen, runs, total = set(), set(), 0
    waiting = [(data, "", "", 0, True)]
    while waiting:
        here, how, last, depth, may_be_text = waiting.pop()
        if not here or (hash(here), may_be_text) in seen:
            continue
        seen.add((hash(here), may_be_text))
        total += len(here)
        text, is_text = _as_text(here, is_whole=depth == 0)
        is_coded = last in _CODINGS and is_text and may_be_text
        if total > MOST_BYTES or (depth > DEEPEST and is_coded):
            raise TooMuchError
        if depth > DEEPEST + 2:  # signs that look like an encoding or an escape by chance
            continue
        yield View(here, text, is_text and may_be_text, how)
        if is_text:
            found = [(d, h, may_be_text) for d, h in _decoded(here, text, runs)]
        else:
            found = list(_opened(here))
        waiting += [(d, _joined(how, h), h, depth + 1, is_sure) for d, h, is_sure in found]


def _opened(data):
    """Yield (bytes, how, whether they may be text throughout) of what stands in bytes."""
    if b"\0" in data:
        yield data.replace(b"\0", b""), "in two-byte text", True
    for found, how in _decompressed(data):
        yield found, how, True
    yield b"\n".join(_PRINTABLE.findall(data)), "between other bytes", False


def _joined(how, more):
    return how if more in how else f"{how}, {more}" if how else more


def _as_text(data, is_whole=False):
    """Return bytes as text, and whether they are text; a whole file may be in an older encoding."""
    for encoding, marks in (("utf-32", (b"\xff\xfe\0\0", b"\0\0\xfe\xff")),
                            ("utf-16", (b"\xff\xfe", b"\xfe\xff"))):  # fmt: skip
        if data.startswith(marks):
            return data.decode(encoding, "replace"), True
    try:
        text = data.decode("utf-8-sig")
        return text, not _has_controls(data)
    except UnicodeDecodeError:
        if is_whole and not _has_controls(data):
            return data.decode("latin-1"), True
        return data.decode("utf-8", "replace"), False


def _has_controls(data):
    return bool(re.search(rb"[\0-\x08\x0e-\x1a\x1c-\x1f]", data))


def _decoded(data, text, known):
    """Yield (bytes, how) of what can be decoded from text in one step, but for known runs."""
    if _is_packed(data):
        yield from _decompressed(data)
    if text.encode("utf-8", "replace") != data:
        yield text.encode("utf-8", "replace"), ""
        yield data[2:], ""  # should the mark of two-byte text stand before something else
    for found, how in _reworded(text):
        if found != text:
            yield found.encode("utf-8", "replace"), how
    for pieces, how in _runs(text, known):
        yield from _gathered(pieces, how)


def _reworded(text):
    """Yield a text without the escapes of other formats."""
    if "\\" in text:
        yield _unescaped(text), "in escapes"
    if "&" in text:
        yield html.unescape(text), "in HTML"
    if re.search("%[0-9a-fA-F]{2}", text):
        yield unquote_to_bytes(text).decode("utf-8", "replace"), "in escapes of an address"
    if re.search("=[0-9A-F]{2}|=\n", text):
        plain = quopri.decodestring(text.encode("utf-8", "replace"))
        yield plain.decode("utf-8", "replace"), "in escapes of mail"
    yield _JOINS.sub("", text), "in pieces"


def _unescaped(text):
    def sign(match):
        if number := match[1] or match[2]:
            return chr(int(number, 16))
        return _SHORT.get(match[3], match[3])

    found = _ESCAPE.sub(sign, text)
    return found.encode("utf-16", "surrogatepass").decode("utf-16", "replace")


def _runs(text, known):
    """Yield (decoded pieces, how) of runs of signs that may be an encoding; each run once."""
    joined = ("".join(m.group().split()) for m in _BASE64_LINES.finditer(text))
    runs = {*(m.group() for m in _BASE64.finditer(text)), *(run.rstrip("=") for run in joined)}
    runs = sorted(run for run in runs - known if not _WORDS.fullmatch(run))
    known.update(runs)
    yield [piece for run in runs for piece in _from_base64(run)], "in base64"
    whole = [m.group() for m in _HEX.finditer(text)]
    pairs = [re.sub(r"0x|\\x|[\s,:;]", "", m.group()) for m in _HEX_PAIRS.finditer(text)]
    yield [piece for run in (*whole, *pairs) for piece in _from_hex(run)], "in hexadecimal"
    numbers = ([int(n) for n in re.findall(r"\d+", m.group())] for m in _NUMBERS.finditer(text))
    yield [bytes(run) for run in numbers if max(run) < 256], "as a list of numbers"


def _from_base64(run):
    run = run.translate(_URLSAFE)
    for start in range(4):
        part = run[start:]
        part = part[:-1] if len(part) % 4 == 1 else part
        if len(part) >= 4:
            try:
                yield base64.b64decode(part + "=" * (-len(part) % 4))
            except binascii.Error:  # looks like it, and is none
                continue


def _from_hex(run):
    for start in range(2):
        part = run[start:]
        yield bytes.fromhex(part[: len(part) // 2 * 2])


def _gathered(pieces, how):
    """Yield decoded pieces: those that are text together, others together, archives singly."""
    texts, others = [], []
    for piece in pieces:
        if _is_packed(piece):
            yield piece, how
        is_text = len(piece) >= _SURE and _as_text(piece)[1]
        (texts if is_text else others).append(piece)
    for group in (texts, others):
        if group:
            yield b"\n".join(dict.fromkeys(group)), how


def _is_packed(data):
    return data.startswith((b"PK\x03\x04", b"\x1f\x8b", b"BZh", b"\xfd7zXZ\0", b"%PDF", b"x\x9c",
                            b"x\xda", b"x\x01", b"x^"))  # fmt: skip


def _decompressed(data):
    """Yield what some bytes hold in compressed form, as far as it can be read."""
    if data.startswith((b"\x1f\x8b", b"x\x9c", b"x\xda", b"x\x01", b"x^")):
        yield _inflated(zlib.decompressobj(wbits=47), data), "compressed"
    elif data.startswith(b"BZh"):
        yield _inflated(bz2.BZ2Decompressor(), data), "compressed"
    elif data.startswith(b"\xfd7zXZ\0"):
        yield _inflated(lzma.LZMADecompressor(memlimit=4 * MOST_BYTES), data), "compressed"
    elif data.startswith(b"%PDF"):
        for match in _PDF_STREAM.finditer(data):
            yield _inflated(zlib.decompressobj(), data[match.end() :]), "in a PDF"


def _inflated(machine, data):
    """Return what decompresses, also if its end is missing; raise if it is too much."""
    try:
        found = machine.decompress(data, MOST_BYTES)
    except (zlib.error, OSError, EOFError, lzma.LZMAError, ValueError):
        return b""
    if len(found) >= MOST_BYTES:
        raise TooMuchError
    return found
