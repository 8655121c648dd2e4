"""``riskkit visit``: what the last visit measured, and the answer before and after."""

from __future__ import annotations

import argparse
import sys

from riskkit.cli._command import Command
from riskkit.cli._console import progress
from riskkit.cli._options import add_climate, add_home_and_rain, add_units, need_past, rain_of
from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    add_units(parser)
    parser.add_argument("--save", action="store_true", help="write the values into the home file")


def _run(options: argparse.Namespace) -> int:
    from riskkit.assessment import assess
    from riskkit.home.home import load_home
    from riskkit.home.saving import save_home
    from riskkit.home.visits import last_visit
    from riskkit.report.visit_words import visit_report
    from riskkit.report.words import sentence
    from riskkit.risk.evidence import home_with_visit, home_without_visit

    home = load_home(options.home, outside=options.outside)
    need_past(home, options.home)
    visit = last_visit(home.visit)
    if visit is None:
        raise InputError(options.home.name, "it holds no visit", "write one as [[visit]]")
    system = UnitSystem(options.units)
    read = home_with_visit(home, visit, system)
    with progress() as tell:
        rain = rain_of(home, options)
        before = sentence(assess(home_without_visit(home, visit), rain, progress=tell), system)
        answer = assess(read.home, rain, progress=tell)
    sys.stdout.write("\n".join(visit_report(visit, read, answer, before, system)) + "\n")
    if options.save:
        save_home(read.home, options.home, home, visit=visit)
    return 0


COMMAND = Command(
    "visit",
    "enter what the last visit measured",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --save",
    ),
)
