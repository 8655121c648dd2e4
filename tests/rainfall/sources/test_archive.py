"""Years are kept one by one, go on after a break, and come together without making rain."""

from __future__ import annotations

import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from riskkit.errors import InputError, NoNetworkError
from riskkit.rainfall.readers.record import read_rain
from riskkit.rainfall.readers.stored import pack_columns, unpack_columns
from riskkit.rainfall.sources.archive import assemble, fetch_record, stored_records
from riskkit.rainfall.sources.candidate import Candidate, Piece
from riskkit.rainfall.sources.meteostat import DAY_S, HOUR_S, Meteostat


@pytest.fixture
def source(archive: Any, stations: None, tmp_path: Path) -> Meteostat:
    for year in (2001, 2003):
        rows = [f"{year},6,{day},12,{day / 10},isd_lite" for day in range(1, 5)]
        archive.put_year("hourly", "AB001", year, rows)
    return Meteostat(tmp_path, HOUR_S)


@pytest.fixture
def field(archive: Any, source: Meteostat) -> Candidate:
    return next(c for c in source.near(*archive.place, 50.0) if c.station == "AB001")


def years_asked(archive: Any) -> list[str]:
    return [path.split("/")[2] for path in archive.asked if path.startswith("/hourly")]


def test_fetches_all_years_and_says_what_is_absent(
    archive: Any, source: Meteostat, field: Candidate, tmp_path: Path
) -> None:
    told: list[str] = []
    path, record = fetch_record(source, field, tmp_path / "rain", None, told.append)
    assert path.name == "hourly_AB001_2001-2003.parquet"
    assert told == [
        f"Alder Bend Field: {year}, {n} of 3 years" for n, year in enumerate((2001, 2002, 2003), 1)
    ]
    assert np.nansum(record.depth_mm) == pytest.approx(2.0)
    assert record.depth_mm.size == 24 * (2 * 365 + 3) + 1
    assert int(np.sum(~np.isnan(record.depth_mm))) == 8
    assert record.start == np.datetime64("2001-06-01T05:00:00")
    assert "The source has nothing for these years: 2002." in record.notes
    assert "Gaps are not filled: the output of weather models is left out." in record.notes
    back = read_rain(path)
    np.testing.assert_array_equal(back.depth_mm, record.depth_mm)
    assert back.notes[0].startswith("From Meteostat, hourly, station Alder Bend Field (AB001)")
    about = unpack_columns(path, ())[1]["about"]
    assert back.notes[0].endswith("the providers it names; data by " + about["attribution"] + ".")
    assert back.notes[1:] == record.notes
    assert about["licence"].startswith("CC BY 4.0")
    assert about["origin"].startswith("127.0.0.1:")
    datetime.datetime.strptime(about["fetched"], "%Y-%m-%d %H:%M UTC")
    assert stored_records(tmp_path / "rain") == (path,)
    assert not list((tmp_path / "rain" / "unfinished").iterdir())


def test_goes_on_after_a_break(
    archive: Any, source: Meteostat, field: Candidate, tmp_path: Path
) -> None:
    archive.faults["/hourly/2003/AB001.csv.gz"] = [500, 500, 500]
    with pytest.raises(NoNetworkError, match="2 of 3 years are kept, and the same command"):
        fetch_record(source, field, tmp_path)
    assert stored_records(tmp_path) == ()
    archive.asked.clear()
    _, record = fetch_record(source, field, tmp_path)
    assert years_asked(archive) == ["2003"]
    assert np.nansum(record.depth_mm) == pytest.approx(2.0)


def test_damaged_year_is_asked_for_again(
    archive: Any, source: Meteostat, field: Candidate, tmp_path: Path
) -> None:
    archive.faults["/hourly/2003/AB001.csv.gz"] = [500, 500, 500]
    with pytest.raises(NoNetworkError):
        fetch_record(source, field, tmp_path)
    (tmp_path / "unfinished" / "hourly_AB001" / "2001.parquet").write_bytes(b"half")
    archive.asked.clear()
    _, record = fetch_record(source, field, tmp_path)
    assert years_asked(archive) == ["2001", "2003"]
    assert np.nansum(record.depth_mm) == pytest.approx(2.0)


