"""What is not proved is said, in plain words."""

from fuelkit.assess.integrity.limits import LIMITS, TITLE, limits_text


def test_every_limit_is_said_once_in_whole_sentences():
    """Each has a subject of its own and ends with a full stop."""
    abouts = [about for about, _ in LIMITS]
    assert len(set(abouts)) == len(abouts) >= 10
    for about, text in LIMITS:
        assert text.endswith(".") and 40 < len(text) < 400, about


def test_what_must_be_said_is_said():
    """The account, the log, the clock, the receipt, the learner's own kit, the purge."""
    text = limits_text()
    assert text.startswith(TITLE)
    for words in (
        "can read the secret, the keys and the log",
        "not by whom",
        "times are those of the machine",
        "not who answered it",
        "A learner has the kit",
        "does not reach the list of names",
    ):
        assert words in text
