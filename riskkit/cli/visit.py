"""``riskkit visit``: what the last visit measured, and the answer before and after."""

from __future__ import annotations

import argparse
import sys

from riskkit.cli._command import Command
from riskkit.cli._console import print_json, progress
from riskkit.cli._options import (
    add_climate,
    add_home_and_rain,
    add_json,
    add_units,
    need_past,
    rain_of,
)
from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    parser.add_argument("--draws", type=int, default=512,
                        help="variants of the home: a power of two from 16 to 65536 "
                        "(default 512)")  # fmt: skip
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    from riskkit.evidence.overlay import visit_overlay
    from riskkit.home.home import load_home
    from riskkit.home.visits import last_visit
    from riskkit.options.visit_effect import visit_effect
    from riskkit.report.json import state_form
    from riskkit.report.visit_effect_words import effect_form
    from riskkit.report.visit_words import visit_report
    from riskkit.risk.settings import Settings

    home = load_home(options.home, outside=options.outside)
    need_past(home, options.home)
    visit = last_visit(home.visit)
    if visit is None:
        raise InputError(options.home.name, "it holds no visit", "write one as [[visit]]")
    system = UnitSystem(options.units)
    visit_overlay(home, visit)  # a test below the bottom of the pit is refused before anything runs
    with progress() as tell:
        settings = Settings(n_draws=options.draws)
        effect = visit_effect(home, visit, rain_of(home, options), settings, progress=tell)
    if options.json:
        told = state_form(effect.after.state).model_dump(mode="json")
        print_json({"state": told} | effect_form(effect))
    else:
        sys.stdout.write("\n".join(visit_report(effect, system)) + "\n")
    return 0


COMMAND = Command(
    "visit",
    "what the last visit measured, and the answer before and after",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --json",
    ),
)
