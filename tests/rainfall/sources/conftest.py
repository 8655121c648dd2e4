"""A tiny server on this machine that answers as the public archives do, with invented data.

Alder Bend does not exist; its place, stations and rain are made up.
"""

from __future__ import annotations

import gzip
import json
import socket
import sqlite3
import threading
from collections.abc import Callable, Iterator
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

import numpy as np
import pytest

PLACE = (41.2, -88.6)
CRN_WIDTHS = [5, 8, 4, 8, 4, 6, 7, 7, 7, 7, 6, 1, 7, 1, 1, 5, 1, 7, 7, 5, 1, 6, 1]


class Archive:
    """What the server has, whom it fails, and what it was asked."""

    def __init__(self, address: str) -> None:
        self.address = address
        self.place = PLACE
        self.files: dict[str, bytes] = {}
        self.answers: dict[str, Callable[[dict[str, Any]], object]] = {}
        self.faults: dict[str, list[int]] = {}
        self.asked: list[str] = []

    def clear(self) -> None:
        for part in (self.files, self.answers, self.faults, self.asked):
            part.clear()

    def put_year(self, kind: str, station: str, year: int, rows: list[str]) -> None:
        columns = "year,month,day," + ("hour," if kind == "hourly" else "") + "prcp,prcp_source"
        text = "\n".join([columns, *rows, ""])
        self.files[f"/{kind}/{year}/{station}.csv.gz"] = gzip.compress(text.encode())


def _handler(archive: Archive) -> type[BaseHTTPRequestHandler]:
    class Handler(BaseHTTPRequestHandler):
        def log_message(self, format: str, *args: object) -> None:
            pass

        def answer(self, body: bytes | None) -> None:
            faults = archive.faults.get(self.path, [])
            status = faults.pop(0) if faults else 200 if body is not None else 404
            data = body if status == 200 and body is not None else b"none"
            self.send_response(status)
            self.send_header("Content-Length", str(len(data)))
            self.end_headers()
            self.wfile.write(data)

        def do_GET(self) -> None:
            archive.asked.append(self.path)
            self.answer(archive.files.get(self.path))

        def do_POST(self) -> None:
            asked = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
            archive.asked.append(f"{self.path} {asked.get('sdate')} {asked.get('edate')}")
            answer = archive.answers.get(self.path)
            self.answer(None if answer is None else json.dumps(answer(asked)).encode())

    return Handler


@pytest.fixture(scope="session")
def _server() -> Iterator[Archive]:
    archive = Archive("")
    server = ThreadingHTTPServer(("127.0.0.1", 0), _handler(archive))
    archive.address = f"http://127.0.0.1:{server.server_port}"
    thread = threading.Thread(target=server.serve_forever, daemon=True)
    thread.start()
    yield archive
    server.shutdown()
    server.server_close()
    thread.join()


@pytest.fixture
def archive(_server: Archive, monkeypatch: pytest.MonkeyPatch) -> Archive:
    """The server, empty but for Meteostat's list of stations; the library asks it, not the net."""
    import meteostat

    from riskkit.rainfall.sources import network

    for kind in ("hourly", "daily"):
        pattern = f"{_server.address}/{kind}/{{year}}/{{station}}.csv.gz"
        # the library reads these once, at its first request; the port is that of the session
        setattr(meteostat.config, f"{kind}_endpoint", pattern)
    monkeypatch.setattr(
        meteostat.config, "stations_db_endpoints", [f"{_server.address}/stations.db"]
    )
    monkeypatch.setattr(network, "PAUSES_S", (0.0, 0.0))
    for name in ("http_proxy", "HTTP_PROXY", "all_proxy", "ALL_PROXY"):
        monkeypatch.delenv(name, raising=False)
    _server.clear()
    return _server


