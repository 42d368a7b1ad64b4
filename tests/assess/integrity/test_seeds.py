"""Seeds: the primitive against published vectors, and words that cannot be mistaken."""

import hashlib
import random
import subprocess
import sys

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.seeds import derive, keyed_digest, new_secret, seed

SECRET = bytes(range(32))

# RFC 4231 (M. Nystrom, December 2005), sections 4.2 to 4.5, 4.7 and 4.8: key, data, HMAC-SHA-256.
VECTORS = [
    (b"\x0b" * 20, b"Hi There", "b0344c61d8db38535ca8afceaf0bf12b881dc200c9833da726e9376c2e32cff7"),
    (
        b"Jefe",
        b"what do ya want for nothing?",
        "5bdcc146bf60754e6a042426089575c75a003f089d2739839dec58b964ec3843",
    ),
    (
        b"\xaa" * 20,
        b"\xdd" * 50,
        "773ea91e36800e46854db8ebd09181a72959098b3ef8c122d9635514ced565fe",
    ),
    (
        bytes(range(1, 26)),
        b"\xcd" * 50,
        "82558a389a443c0ea4cc819899f2083a85f0faa3e578f8077a2e3ff46729665b",
    ),
    (
        b"\xaa" * 131,
        b"Test Using Larger Than Block-Size Key - Hash Key First",
        "60e431591ee0b67f0d8a26aacbf5b77f8e0bc6213728c5140546040f0ee37f54",
    ),
    (
        b"\xaa" * 131,
        b"This is a test using a larger than block-size key and a larger than block-size data. "
        b"The key needs to be hashed before being used by the HMAC algorithm.",
        "9b09ffa71b942fcb27635fbcd5b0e944bfdc63644f0713938a7f51535c3a35e2",
    ),
]


@pytest.mark.parametrize(("key", "data", "digest"), VECTORS)
def test_the_primitive_is_hmac_sha_256(key, data, digest):
    """The published test vectors of RFC 4231."""
    assert keyed_digest(key, data).hex() == digest


def by_definition(secret, *words):
    """A seed worked again from RFC 2104, section 2, and the encoding as it is documented."""
    message = b""
    for part in (b"fuelkit seed, edition 1", *(word.encode() for word in words)):
        message += len(part).to_bytes(8, "big") + part
    padded = secret.ljust(64, b"\0")
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in padded) + message).digest()
    outer = hashlib.sha256(bytes(b ^ 0x5C for b in padded) + inner)
    return int(outer.hexdigest(), 16)


@pytest.mark.parametrize("words", [(), ("",), ("paper", "A07"), ("é", "x" * 1000)])
def test_a_seed_follows_from_the_definition(words):
    """HMAC written out from its definition gives the same number."""
    assert seed(SECRET, *words) == by_definition(SECRET, *words)


def test_words_cannot_be_mistaken_for_others():
    """Wherever letters move from word to word, or empty words come in, the seed changes."""
    chance = random.Random(5)
    seen = {("ab", "c"), ("a", "bc"), ("abc",), ("", "abc"), ("abc", ""), (), ("",), ("", "")}
    for _ in range(400):
        letters = [chance.choice("ab\0\x01,") for _ in range(chance.randrange(6))]
        cut = chance.randrange(len(letters) + 1)
        seen.add(("".join(letters[:cut]), "".join(letters[cut:])))
        seen.add(("".join(letters),))
    assert len({seed(SECRET, *words) for words in seen}) == len(seen) > 200


def test_another_secret_gives_another_seed():
    """One bit of the secret is enough."""
    other = bytes([SECRET[0] ^ 1]) + SECRET[1:]
    assert seed(SECRET, "paper") != seed(other, "paper")


def test_a_new_python_gives_the_same_seed():
    """Neither the hash seed of a process nor its working folder matters."""
    code = (
        "from fuelkit.assess.integrity.seeds import seed\n"
        "print(seed(bytes(range(32)), 'paper', 'A07'))"
    )
    found = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONPATH": ":".join(p for p in sys.path if p), "PYTHONHASHSEED": number},
        ).stdout
        for number in ("0", "7")
    }
    assert found == {f"{seed(SECRET, 'paper', 'A07')}\n"}


def test_new_secrets_differ_and_are_long_enough():
    """32 bytes each, never the same twice."""
    made = {new_secret() for _ in range(50)}
    assert len(made) == 50 and {len(secret) for secret in made} == {32}


@pytest.mark.parametrize("secret", [b"", b"short", bytes(31), bytes(33), "x" * 32, None])
def test_a_secret_of_another_length_is_refused(secret):
    """The message names what is wrong and right, and not the secret."""
    with pytest.raises(IntegrityError, match="secret: it must be 32 bytes"):
        seed(secret, "paper")


@pytest.mark.parametrize("word", [7, None, b"paper", 1.0])
def test_a_word_that_is_no_text_is_refused(word):
    """A number and its text would otherwise be mistaken."""
    with pytest.raises(IntegrityError, match="must be a text"):
        derive(SECRET, "paper", word)
