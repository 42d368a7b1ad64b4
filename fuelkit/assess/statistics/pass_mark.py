"""Who is so near the pass mark that chance may have decided."""

from dataclasses import dataclass

from fuelkit.assess.statistics.estimate import NOTHING, Estimate


@dataclass(frozen=True)
class NearPass:
    """Who lies within one standard error of the pass mark. Frozen.

    pass_mark : float
        In marks.
    standard_error : Estimate
        Of one learner's total, in marks.
    above, below : tuple of str
        Codes of those who reached the pass mark by no more than one standard error, and of those
        who missed it by no more; in the order of the alphabet.
    silent : str
        Why nobody is named; empty if they are, even if there are none.
    """

    pass_mark: float
    standard_error: Estimate
    above: tuple[str, ...]
    below: tuple[str, ...]
    silent: str = ""


def near_pass(totals, most, pass_share, standard_error):
    """Return who lies within one standard error of the pass mark.

    About one learner in three whose true mark lies exactly at the pass mark would be found further
    from it than this; the error is that of an ordinary learner and says nothing about one person's
    own (Dudek 1979, named in `reliability`). It is a list of papers to look at again, not of
    marks to change.

    Parameters
    ----------
    totals : iterable of (str, float)
        Learner and marks in all, of those who had a whole paper.
    most : float
        Marks to be had in all.
    pass_share : float
        Share of the marks that passes. [-]
    standard_error : Estimate
        As `reliability.standard_error` returns it; silent if that is.

    Examples
    --------
    >>> near = near_pass([("A1", 16), ("A2", 14), ("A3", 9)], 20, 0.75, Estimate(1.2, 1, 1.5, 20))
    >>> near.pass_mark, near.above, near.below
    (15.0, ('A1',), ('A2',))
    """
    if not 0.0 < pass_share <= 1.0:
        raise ValueError(f"pass_share is {pass_share}; it must be above 0 and at most 1.")
    pass_mark = pass_share * most
    if standard_error.silent:
        return NearPass(pass_mark, standard_error, (), (), standard_error.silent)
    reach = standard_error.value + NOTHING
    near = sorted((code, got) for code, got in totals if abs(got - pass_mark) <= reach)
    above = tuple(code for code, got in near if got >= pass_mark - NOTHING)
    below = tuple(code for code, got in near if got < pass_mark - NOTHING)
    return NearPass(pass_mark, standard_error, above, below)
