"""Record beside design storms: limits of other years by hand, and words that follow the numbers."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import riskkit as rk
from riskkit.ensemble.quantiles import MeanRange
from riskkit.options import replays
from riskkit.options.replays import LIMITS_S, AgainstDesign, HowOften
from riskkit.report.against_words import against_lines
from riskkit.years.records import Replay
from tests.replay.made import clay, rain_of, record_of

HEAVY = np.array([12.0, 40.0, 26.0, 20.0])
INF = np.inf


@cache
def found() -> Replay:
    record = record_of({9000: HEAVY, 13000: HEAVY, 21000: HEAVY})
    return rk.replay(clay(), rain_of(record), rk.ReplaySettings(n_draws=2))


def rows(record: list[float], design: list[float], error: float = 0.02) -> tuple[HowOften, ...]:
    return tuple(
        HowOften(
            limit, MeanRange(r, r, r), MeanRange(d, d, d), (r - error, r + error), 3 * r,
            wet_share=0.6, thaw_share=0.4, small_share=0.8,
        )
        for limit, r, d in zip(LIMITS_S, record, design, strict=True)
    )  # fmt: skip


def against(record: list[float], design: list[float]) -> AgainstDesign:
    return AgainstDesign(rows(record, design), 0.6, 0.4, 0.8, 40, 0.3, 0.1)


def in_minutes(hour: float, even: float) -> Replay:
    """Two draws, three storms, three years: a storm of one draw is a sixth of a time a year."""
    one = found()

    def hits(times: float) -> np.ndarray:
        flat = np.where(np.arange(6) < round(times * 6), 3000.0, INF)
        return flat.reshape(2, 3)

    return replace(
        one,
        outcomes=replace(one.outcomes, worst_s=hits(hour)),
        even_outcomes=replace(one.even_outcomes, worst_s=hits(even)),
    )


SAME = [0.1, 0.2, 0.3, 0.5]


def test_within_the_limits_they_agree() -> None:
    lines = against_lines(against(SAME, SAME), found())
    assert lines[0].startswith("Record and design storms agree")
    assert lines[-1].endswith("counted, the record has 2 times a year at all.")  # 3 times 0.5


def test_fewer_in_the_record_are_explained_by_nesting_unless_minutes_may() -> None:
    more = [0.1, 0.4, 0.3, 0.5]
    calm = against_lines(against(SAME, more), in_minutes(2 / 6, 2 / 6))[0]
    assert calm == (
        "The record counts fewer floods within 1 h after the alarm: 0.20 times a year, the design "
        "storms 0.40. A design storm holds the wettest hour and the wettest days of its return "
        "period at once: of the 40 storms of the record with the wettest hours 12 are among the "
        "40 with the most water, and 10 % met a lot at nine tenths of what it holds. What hides "
        "inside the hours does not explain it: breaking them down moves the count by 0 a year, "
        "the difference is 0.20. Here the record is right, as far as its 3 years go."
    )
    # a sixth of a time a year is more than half of the difference
    hidden = against_lines(against(SAME, more), in_minutes(2 / 6, 3 / 6))[0]
    assert "hides inside the hours may explain it: breaking them down moves the count by 0.17" in (
        hidden
    )
    assert hidden.endswith("The truth may lie between.") and "record is right" not in hidden


def test_more_in_the_record_are_explained_by_wet_ground_and_thaws() -> None:
    lines = against_lines(against(SAME, [0.1, 0.2, 0.2, 0.3]), found())
    assert lines[0] == (
        "The record counts more floods within 4 h after the alarm and at all: at all 0.50 times a "
        "year, the design storms 0.30. Of such storms 60 % met a lot at nine tenths of what it "
        "holds or wetter, 40 % came with melting snow, and 80 % brought less than the one-year "
        "storm of a day. Design storms know neither thaws nor which season is wet. Here the "
        "record is right, as far as its 3 years go."
    )
    both = against_lines(against(SAME, [0.3, 0.2, 0.3, 0.3]), found())
    assert both[0].startswith("The record counts fewer floods within 15 min") and both[
        1
    ].startswith("The record counts more floods at all")


def test_what_no_year_holds_may_come_in_others() -> None:
    """Forty years without a storm bear a rate of 3.689 / 40 a year: exp(-3.689) is 0.025."""
    none = np.zeros((4, 40))
    assert replays._other_years(none, 1.0, 1) == pytest.approx((0.0, 3.689 / 40), abs=1e-4)
    # one storm in each draw: Poisson limits of one are 0.0253 and 5.572 (Garwood; tables)
    one = none.copy()
    one[:, 7] = 1.0
    assert replays._other_years(one, 1.0, 1) == pytest.approx((0.0, 5.572 / 40), abs=1e-4)
    # twice every year is held at once a year
    assert replays._other_years(none + 2.0, 1.0, 1) == (1.0, 1.0)


def test_years_that_clump_are_wider_than_a_count() -> None:
    """Forty storms, all in four years of ten: a count alone would say 29 to 54 in a hundred."""
    clumped = np.zeros((1, 100))
    clumped[0, ::25] = 10.0
    low, high = replays._other_years(clumped, 1.0, 1)
    assert low < 0.15 and high > 0.7


def test_sharp_storms_are_counted_among_the_large_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    sharp, long = np.array([45.0]), np.full(12, 6.0)
    record = record_of({9000: sharp, 11000: long, 13000: long, 21000: sharp + 5, 24000: long})
    rain = rain_of(record)
    one = rk.replay(clay(), rain, rk.ReplaySettings(n_draws=2))
    monkeypatch.setattr(replays, "_row", lambda *_: rows(SAME, SAME)[0])
    got = replays.against_design(one, rain)
    # three years, three storms: hours 45, 50 and 6 mm; the most water have the three of 72 mm
    assert (got.sharp_storms, len(one.record_storms)) == (3, 5)
    assert got.nested_share == pytest.approx(1 / 3)
