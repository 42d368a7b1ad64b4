"""The scan of a bundle: everything that is planted is refused, and a clean bundle passes."""

import base64
import bz2
import gzip
import html
import io
import json
import lzma
import os
import quopri
import random
import tarfile
import urllib.parse
import zipfile
import zlib
from datetime import date
from pathlib import Path

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError, canonical
from fuelkit.assess.integrity.commitment import commit
from fuelkit.assess.integrity.keeping import write_private, write_record
from fuelkit.assess.integrity.log import FILE, append
from fuelkit.assess.integrity.parts import parts_path
from fuelkit.assess.integrity.scan import scan
from fuelkit.assess.integrity.scan_views import views
from fuelkit.assess.integrity.sittings import new_sitting
from fuelkit.assess.sheet import Sheet, write_sheet
from tests.assess.integrity.log_tools import marked

SECRET = bytes((37 * n + 11) % 256 for n in range(32))
ANSWER = canonical({"q3": "left centre pump is OFF", "q4": 1875.5}).decode()
CODE = "B104"
SECRETS = (SECRET, ANSWER, CODE, "K-7")

CELLS = [
    {"cell_type": "markdown", "id": "p-01", "metadata": {}, "source": ["# Paper\n", "Sit it."]},
    {
        "cell_type": "code",
        "execution_count": None,
        "id": "p-02",
        "metadata": {},
        "outputs": [],
        "source": ["from fuelkit import open_lesson\n", "paper = open_lesson('paper.json')"],
    },
]


def notebook(cells=CELLS, **metadata):
    """A notebook as text."""
    about = {"kernelspec": {"display_name": "Python 3", "name": "python3"}, **metadata}
    content = {"cells": cells, "metadata": about, "nbformat": 4, "nbformat_minor": 5}
    return json.dumps(content, indent=1)


@pytest.fixture
def bundle(tmp_path):
    """A clean bundle: a notebook, its questions with the sealed key's digest, an empty sheet."""
    bundle = tmp_path / "bundle"
    (bundle / "pictures").mkdir(parents=True)
    (bundle / "paper.ipynb").write_text(notebook())
    questions = [{"text": "Which pump runs at 1:12:00?", "options": ["left", "right", "none"]}]
    paper = {"paper": "A07", "sealed": commit({"q": 1}).digest, "questions": questions}
    (bundle / "paper.json").write_text(json.dumps(paper))
    write_sheet(Sheet("paper", "A07", "f" * 16), bundle / "sheet.json")
    (bundle / "read_me.md").write_text("Work alone. Time: 60 minutes. Pencil & paper; 100 %.\n")
    (bundle / "course.toml").write_text('schema = 1\naircraft = "halbrook-180"\n')
    noise = random.Random(2).randbytes(3_000)
    (bundle / "pictures" / "board.png").write_bytes(b"\x89PNG\r\n\x1a\n" + noise)
    return bundle


def packed(bundle):
    """The bundle as a zip archive."""
    path = bundle.parent / "bundle.zip"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for file in sorted(bundle.rglob("*")):
            if file.is_file():
                archive.write(file, file.relative_to(bundle))
    return path


def why(bundle, place=None):
    """What is found in a folder, which is also found in its archive."""
    found = scan(bundle, SECRETS)
    there = scan(packed(bundle), SECRETS)
    assert {f.why for f in found} <= {f.why for f in there}
    return [f.why for f in found if place in (None, f.place)]


def test_a_clean_bundle_passes(bundle):
    """As a folder and as an archive, with secrets and without."""
    assert scan(bundle, SECRETS) == scan(packed(bundle), SECRETS) == scan(bundle) == ()


def test_the_exercises_of_the_kit_pass():
    """Notebooks as learners get them give no false alarm, with a class of three hundred."""
    folder = Path(__file__).parents[3] / "exercises"
    assert scan(folder, (SECRET, *(f"A{number:03}" for number in range(300)))) == ()


