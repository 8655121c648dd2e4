"""``riskkit next``: what the observations of a home told, and what to look at next."""

from __future__ import annotations

import argparse
import sys

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    add_climate,
    add_home_and_rain,
    add_json,
    add_units,
    checked_seed,
    need_past,
    rain_of,
)
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    parser.add_argument("--draws", type=int, default=512,
                        help="variants of the home: a power of two from 16 to 65536 "
                        "(default 512)")  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    from riskkit.assessment import Settings, assess
    from riskkit.evidence.standing import standing
    from riskkit.home.home import load_home
    from riskkit.options.observed import observations_effect
    from riskkit.report.json import state_form
    from riskkit.report.next_words import next_form, next_lines
    from riskkit.report.terminal import print_state
    from riskkit.report.visit_words import alerts

    settings = Settings(
        return_periods_yr=(1.0, 2.0, 5.0, 10.0),
        n_draws=options.draws,
        seed=checked_seed(options.seed),
    )
    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        need_past(home, options.home)
        tell("reading the rain")
        rain = rain_of(home, options, settings.seed)
        answer = assess(home, rain, settings, progress=tell)
        effect = None
        if standing(home):
            effect = observations_effect(answer, rain, progress=tell)
        tell("weighing what could be seen")
        system = UnitSystem(options.units)
        lines = [] if options.json else next_lines(answer, effect, system)
        form = next_form(answer, effect) if options.json else {}
    if options.json:
        told = state_form(answer.state).model_dump(mode="json")
        print_json({"state": told} | form)
    else:
        print_state(alerts(home, answer.state, system), open_console())
        sys.stdout.write("\n".join(lines) + "\n")
    return 0


COMMAND = Command(
    "next",
    "the most useful observations to make next, and what those made so far imply",
    _add_options,
    _run,
    examples=("home.toml",),
)
