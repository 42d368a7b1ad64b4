"""Receipts: read out, misheard, confirmed."""

import random

import pytest

from fuelkit.assess.integrity.canonical import IntegrityError
from fuelkit.assess.integrity.receipt import SIGNS, confirms, heard, receipt

DATA = b'{"learner": "A07", "answers": {}}'


def misheard(text, data=DATA):
    """Whether a receipt is refused as misheard."""
    try:
        confirms(text, data)
    except IntegrityError:
        return True
    return False


def test_the_signs_cannot_be_mistaken():
    """23 different ones, of each pair that looks alike at most one."""
    assert len(set(SIGNS)) == len(SIGNS) == 23
    for alike in ("0OQD", "1IL", "2Z", "5S", "8B", "UV", "MN"):
        assert len(set(alike) & set(SIGNS)) <= 1


def test_a_receipt_is_four_groups_of_four_and_confirms_its_bytes_alone():
    """One byte more, and it does not."""
    text = receipt(DATA)
    assert [len(group) for group in text.split("-")] == [4] * 4 and set(text) <= set(SIGNS + "-")
    assert confirms(text, DATA) and not confirms(text, DATA + b"\n")


def test_capitals_spaces_and_hyphens_do_not_matter():
    """As a person types what they hear."""
    text = receipt(DATA)
    assert confirms(f"  {text.lower().replace('-', ' ')} ", DATA)
    assert heard(text.replace("-", "")) == text


def test_every_single_sign_misheard_is_noticed():
    """All 16 places, all 22 other signs, for several receipts."""
    for number in range(5):
        signs = receipt(bytes([number])).replace("-", "")
        for place in range(16):
            for other in set(SIGNS) - {signs[place]}:
                assert misheard(signs[:place] + other + signs[place + 1 :])


def test_any_two_signs_that_changed_places_are_noticed():
    """Not only neighbours."""
    for number in range(20):
        signs = list(receipt(bytes([number])).replace("-", ""))
        for i in range(16):
            for j in range(i):
                turned = list(signs)
                turned[i], turned[j] = signs[j], signs[i]
                assert turned == signs or misheard("".join(turned))


def test_receipts_of_different_bytes_differ():
    """Twenty thousand sheets, no two alike; every sign occurs."""
    made = {receipt(number.to_bytes(4, "big")) for number in range(20_000)}
    assert len(made) == 20_000
    assert set("".join(made)) == set(SIGNS + "-")


def test_noise_is_seldom_taken_for_a_receipt():
    """About one text in 23 passes the check sign, none belongs to the bytes."""
    chance = random.Random(3)
    texts = ["".join(chance.choices(SIGNS, k=16)) for _ in range(2000)]
    passed = [text for text in texts if not misheard(text)]
    assert 40 < len(passed) < 140
    assert not any(confirms(text, DATA) for text in passed)


@pytest.mark.parametrize(
    ("text", "why"),
    [("O" * 16, "has the sign 'O'"), ("ACE", "3 signs"), ("A" * 17, "17 signs"), ("", "0 signs")],
)
def test_what_cannot_be_a_receipt_is_named(text, why):
    """The message says what to ask."""
    with pytest.raises(IntegrityError, match=why):
        heard(text)
