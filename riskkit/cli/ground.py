"""``riskkit ground``: wetness, snow and water table before large storms, by month."""

from __future__ import annotations

import argparse

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import add_home_and_rain, add_json, add_units, rain_of
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_units(parser)
    add_json(parser)
    parser.set_defaults(climate=None)


def _run(options: argparse.Namespace) -> int:
    from riskkit.antecedent.months import ground_by_month
    from riskkit.home.home import load_home
    from riskkit.report.ground import ground_form, print_ground

    home = load_home(options.home, outside=options.outside)
    with progress() as tell:
        tell("reading the rain")
        rain = rain_of(home, options)
        tell("following the days")
        ground = ground_by_month(home, rain.weather, rain.levels)
    if options.json:
        print_json(ground_form(ground))
    else:
        print_ground(ground, open_console(), UnitSystem(options.units))
    return 0


COMMAND = Command(
    "ground",
    "wetness, snow and water table before large storms",
    _add_options,
    _run,
    examples=("home.toml",),
)
