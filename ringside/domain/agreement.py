"""How well repeated measures agree: of one person, and between people.

Technical error of measurement; intraclass correlations of Shrout and Fleiss (1979); limits of
agreement of Bland and Altman (1986). tests/published/test_agreement.py holds them to the examples
in those papers. The phone computes the first alone (static/js/core/measure.js).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import fmean, stdev

FEWEST = 10  # dogs, below which an intraclass correlation says nothing (ours)


def technical_error(pairs: Sequence[tuple[float, float]]) -> float:
    """Return the technical error of pairs of the same thing measured twice: √(Σd²/2n)."""
    return math.sqrt(sum((one - other) ** 2 for one, other in pairs) / (2 * len(pairs)))


def least_change(tem: float) -> float:
    """Return the least change between two values that can be believed (95 %)."""
    return 1.96 * math.sqrt(2) * tem


@dataclass(frozen=True)
class Correlations:
    """Intraclass correlations of single values: by chance raters (1,1), the same raters taken from
    many (2,1), or these raters alone (3,1)."""

    one: float
    two: float
    three: float


def correlations(rows: Sequence[Sequence[float]]) -> Correlations:
    """Return the correlations of `rows`, one a dog, whose columns are raters or rounds."""
    n, k = len(rows), len(rows[0])
    grand = fmean(value for row in rows for value in row)
    between = k * sum((fmean(row) - grand) ** 2 for row in rows) / (n - 1)
    raters = n * sum((fmean(column) - grand) ** 2 for column in zip(*rows, strict=True)) / (k - 1)
    within = sum((value - fmean(row)) ** 2 for row in rows for value in row)
    error = (within - raters * (k - 1)) / ((n - 1) * (k - 1))
    mean_within = within / (n * (k - 1))
    return Correlations(
        (between - mean_within) / (between + (k - 1) * mean_within),
        (between - error) / (between + (k - 1) * error + k * (raters - error) / n),
        (between - error) / (between + (k - 1) * error),
    )


@dataclass(frozen=True)
class Agreement:
    """By how much one way of measuring reads more than another, and the SD of that."""

    bias: float
    sd: float

    @property
    def limits(self) -> tuple[float, float]:
        """Return between what 95 % of the differences lie."""
        return self.bias - 1.96 * self.sd, self.bias + 1.96 * self.sd


def agreement(pairs: Sequence[tuple[float, float]]) -> Agreement:
    """Return how pairs of (one way, another way) agree."""
    differences = [one - other for one, other in pairs]
    return Agreement(fmean(differences), stdev(differences))
