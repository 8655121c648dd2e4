"""Public rain records near a place on the command line: list them, and fetch one."""

from __future__ import annotations

import argparse
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import INTERRUPTED, open_console, print_json
from riskkit.errors import InputError

if TYPE_CHECKING:
    from riskkit.rainfall.sources.candidate import Candidate
    from riskkit.rainfall.sources.find import Found

KM_PER_MILE = 1.609344


def add_near_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that find and fetch public records."""
    group = parser.add_argument_group("public records (asks the network)")
    group.add_argument("--near", type=_place, metavar="LAT,LON",
                       help="list records near a place, such as 40.61,-75.49")  # fmt: skip
    group.add_argument("--within", type=float, metavar="KM", help="how far away (default 50)")
    group.add_argument("--fetch", metavar="STATION", help="fetch and keep this one of the list")
    group.add_argument("--years", type=_years, metavar="A-B", help="only these (default all)")
    group.add_argument("--store", type=Path, metavar="FOLDER",
                       help="where to keep it (default the data folder of this user)")  # fmt: skip


def _place(text: str) -> tuple[float, float]:
    try:
        latitude, longitude = (float(part) for part in text.split(","))
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a place; write latitude and longitude like 40.61,-75.49"
        ) from None
    return latitude, longitude


def _years(text: str) -> tuple[int, int]:
    first, _, last = text.partition("-")
    try:
        return int(first), int(last or first)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} are not years; write them like 1995-2020"
        ) from None


def wanted_record(options: argparse.Namespace) -> Path | None:
    """Return the file that a person named; None where a place is named instead."""
    record: Path | None = options.record
    if record is None and options.near is None:
        raise InputError(
            "rain",
            "there is no record",
            "name a file, or find a public record with --near LAT,LON",
        )
    if record is not None:
        for name in ("near", "within", "fetch", "years", "store"):
            if getattr(options, name) is not None:
                raise InputError(f"--{name}", "it does not go with a file", "leave one out")
    elif options.fetch is None:
        for name, value in (("chart", options.chart), ("official", options.table),
                            ("neighbour", options.neighbour)):  # fmt: skip
            if value is not None:
                right = "name a file, or a station with --fetch"
                raise InputError(f"--{name}", "there is no record to look at", right)
        if options.years is not None:
            raise InputError("--years", "there is nothing to fetch", "name a station with --fetch")
    if options.table is None:
        for name in ("official_unit", "official_series"):
            if getattr(options, name) is not None:
                option = f"--{name.replace('_', '-')}"
                raise InputError(option, "there is no official table", "name one with --official")
    if options.neighbour is None and options.neighbour_unit is not None:
        raise InputError("--neighbour-unit", "there is no neighbour", "name one with --neighbour")
    return record


def list_or_fetch(options: argparse.Namespace, tell: Callable[[str], None]) -> Path | None:
    """List public records near a place, or fetch one and return where it is kept."""
    from riskkit.folders import rain_store
    from riskkit.rainfall.readers.stored import read_stored
    from riskkit.rainfall.sources.archive import fetch_record
    from riskkit.rainfall.sources.find import all_sources, candidates_near, choose

    folder: Path = options.store or rain_store()
    sources = all_sources(folder)
    within_km = 50.0 if options.within is None else options.within
    latitude, longitude = options.near
    found = candidates_near(latitude, longitude, within_km, sources, folder, tell)
    if options.fetch is None:
        if options.json:
            form: dict[str, object] = {
                "form": "riskkit-rain-records",
                "form_version": 1,
                "records": [asdict(one) | {"key": one.key} for one in found.candidates],
                "remarks": list(found.remarks),
            }
            print_json(form)
        else:
            _print(found, within_km, miles=options.units == "us")
        return None
    chosen = choose(found.candidates, options.fetch)
    source = next(one for one in sources if one.key == chosen.source)
    try:
        path, _ = fetch_record(source, chosen, folder, options.years, tell)
    except KeyboardInterrupt:
        sys.stderr.write(
            "riskkit: stopped; the years that came are kept, and the same command goes on "
            "from there\n"
        )
        raise SystemExit(INTERRUPTED) from None
    lines = [f"Stored: {path}", *read_stored(path).notes]
    (sys.stderr if options.json else sys.stdout).write("\n".join([*lines, ""]))
    return path


def _print(found: Found, within_km: float, *, miles: bool) -> None:
    from riskkit.report.rows import new_table
    from riskkit.report.table_text import print_table

    console = open_console()
    for remark in found.remarks:
        console.print(f"Note: {remark}")
    if not found.candidates:
        console.print(f"No public record within {within_km:g} km; try a larger --within.")
        return
    unit, size = ("mi", KM_PER_MILE) if miles else ("km", 1.0)
    rows = [
        (
            one.key,
            one.name,
            f"{one.distance_km / size:.1f}",
            f"{one.first_year}-{one.last_year}",
            _every(one),
            "" if one.completeness is None else f"{one.completeness:.0%}",
            one.remark,
        )
        for one in found.candidates
    ]
    head = ("station", "name", unit, "years", "every", "complete", "remark")
    title = f"Public rain records within {within_km:g} km"
    print_table(console, new_table(title, head, rows, words=(0, 1, 6)))
    console.print(
        "Keep one with --fetch STATION. Storms of minutes need a record of 5 min or an hour; many "
        "years count more than the nearest gauge."
    )


def _every(one: Candidate) -> str:
    words = {300: "5 min", 3600: "hour", 86400: "day"}
    return words.get(one.interval_s, f"{one.interval_s} s")
