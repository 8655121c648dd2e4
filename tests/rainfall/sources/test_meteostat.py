"""Meteostat through its own library, from a server on this machine."""

from __future__ import annotations

import datetime
import socket
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.errors import InputError, NoNetworkError
from riskkit.rainfall.sources.candidate import Candidate
from riskkit.rainfall.sources.meteostat import DAY_S, HOUR_S, Meteostat, standard_offset_s

pytestmark = pytest.mark.usefixtures("stations")


@pytest.fixture
def hourly(archive: Any, tmp_path: Path) -> Meteostat:
    return Meteostat(tmp_path, HOUR_S)


@pytest.fixture
def field(archive: Any, hourly: Meteostat) -> Candidate:
    return next(c for c in hourly.near(*archive.place, 50.0) if c.station == "AB001")


def test_lists_observed_rain_by_distance(archive: Any, hourly: Meteostat, tmp_path: Path) -> None:
    found = hourly.near(*archive.place, 50.0)
    assert [one.station for one in found] == ["AB001", "AB002"]
    field = found[0]
    # the forecast's years, 1990 to 2030, do not count; nor those of temperature
    assert (field.first_year, field.last_year, field.completeness) == (2001, 2003, 0.9)
    assert field.name == "Alder Bend Field"
    assert field.distance_km == pytest.approx(0.05 * 40_030 / 360, rel=2e-3)
    assert found[1].completeness is None
    assert [one.station for one in hourly.near(*archive.place, 10.0)] == ["AB001"]
    daily = Meteostat(tmp_path, DAY_S).near(*archive.place, 50.0)
    assert [(one.station, one.first_year, one.completeness) for one in daily] == [
        ("AB001", 1951, 0.97)
    ]


def test_list_of_stations_is_fetched_once(archive: Any, hourly: Meteostat) -> None:
    hourly.near(*archive.place, 50.0)
    hourly.near(*archive.place, 50.0)
    assert archive.asked == ["/stations.db"]


def test_nothing_near_the_pole(hourly: Meteostat) -> None:
    assert hourly.near(89.0, 0.0, 50.0) == ()


def test_hours_begin_in_standard_time_and_models_are_out(
    archive: Any, hourly: Meteostat, field: Candidate
) -> None:
    rows = ["2002,7,1,0,1.5,isd_lite", "2002,7,1,1,,isd_lite", "2002,7,1,2,9.9,dwd_mosmix",
            "2002,7,1,3,0.0,isd_lite"]  # fmt: skip
    archive.put_year("hourly", "AB001", 2002, rows)
    piece = hourly.year(field, 2002)
    assert piece is not None
    # the hour that ends at 00:00 UTC begins at 17:00 Central Standard Time, 23:00 UTC
    assert [str(time) for time in piece.times] == ["2002-06-30T17:00:00", "2002-06-30T20:00:00"]
    np.testing.assert_array_equal(piece.depth_mm, [1.5, 0.0])
    assert "Meteostat" in piece.attribution


def test_days_stay_days(archive: Any, field: Candidate, tmp_path: Path) -> None:
    archive.put_year("daily", "AB001", 2002, ["2002,1,1,3.1,ghcnd", "2002,1,3,0.0,ghcnd"])
    piece = Meteostat(tmp_path, DAY_S).year(field, 2002)
    assert piece is not None
    assert [str(time) for time in piece.times] == ["2002-01-01T00:00:00", "2002-01-03T00:00:00"]
    np.testing.assert_array_equal(piece.depth_mm, [3.1, 0.0])


def test_absent_year_is_no_fault(archive: Any, hourly: Meteostat, field: Candidate) -> None:
    assert hourly.year(field, 2001) is None


def test_year_of_models_only_is_no_year(archive: Any, hourly: Meteostat, field: Candidate) -> None:
    archive.put_year("hourly", "AB001", 2003, ["2003,7,1,2,9.9,dwd_mosmix"])
    assert hourly.year(field, 2003) is None


