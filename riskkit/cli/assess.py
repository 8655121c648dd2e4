"""``riskkit assess``: does the pump carry the storms, and how long from alarm to floor."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    PAGE,
    add_climate,
    add_home_and_rain,
    add_json,
    add_pattern,
    add_units,
    checked_seed,
    need_apart,
    need_endings,
    pattern_of,
    rain_files,
    rain_of,
)
from riskkit.errors import InputError, NoPitError
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from collections.abc import Callable

    from riskkit.assessment import DesignRain, Settings
    from riskkit.failures.answer import YearlyChance
    from riskkit.home.home import Home

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_pattern(parser)
    parser.add_argument(
        "--draws",
        type=int,
        default=512,
        help="variants of the home: a power of two from 16 to 65536 (default 512)",
    )
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )
    parser.add_argument("--storm", type=float, default=10.0, metavar="YEARS",
                        help="return period of the first sentence and the chart (default "
                             "10)")  # fmt: skip
    add_climate(parser)
    add_units(parser)
    add_json(parser)
    parser.add_argument("--html", type=Path, metavar="FILE", help="write a page with a chart")
    parser.add_argument("--trace", type=Path, metavar="FILE",
                        help="write the storm of --storm step by step, every value from rain to "
                        "floor, as CSV or JSON")  # fmt: skip


def _run(options: argparse.Namespace) -> int:
    from riskkit.assessment import Settings, assess
    from riskkit.home.home import load_home
    from riskkit.report.trace_file import need_trace_file, trace_text

    system = UnitSystem(options.units)
    outputs = [options.html, options.trace]
    need_apart(outputs, [options.home, options.rain, options.table])
    need_endings(options, html=PAGE)
    if options.trace is not None:
        need_trace_file(options.trace, "--trace")
    storms = Settings.return_periods_yr
    if options.storm not in storms:
        raise InputError(
            "--storm",
            f"{options.storm:g} years is not one of the storms looked at",
            f"they are {', '.join(f'{years:g}' for years in storms)} years",
        )
    settings = Settings(
        headline_yr=options.storm,
        pattern=pattern_of(options),
        n_draws=options.draws,
        seed=checked_seed(options.seed),
    )
    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        need_apart(outputs, rain_files(home, options.home))
        # a page and a trace have nothing to show
        if home.lacks(Component.PIT) and not any(outputs):
            return _say_no_pit(home, in_json=options.json)
        tell("reading the rain")
        rain = rain_of(home, options, settings.seed)
        answer = assess(home, rain, settings, progress=tell)
        yearly = _yearly(home, rain, settings, tell)
        if options.html is not None:
            from riskkit.files import write_text
            from riskkit.report.page import assessment_page

            tell("drawing the page")
            write_text(options.html, assessment_page(answer, system, yearly))
        if options.trace is not None:
            from riskkit.files import write_text

            tell("writing the trace")
            write_text(options.trace, trace_text(answer.trace(), options.trace))
    if options.json:
        from riskkit.report.json import assessment_form

        print_json(assessment_form(answer, yearly))
        return 0
    from riskkit.report.chance_words import chance_line, second_line
    from riskkit.report.terminal import print_assessment

    console = open_console()
    beneath = (chance_line(yearly), second_line(yearly, system))
    print_assessment(answer, console, system, tuple(line for line in beneath if line))
    if rain.unused is not None:
        from riskkit.rainfall.extremes import compare_tables
        from riskkit.report.rain_rows import comparison_table
        from riskkit.report.table_text import print_table

        print_table(console, comparison_table(compare_tables(rain.unused, rain.used)))
    return 0


def _yearly(
    home: Home, rain: DesignRain, settings: Settings, tell: Callable[[str], None]
) -> YearlyChance:
    """Work out how likely water is in a year, storms and failures together."""
    from riskkit.failures.yearly import chance

    tell("working out the chance of a year")
    return chance(home, rain, seed=settings.seed, pattern=settings.pattern)


def _say_no_pit(home: Home, *, in_json: bool) -> int:
    words = str(NoPitError())
    if in_json:
        from riskkit.report.json import no_pit_form

        print_json(no_pit_form(home, words))
    else:
        sys.stdout.write(f"{home.name}\n{words}\n")
    return 0


COMMAND = Command(
    "assess",
    "answer for one home",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --units metric --html answer.html",
        'home.toml --table depths.csv --climate "2 °C"',
        "home.toml --storm 100 --trace storm.csv",
    ),
)