@pytest.mark.parametrize(
    ("name", "reason"),
    [
        ("key.json", "a key or a mark scheme"),
        ("A07-key.json", "a key or a mark scheme"),
        ("paper.key", "a key or a mark scheme"),
        ("KEYS/paper.json", "a key or a mark scheme"),
        ("Mark-Scheme.pdf", "a key or a mark scheme"),
        ("solutions/06.ipynb", "a worked answer"),
        ("paper-solution.md", "a worked answer"),
        ("names.csv", "of the instructor's"),
        ("\uff4eames.csv", "of the instructor's"),
        ("secret.json", "of the instructor's"),
        ("mark-log.jsonl", "of the instructor's"),
        ("mark-log.jsonl.personal", "of the instructor's"),
        ("class.csv", "a list of the class"),
        ("class-list.txt", "a list of the class"),
        ("a/__pycache__/x.pyc", "compiled"),
        ("Paper.class", "compiled"),
        (".git/HEAD", "a history of versions"),
        (".git", "a history of versions"),
        (".hg/store", "a history of versions"),
        (".svn/entries", "a history of versions"),
        ("CVS/Root", "a history of versions"),
        ("_darcs/x", "a history of versions"),
        (".fslckout", "a history of versions"),
        (".ipynb_checkpoints/paper.ipynb", "a history of versions"),
        ("paper.ipynb~", "left by an editor"),
        ("paper.bak", "left by an editor"),
        ("#paper.md#", "left by an editor"),
        (".paper.md.swp", "left by an editor"),
        ("paper.orig", "left by an editor"),
        ("~$paper.docx", "left by an editor"),
        (".hidden", "hidden"),
        ("a/.hidden/x", "hidden"),
    ],
)
def test_a_file_is_refused_by_its_name(bundle, name, reason):
    """Whatever it holds, wherever it lies, in any capitals."""
    path = bundle / name
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text("nothing\n")
    found = scan(bundle)
    assert [f for f in found if reason in f.why and name.startswith(f.place)]
    assert [f for f in scan(packed(bundle)) if reason in f.why]


@pytest.mark.parametrize(
    "field",
    ["salt", "answer", "Answers", "right_answer", "correct-answer", "key", "seed", "answerKey"],
)
@pytest.mark.parametrize("value", ["x", 1, 0, {"a": 1}, ["a"], True, False])
def test_a_field_that_gives_an_answer_away_is_refused(bundle, field, value):
    """Deep in a record, in a text in a record, in half a file, and in TOML."""
    record = json.dumps({"questions": [{"text": "x", "more": {field: value}}]})
    for number, text in enumerate((record, json.dumps([record]), record[: len(record) - 2])):
        path = bundle / f"more{number}.json"
        path.write_text(text)
        assert any("its field" in w for w in why(bundle, path.name)), text
        path.unlink()
    if not isinstance(value, dict):
        toml = f'[a.b]\n"{field}" = {json.dumps(value)}\n'
        (bundle / "more.toml").write_text(toml)
        assert any("its field" in w for w in why(bundle, "more.toml"))


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("a.yaml", "q1:\n  - answer: left\n"),
        ("a.csv", "question;answer\n1;left\n"),
        ("a.tsv", "question\tKey\n1\tleft\n"),
        ("a.csv", "code,name\nA07,x\n"),
        ("a.toml", "this is no TOML [\n"),
        ("a.ipynb", "{this is no notebook"),
    ],
)
def test_tables_and_damaged_files_are_refused(bundle, name, text):
    """By their columns and fields, or because nobody can look into them."""
    (bundle / name).write_text(text)
    assert why(bundle, name)


def test_a_sheet_with_answers_is_refused_an_empty_one_is_not(bundle):
    """Also with drafts only committed boards are answers."""
    write_sheet(
        Sheet("paper", "A07", "f" * 16).with_committed("b", {"p": "x"}), bundle / "sheet.json"
    )
    assert any("'answers' holds a right answer" in w for w in why(bundle, "sheet.json"))


def test_the_instructors_own_files_are_known_under_any_name(bundle, folder):
    """Records, log, personal parts and names, copied under a harmless name, or a piece of them."""
    write_record(folder, "x.json", "paper", {"n": 1})
    append(folder / FILE, marked())
    new_sitting(folder, "cruise", date(2027, 6, 30))
    write_private(folder / "names.csv", "code,name\nA07,x\n")
    files = {
        folder / "x.json": "record of the instructor's",
        folder / FILE: "piece of the mark log",
        parts_path(folder / FILE): "piece of the mark log",
        folder / "sittings" / "cruise" / "sitting.json": "record of the instructor's",
        folder / "names.csv": "list of learners' names",
    }
    for number, (file, reason) in enumerate(files.items()):
        path = bundle / f"data{number}.txt"
        path.write_bytes(file.read_bytes()[:-3])
        assert any(reason in w for w in why(bundle, path.name)), file


