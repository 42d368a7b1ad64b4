"""How many chose each option, and which options nobody chose."""

from dataclasses import dataclass

from fuelkit.assess.statistics.estimate import LEAST_FOR_SHARE, Estimate, estimate, too_few
from fuelkit.assess.statistics.intervals import wilson_interval


@dataclass(frozen=True)
class OptionUse:
    """One option, and how often it was chosen. Frozen.

    option : str
        What stands for it on all papers: its words, or the name of the error that makes it.
    offered, chosen : int
        Learners who had it among their options, and who took it.
    share : Estimate
        Chosen of offered, with Wilson's interval; silent for fewer than LEAST_FOR_SHARE. [-]
    """

    option: str
    offered: int
    chosen: int
    share: Estimate


@dataclass(frozen=True)
class OptionTable:
    """The options of one line or question. Frozen.

    uses : tuple of OptionUse
        In the order in which options first stand on the papers.
    blank : int
        Learners who chose none.
    """

    uses: tuple[OptionUse, ...]
    blank: int

    @property
    def unchosen(self):
        """Options that nobody chose: they mislead no one, or were offered to few."""
        return tuple(use.option for use in self.uses if not use.chosen)


def option_table(papers):
    """Return how many chose each option.

    Papers differ, and so do their options. What is counted is a name that they share: the words of
    an option, or the named error that makes it on every paper.

    Parameters
    ----------
    papers : iterable of (sequence of str, str or None)
        One a learner: the options offered, and the one taken; None or "" for no answer.

    Returns
    -------
    OptionTable
        Counts are always given, since they are facts of this class; the shares, which speak of
        others too, have an interval and are silent where few were offered the option.

    Raises
    ------
    ValueError
        If an option was chosen that was not offered, or is offered twice on one paper.

    Examples
    --------
    >>> table = option_table([(("open", "shut"), "open"), (("open", "half"), "open")])
    >>> table.unchosen, [use.offered for use in table.uses]
    (('shut', 'half'), [2, 1, 1])
    """
    offered, chosen, blank = {}, {}, 0
    for options, taken in papers:
        if len(set(options)) != len(options):
            raise ValueError(f"options {tuple(options)!r} name one twice; name each once.")
        for option in options:
            offered[option] = offered.get(option, 0) + 1
        if not taken:
            blank += 1
        elif taken not in options:
            raise ValueError(f"chosen is {taken!r}; it must be one of {', '.join(options)}.")
        else:
            chosen[taken] = chosen.get(taken, 0) + 1
    uses = tuple(_use(option, count, chosen.get(option, 0)) for option, count in offered.items())
    return OptionTable(uses, blank)


def _use(option, offered, chosen):
    share = too_few(offered, LEAST_FOR_SHARE, "were offered it")
    if share is None:
        share = estimate(chosen / offered, wilson_interval(chosen, offered), offered, 1.0)
    return OptionUse(option, offered, chosen, share)
