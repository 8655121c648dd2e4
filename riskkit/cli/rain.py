"""``riskkit rain``: quality of a rain record and its depths; public records near a place."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._near import add_near_options, list_or_fetch, wanted_record
from riskkit.cli._options import (
    PAGE,
    add_climate,
    add_json,
    add_official,
    add_unit,
    add_units,
    checked_seed,
    need_apart,
    need_endings,
    official_series,
    wanted_climate,
)
from riskkit.errors import InputError, collect_warnings
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from riskkit.records import RainRecord

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("record", type=Path, nargs="?", metavar="RECORD",
                        help="rain record (CSV, or one that --fetch stored)")  # fmt: skip
    add_near_options(parser)
    parser.add_argument("--official", "--table", dest="table", type=Path, metavar="TABLE",
                        help="official table of depths (CSV) to compare with")  # fmt: skip
    add_official(parser)
    parser.add_argument("--neighbour", type=Path, metavar="FILE",
                        help="record of a gauge nearby, for a double-mass comparison")  # fmt: skip
    parser.add_argument("--neighbour-unit", metavar="UNIT",
                        help="unit of that record where its file does not say")  # fmt: skip
    parser.add_argument("--chart", type=Path, metavar="FILE", help="write a page with charts")
    add_climate(parser)
    add_unit(parser)
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the confidence limits (default 1)"
    )
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    path = wanted_record(options)
    if path is None:
        with progress() as tell:
            path = list_or_fetch(options, tell)
        if path is None:
            return 0
    need_apart([options.chart], [path, options.table, options.neighbour])
    need_endings(options, chart=PAGE)
    options.seed = checked_seed(options.seed)
    _look(path, options)
    return 0


def _look(path: Path, options: argparse.Namespace) -> None:
    """Check a record, work out its depths and print them, or write them as JSON or a page."""
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
        print_json(rain_analysis_form(found))
    else:
        print_rain_analysis(found, open_console(), system)


def _read_neighbour(path: Path, unit: str | None) -> RainRecord:
    """Read the neighbour; its unit has an option of its own, and the advice must name that one."""
    from riskkit.rainfall.readers.record import read_rain

    try:
        return read_rain(path, unit=unit)
    except InputError as error:
        argument = "neighbour_unit" if error.argument == "unit" else error.argument
        where = "neighbour unit" if error.where == "unit" else error.where
        raise InputError(where, error.what, error.right, argument=argument) from None


COMMAND = Command(
    "rain",
    "quality and depths of a rain record",
    _add_options,
    _run,
    examples=(
        "rain.csv",
        "--near 41.20,-88.60",
        "--near 41.20,-88.60 --fetch AB001",
    ),
)
