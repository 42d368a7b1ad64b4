"""Work a figure sheet from a learner's own figures, and find the slips that explain a wrong one."""

from dataclasses import dataclass
from itertools import combinations

MOST_SLIPS = 2
"""So many slips together may explain one figure; with more, chance would explain most."""

_MOST_TRIED = 2000  # pairs of slips; more would be slow, and would explain anything


@dataclass(frozen=True)
class Explained:
    """What explains a wrong figure: nothing, or a slip or two. Frozen.

    names : tuple of str
    sentence : str
    value : float or str
        What they give, before it was rounded to be written down.
    """

    names: tuple = ()
    sentence: str = ""
    value: object = None


class Worker:
    """Works a sheet step by step from what a learner wrote. `take` goes on to the next step.

    Parameters
    ----------
    sheet : Sheet
    written : dict of str to value
        What the learner wrote and could be read, by step. SI.
    """

    def __init__(self, sheet, written):
        self.sheet, self.written = sheet, written
        self.right = sheet.worked()
        self.own = {given.name: given.value for given in sheet.givens}
        self.carried = dict(self.own)  # the same, before figures were rounded to be written down
        self._steps = {step.name: step for step in sheet.steps}

    def follow(self, step):
        """Return what a step gives from the learner's own earlier figures; None if nothing."""
        return self.sheet.follow(step, self.own)

    def followed(self, step, value):
        """Return what a step gives from own earlier figures, if a value agrees with it, or None.

        The figures may be as they were written, or as they were before that.
        """
        for base in (self.own, self.carried):
            found = self.sheet.follow(step, base)
            if found is not None and step.agrees(value, found):
                return found
        return None

    def is_as_written(self, step):
        """Return whether what was written for a step follows from the figures as written."""
        found = self.follow(step)
        return found is not None and step.agrees(self.written[step.name], found)

    def take(self, step, carried=None):
        """Take a step's value as the learner's own: as written, as found out, or as it follows.

        `carried` is what it was before it was rounded, if that is known.
        """
        for values, value in ((self.own, self.written.get(step.name)), (self.carried, carried)):
            value = values.get(step.name) if value is None else value
            value = self.sheet.follow(step, values) if value is None else value
            values[step.name] = self.right[step.name] if value is None else value

    def departed(self, step):
        """Return the labels of earlier figures that lead a step elsewhere than the right ones.

        Of an input that was not written, those that it was worked from in their turn.
        """
        labels = []
        for name in step.inputs:
            other = self._steps.get(name)
            if other is None or other.agrees(self.own[name], self.right[name]):
                continue
            before = () if name in self.written else self.departed(other)
            labels += before or (other.label,)
        return tuple(dict.fromkeys(labels))

    def departs(self, step):
        """Return whether the learner's own earlier figures lead elsewhere than the right ones."""
        return bool(self.departed(step))

    # ------------------------------------------------------------------------------- explaining
    def explain(self, step, value):
        """Return which slips make a step give a value; steps not written take them up."""
        hidden = self._hidden_before(step)
        for slips in _tries(step, hidden):
            for base in (self.own, self.carried, self.right):
                found = self._run(step, hidden, slips, base)
                if found is not None and step.agrees(value, found[step.name]):
                    return self._explained(step, value, slips, base, found)
        return Explained()

    def _explained(self, step, value, slips, base, found):
        taken = {name: v for name, v in found.items() if name != step.name}
        self.own.update(taken)
        self.carried.update(taken)
        others = [] if len(slips) > 1 else self._others(step, value, slips[0], base)
        return Explained(
            tuple(s.name for _, s in slips), _words(step, slips, others), found[step.name]
        )

    def _others(self, step, value, taken, base):
        """Further slips of the step itself that give the same value."""
        made = ((s, self.sheet.follow(step, base, s)) for s in step.slips if (step, s) != taken)
        return [s for s, v in made if taken[0] is step and v is not None and step.agrees(value, v)]

    def _hidden_before(self, step):
        """Steps that a step is worked from, at whatever distance, and that were not written."""
        wanted, found = set(step.inputs), []
        for other in reversed(self.sheet.steps[: self.sheet.steps.index(step)]):
            if other.name in wanted and other.name not in self.written:
                found.append(other)
                wanted |= set(other.inputs)
        return found[::-1]

    def _run(self, step, hidden, slips, base):
        """Values of the hidden steps and of the step itself, worked with slips; None if not."""
        chosen = {s.name: slip for s, slip in slips}
        values, found = dict(base), {}
        for other in (*hidden, step):
            made = self.sheet.follow(other, values, chosen.get(other.name))
            if made is None:
                return None
            values[other.name] = found[other.name] = made
        return found


def _tries(step, hidden):
    """Slips in the step or in steps before it that were not written: one alone, then two."""
    singles = [(s, slip) for s in (step, *reversed(hidden)) for slip in s.slips]
    pairs = [pair for pair in combinations(singles, MOST_SLIPS) if pair[0][0] != pair[1][0]]
    return [*((one,) for one in singles), *pairs[:_MOST_TRIED]]


def _words(step, slips, others):
    """What the figure agrees with, as sentences; never that it was so."""
    told = " ".join(
        _sentence(slip.sentence if s is step else f"at “{s.label}”, {slip.sentence}")
        for s, slip in slips
    )
    start = "It agrees with a slip:" if len(slips) < 2 else "It agrees with two slips together:"
    also = "".join(f" It could also be: {_sentence(slip.sentence)}" for slip in others)
    return f"{start} {told}{also}"


def _sentence(words):
    words = words.strip()
    return f"{words[:1].upper()}{words[1:].rstrip('.')}."


def named(sheet, name):
    """Return how people call a given or a step, as it stands within a sentence."""
    label = next((g.label for g in sheet.givens if g.name == name), None)
    label = sheet.step(name).label if label is None else label
    plain = len(label) > 1 and label[0].isupper() and label[1].islower()
    return label[0].lower() + label[1:] if plain else label


def listed(words):
    """Return words as a list within a sentence.

    Examples
    --------
    >>> listed(["a"]), listed(["a", "b", "c"])
    ('a', 'a, b and c')
    """
    words = list(words)
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"
