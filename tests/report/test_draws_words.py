"""What is said of the draws, by hand."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
from storms import storm_with

from riskkit.assessment import Assessment
from riskkit.report.draws_words import draws_words


def with_times(answer: Assessment, times_s: np.ndarray) -> Assessment:
    storms = tuple(storm_with(s, to_floor_by_draw_s=times_s) for s in answer.storms)
    return replace(answer, storms=storms)


def test_the_error_of_the_draws_is_said(answer: Assessment) -> None:
    # 90 draws of 1 to 90 minutes and 10 of never: the ranks of the middle are 40 and 60, and
    # Wilson's interval of a tenth is 5.5 to 17.4 %
    times = np.r_[60.0 * np.arange(1.0, 91.0), np.full(10, np.inf)]
    said = draws_words(with_times(answer, times))
    assert said.startswith("128 variants, seed 1. With other variants the median time to the floor")
    assert "would be between 40 minutes and 60 minutes, and" in said
    # so many of them are not never: 82.6 to 94.5 %
    assert "and water would reach the floor in between 83 and 94 % of them, 19 times in 20." in said


def test_a_middle_that_may_be_never(answer: Assessment) -> None:
    said = draws_words(with_times(answer, np.r_[np.full(52, 600.0), np.full(48, np.inf)]))
    assert "between 10 minutes and never" in said
