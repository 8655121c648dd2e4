"""``riskkit fleet``: many homes of a company at once."""

from __future__ import annotations

import argparse
import datetime
import os
import sys
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._command import Command
from riskkit.cli._console import INTERRUPTED, progress
from riskkit.cli._fleet_plan import (
    add_rank,
    add_report,
    add_storm,
    run_rank,
    run_report,
    run_storm,
)
from riskkit.cli._options import (
    TABLE,
    checked_seed,
    day,
    degrees,
    need_apart,
    need_endings,
    need_from_to,
    need_new,
)

if TYPE_CHECKING:
    from riskkit.fleet.places import PlaceFiles

__all__ = ["COMMAND"]

_MOST_WORKERS = 1000


def _add_options(parser: argparse.ArgumentParser) -> None:
    does = parser.add_subparsers(dest="does", required=True, metavar="WHAT")
    for name, words, add, run in _PARTS:
        one = does.add_parser(name, help=words)
        add(one)
        one.set_defaults(run=run)


def _add_template(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--out", type=Path, metavar="FILE", help="write the template to a file")
    parser.add_argument(
        "--dictionary", action="store_true", help="write the columns and their meaning instead"
    )
    parser.add_argument("--units", choices=["us", "metric"], default="us",
                        help="units of the header (default us)")  # fmt: skip


def _template(options: argparse.Namespace) -> int:
    from riskkit.files import create_text
    from riskkit.fleet.columns import template_text
    from riskkit.report.fleet_words import dictionary_text

    need_endings(options, out=TABLE)
    need_new(options.out)
    text = dictionary_text() if options.dictionary else template_text(options.units)
    if options.out is None:
        sys.stdout.write(text)
    else:
        create_text(options.out, text)
    return 0


def _add_demo(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("homes", type=int, metavar="COUNT", help="number of homes")
    parser.add_argument("--out", type=Path, required=True, metavar="FILE",
                        help="table (CSV); its homes name no rain, so fleet run needs --rain "
                        "for it")  # fmt: skip
    parser.add_argument("--truth", type=Path, metavar="FILE",
                        help="write the true values of the invented homes as another "
                             "table")  # fmt: skip
    parser.add_argument("--seed", type=int, default=1, help="random seed (default 1)")


def _demo(options: argparse.Namespace) -> int:
    from riskkit.files import create_text
    from riskkit.fleet.demo import demo_text
    from riskkit.folders import invented_homes
    from riskkit.report.fleet_words import demo_words

    need_apart([options.out, options.truth], [])
    need_endings(options, out=TABLE, truth=TABLE)
    seed = checked_seed(options.seed)
    need_new(options.out, options.truth)
    create_text(options.out, demo_text(options.homes, seed))
    if options.truth is not None:
        create_text(options.truth, demo_text(options.homes, seed, truth=True))
    told = demo_words(options.homes, options.out, options.truth, invented_homes())
    sys.stdout.write("\n".join(told) + "\n")
    return 0


def _add_run(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("homes", type=Path, metavar="TABLE",
                        help="table of homes (.csv, .parquet, .xlsx) or a folder of home "
                        "files")  # fmt: skip
    parser.add_argument("--out", type=Path, required=True, metavar="FOLDER",
                        help="folder of the run; an interrupted run is resumed there")  # fmt: skip
    parser.add_argument("--rain", type=Path, metavar="RECORD",
                        help="rain record for homes that name none (CSV)")  # fmt: skip
    parser.add_argument("--table", type=Path, metavar="FILE",
                        help="official table of depths for homes that name none (CSV)")  # fmt: skip
    parser.add_argument("--temperature", type=Path, metavar="FILE",
                        help="daily temperatures beside the record, which tell the ground before "
                        "large storms and before each past one (CSV)")  # fmt: skip
    parser.add_argument("--storms", type=float, nargs="+", default=[10.0, 100.0], metavar="YEARS",
                        help="return periods kept for fleet storm (default 10 100)")  # fmt: skip
    parser.add_argument("--past", type=int, default=10, metavar="COUNT",
                        help="number of largest storms of each record kept as well "
                        "(default 10)")  # fmt: skip
    parser.add_argument("--gauge", metavar="LAT,LON",
                        help="location of the gauge, where a storm has its stated depth "
                        "(default the centre of the homes)")  # fmt: skip
    parser.add_argument("--even-rain", action="store_true",
                        help="give every home the same rain in a large storm")  # fmt: skip
    parser.add_argument("--draws", type=int, default=128,
                        help="variants of the home: a power of two from 16 to 4096 "
                        "(default 128)")  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )
    parser.add_argument("--day", type=day, metavar="DAY",
                        help="day at which ages are reckoned (default today, or that of the run "
                        "gone on with)")  # fmt: skip
    parser.add_argument("--part-size", type=int, default=50, metavar="ROWS",
                        help="rows in a partition (default 50)")  # fmt: skip
    where = parser.add_mutually_exclusive_group()
    where.add_argument("--workers", type=int, metavar="COUNT",
                       help="processes (default as many as there are cores)")  # fmt: skip
    where.add_argument("--scheduler", metavar="ADDRESS",
                       help="address of a Dask cluster, such as tcp://127.0.0.1:8786")  # fmt: skip


def _run(options: argparse.Namespace) -> int:
    from riskkit.files import write_text
    from riskkit.fleet.run import need_a_home, run_fleet
    from riskkit.fleet.settings import FleetSettings
    from riskkit.fleet.store import day_of_run, read_bad_rows
    from riskkit.fleet.table import bad_rows_text
    from riskkit.report.fleet_words import progress_words, summary_words

    settings = FleetSettings(
        options.draws, checked_seed(options.seed), tuple(sorted(set(options.storms))),
        options.past, degrees(options.gauge, "--gauge"), options.even_rain,
        day=options.day or day_of_run(options.out) or datetime.date.today(),
    )  # fmt: skip
    need_from_to(options.workers, "--workers", 1, _MOST_WORKERS, "2")
    is_new, count = not options.out.exists(), options.workers or os.cpu_count() or 1
    # one process is this one: another beside it would cost memory and bring nothing
    workers = options.scheduler or (0 if count == 1 else count)
    try:
        with progress() as tell:
            tell("reading the homes")
            summary = run_fleet(
                options.homes, options.out, settings, usual=_usual(options),
                part_size=options.part_size, workers=workers,
                progress=lambda how_far: tell(progress_words(how_far)),
            )  # fmt: skip
    except KeyboardInterrupt:
        _say("stopped; what is done is kept, and the same command goes on from there")
        return INTERRUPTED
    need_a_home(summary, options.homes, options.out, with_folder=is_new)
    first_bad = next(read_bad_rows(options.out), None)
    if first_bad is not None:
        write_text(options.out / "bad_rows.csv", bad_rows_text(read_bad_rows(options.out)))
    sys.stdout.write("\n".join(summary_words(summary, first_bad)) + "\n")
    return 0


def _say(text: str) -> None:
    print(f"riskkit: {text}.", file=sys.stderr)  # noqa: T201 - the command line prints


def _usual(options: argparse.Namespace) -> PlaceFiles:
    from riskkit.fleet.places import PlaceFiles

    def path(given: Path | None) -> str:
        return "" if given is None else str(given.absolute())

    return PlaceFiles(path(options.rain), path(options.table), path(options.temperature))


_Part = tuple[
    str, str, Callable[[argparse.ArgumentParser], None], Callable[[argparse.Namespace], int]
]
_PARTS: tuple[_Part, ...] = (
    ("template", "the header of a table of homes, and what its columns mean", _add_template,
     _template),
    ("demo", "an invented company around Alder Bend", _add_demo, _demo),
    ("run", "work out all homes of a table", _add_run, _run),
    ("rank", "whom to visit first, and the way round", add_rank, run_rank),
    ("storm", "a storm over all homes: alarms, water, calls, crews", add_storm, run_storm),
    ("report", "a page with a map, visits and calls", add_report, run_report),
)  # fmt: skip

COMMAND = Command(
    "fleet",
    "many homes of a company at once",
    _add_options,
    _run,
    examples=(
        "template --out homes.csv",
        "run homes.csv --rain rain.csv --out runs/2026",
        "rank runs/2026 --visits-per-week 25",
        "storm runs/2026 --storm 10",
        "storm runs/2026 --past",
    ),
)