@pytest.mark.parametrize(
    ("change", "seconds"),
    [
        ({"repairs": None}, [9.8e8]), ({"repairs": {"{0.a} {}": 1}}, [9.8e8]),
        ({"repairs": {"None.": 1}}, [9.8e8]), ({"repairs": {"{}": 10**400}}, [9.8e8]),
        ({"attribution": 3}, [9.8e8]), ({}, [np.nan]), ({}, [1e300]), ({}, [-9e9]), ({}, [0.0]),
    ],
)  # fmt: skip
def test_a_kept_year_of_anything_else_is_asked_for_again(
    change: dict[str, object], seconds: list[float],
    archive: Any, source: Meteostat, field: Candidate, tmp_path: Path,
) -> None:  # fmt: skip
    archive.faults["/hourly/2003/AB001.csv.gz"] = [500, 500, 500]
    with pytest.raises(NoNetworkError):
        fetch_record(source, field, tmp_path)
    about = {"repairs": {}, "attribution": ""} | change
    columns = {"seconds": np.array(seconds), "depth_mm": np.array([5.0])}
    kept = tmp_path / "unfinished" / "hourly_AB001" / "2001.parquet"
    kept.write_bytes(pack_columns(columns, about))
    archive.asked.clear()
    _, record = fetch_record(source, field, tmp_path)
    assert years_asked(archive) == ["2001", "2003"]
    assert np.nansum(record.depth_mm) == pytest.approx(2.0)


def test_times_of_another_year_are_refused(
    source: Meteostat, field: Candidate, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    for time in ("1066-10-14", "NaT", "2004-01-09"):
        times = np.array([time], "datetime64[s]")
        monkeypatch.setattr(Meteostat, "year", lambda *_, t=times: Piece(t, np.array([1.0])))
        with pytest.raises(InputError, match="not of the year 2003"):
            fetch_record(source, field, tmp_path, (2003, 2003))


def test_some_years(source: Meteostat, field: Candidate, tmp_path: Path) -> None:
    path, record = fetch_record(source, field, tmp_path, (2003, 2003))
    assert path.name == "hourly_AB001_2003-2003.parquet"
    assert np.nansum(record.depth_mm) == pytest.approx(1.0)
    with pytest.raises(InputError, match="they are 2001-2003"):
        fetch_record(source, field, tmp_path, (1990, 2002))
    with pytest.raises(InputError, match="no rain in 2002-2002"):
        fetch_record(source, field, tmp_path, (2002, 2002))


def test_folder_that_cannot_be(source: Meteostat, field: Candidate, tmp_path: Path) -> None:
    (tmp_path / "file").write_text("x")
    with pytest.raises(InputError, match="cannot be written to"):
        fetch_record(source, field, tmp_path / "file")


def piece(start: str, depth: list[float], step_s: int = DAY_S, **more: Any) -> Piece:
    times = np.datetime64(start, "s") + np.arange(len(depth)) * np.timedelta64(step_s, "s")
    return Piece(times, np.array(depth), **more)


def test_what_cannot_be_is_missing() -> None:
    year = piece("2001-01-01", [1.0, -3.0, np.inf, 2.0])
    record = assemble([year], DAY_S, "one")
    np.testing.assert_array_equal(record.depth_mm, [1.0, np.nan, np.nan, 2.0])
    assert "Values that cannot be, kept as missing: 2." in record.notes


def test_off_grid_and_twice() -> None:
    odd = Piece(np.array(["2001-01-02T07", "2001-01-02"], "datetime64[s]"), np.array([9.0, 4.0]))
    record = assemble([piece("2001-01-01", [1.0, 2.0, 3.0]), odd], DAY_S, "one")
    np.testing.assert_array_equal(record.depth_mm, [1.0, 4.0, 3.0])
    assert "Values between two regular times, left out: 1." in record.notes
    assert "Values that stood twice, of which the later is taken: 1." in record.notes


def test_repairs_add_up() -> None:
    said = {"Traces, read as 0: {}.": 2}
    pieces = [piece("2001-01-01", [1.0], repairs=said), piece("2001-01-02", [1.0], repairs=said)]
    assert "Traces, read as 0: 4." in assemble(pieces, DAY_S, "one").notes


def test_nothing_at_all() -> None:
    with pytest.raises(InputError, match="holds no rain"):
        assemble([piece("2001-01-01", [np.nan])], DAY_S, "one")


@given(
    years=st.lists(
        st.lists(st.one_of(st.floats(0, 300), st.just(float("nan"))), min_size=1, max_size=20),
        min_size=1,
        max_size=4,
    ),
    order=st.randoms(use_true_random=False),
)
def test_rain_is_neither_made_nor_lost(years: list[list[float]], order: Any) -> None:
    pieces = [piece(f"{2001 + n}-03-01", depth, 3600) for n, depth in enumerate(years)]
    values = np.concatenate([np.array(depth) for depth in years])
    if np.isnan(values).all():
        return
    order.shuffle(pieces)
    record = assemble(pieces, 3600, "one")
    assert np.nansum(record.depth_mm) == pytest.approx(np.nansum(values), rel=1e-12)
    assert np.sum(~np.isnan(record.depth_mm)) == np.sum(~np.isnan(values))
    assert not np.isnan(record.depth_mm[[0, -1]]).any()
