"""A rule reads as one plain sentence, made of its record alone."""

import pytest

from fuelkit.aircraft.conditions import Condition, read_fact
from fuelkit.aircraft.model import Rule
from fuelkit.aircraft.sentences import event_words, fact_words, joined, rule_sentence


@pytest.mark.parametrize(
    ("fact", "words"),
    [
        ("crossfeed valve is OPEN", "the crossfeed valve is open"),
        ("high-lift surfaces are out", "the high-lift surfaces are out"),
        ("engine 1 is not RUN", "engine 1 is not running"),
        ("engine 1 fuel lever is not run", "the engine 1 fuel lever is not at run"),
        ("crossfeed switch is on", "the crossfeed switch is on"),
        ("APU is RUN", "the APU is running"),
        ("left centre pump is LOW PRESS", "the left centre pump is without pressure"),
        ("left inboard overflow is RUNNING", "the left inboard overflow is running over"),
        ("outboard transfer is ACTIVE", "the rule “outboard transfer” is in force"),
        ("Centre tank in use is SHOWN", "the message “Centre tank in use” is shown"),
        ("centre holds less than 400 kg", "the centre tank holds less than 400 kg"),
        ("all tanks hold more than 900 kg", "all tanks hold more than 900 kg"),
        ("left outboard is colder than -37 C", "the left outboard tank is colder than -37 °C"),
        ("centre has its ordered quantity", "the centre tank has its ordered quantity"),
        ("left inboard has lost 400 kg", "the left inboard tank has lost 400 kg"),
        ("centre of gravity is aft of 38.5 %", "the centre of gravity is aft of 38.5 %"),
        ("lateral imbalance is below 700 kg", "the lateral imbalance is below 700 kg"),
    ],
)
def test_every_kind_of_fact_reads_as_it_is_spoken(halbrook, fact, words):
    """States in lower case, articles where they belong."""
    assert fact_words(halbrook, read_fact(fact)) == words


def test_a_rule_with_everything_reads_as_one_sentence(halbrook):
    """All, any, delay, several parts, two states, an end and a reason."""
    condition = Condition(
        all=(read_fact("APU is RUN"),),
        any=(read_fact("centre low sensor is DRY"), read_fact("crossfeed switch is on")),
    )
    rule = Rule(
        "trial", condition, Condition(all=(read_fact("refuel panel is open"),)), 12.0,
        (("left transfer valve", "OPEN"), ("right transfer valve", "OPEN"), ("APU", "OFF")),
        "it is a trial",
    )  # fmt: skip

    assert rule_sentence(halbrook, rule) == (
        "When the APU is running, and either the centre low sensor is dry or the crossfeed switch "
        "is on for 12 s, the left transfer valve and the right transfer valve open and the APU "
        "goes off, because it is a trial; this stays until the refuel panel is open."
    )


def test_every_rule_of_the_course_reads_as_a_sentence(halbrook):
    """One capital, one full stop, its reason in it, and no state in capitals."""
    for rule in halbrook.rules:
        text = rule_sentence(halbrook, rule)
        assert text.startswith("When ") and text.endswith(".") and ".." not in text
        assert rule.because in text
        for state in ("OPEN", "SHUT", "RUN", "OFF", "DRY", "WET"):
            assert f" {state}" not in text


@pytest.mark.parametrize(
    ("name", "state", "words"),
    [
        ("engine 2", "STARVED", "Engine 2 is starved of fuel"),
        ("crossfeed valve", "HALF OPEN", "The crossfeed valve stands half open"),
        ("crossfeed switch", "on", "By hand: crossfeed switch to on"),
        ("Centre tank in use", "SHOWN", "Advisory shown: Centre tank in use"),
        ("Left inboard fuel is low", "OUT", "Caution gone: Left inboard fuel is low"),
        ("phase", "climb", "Phase: climb"),
    ],
)
def test_what_happened_is_told_in_words(halbrook, name, state, words):
    """Each kind of part by its own words."""
    assert event_words(halbrook, name, state) == words


def test_a_list_is_spoken():
    """Nothing, one, two and three."""
    lists = [[], ["a"], ["a", "b"], ["a", "b", "c"]]
    assert [joined(words) for words in lists] == ["", "a", "a and b", "a, b and c"]
