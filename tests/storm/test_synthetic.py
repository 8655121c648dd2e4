"""The invented record: plausible, the same from the same seed, and made as its docstring says."""

from __future__ import annotations

import gzip
from pathlib import Path

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.extremes import depth_duration_frequency
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import FloatArray, RainRecord
from riskkit.storm.pulses import _accumulate_mm, _cells, _random_points
from riskkit.storm.synthetic import (
    RAIN_FILE,
    TEMPERATURE_FILE,
    demo_files,
    main,
    synthetic_record,
    synthetic_temperature,
)


@pytest.fixture(scope="module")
def century() -> RainRecord:
    return synthetic_record(100, 1901, np.random.default_rng(4))


@pytest.fixture(scope="module")
def files() -> dict[str, str]:
    return demo_files()


def slow_depths_mm(
    begin: FloatArray, lasting: FloatArray, rate: FloatArray, n_hours: int
) -> FloatArray:
    """Depth per hour, cell by cell and hour by hour."""
    depth = np.zeros(n_hours)
    for b, d, r in zip(begin, lasting, rate, strict=True):
        for hour in range(n_hours):
            depth[hour] += r * max(0.0, min(b + d, hour + 1) - max(b, hour))
    return depth


def test_one_cell_rains_where_a_person_says() -> None:
    fallen = _accumulate_mm(np.array([1.5]), np.array([2.0]), np.array([6.0]), np.arange(6.0))
    np.testing.assert_allclose(np.diff(fallen), [0, 3, 6, 3, 0])


def test_cells_add_up_as_in_a_slow_loop() -> None:
    rng = np.random.default_rng(2)
    begin, lasting = 20 * rng.random(40), 3 * rng.standard_exponential(40)
    rate = 5 * rng.standard_exponential(40)
    fallen = _accumulate_mm(begin, lasting, rate, np.arange(60.0))
    np.testing.assert_allclose(np.diff(fallen), slow_depths_mm(begin, lasting, rate, 59), atol=1e-9)
    assert fallen[-1] == pytest.approx(float((rate * lasting).sum()))


def test_random_points_are_a_poisson_process() -> None:
    rng = np.random.default_rng(3)
    counts = np.array([_random_points(20.0, rng).size for _ in range(4000)])
    assert counts.mean() == pytest.approx(20.0, abs=0.3)  # four standard errors
    assert counts.var() == pytest.approx(20.0, abs=2.0)
    assert _random_points(0.0, rng).size == 0


def test_every_storm_has_a_cell_at_its_begin_and_all_others_within() -> None:
    begin, length = np.array([0.0, 10.0, 30.0]), np.array([8.0, 0.1, 5.0])
    owner, cell = _cells(begin, length, np.full(3, 2.0), np.random.default_rng(5))
    np.testing.assert_array_equal(cell[:3], begin)
    assert np.all(cell >= begin[owner]) and np.all(cell <= begin[owner] + length[owner])
    assert np.sum(owner == 0) > np.sum(owner == 1)


def test_the_town_has_a_plausible_climate(century: RainRecord) -> None:
    depth = century.depth_mm
    assert depth.size == 36525 * 24
    assert not np.any(np.isnan(depth))
    assert 950 <= depth.sum() / 100 <= 1050
    assert 0.06 <= (depth > 0).mean() <= 0.09
    tips = depth / 0.2
    np.testing.assert_allclose(tips, np.round(tips), atol=1e-9)


def test_heavy_rain_of_the_demo_is_plausible(demo_sites: Path) -> None:
    table = depth_duration_frequency(read_rain(demo_sites / RAIN_FILE))
    assert 35 <= table.depth_at(1.0, 2.0) <= 40
    assert 150 <= table.depth_at(24.0, 100.0) <= 190
    assert np.all(table.depth_mm < 425 * table.duration_h[:, None] ** 0.47)  # the world's records


