"""Storms of a record, against a slow and obvious twin."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.errors import RangeError
from riskkit.rainfall.events import split_storms
from riskkit.records import RainRecord

START = np.datetime64("2020-01-31T20:00:00")
GAP = float("nan")


def record_of(values, interval_s=3600):
    return RainRecord(np.array(values, dtype=float), START, interval_s)


def test_two_storms_apart_by_six_dry_hours():
    storms = split_storms(record_of([0] * 9 + [1, 4, 0, 2] + [0] * 6 + [5] + [0] * 9), 6, (1, 2))
    first, second = storms
    assert first.start == START + np.timedelta64(9, "h")
    assert (first.duration_h, first.depth_mm, first.month) == (4.0, 7.0, 2)
    assert first.peak_mm_h == (4.0, 2.5)
    assert (second.dry_before_h, second.before_mm, second.first) == (6.0, 7.0, 19)
    assert np.isinf(first.dry_before_h)
    assert not first.touches_gap and not second.touches_gap


def test_five_dry_hours_do_not_part_storms():
    assert len(split_storms(record_of([1] + [0] * 5 + [1]))) == 1
    assert len(split_storms(record_of([1] + [0] * 6 + [1]))) == 2
    assert len(split_storms(record_of([1] + [0] * 6 + [1]), dry_gap_h=6.5)) == 1


def test_missing_time_in_or_beside_a_storm_marks_it():
    dry = [0.0] * 8
    inside = split_storms(record_of([*dry, 1, GAP, 1, *dry]))
    beside = split_storms(record_of([*dry, 1, 1, 0, GAP, *dry]))
    far = split_storms(record_of([GAP, *dry, 1, 1, *dry, GAP]))
    begin = split_storms(record_of([0, 1, 1, *dry]))
    assert [len(s) for s in (inside, beside, far, begin)] == [1, 1, 1, 1]
    assert [s[0].touches_gap for s in (inside, beside, far, begin)] == [True, True, False, True]


def test_no_rain_no_storms():
    assert split_storms(record_of([0, 0, GAP])) == ()


def test_daily_record_parts_storms_at_every_dry_day():
    storms = split_storms(record_of([1, 2, 0, 3], 86400))
    assert [s.depth_mm for s in storms] == [3.0, 3.0]
    assert storms[0].peak_mm_h == (2 / 24,)


def test_impossible_questions_are_refused():
    with pytest.raises(RangeError, match="does not part"):
        split_storms(record_of([1]), 0)
    with pytest.raises(RangeError, match="ask for the interval or longer"):
        split_storms(record_of([1]), 6, (0.5,))


def slow_storms(depth, gap):
    """Walk through the record hour by hour."""
    found, current, dry = [], [], 0
    for value in depth:
        wet = value > 0
        if current and not wet:
            dry += 1
        if current and wet:
            current += [0.0] * dry
        if wet:
            current.append(value)
            dry = 0
        if current and dry >= gap:
            found.append(current)
            current, dry = [], 0
    if current:
        found.append(current)
    return found


@settings(max_examples=100)
@given(
    values=st.lists(
        st.one_of(st.just(0.0), st.just(0.0), st.just(GAP), st.integers(1, 400).map(float)),
        min_size=1,
        max_size=120,
    ),
    gap=st.integers(1, 12),
    n=st.integers(1, 5),
)
def test_the_same_storms_as_the_slow_walk(values, gap, n):
    storms = split_storms(record_of(values), gap, (float(n),))
    slow = slow_storms(np.nan_to_num(values), gap)
    assert [s.depth_mm for s in storms] == pytest.approx([sum(s) for s in slow])
    assert [s.duration_h for s in storms] == [len(s) for s in slow]
    peaks = [max(sum(s[i : i + n]) for i in range(len(s))) / n for s in slow]
    assert [s.peak_mm_h[0] for s in storms] == pytest.approx(peaks)
    # water is neither made nor lost
    assert sum(s.depth_mm for s in storms) == pytest.approx(np.nansum(values))


def test_a_longer_dry_gap_never_makes_more_storms():
    rng = np.random.default_rng(2)
    record = record_of(np.where(rng.random(5000) < 0.08, 2.0, 0.0))
    counts = [len(split_storms(record, gap)) for gap in (1, 3, 6, 12, 24, 48)]
    assert counts == sorted(counts, reverse=True)


def test_random_storms_leave_exponential_gaps():
    rng = np.random.default_rng(3)
    depth = np.where(rng.random(200_000) < 0.01, 1.0, 0.0)
    gaps = np.array([s.dry_before_h for s in split_storms(record_of(depth), 1)][1:])
    share = np.mean(gaps >= 96)
    # storms that come by chance leave gaps with an exponential distribution
    assert np.exp(-96 / gaps.mean()) == pytest.approx(share, abs=0.02)
