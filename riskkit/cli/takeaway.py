"""``riskkit takeaway``: one page for the owner's phone, storms and remedies to switch between."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._console import progress
from riskkit.cli._options import (
    PAGE,
    add_climate,
    add_home_and_rain,
    add_units,
    day,
    need_apart,
    need_endings,
    rain_files,
    rain_of,
)
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    parser.add_argument("--html", type=Path, metavar="FILE", required=True, help="page to write")
    add_units(parser)
    parser.add_argument("--date", type=day, metavar="DAY", help="date shown (default today)")


def _run(options: argparse.Namespace) -> int:
    need_apart([options.html], [options.home, options.rain, options.table])
    need_endings(options, html=PAGE)

    from riskkit.assessment import assess
    from riskkit.files import write_text
    from riskkit.home.home import load_home
    from riskkit.options.ranking import rank_for
    from riskkit.options.remedies import best_homes
    from riskkit.report.takeaway import MOST_REMEDIES, takeaway_page

    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        need_apart([options.html], rain_files(home, options.home))
        rain = rain_of(home, options)
        answer = assess(home, rain, progress=tell)
        ranking = rank_for(answer, progress=tell)
        tried = best_homes(answer, ranking, MOST_REMEDIES, progress=tell)
        tell("drawing the page")
        shown = options.date or datetime.date.today()
        write_text(
            options.html,
            takeaway_page(answer, tried, shown, UnitSystem(options.units), ranking),
        )
    return 0


COMMAND = Command(
    "takeaway",
    "write a page for the owner's phone",
    _add_options,
    _run,
    examples=("home.toml --html owner.html",),
)