def test_the_worst_hours_come_in_summer(century: RainRecord) -> None:
    month = century.times.astype("datetime64[M]").astype(int) % 12 + 1
    heavy = century.depth_mm > 25
    summer = np.isin(month, (5, 6, 7, 8, 9))
    assert heavy[summer].sum() > 5 * heavy[~summer].sum()
    # but it rains in every month
    monthly = np.bincount(month, century.depth_mm)[1:] / 100
    assert monthly.min() > 40 and monthly.max() < 130


def test_hours_rain_together_not_each_alone(century: RainRecord) -> None:
    wet = century.depth_mm > 0
    assert wet[1:][wet[:-1]].mean() > 5 * wet.mean()


def test_the_same_seed_gives_the_same_record() -> None:
    one, two, other = (synthetic_record(2, 2001, np.random.default_rng(s)) for s in (1, 1, 2))
    np.testing.assert_array_equal(one.depth_mm, two.depth_mm)
    assert not np.array_equal(one.depth_mm, other.depth_mm)


def test_a_leap_year_has_its_day() -> None:
    assert synthetic_record(1, 2004, np.random.default_rng(1)).depth_mm.size == 366 * 24
    with pytest.raises(InputError, match="0 years"):
        synthetic_record(0, 2004, np.random.default_rng(1))


def test_temperatures_have_seasons_memory_and_order(century: RainRecord) -> None:
    found = synthetic_temperature(century, np.random.default_rng(6))
    assert found.date.size == 36525
    assert np.all(found.tmin_degc < found.tmax_degc)
    month = found.date.astype("datetime64[M]").astype(int) % 12
    mean = 0.5 * (found.tmin_degc + found.tmax_degc)
    january, july = mean[month == 0].mean(), mean[month == 6].mean()
    assert -7 < january < -3 and 21 < july < 26
    departure = mean[month == 0] - january
    assert 0.5 < np.corrcoef(departure[:-1], departure[1:])[0, 1] < 0.8
    wet = century.depth_mm.reshape(-1, 24).sum(axis=1) >= 1
    span = found.tmax_degc - found.tmin_degc
    assert span[wet].mean() < 0.8 * span[~wet].mean()


@pytest.mark.parametrize("name", [RAIN_FILE, TEMPERATURE_FILE])
def test_the_demo_files_are_what_the_seed_makes(
    name: str, files: dict[str, str], demo_sites: Path
) -> None:
    data = (demo_sites / name).read_bytes()
    assert len(data) < 1_000_000
    assert gzip.decompress(data).decode("utf-8") == files[name]


def test_the_demo_files_cover_every_hour_and_day(files: dict[str, str], demo_sites: Path) -> None:
    rain = [line for line in files[RAIN_FILE].splitlines() if not line.startswith("#")]
    assert rain[0] == "time,depth_mm"
    assert rain[1].startswith("1981-01-01T00:00,")
    assert rain[-1].startswith("2020-12-31T23:00,")
    record = read_rain(demo_sites / RAIN_FILE)  # dry hours are left out of the file
    assert record.depth_mm.size == 14610 * 24
    assert not np.isnan(record.depth_mm).any()
    days = [line for line in files[TEMPERATURE_FILE].splitlines() if not line.startswith("#")]
    assert days[0] == "date,tmin_degC,tmax_degC"
    assert len(days) == 1 + 14610


def test_the_command_writes_the_same_bytes_twice(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    first, second = tmp_path / "a", tmp_path / "b"
    for folder in (first, second):
        folder.mkdir()
        assert main([str(folder)]) == 0
    for name in (RAIN_FILE, TEMPERATURE_FILE):
        assert (first / name).read_bytes() == (second / name).read_bytes()
    assert capsys.readouterr().out.count(".csv.gz") == 4
    assert sorted(p.name for p in first.iterdir()) == [RAIN_FILE, TEMPERATURE_FILE]


def test_the_command_refuses_in_words(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    assert "usage" in capsys.readouterr().err
    assert main([str(tmp_path / "nowhere")]) == 2
    assert "no such folder" in capsys.readouterr().err