def test_broken_line_is_never_a_year_without_rain(
    archive: Any, hourly: Meteostat, field: Candidate
) -> None:
    archive.put_year("hourly", "AB001", 2002, ["2002,7,1,0,1.5,isd_lite"])
    archive.faults["/hourly/2002/AB001.csv.gz"] = [503, 503, 503, 503]
    with pytest.raises(NoNetworkError, match=r"Alder Bend Field, 2002.*3 attempts"):
        hourly.year(field, 2002)
    piece = hourly.year(field, 2002)  # one fault is left: the second attempt has it
    assert piece is not None and piece.depth_mm.size == 1


def test_damaged_file_is_never_a_year_without_rain(
    archive: Any, hourly: Meteostat, field: Candidate
) -> None:
    archive.files["/hourly/2002/AB001.csv.gz"] = b"not gzip"
    with pytest.raises(NoNetworkError):
        hourly.year(field, 2002)


def test_a_folder_may_stand_for_the_service(
    archive: Any, field: Candidate, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    import meteostat
    import meteostat.providers.meteostat.daily as provider

    archive.put_year("daily", "AB001", 2002, ["2002,1,1,3.1,ghcnd"])
    mirror = tmp_path / "mirror" / "2002"
    mirror.mkdir(parents=True)
    (mirror / "AB001.csv.gz").write_bytes(archive.files.pop("/daily/2002/AB001.csv.gz"))
    pattern = str(tmp_path / "mirror" / "{year}" / "{station}.csv.gz")
    monkeypatch.setattr(provider, "ENDPOINT", pattern)
    monkeypatch.setattr(meteostat.config, "daily_endpoint", pattern)
    daily = Meteostat(tmp_path, DAY_S)
    assert daily.addresses == ()
    assert daily.year(field, 2001) is None
    piece = daily.year(field, 2002)
    assert piece is not None and piece.depth_mm[0] == 3.1


def test_library_is_left_as_it_was(
    archive: Any, hourly: Meteostat, field: Candidate, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    import meteostat

    cache = tmp_path / "cache"
    monkeypatch.setattr(meteostat.config, "cache_directory", str(cache))
    names = [n for n in dir(meteostat.config) if not n.startswith("_") and n != "load_env"]
    before = {n: getattr(meteostat.config, n) for n in names}
    archive.put_year("hourly", "AB001", 2002, ["2002,7,1,0,1.5,isd_lite"])
    hourly.year(field, 2002)
    assert {n: getattr(meteostat.config, n) for n in names} == before
    assert socket.getdefaulttimeout() is None
    assert not cache.exists()
    assert not list(tmp_path.rglob("*.pickle"))


def test_unknown_station(hourly: Meteostat, field: Candidate) -> None:
    from dataclasses import replace

    with pytest.raises(InputError, match="does not know this station"):
        hourly.year(replace(field, station="NONE1"), 2002)


def test_damaged_list(archive: Any, hourly: Meteostat) -> None:
    archive.files["/stations.db"] = b"<html>moved</html>" * 100
    with pytest.raises(InputError, match="list of stations"):
        hourly.near(*archive.place, 50.0)


@pytest.mark.parametrize(
    ("zone", "hours"),
    [("America/Chicago", -6), ("Europe/Berlin", 1), ("Europe/Dublin", 0), ("America/Phoenix", -7),
     ("America/St_Johns", -3.5)],
)  # fmt: skip
def test_standard_time(zone: str, hours: float) -> None:
    assert standard_offset_s(zone) == hours * 3600


def test_no_zone() -> None:
    with pytest.raises(InputError, match="time zone"):
        standard_offset_s("Alder/Bend")


def test_today_is_not_passed(archive: Any, tmp_path: Path) -> None:
    found = Meteostat(tmp_path, HOUR_S).near(*archive.place, 50.0)
    assert all(one.last_year <= datetime.date.today().year for one in found)