@pytest.fixture
def stations(archive: Archive, tmp_path: Path) -> None:
    """Meteostat's list: two stations with rain near Alder Bend, one without, one far away."""
    path = tmp_path / "made.db"
    with sqlite3.connect(path) as base:
        base.executescript(
            """
            CREATE TABLE stations (id TEXT, country TEXT, region TEXT, latitude REAL,
                longitude REAL, elevation INTEGER, timezone TEXT);
            CREATE TABLE names (station TEXT, language TEXT, name TEXT);
            CREATE TABLE identifiers (station TEXT, key TEXT, value TEXT);
            CREATE TABLE inventory (station TEXT, provider TEXT, parameter TEXT, start TEXT,
                end TEXT, completeness REAL);
            """
        )
        base.executemany(
            "INSERT INTO stations VALUES (?, 'US', 'XX', ?, ?, 200, 'America/Chicago')",
            [("AB001", 41.25, -88.6), ("AB002", 41.4, -88.6), ("AB003", 41.2, -88.7),
             ("AB004", 46.2, -88.6)],
        )  # fmt: skip
        base.executemany(
            "INSERT INTO names VALUES (?, 'en', ?)",
            [("AB001", "Alder Bend Field"), ("AB002", "Alder Ridge"), ("AB003", "Alder Mill"),
             ("AB004", "Far Alder")],
        )  # fmt: skip
        base.executemany(
            "INSERT INTO inventory VALUES (?, ?, ?, ?, ?, ?)",
            [
                ("AB001", "isd_lite", "prcp", "2001-03-01", "2003-12-31", 0.9),
                ("AB001", "dwd_mosmix", "prcp", "1990-01-01", "2030-12-31", 1.0),
                ("AB001", "ghcnd", "prcp", "1951-01-01", "2004-06-30", 97),
                ("AB001", "ghcnd", "tmax", "1931-01-01", "2004-06-30", 97),
                ("AB002", "hourly", "prcp", "2010-01-01", "2011-12-31", None),
                ("AB003", "hourly", "temp", "2010-01-01", "2011-12-31", 0.5),
                ("AB004", "hourly", "prcp", "2010-01-01", "2011-12-31", 0.5),
            ],
        )
    base.close()
    archive.files["/stations.db"] = path.read_bytes()


@pytest.fixture
def closed_port() -> int:
    """A port of this machine at which nobody listens."""
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return int(one.getsockname()[1])


def crn_line(utc: str, local: str, rain: str) -> str:
    """One line of a 5-minute file; times as YYYYMMDDHHMM."""
    cells = ["99999", utc[:8], utc[8:], local[:8], local[8:], "2.623", "-88.60", "41.23", "10.0",
             rain, "0", "0", "10.0", "C", "0", "50", "0", "-99.000", "-9999.0", "1000", "0",
             "1.00", "0"]  # fmt: skip
    return " ".join(cell.rjust(width) for cell, width in zip(cells, CRN_WIDTHS, strict=True))


@pytest.fixture
def crn(archive: Archive) -> None:
    """The list of the Reference Network with one station near Alder Bend, and a piece of a year."""
    head = "WBAN COUNTRY STATE LOCATION VECTOR NAME LATITUDE LONGITUDE ELEVATION STATUS"
    head += " COMMISSIONING CLOSING OPERATION PAIRING NETWORK STATION_ID"
    rows = [
        head.split(),
        ["99999", "US", "XX", "Alder Bend", "2 N", "Creek", "41.23", "-88.6", "650",
         "Commissioned", "2004-08-31 00:00:00", "2019-12-31 00:00:00", "Closed", "", "USCRN", "1"],
        ["99998", "US", "XX", "Far Alder", "9 W", "Hill", "46.2", "-88.6", "650",
         "Commissioned", "2006-08-31 00:00:00", "", "Operational", "", "USCRN", "2"],
    ]  # fmt: skip
    archive.files["/products/stations.tsv"] = "\n".join("\t".join(row) for row in rows).encode()
    lines = [
        crn_line("201901010005", "201812311805", "0.2"),
        crn_line("201901010010", "201812311810", "-9999.0"),
        crn_line("201901010015", "201812311815", "1.4"),
    ]
    name = "CRNS0101-05-2019-XX_Alder_Bend_2_N.txt"
    archive.files[f"/products/subhourly01/2019/{name}"] = "\n".join([*lines, ""]).encode()


@pytest.fixture
def services(
    archive: Archive, stations: None, crn: None, monkeypatch: pytest.MonkeyPatch
) -> Archive:
    """All sources answer from this machine; Alder Bend Field has days of rain, 1951 to 2004."""
    from riskkit.rainfall.sources import acis, uscrn

    archive.answers["/StnMeta"] = lambda asked: {"meta": []}
    monkeypatch.setattr(acis, "SERVICE", archive.address)
    monkeypatch.setattr(uscrn, "PRODUCTS", f"{archive.address}/products")
    rng = np.random.default_rng(7)
    for year in range(1951, 2005):
        days = np.datetime64(f"{year}-01-01") + np.arange(365)
        rain = np.where(rng.random(365) < 0.3, rng.gamma(0.7, 9.0, 365), 0.0)
        rows = [
            f"{str(day).replace('-', ',')},{depth:.1f},ghcnd"
            for day, depth in zip(days, rain, strict=True)
        ]
        archive.put_year("daily", "AB001", year, rows)
    return archive