def test_saved_outputs_and_states_of_boards_are_refused(bundle):
    """In a notebook of any name and edition, and in a page made of one."""
    output = {"output_type": "stream", "name": "stdout", "text": ["42"]}
    run = [{**CELLS[1], "outputs": [output]}]
    state = {"application/vnd.jupyter.widget-state+json": {"state": {"a": 1}}}
    old = json.dumps({"nbformat": 3, "worksheets": [{"cells": run}], "cells": []})
    for name, text, reason in [
        ("a.ipynb", notebook(run), "outputs that were saved"),
        ("a.txt", notebook(run), "outputs that were saved"),
        ("b.ipynb", old, "outputs that were saved"),
        ("c.ipynb", notebook(widgets={"x": 1}), "saved states of boards"),
        ("d.html", f"<script>{json.dumps(state)}</script>", "saved states of boards"),
    ]:
        (bundle / name).write_text(text)
        assert any(reason in w for w in why(bundle, name)), name
        (bundle / name).unlink()


def encodings(data):
    """Ways in which bytes that are text may stand in a file."""
    text = data.decode()
    coded = base64.b64encode(data).decode()
    wrapped = "\n".join(coded[i : i + 20] for i in range(0, len(coded), 20))
    shifted = base64.b64encode(b"x" + data).decode()
    return {
        "plain": text,
        "capitals": text.upper(),
        "lines": text.replace(" ", "\n   "),
        "json": json.dumps({"note": text}),
        "json in json": json.dumps(json.dumps(json.dumps([text]))),
        "unicode escapes": "".join(f"\\u{ord(c):04x}" for c in text),
        "hexadecimal escapes": "".join(f"\\x{ord(c):02x}" for c in text),
        "html": html.escape(text),
        "html numbers": "".join(f"&#{ord(c)};" for c in text),
        "address": urllib.parse.quote(text),
        "mail": quopri.encodestring(data, quotetabs=True).decode(),
        "wide letters": "".join(chr(ord(c) + 0xFEE0) if "!" <= c <= "~" else c for c in text),
        "base64": f"const data = '{coded}';",
        "base64 behind letters": f"abc{coded}",
        "base64 of more": shifted,
        "base64 in lines": f"data:\n{wrapped}\n",
        "base64 in pieces": json.dumps([coded[:17], coded[17:]]),
        "base64 of base64": base64.b64encode(coded.encode()).decode(),
        "base64 for addresses": base64.urlsafe_b64encode(data).decode(),
        "base64 of compressed": base64.b64encode(zlib.compress(data)).decode(),
        "hexadecimal": data.hex(),
        "hexadecimal in pairs": data.hex(" "),
        "numbers": json.dumps(list(data)),
        "two bytes": text.encode("utf-16"),
        "two bytes unmarked": text.encode("utf-16-le"),
        "four bytes": text.encode("utf-32"),
        "behind a mark of two bytes": b"\xff\xfe" + data,
        "among bytes": b"\xff\x00\x80" + data + b"\xfe\x01",
        "gzip": gzip.compress(data, mtime=0),
        "bzip2": bz2.compress(data),
        "xz": lzma.compress(data),
        "zlib": zlib.compress(data),
        "pdf": b"%PDF-1.7\n1 0 obj\nstream\r\n" + zlib.compress(data) + b"\nendstream",
    }


WAYS = encodings(f"see {ANSWER} there".encode())


@pytest.mark.parametrize("way", WAYS)
def test_an_answer_is_found_however_it_is_written(bundle, way):
    """In a file of any name."""
    content = WAYS[way]
    (bundle / "more.txt").write_bytes(content if isinstance(content, bytes) else content.encode())
    assert any("secret 2 of those given" in w for w in why(bundle, "more.txt"))


def test_answers_are_found_inside_notebooks(bundle):
    """In a cell's text, in its metadata, in an attached picture, split over lines."""
    coded = base64.b64encode(ANSWER.encode()).decode()
    half = len(ANSWER) // 2
    for change in (
        {"source": [f"x = {ANSWER!r}"]},
        {"metadata": {"note": ANSWER}},
        {"attachments": {"a.png": {"image/png": coded}}},
        {"source": [ANSWER[:half], ANSWER[half:]]},
    ):
        (bundle / "paper.ipynb").write_text(notebook([{**CELLS[0], **change}]))
        assert any("secret 2" in w for w in why(bundle, "paper.ipynb")), change


