"""Agreement of repeated measures, by the examples in the papers that gave the formulas.

Shrout and Fleiss, Intraclass correlations, 1979 (six targets, four judges): .17, .29, .71. Bland
and Altman, 1986 (peak flow by two meters, seventeen people): -2.1, SD 38.8.
"""

from __future__ import annotations

import math

import pytest

from ringside.domain.agreement import agreement, correlations, least_change, technical_error

JUDGES = [(9, 2, 5, 8), (6, 1, 3, 2), (8, 4, 6, 8), (7, 1, 2, 6), (10, 5, 6, 9), (6, 2, 4, 7)]
ONE = (494, 395, 516, 434, 476, 557, 413, 442, 650, 433, 417, 656, 267, 478, 178, 423, 427)
OTHER = (512, 430, 520, 428, 500, 600, 364, 380, 658, 445, 432, 626, 260, 477, 259, 350, 451)


def test_intraclass_correlations_are_those_of_the_paper() -> None:
    found = correlations(JUDGES)
    rounded = [round(value, 2) for value in (found.one, found.two, found.three)]
    assert rounded == [0.17, 0.29, 0.71]


def test_limits_of_agreement_are_those_of_the_paper() -> None:
    found = agreement(list(zip(ONE, OTHER, strict=True)))
    assert (round(found.bias, 1), round(found.sd, 1)) == (-2.1, 38.8)
    assert found.limits == pytest.approx((found.bias - 1.96 * found.sd, found.bias + 76.0), abs=0.1)


def test_the_technical_error_is_the_sd_of_one_of_two() -> None:
    pairs = [(1.0, 1.2), (3.0, 2.8), (5.0, 5.2)]
    assert technical_error(pairs) == pytest.approx(0.2 / math.sqrt(2))
    assert least_change(technical_error(pairs)) == pytest.approx(1.96 * 0.2)
