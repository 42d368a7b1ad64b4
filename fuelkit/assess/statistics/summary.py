"""All figures about a class together, as its report shows them."""

from dataclasses import dataclass

from fuelkit.assess.statistics.discrimination import item_rest
from fuelkit.assess.statistics.estimate import Estimate
from fuelkit.assess.statistics.facility import facility
from fuelkit.assess.statistics.pass_mark import NearPass, near_pass
from fuelkit.assess.statistics.reliability import alpha, kr20, standard_error


@dataclass(frozen=True)
class LineFigures:
    """One line of the blueprint. Frozen."""

    line: str
    facility: Estimate
    item_rest: Estimate


@dataclass(frozen=True)
class ClassFigures:
    """A class. Frozen.

    lines : tuple of LineFigures
        In the order of the matrix.
    mean : Estimate
        Mean share of a whole paper's marks. [-]
    alpha, kr20 : Estimate
        Reliability; KR-20 only where all marks are right or wrong. [-]
    standard_error : Estimate
        Of measurement, in marks.
    near_pass : NearPass
        Who lies within one standard error of the pass mark.
    """

    lines: tuple[LineFigures, ...]
    mean: Estimate
    alpha: Estimate
    kr20: Estimate
    standard_error: Estimate
    near_pass: NearPass


def class_figures(matrix, pass_share):
    """Return all figures about a class.

    Parameters
    ----------
    matrix : ClassMatrix
    pass_share : float
        Share of the marks that passes. [-]
    """
    marks, most = matrix.whole_marks(), sum(matrix.most)
    lines = tuple(
        LineFigures(line, facility(matrix.shares_on(line)), item_rest(*matrix.line_and_rest(line)))
        for line in matrix.lines
    )
    error = standard_error(marks)
    return ClassFigures(
        lines,
        facility(marks.sum(axis=1) / most, "had every line"),
        alpha(marks),
        kr20(marks),
        error,
        near_pass(matrix.whole_totals(), most, pass_share, error),
    )