@pytest.mark.parametrize(
    "content",
    [
        SECRET,
        b"x" + SECRET + b"y",
        SECRET.hex().encode(),
        SECRET.hex().upper().encode(),
        SECRET.hex(" ", 2).encode(),
        SECRET.hex(":").encode(),
        base64.b64encode(SECRET),
        base64.urlsafe_b64encode(SECRET).rstrip(b"="),
        base64.b64encode(b"ab" + SECRET + b"c"),
        base64.b64encode(SECRET.hex().encode()),
        json.dumps({"number": int.from_bytes(SECRET, "big")}).encode(),
        json.dumps({"list": list(SECRET)}).encode(),
        gzip.compress(b"x" + SECRET, mtime=0),
    ],
)
def test_secret_bytes_are_found_however_they_are_written(bundle, content):
    """Raw, in hexadecimal, in base64, as a number, as a list."""
    (bundle / "more.dat").write_bytes(content)
    assert any("secret 1 of those given" in w for w in why(bundle, "more.dat"))


def test_codes_of_others_are_found_as_words_and_in_names(bundle):
    """In any capitals; inside a longer word or a random name they are none."""
    for number, text in enumerate(("seen by b104.", "sheet_B104", "x-B104-y", "(k-7)", "K-7:")):
        path = bundle / f"note{number}.md"
        path.write_text(text)
        assert any("of those given" in w for w in why(bundle, path.name)), text
        path.unlink()
    (bundle / "note.md").write_text(f"B1045 ab104 AK-7 K-77 0ed0b104-b104-b104-b104-{'b104' * 3}")
    assert why(bundle) == []
    (bundle / "sheet.b104.md").write_text("nothing")
    assert any("its name holds secret 3" in w for w in why(bundle, "sheet.b104.md"))


def test_no_finding_tells_the_secret(bundle):
    """Neither answers nor codes nor bytes stand in what is said about contents."""
    (bundle / "more.md").write_text(f"{ANSWER} {CODE} {SECRET.hex()}")
    said = " ".join(str(f) for f in scan(bundle, SECRETS))
    assert "secret 1" in said and "secret 2" in said and "secret 3" in said
    assert "centre" not in said and CODE not in said and SECRET.hex() not in said


def inner_zip(name="inner.txt", content=ANSWER, depth=1, **how):
    """A zip archive, in others."""
    data = content.encode() if isinstance(content, str) else content
    for _ in range(depth):
        out = io.BytesIO()
        with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
            archive.writestr(zipfile.ZipInfo(name) if how.get("plain") else name, data)
            archive.comment = how.get("comment", b"")
        data, name = out.getvalue(), "inner.zip"
    return data


def inner_tar(name="inner.txt", content=ANSWER, kind=tarfile.REGTYPE):
    """A tar archive."""
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w") as archive:
        about = tarfile.TarInfo(name)
        about.size, about.type, about.linkname = len(content), kind, "/etc/x"
        archive.addfile(about, io.BytesIO(content.encode()))
    return out.getvalue()


@pytest.mark.parametrize(
    ("data", "reason"),
    [
        (inner_zip(), "secret 2"),
        (inner_zip(depth=3), "secret 2"),
        (inner_zip(comment=ANSWER.encode(), content="x"), "secret 2"),
        (inner_zip(depth=9), "than can be looked into"),
        (inner_zip("key.json", "x"), "a key"),
        (inner_zip("a/.git/HEAD", "x"), "a history"),
        (inner_zip("../out.txt", "x"), "leads out"),
        (inner_zip("/out.txt", "x"), "leads out"),
        (inner_zip(f"{CODE}.txt", "x"), "secret 3"),
        (inner_zip()[:-30], "cannot be looked into"),
        (inner_tar(), "secret 2"),
        (inner_tar("key.json", "x"), "a key"),
        (inner_tar("../out", "x"), "leads out"),
        (inner_tar("link", "", tarfile.SYMTYPE), "a link or a device"),
        (b"7z\xbc\xaf\x27\x1c" + bytes(50), "a 7z archive"),
        (b"Rar!" + bytes(50), "a RAR archive"),
        (b"age-encryption.org/v1\n", "encrypted"),
    ],
)
def test_archives_are_looked_into_or_refused(bundle, data, reason):
    """What is packed is scanned like the rest, and what cannot be opened is refused."""
    (bundle / "more.dat").write_bytes(data)
    found = scan(bundle, SECRETS)
    assert any(reason in f.why for f in found if f.place.startswith("more.dat")), found


