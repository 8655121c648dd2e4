"""US stations and the grid through pvlib, from a server on this machine."""

from __future__ import annotations

import datetime
from typing import Any

import numpy as np
import pytest

from riskkit.errors import InputError, NoNetworkError, RiskkitError
from riskkit.rainfall.sources.acis import AcisGrid, AcisStations
from riskkit.rainfall.sources.candidate import Candidate

ELEMENTS = 10  # of a day: maxt, mint, avgt, obst, pcpn, snow, snwd and three more
PCPN = 4


def day_rows(asked: dict[str, Any], rain: dict[str, str]) -> list[list[str]]:
    """A row per asked day, all "0.0" but the rain that is given."""
    day = datetime.date.fromisoformat(asked["sdate"])
    rows = []
    while day <= datetime.date.fromisoformat(asked["edate"]):
        row = [str(day), *["0.0"] * ELEMENTS]
        row[1 + PCPN] = rain.get(str(day), "0.0")
        rows.append(row)
        day += datetime.timedelta(days=1)
    return rows


def answer_with(archive: Any, rain: dict[str, str]) -> None:
    meta = {"name": "ALDER BEND 2 N", "ll": [-88.6, 41.23], "elev": 650.0}
    archive.answers["/StnData"] = lambda asked: {
        "meta": dict(meta),
        "data": day_rows(asked, rain),
    }


@pytest.fixture
def source(archive: Any) -> AcisStations:
    return AcisStations(archive.address)


@pytest.fixture
def station(archive: Any, source: AcisStations) -> Candidate:
    common = {"state": "XX", "uid": 1, "county": "1", "climdiv": "1", "tzo": -6, "network": []}
    archive.answers["/StnMeta"] = lambda asked: {
        "meta": [
            common | {
                "name": "ALDER BEND 2 N", "ll": [-88.6, 41.23], "elev": 650,
                "sids": ["119999 2", "USC00119999 6"],
                "sid_dates": [["119999 2", "1948-05-01", "9999-12-31"],
                              ["USC00119999 6", "1931-05-01", "2011-12-31"]],
            },
            common | {"name": "CORNER", "ll": [-88.05, 41.6], "elev": 650, "sids": ["119998 2"],
                      "sid_dates": [["119998 2", "1948-05-01", "9999-12-31"]]},
        ]
    }  # fmt: skip
    found = source.near(*archive.place, 50.0)
    assert len(found) == 1  # the corner of the box is farther than 50 km
    return found[0]


def test_lists_with_the_code_of_the_global_network(station: Candidate) -> None:
    assert station.key == "acis:USC00119999"
    assert (station.first_year, station.last_year) == (1931, datetime.date.today().year)
    assert station.distance_km == pytest.approx(0.03 * 40_030 / 360, rel=2e-3)


def test_asks_for_a_box_around_the_place(archive: Any, source: AcisStations) -> None:
    seen: list[str] = []

    def stations(asked: dict[str, Any]) -> object:
        seen.append(asked["bbox"])
        return {"meta": []}

    archive.answers["/StnMeta"] = stations
    assert source.near(60.0, 10.0, 111.2) == ()
    np.testing.assert_allclose([float(x) for x in seen[0].split(",")], [8, 59, 12, 61], atol=1e-6)


def test_traces_are_counted_and_missing_stays_missing(
    archive: Any, source: AcisStations, station: Candidate
) -> None:
    answer_with(archive, {"2001-01-02": "T", "2001-01-03": "M", "2001-01-04": "12.7"})
    piece = source.year(station, 2001)
    assert piece is not None
    assert piece.depth_mm.size == 365
    np.testing.assert_array_equal(piece.depth_mm[:4], [0.0, 0.0, np.nan, 12.7])
    assert piece.repairs["Traces, read as 0: {}."] == 1
    assert str(piece.times[3]) == "2001-01-04T00:00:00"


def test_totals_over_several_days_cost_their_month_only(
    archive: Any, source: AcisStations, station: Candidate
) -> None:
    answer_with(archive, {"2001-02-03": "S", "2001-02-04": "13.5A", "2001-03-01": "2.5"})
    piece = source.year(station, 2001)
    assert piece is not None
    assert piece.depth_mm.size == 365 - 28
    assert np.sum(piece.depth_mm) == 2.5
    said = "Months with totals over several days, kept as missing: {}."
    assert piece.repairs[said] == 1


