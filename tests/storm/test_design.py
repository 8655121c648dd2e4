"""Design storms: depth kept, worst windows nested, patterns through their own points."""

from __future__ import annotations

import numpy as np
import pytest

from riskkit.cli._options import _PATTERNS
from riskkit.errors import InputError, OutOfRangeWarning, RangeError
from riskkit.records import DepthDurationFrequency, FloatArray, Series
from riskkit.storm.design import design_storm, patterned_storm
from riskkit.storm.patterns import Pattern, alternating_block_mm, mass_curve
from riskkit.tables import load_table

WITH_CURVE = [p for p in Pattern if p is not Pattern.ALTERNATING_BLOCK]

DEPTHS_MM = np.array([
    [12.3, 16.4, 22.5], [23.5, 31.2, 41.9], [31.5, 43.4, 60.7], [38.6, 55.1, 81.0],
    [46.0, 65.3, 102.1], [49.3, 70.1, 111.8], [57.9, 82.6, 131.1], [67.8, 95.3, 149.1],
    [78.0, 109.5, 174.8], [90.2, 125.0, 195.8], [96.8, 132.6, 203.5],
])  # fmt: skip


@pytest.fixture
def table() -> DepthDurationFrequency:
    """The 2 to 100-year depths near Champaign [mm], partial duration, rounded."""
    return DepthDurationFrequency(
        duration_h=np.array([1 / 12, 0.25, 0.5, 1, 2, 3, 6, 12, 24, 48, 72]),
        return_period_yr=np.array([2.0, 10.0, 100.0]),
        depth_mm=DEPTHS_MM,
        series=Series.PARTIAL_DURATION,
    )


def worst_window(storm: FloatArray, n: int) -> float:
    return float(np.convolve(storm, np.ones(n), "valid").max())


@pytest.mark.parametrize("pattern", Pattern)
@pytest.mark.parametrize("period", [2.0, 5.0, 100.0])
def test_depth_is_kept(table: DepthDurationFrequency, pattern: Pattern, period: float) -> None:
    storm = design_storm(table, period, 24.0, pattern)
    assert storm.depth_mm.size == 288
    assert storm.depth_mm.sum() == pytest.approx(float(table.depth_at(24.0, period)), rel=1e-12)
    assert np.all(storm.depth_mm >= 0)
    assert pattern.value in storm.name


@pytest.mark.parametrize("duration_h", [0.25, 1.0, 6.0, 72.0])
def test_depth_is_kept_in_every_duration(table: DepthDurationFrequency, duration_h: float) -> None:
    for pattern in (Pattern.ALTERNATING_BLOCK, Pattern.UNIFORM, Pattern.HUFF_1, Pattern.HUFF_4):
        storm = design_storm(table, 10.0, duration_h, pattern)
        total = float(table.depth_at(duration_h, 10.0))
        assert storm.depth_mm.sum() == pytest.approx(total, rel=1e-12)
        assert storm.depth_mm.size * storm.step_s == pytest.approx(duration_h * 3600)


def test_worst_windows_hold_the_depth_of_their_duration(table: DepthDurationFrequency) -> None:
    storm = design_storm(table, 10.0, 24.0).depth_mm
    for duration_h in (1 / 12, 0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0):
        n = round(duration_h * 12)
        wanted = float(table.depth_at(duration_h, 10.0))
        # the table's curve has slight bends outwards at its own durations: sorted blocks hold more
        assert wanted * (1 - 1e-12) <= worst_window(storm, n) <= 1.01 * wanted


def test_worst_windows_are_exact_for_a_concave_curve() -> None:
    duration = np.arange(1, 289) / 12.0
    depth = 40.0 * duration**0.3
    storm = alternating_block_mm(depth)
    for n in (1, 2, 3, 6, 12, 36, 72, 144, 287, 288):
        assert worst_window(storm, n) == pytest.approx(depth[n - 1], rel=1e-12)
    peak = int(np.argmax(storm))
    assert peak == 143
    assert np.all(np.diff(storm[: peak + 1]) >= 0) and np.all(np.diff(storm[peak:]) <= 0)


def test_a_shorter_storm_is_the_middle_of_a_longer_one() -> None:
    depth = 40.0 * (np.arange(1, 25) / 12.0) ** 0.3
    long, short = alternating_block_mm(depth), alternating_block_mm(depth[:12])
    np.testing.assert_allclose(long[6:18], short)