def test_an_archive_in_base64_is_found(bundle):
    """A zip stored without compression, in a cell."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr("a.txt", ANSWER)
    (bundle / "more.py").write_text(f"x = {base64.b64encode(out.getvalue()).decode()!r}")
    assert any("secret 2" in w for w in why(bundle, "more.py"))


def test_an_encrypted_file_of_an_archive_is_refused(bundle):
    """The flag is set by hand: the standard library cannot encrypt."""
    data = bytearray(inner_zip("a.txt", "x"))
    for mark, place in ((b"PK\x03\x04", 6), (b"PK\x01\x02", 8)):
        data[data.index(mark) + place] |= 1
    (bundle / "more.dat").write_bytes(data)
    assert any("encrypted" in f.why for f in scan(bundle))


def test_what_unpacks_without_end_is_refused(bundle):
    """A small archive of a large file, and small text that decodes to more: refused in time."""
    (bundle / "more.dat").write_bytes(inner_zip("a.txt", bytes(30_000_000)))
    assert any("larger than 10000000 bytes" in f.why for f in scan(bundle))
    deep = b"x = 1"
    for _ in range(9):
        deep = base64.b64encode(deep + b" and so on")
    (bundle / "more.dat").write_bytes(deep)
    assert any("than can be looked into" in f.why for f in scan(bundle))


posix = pytest.mark.skipif(os.name != "posix", reason="links and pipes as POSIX systems have them")


@posix
def test_links_that_leave_the_bundle_are_refused(bundle, tmp_path):
    """Out, to a full path, to nowhere, around; one to a file inside is none of these."""
    (tmp_path / "outside.txt").write_text("x")
    (tmp_path / "bundle-two").mkdir()
    for target, reason in [
        ("../outside.txt", "leads out"),
        ("../bundle-two", "leads out"),
        (str(bundle / "paper.json"), "full path"),
        ("/etc", "full path"),
        ("missing.txt", "leads nowhere"),
        ("link", "leads nowhere"),
    ]:
        (bundle / "link").symlink_to(target)
        assert [f.why for f in scan(bundle) if reason in f.why], target
        (bundle / "link").unlink()
    (bundle / "pictures" / "paper.json").symlink_to("../paper.json")
    assert scan(bundle) == ()


@posix
def test_a_link_in_an_archive_is_refused(bundle):
    """As zip programs of POSIX systems store it."""
    path = bundle / "more.dat"
    with zipfile.ZipFile(path, "w") as archive:
        about = zipfile.ZipInfo("link")
        about.external_attr = 0o120777 << 16
        archive.writestr(about, "/etc/passwd")
    assert any("link inside an archive" in f.why for f in scan(bundle))


@posix
def test_a_pipe_is_refused_and_not_waited_for(bundle):
    """It is neither a file nor a folder."""
    os.mkfifo(bundle / "pipe")
    assert [f.place for f in scan(bundle)] == ["pipe"]


def test_a_file_beyond_the_limit_is_refused_unread(bundle):
    """In a folder, as an archive, and as the bundle itself."""
    (bundle / "large.md").write_bytes(b"x" * 5001)
    assert any(f.place == "large.md" for f in scan(bundle, largest=5000))
    assert scan(packed(bundle), largest=500)[0].place == "bundle.zip"


@pytest.mark.parametrize("secrets", [["x"], [""], [None], [b"short"], [7], "text", b"bytes"])
def test_secrets_that_cannot_be_looked_for_are_refused(bundle, secrets):
    """Too short, of a wrong kind, or one text in place of a list."""
    with pytest.raises(IntegrityError, match="secrets:"):
        scan(bundle, secrets)


def test_a_bundle_that_is_not_there_is_named(tmp_path):
    """It is not taken for a clean one."""
    with pytest.raises(IntegrityError, match="no folder or archive"):
        scan(tmp_path / "none")


def test_a_large_picture_gives_no_false_alarm(bundle):
    """Noise of 300 kB, and the codes of a whole class to be found in it by chance."""
    (bundle / "pictures" / "board.png").write_bytes(random.Random(4).randbytes(300_000))
    assert scan(bundle, [SECRET, *(f"A{number:03}" for number in range(300))]) == ()


def test_readings_end_for_any_bytes():
    """Noise, and text made of the signs that encodings use, come to an end."""
    chance = random.Random(9)
    for _ in range(30):
        noise = chance.randbytes(300)
        signs = "".join(chance.choices("ABCabc012+/=\\ux%&#;\"', \n", k=600)).encode()
        assert list(views(noise)) and list(views(signs))
