"""Rain records on the command line: a look at one, public ones near a place, and fetching one."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Callable
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import open_console, progress
from riskkit.errors import InputError, collect_warnings
from riskkit.quantities.climate import Climate, read_climate
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from rich.console import Console

    from riskkit.rainfall.sources.candidate import Candidate
    from riskkit.rainfall.sources.find import Found
    from riskkit.records import RainRecord, Series

__all__ = [
    "add_climate",
    "add_look_options",
    "add_near_options",
    "add_official",
    "list_or_fetch",
    "look_at_record",
    "official_series",
    "wanted_climate",
    "wanted_record",
]

KM_PER_MILE = 1.609344
INTERRUPTED = 130


def add_look_options(parser: argparse.ArgumentParser) -> None:
    """Add the options of a look at one record.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of ``riskkit rain``.
    """
    parser.add_argument("--official", "--table", dest="table", type=Path, metavar="TABLE",
                        help="official table of depths (CSV) to compare with")  # fmt: skip
    add_official(parser)
    parser.add_argument("--neighbour", type=Path, metavar="FILE",
                        help="record of a gauge near by, for a double-mass comparison")  # fmt: skip
    parser.add_argument("--neighbour-unit", metavar="UNIT",
                        help="unit of that record where its file does not say")  # fmt: skip
    parser.add_argument("--chart", type=Path, metavar="FILE", help="write a page with charts")
    add_climate(parser)


def add_official(parser: argparse.ArgumentParser) -> None:
    """Add the options for an official table that says nothing of itself.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of a command that reads an official table.
    """
    parser.add_argument("--official-unit", metavar="UNIT",
                        help="unit of the official table where it does not say: in, mm, in/h or "
                        "mm/h")  # fmt: skip
    parser.add_argument("--official-series", metavar="SERIES",
                        choices=["annual maximum", "partial duration"],
                        help='what its return periods count: "annual maximum" or "partial '
                        'duration"')  # fmt: skip


def official_series(options: argparse.Namespace) -> Series | None:
    """Return the series of the official table that a person named.

    Parameters
    ----------
    options : argparse.Namespace
        Options with those of `add_official`.

    Returns
    -------
    Series or None
        The series; None where none is named.
    """
    from riskkit.records import Series

    return None if options.official_series is None else Series(options.official_series)


def add_climate(parser: argparse.ArgumentParser) -> None:
    """Add the option for a changed climate.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of a command that works out depths of rain.
    """
    parser.add_argument("--climate", metavar="CHANGE",
                        help='depths for a changed climate: "2 °C" or "3.6 °F" warmer, 7 %% '
                        'more rain per kelvin, or "20 %%" more rain')  # fmt: skip


def wanted_climate(options: argparse.Namespace) -> Climate | None:
    """Return the change of the climate that a person named.

    Parameters
    ----------
    options : argparse.Namespace
        Options with those of `add_climate`.

    Returns
    -------
    Climate or None
        The change; None where none is named.

    Raises
    ------
    InputError
        Where it is no change of the climate.
    """
    return None if options.climate is None else read_climate(options.climate, "--climate")


def look_at_record(path: Path, options: argparse.Namespace) -> None:
    """Check a record, work out its depths and print them, or write them as JSON or a page.

    Parameters
    ----------
    path : Path
        The record.
    options : argparse.Namespace
        The options of ``riskkit rain``.

    Raises
    ------
    InputError
        Where a file cannot be read or holds too little.
    """
    import numpy as np

    from riskkit.rainfall.analysis import analyse_rain
    from riskkit.rainfall.frequency import to_partial_duration
    from riskkit.rainfall.readers.official import read_rain_table
    from riskkit.rainfall.readers.record import read_rain
    from riskkit.rainfall.readers.snowfall import snow_ratio
    from riskkit.report.rain_json import rain_analysis_form
    from riskkit.report.rain_report import print_rain_analysis

    system = UnitSystem(options.units)
    with progress() as tell, collect_warnings():  # what is warned of stands in the notes
        record = read_rain(path, unit=options.unit)
        official = None
        if options.table is not None:
            series = official_series(options)
            official = read_rain_table(options.table, unit=options.official_unit, series=series)
        neighbour = None
        if options.neighbour is not None:
            neighbour = _read_neighbour(options.neighbour, options.neighbour_unit)
        tell("looking for storms and gaps")
        snow = snow_ratio(path, options.unit)
        tell("fitting the largest storms of each year")
        found = analyse_rain(
            record,
            np.random.default_rng(options.seed),
            official=None if official is None else to_partial_duration(official),
            neighbour=neighbour,
            snow=snow,
            climate=wanted_climate(options),
        )
        if options.chart is not None:
            from riskkit.files import write_text
            from riskkit.report.rain_page import rain_page

            tell("drawing the page")
            write_text(options.chart, rain_page(found, system))
    if options.json:
        sys.stdout.write(json.dumps(rain_analysis_form(found), indent=1, allow_nan=False) + "\n")
    else:
        print_rain_analysis(found, open_console(), system)


def _read_neighbour(path: Path, unit: str | None) -> RainRecord:
    """Read the neighbour; its unit has an option of its own, and the advice must name that one."""
    from riskkit.rainfall.readers.record import read_rain

    try:
        return read_rain(path, unit=unit)
    except InputError as error:
        right = error.right.replace("--unit", "--neighbour-unit")
        raise InputError(error.where, error.what, right) from None


def add_near_options(parser: argparse.ArgumentParser) -> None:
    """Add the options that find and fetch public records.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of ``riskkit rain``.
    """
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
    """Return the file that a person named; None where a place is named instead.

    Parameters
    ----------
    options : argparse.Namespace
        The options of ``riskkit rain``.

    Returns
    -------
    Path or None
        The file.

    Raises
    ------
    InputError
        Where neither or both are named, or options do not go together.
    """
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


def list_or_fetch(
    options: argparse.Namespace, console: Callable[[], Console], tell: Callable[[str], None]
) -> Path | None:
    """List public records near a place, or fetch one.

    Parameters
    ----------
    options : argparse.Namespace
        The options of ``riskkit rain``.
    console : callable
        Makes the console to print on.
    tell : callable
        Gets a sentence on what is being done.

    Returns
    -------
    Path or None
        The stored record; None where records were only listed.
    """
    from riskkit.rainfall.readers.stored import read_stored
    from riskkit.rainfall.sources.find import all_sources, candidates_near, choose
    from riskkit.rainfall.sources.keep import data_folder, fetch_record

    folder: Path = options.store or data_folder()
    sources = all_sources(folder)
    within_km = 50.0 if options.within is None else options.within
    latitude, longitude = options.near
    found = candidates_near(latitude, longitude, within_km, sources, folder, tell)
    if options.fetch is None:
        if options.json:
            form = {
                "form": "riskkit-rain-records",
                "form_version": 1,
                "records": [asdict(one) | {"key": one.key} for one in found.candidates],
                "remarks": list(found.remarks),
            }
            sys.stdout.write(json.dumps(form, indent=1, allow_nan=False) + "\n")
        else:
            _print(found, console(), within_km, miles=options.units == "us")
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


def _print(found: Found, console: Console, within_km: float, *, miles: bool) -> None:
    from rich.table import Table

    for remark in found.remarks:
        console.print(f"Note: {remark}")
    if not found.candidates:
        console.print(f"No public record within {within_km:g} km; try a larger --within.")
        return
    unit, size = ("mi", KM_PER_MILE) if miles else ("km", 1.0)
    table = Table(title=f"Public rain records within {within_km:g} km", title_justify="left")
    table.add_column("station", overflow="fold")
    table.add_column("name", overflow="fold")
    table.add_column(unit, justify="right")
    table.add_column("years")
    table.add_column("every")
    table.add_column("complete", justify="right")
    table.add_column("remark", overflow="fold")
    for one in found.candidates:
        table.add_row(
            one.key,
            one.name,
            f"{one.distance_km / size:.1f}",
            f"{one.first_year}-{one.last_year}",
            _every(one),
            "" if one.completeness is None else f"{one.completeness:.0%}",
            one.remark,
        )
    console.print(table)
    console.print(
        "Keep one with --fetch STATION. Storms of minutes need a record of 5 min or an hour; many "
        "years count more than the nearest gauge."
    )


def _every(one: Candidate) -> str:
    words = {300: "5 min", 3600: "hour", 86400: "day"}
    return words.get(one.interval_s, f"{one.interval_s} s")