def test_no_data_is_no_fault_and_other_refusals_are(
    archive: Any, source: AcisStations, station: Candidate
) -> None:
    archive.answers["/StnData"] = lambda asked: {"error": "no data available"}
    assert source.year(station, 2001) is None
    archive.answers["/StnData"] = lambda asked: {"error": "unknown sid"}
    with pytest.raises(InputError, match="unknown sid"):
        source.year(station, 2001)


def test_tries_again_but_not_without_end(
    archive: Any, source: AcisStations, station: Candidate
) -> None:
    answer_with(archive, {"2001-01-02": "1.0"})
    archive.faults["/StnData"] = [500, 429]
    assert source.year(station, 2001) is not None
    archive.faults["/StnData"] = [500, 500, 500]
    with pytest.raises(NoNetworkError, match="3 attempts"):
        source.year(station, 2001)


def test_refusal_is_not_tried_again(archive: Any, source: AcisStations, station: Candidate) -> None:
    archive.faults["/StnData"] = [403]
    archive.asked.clear()
    with pytest.raises(InputError, match="403"):
        source.year(station, 2001)
    assert len(archive.asked) == 1


def test_station_without_height(archive: Any, source: AcisStations) -> None:
    archive.answers["/StnMeta"] = lambda asked: {"meta": [{"name": "X", "ll": [-88.6, 41.2]}]}
    with pytest.raises(InputError, match="elev"):
        source.near(*archive.place, 50.0)


def test_grid_is_offered_in_the_contiguous_us_only(archive: Any) -> None:
    grid = AcisGrid(archive.address)
    (cell,) = grid.near(*archive.place, 50.0)
    assert (cell.key, cell.first_year, cell.distance_km) == ("grid:prism", 1981, 0.0)
    assert grid.near(52.5, 13.4, 50.0) == ()
    assert archive.asked == []


def test_grid_outside_its_data_is_missing(archive: Any) -> None:
    grid = AcisGrid(archive.address)
    (cell,) = grid.near(*archive.place, 50.0)

    def cells(value: float) -> Any:
        return lambda asked: {
            "meta": {"lat": 41.2, "lon": -88.6, "elev": 600.0},
            "data": [["2001-01-01", 3.5, *[1.0] * 6], ["2001-01-02", value, *[1.0] * 6]],
        }

    archive.answers["/GridData"] = cells(-999)
    piece = grid.year(cell, 2001)
    assert piece is not None
    np.testing.assert_array_equal(piece.depth_mm, [3.5, np.nan])


ODD = [
    None, True, [], {}, [[]], [None], {"a": 1}, 0, -1e308, 10**400, "", "x", "9" * 400, "NaN",
    "\x1b[31m", float("nan"), float("inf"), ["1e999", "2"], [1, 2, 3], [["a", None, "x"]],
]  # fmt: skip


@pytest.mark.parametrize("odd", ODD, ids=repr)
def test_whatever_it_answers_is_read_or_refused(
    odd: Any, archive: Any, source: AcisStations, station: Candidate
) -> None:
    good = {"name": "X", "ll": [-88.6, 41.2], "elev": 1, "state": "XX", "sids": ["1 2"],
            "sid_dates": [["1 2", "1990-01-01", "9999-12-31"]], "uid": 1}  # fmt: skip
    grid = AcisGrid(archive.address)
    (cell,) = grid.near(*archive.place, 50.0)
    day = ["2001-01-01", *["0.0"] * ELEMENTS]
    answers = [
        odd,
        {"meta": odd},
        {"meta": [odd]},
        *({"meta": [good | {key: odd}]} for key in good),
    ]
    years = [odd, {"meta": odd, "data": []}, {"meta": {"lat": 1, "lon": 2}, "data": odd},
             {"meta": {"ll": odd, "elev": odd}, "data": [day]}, {"meta": good, "data": [odd]},
             {"meta": good, "data": [[odd, *day[1:]]]},
             {"meta": good, "data": [[*day[:5], odd, *day[6:]]]}]  # fmt: skip
    calls = [("/StnMeta", answer, lambda: source.near(*archive.place, 50.0)) for answer in answers]
    calls += [("/StnData", answer, lambda: source.year(station, 2001)) for answer in years]
    calls += [("/GridData", answer, lambda: grid.year(cell, 2001)) for answer in years]
    for path, answer, ask in calls:
        archive.answers[path] = lambda _, answer=answer: answer
        try:
            found = ask()
        except RiskkitError as error:
            assert str(error).isprintable()
            continue
        for one in found if isinstance(found, tuple) else ():
            assert one.name.isprintable()
            assert np.isfinite([one.latitude, one.longitude, one.distance_km]).all()
