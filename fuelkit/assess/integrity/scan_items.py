"""What a bundle holds: every file of a folder or an archive, and what cannot be looked into."""

import io
import os
import stat
import tarfile
import zipfile
import zlib
from dataclasses import dataclass

from fuelkit.assess.integrity.scan_rules import why_name

MOST_FILES = 20_000
_ZIP = b"PK\x03\x04"
_CLOSED = {
    b"7z\xbc\xaf\x27\x1c": "a 7z archive",
    b"Rar!": "a RAR archive",
    b"\x28\xb5\x2f\xfd": "compressed with zstd",
    b"age-encryption": "encrypted",
    b"-----BEGIN PGP": "encrypted",
    b"Salted__": "encrypted",
}


@dataclass(frozen=True)
class Finding:
    """A reason why a bundle is not given out. Frozen. `place` is the file, `why` a sentence."""

    place: str
    why: str

    def __str__(self):
        return f"{self.place}: {self.why}."


@dataclass(frozen=True)
class Item:
    """A file of a bundle. Frozen. Its place in the bundle, and its bytes."""

    place: str
    data: bytes


def too_large(limit):
    """Return the sentence for a file that is larger than a limit."""
    return f"it is larger than {limit} bytes, so it is not looked into"


def folder_items(root, limit):
    """Yield an Item for each file of a folder, and a Finding for what is refused unread."""
    count, waiting = 0, [(root, "")]
    while waiting:
        folder, place = waiting.pop()
        try:
            found = sorted(os.scandir(folder), key=lambda entry: entry.name)
        except OSError as problem:
            yield Finding(place or ".", f"it cannot be looked into ({problem.strerror})")
            continue
        for entry in found:
            count += 1
            if count > MOST_FILES:
                yield Finding(place or ".", f"there are more than {MOST_FILES} files")
                return
            inner = f"{place}/{entry.name}" if place else entry.name
            if why := why_name(entry.name):
                yield Finding(inner, why)
                if entry.is_dir(follow_symlinks=False):
                    continue
            if entry.is_symlink():
                yield from _link_faults(root, entry, inner)
            elif entry.is_dir(follow_symlinks=False):
                waiting.append((entry.path, inner))
            else:
                yield file_item(entry.path, inner, limit)


def _link_faults(root, entry, place):
    target = os.path.realpath(entry.path)
    if os.path.isabs(os.readlink(entry.path)):
        yield Finding(place, "it is a link to a full path, which is another file elsewhere")
    elif not target.startswith(os.path.join(os.path.realpath(root), "")):
        yield Finding(place, "it is a link that leads out of the bundle")
    elif not os.path.exists(target):
        yield Finding(place, "it is a link that leads nowhere")


def file_item(path, place, limit):
    """Return a file as an Item, or a Finding if it is no plain file, too large or unreadable."""
    try:
        about = os.lstat(path)
        if not stat.S_ISREG(about.st_mode):
            return Finding(place, "it is neither a file nor a folder")
        if about.st_size > limit:
            return Finding(place, too_large(limit))
        with open(path, "rb") as file:
            data = file.read(limit + 1)
    except OSError as problem:
        return Finding(place, f"it cannot be read ({problem.strerror})")
    return Item(place, data) if len(data) <= limit else Finding(place, too_large(limit))


def packed_items(item, limit):
    """Yield an Item for each file of an archive, and a Finding for what is refused unread."""
    for mark, what in _CLOSED.items():
        if item.data.startswith(mark):
            yield Finding(item.place, f"it is {what}, which cannot be looked into")
    if item.data.startswith(_ZIP) or zipfile.is_zipfile(io.BytesIO(item.data)):
        yield from _zip_items(item, limit)
    elif item.data[257:262] == b"ustar":
        yield from _tar_items(item, limit)


def _zip_items(item, limit):
    try:
        with zipfile.ZipFile(io.BytesIO(item.data)) as archive:
            for number, about in enumerate(archive.infolist()):
                if number >= MOST_FILES:
                    yield Finding(item.place, f"there are more than {MOST_FILES} files")
                    return
                place = f"{item.place}/{about.filename}"
                yield from _place_faults(place, about.filename)
                if stat.S_ISLNK(about.external_attr >> 16):
                    yield Finding(place, "it is a link inside an archive")
                elif about.flag_bits & 1:
                    yield Finding(place, "it is encrypted, so it cannot be looked into")
                elif not about.is_dir():
                    yield _read(place, archive.open(about), limit)
                yield Item(f"{place} (its remarks)", about.comment + b"\n" + about.extra)
    except (zipfile.BadZipFile, NotImplementedError, RuntimeError, OSError, EOFError, ValueError,
            zlib.error) as problem:  # fmt: skip
        yield Finding(item.place, f"it is an archive that cannot be looked into ({problem})")


def _tar_items(item, limit):
    try:
        with tarfile.open(fileobj=io.BytesIO(item.data), mode="r:") as archive:
            for number, about in enumerate(archive):
                if number >= MOST_FILES:
                    yield Finding(item.place, f"there are more than {MOST_FILES} files")
                    return
                place = f"{item.place}/{about.name}"
                yield from _place_faults(place, about.name)
                if about.isfile():
                    yield _read(place, archive.extractfile(about), limit)
                elif not about.isdir():
                    yield Finding(place, "it is a link or a device inside an archive")
    except (tarfile.TarError, OSError, EOFError, ValueError) as problem:
        yield Finding(item.place, f"it is an archive that cannot be looked into ({problem})")


def _place_faults(place, name):
    """Yield why a file of an archive is refused by its name or by where it would be put."""
    parts = [part for part in name.replace("\\", "/").split("/") if part]
    if name.startswith(("/", "\\")) or ".." in parts or ":" in name or "\\" in name:
        yield Finding(place, "its name leads out of the bundle")
    for part in parts:
        if (why := why_name(part)) and part not in (".", ".."):
            yield Finding(place, why)
            return


def _read(place, stream, limit):
    with stream as file:
        data = file.read(limit + 1)
    return Item(place, data) if len(data) <= limit else Finding(place, too_large(limit))