def test_finer_steps_keep_the_hourly_depths(table: DepthDurationFrequency) -> None:
    coarse = design_storm(table, 10.0, 24.0, Pattern.HUFF_2, 3600.0).depth_mm
    for step_s in (1800.0, 900.0, 300.0):
        fine = design_storm(table, 10.0, 24.0, Pattern.HUFF_2, step_s).depth_mm
        np.testing.assert_allclose(fine.reshape(24, -1).sum(axis=1), coarse, rtol=1e-9)


def test_a_step_below_the_table_spreads_its_shortest_depth(table: DepthDurationFrequency) -> None:
    with pytest.warns(OutOfRangeWarning, match="shorter than the table's shortest"):
        storm = design_storm(table, 10.0, 1.0, step_s=60.0).depth_mm
    np.testing.assert_allclose(np.sort(storm)[-5:], 16.4 / 5)
    assert worst_window(storm, 5) == pytest.approx(16.4)
    assert storm.sum() == pytest.approx(55.1, rel=1e-12)


def test_every_pattern_has_a_word_for_the_commands() -> None:
    """A pattern added to the enum alone could be named in a notebook, and in no command."""
    assert sorted(_PATTERNS.values()) == sorted(pattern.name for pattern in Pattern)


@pytest.mark.parametrize("pattern", WITH_CURVE)
def test_mass_curves_rise_from_nothing_to_all(pattern: Pattern) -> None:
    curve = mass_curve(pattern, np.linspace(0.0, 1.0, 5001))
    assert curve[0] == 0.0
    assert curve[-1] == pytest.approx(1.0, abs=1e-14)
    assert np.all(np.diff(curve) >= 0)


def test_mass_curves_pass_through_the_table() -> None:
    table = load_table("storm_patterns")
    time = np.array(table.column("time_h")) / 24.0
    for pattern, column in (
        (Pattern.NRCS_I, "type_i"), (Pattern.NRCS_IA, "type_ia"),
        (Pattern.NRCS_II, "type_ii"), (Pattern.NRCS_III, "type_iii"),
    ):  # fmt: skip
        np.testing.assert_allclose(mass_curve(pattern, time), table.column(column), atol=1e-12)


def test_a_huff_storm_has_most_rain_in_its_own_quarter() -> None:
    quarters = np.array([0.0, 0.25, 0.5, 0.75, 1.0])
    for i, pattern in enumerate((Pattern.HUFF_1, Pattern.HUFF_2, Pattern.HUFF_3, Pattern.HUFF_4)):
        assert int(np.argmax(np.diff(mass_curve(pattern, quarters)))) == i


def test_types_i_to_iii_peak_where_they_should() -> None:
    for pattern, hour in ((Pattern.NRCS_I, 10), (Pattern.NRCS_IA, 8), (Pattern.NRCS_II, 12),
                          (Pattern.NRCS_III, 12)):  # fmt: skip
        storm = patterned_storm(100.0, 24.0, pattern, 300.0).depth_mm
        assert abs(int(np.argmax(storm)) / 12.0 - hour) <= 0.5


def test_uniform_is_even() -> None:
    np.testing.assert_allclose(patterned_storm(30.0, 6.0, Pattern.UNIFORM, 3600.0).depth_mm, 5.0)


def test_what_cannot_be_is_refused(table: DepthDurationFrequency) -> None:
    with pytest.raises(RangeError, match="is for 24 h, not 6 h"):
        design_storm(table, 10.0, 6.0, Pattern.NRCS_II)
    with pytest.raises(RangeError, match="no mass curve"):
        patterned_storm(10.0, 6.0, Pattern.ALTERNATING_BLOCK)
    with pytest.raises(RangeError, match="a depth of 0 mm"):
        patterned_storm(0.0, 6.0, Pattern.UNIFORM)
    with pytest.raises(RangeError, match="return period of 500"):
        design_storm(table, 500.0, 6.0)
    with pytest.raises(RangeError, match="duration of 96"):
        design_storm(table, 10.0, 96.0)
    with pytest.raises(InputError, match="no multiple of the step"):
        design_storm(table, 10.0, 1.01)
    with pytest.raises(InputError, match="in steps of -5 s"):
        design_storm(table, 10.0, 1.0, step_s=-5.0)
    with pytest.raises(RangeError, match="longer duration has less"):
        alternating_block_mm(np.array([5.0, 4.0]))
    with pytest.raises(RangeError, match="outside 0 to 1"):
        mass_curve(Pattern.UNIFORM, np.array([0.0, 1.2]))
    annual = DepthDurationFrequency(
        table.duration_h, table.return_period_yr, table.depth_mm, Series.ANNUAL_MAXIMUM
    )
    with pytest.raises(InputError, match="annual maxima"):
        design_storm(annual, 10.0, 1.0)
