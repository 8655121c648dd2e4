"""Asking all sources at once; without a network, one sentence within two seconds."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.errors import InputError, NoNetworkError, RangeError
from riskkit.rainfall.distance import distance_km
from riskkit.rainfall.readers.stored import write_stored
from riskkit.rainfall.sources import network
from riskkit.rainfall.sources.acis import AcisGrid, AcisStations
from riskkit.rainfall.sources.candidate import Candidate
from riskkit.rainfall.sources.find import candidates_near, choose
from riskkit.rainfall.sources.meteostat import DAY_S, HOUR_S, Meteostat
from riskkit.rainfall.sources.uscrn import ReferenceNetwork
from riskkit.records import RainRecord


@pytest.mark.usefixtures("stations", "crn")
def test_all_sources_nearest_first(archive: Any, tmp_path: Path) -> None:
    archive.answers["/StnMeta"] = lambda asked: {"meta": []}
    sources = (
        ReferenceNetwork(f"{archive.address}/products"),
        Meteostat(tmp_path, HOUR_S),
        Meteostat(tmp_path, DAY_S),
        AcisStations(archive.address),
        AcisGrid(archive.address),
    )
    found = candidates_near(*archive.place, 50.0, sources, tmp_path)
    assert [one.key for one in found.candidates] == [
        "grid:prism",
        "uscrn:XX_Alder_Bend_2_N",
        "hourly:AB001",
        "daily:AB001",
        "hourly:AB002",
    ]
    assert found.remarks == ()
    assert choose(found.candidates, "AB002").key == "hourly:AB002"
    assert choose(found.candidates, "daily:AB001").interval_s == DAY_S
    with pytest.raises(InputError, match="hourly:AB001, daily:AB001"):
        choose(found.candidates, "AB001")
    with pytest.raises(InputError, match=r"not listed.*near that place there are grid:prism"):
        choose(found.candidates, "AB9")
    with pytest.raises(InputError, match="nothing is near"):
        choose((), "AB9")


@pytest.mark.usefixtures("stations")
def test_one_source_away_does_not_hide_the_others(
    archive: Any, closed_port: int, tmp_path: Path
) -> None:
    away = f"http://127.0.0.1:{closed_port}"
    sources = (ReferenceNetwork(away), Meteostat(tmp_path, HOUR_S), AcisStations(archive.address))
    found = candidates_near(*archive.place, 50.0, sources, tmp_path)
    assert [one.key for one in found.candidates] == ["hourly:AB001", "hourly:AB002"]
    first, second = found.remarks
    assert f"cannot be reached (127.0.0.1:{closed_port})" in first
    assert "ACIS refuses" in second  # the server has no such page


def test_all_refuse(archive: Any, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="ACIS refuses"):
        candidates_near(*archive.place, 50.0, (AcisStations(archive.address),), tmp_path)


@pytest.mark.usefixtures("archive")
def test_offline_is_said_at_once(closed_port: int, tmp_path: Path) -> None:
    record = RainRecord(np.array([1.0]), np.datetime64("2001-01-01"), 3600)
    write_stored(record, tmp_path / "kept.parquet", {})
    away = f"http://127.0.0.1:{closed_port}"
    began = time.monotonic()
    with pytest.raises(NoNetworkError) as caught:
        candidates_near(41.2, -88.6, 50.0, (AcisStations(away), ReferenceNetwork(away)), tmp_path)
    assert time.monotonic() - began < 2.0
    said = str(caught.value)
    assert "\n" not in said
    assert f"127.0.0.1:{closed_port}" in said
    assert str(tmp_path / "kept.parquet") in said
    assert "any other file of rain" in said


@pytest.mark.usefixtures("archive")
def test_name_look_up_without_end(monkeypatch: pytest.MonkeyPatch) -> None:
    def hang(*args: object, **options: object) -> None:
        time.sleep(4)
        raise OSError

    monkeypatch.setattr(network.socket, "create_connection", hang)
    began = time.monotonic()
    assert network.reachable(["http://127.0.0.1:9/a", "http://127.0.0.1:9/b"], 0.2) == {
        "http://127.0.0.1:9/a": False,
        "http://127.0.0.1:9/b": False,
    }
    assert time.monotonic() - began < 1.0


def test_proxy_is_tried_instead(archive: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("http_proxy", archive.address)
    monkeypatch.setenv("no_proxy", "")
    assert network.reachable(["http://alder-bend.invalid/stations"]) == {
        "http://alder-bend.invalid/stations": True
    }


@pytest.mark.parametrize(
    ("place", "within_km"), [((91.0, 0.0), 50.0), ((0.0, 181.0), 50.0), ((0.0, 0.0), 0.0),
                             ((0.0, 0.0), 501.0), ((float("nan"), 0.0), 50.0)],
)  # fmt: skip
def test_impossible_places(place: tuple[float, float], within_km: float, tmp_path: Path) -> None:
    with pytest.raises(RangeError):
        candidates_near(*place, within_km, (), tmp_path)


def test_download_cut_short_or_absent(archive: Any, tmp_path: Path) -> None:
    path = tmp_path / "file"
    assert not network.download(f"{archive.address}/none", path, "it")
    archive.files["/one"] = b"abc"
    archive.faults["/one"] = [503]
    assert network.download(f"{archive.address}/one", path, "it")
    assert path.read_bytes() == b"abc"
    archive.faults["/one"] = [403]
    with pytest.raises(InputError, match="refused"):
        network.download(f"{archive.address}/one", path, "it")
    assert path.read_bytes() == b"abc"


@pytest.mark.parametrize(
    ("here", "there", "km"),
    [((0, 0), (0, 90), 10_007.5), ((0, 0), (1, 0), 111.195), ((60, 0), (60, 1), 55.597),
     ((41.2, -88.6), (41.2, -88.6), 0.0), ((0, 179.5), (0, -179.5), 111.195)],
)  # fmt: skip
def test_distance(here: tuple[float, float], there: tuple[float, float], km: float) -> None:
    # a quarter and a 360th of the circle of a sphere of 6371 km
    assert distance_km(*here, *there) == pytest.approx(km, rel=1e-4, abs=1e-9)


def test_candidate_key() -> None:
    one = Candidate("uscrn", "X", "x", 0, 0, 0, 2000, 2001, 300, "free")
    assert one.key == "uscrn:X"


def test_no_source_learns_where_the_house_stands(archive: Any, tmp_path: Path) -> None:
    asked: list[tuple[float, float]] = []

    class Listening(AcisStations):
        def near(
            self, latitude: float, longitude: float, within_km: float
        ) -> tuple[Candidate, ...]:
            asked.append((latitude, longitude))
            return ()

    candidates_near(41.234567, -88.654321, 50.0, (Listening(archive.address),), tmp_path)
    assert asked == [(41.23, -88.65)]
