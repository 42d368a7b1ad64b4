"""Sealed keys: any change shows, nothing leaks, the print can be compared."""

import copy
import hashlib
import json

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError, canonical, from_groups, groups
from fuelkit.assess.integrity.commitment import Commitment, commit, opens
from fuelkit.assess.integrity.seeds import derive

KEY = {"paper": "A07", "answers": {"q1": "left is OFF", "q2": 1875.0, "q3": [1, 2]}, "edition": 1}


def test_the_sealed_key_opens_whatever_the_order_of_its_names():
    """Read back from a file in another order and layout it is still the same key."""
    sealed = commit(KEY)
    turned = json.loads(json.dumps(dict(reversed(KEY.items())), indent=3))
    assert opens(sealed, KEY) and opens(sealed, turned)


def changed(change):
    """The key with one change."""
    key = copy.deepcopy(KEY)
    change(key)
    return key


@pytest.mark.parametrize(
    "key",
    [
        changed(lambda k: k["answers"].update(q1="left is OFF ")),
        changed(lambda k: k["answers"].update(q2=1875)),
        changed(lambda k: k["answers"].update(q2=1875.0000000000002)),
        changed(lambda k: k["answers"].update(q3=[2, 1])),
        changed(lambda k: k["answers"].pop("q3")),
        changed(lambda k: k.update(extra=None)),
        {},
    ],
)
def test_no_other_key_opens(key):
    """A blank, a kind of number, the last digit, an order, a name more or less: all show."""
    assert not opens(commit(KEY), key)


def test_the_digest_is_sha_256_of_purpose_salt_and_key():
    """Anybody can work it without this kit: each part after its length in 8 bytes."""
    sealed = commit(KEY, bytes(range(32)))
    text = json.dumps(KEY, sort_keys=True, separators=(",", ":")).encode()
    parts = (b"fuelkit sealed key, edition 1", bytes(range(32)), text)
    worked = hashlib.sha256(b"".join(len(p).to_bytes(8, "big") + p for p in parts))
    assert sealed.digest == worked.hexdigest()


def test_the_same_key_sealed_twice_cannot_be_told():
    """Every salt is new, so nobody can try out likely keys or see that two papers are alike."""
    sealed = [commit(KEY) for _ in range(20)]
    assert len({s.salt for s in sealed}) == len({s.digest for s in sealed}) == 20


def test_salt_from_the_secret_gives_the_same_paper_again():
    """With salt derived from the secret, print and seal are the same each time."""
    salt = derive(bytes(32), "salt", "A07")
    assert commit(KEY, salt) == commit(KEY, salt) != commit(KEY, derive(bytes(32), "salt", "A08"))


def test_the_print_can_be_typed_back():
    """Four lines of four groups, read in with any capitals and spaces."""
    sealed = commit(KEY)
    assert [len(line.split()) for line in sealed.printed.splitlines()] == [4] * 4
    assert from_groups("  " + sealed.printed.upper().replace("\n", "  ")) == sealed.digest
    assert groups(sealed.digest) == sealed.printed


@pytest.mark.parametrize("text", ["", "abcd", "g" * 64, "0" * 63, None, 7])
def test_a_print_typed_wrong_is_refused(text):
    """It says how many signs were typed."""
    with pytest.raises(IntegrityError, match="must be 64"):
        from_groups(text)


@pytest.mark.parametrize("salt", [b"", b"x" * 31, "x" * 32])
def test_salt_of_another_length_is_refused(salt):
    """Short salt would not hide."""
    with pytest.raises(IntegrityError, match="32 bytes"):
        commit(KEY, salt)


@pytest.mark.parametrize("fields", [("", "0" * 64), ("0" * 64, "0" * 63), ("X" * 64, "0" * 64)])
def test_a_damaged_seal_is_named(fields):
    """It cannot be made, so it cannot silently fail to open."""
    with pytest.raises(IntegrityError, match="64 hexadecimal digits"):
        Commitment(*fields)


@pytest.mark.parametrize("key", [{1: "a"}, {"a": float("nan")}, {"a": b"x"}, {"a": {None: 1}}])
def test_a_key_that_json_cannot_say_is_refused(key):
    """Two keys must never be written alike, as 1 and "1" would."""
    with pytest.raises(IntegrityError, match="record:"):
        canonical(key)


def test_a_record_that_holds_itself_is_refused():
    """It ends, with a sentence."""
    key = {}
    key["key"] = key
    with pytest.raises(IntegrityError, match="holds itself"):
        canonical(key)
