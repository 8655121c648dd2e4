"""``riskkit interval``: how often to visit."""

from __future__ import annotations

import argparse

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    add_circumstances,
    add_climate,
    add_home_and_rain,
    add_json,
    add_pattern,
    checked_seed,
    circumstances_of,
    pattern_of,
    prices_of,
    rain_of,
)
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]

_PRICES = {
    "visit": "one visit",
    "repair": "mending what a visit found",
    "failure": "mending a pump that was found dead",
    "flood": "water on the floor once",
}


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    add_pattern(parser)
    add_circumstances(parser)
    for key, words in _PRICES.items():
        parser.add_argument(f"--{key}-price", type=float, metavar="MONEY",
                            help=f"cost of {words} (default as in the home file, else an "
                            "invented figure)")  # fmt: skip
    parser.add_argument("--currency", metavar="CODE",
                        help="currency of the prices (default as in the home file, else USD)"
                        )  # fmt: skip
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    from riskkit.failures.service import interval
    from riskkit.home.home import load_home
    from riskkit.report.chance_view import interval_form, print_intervals
    from riskkit.report.json import state_form
    from riskkit.report.terminal import print_state
    from riskkit.report.visit_words import alerts
    from riskkit.risk.system_state import system_state

    circumstances, seed = circumstances_of(options), checked_seed(options.seed)
    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        tell("reading the rain")
        rain = rain_of(home, options, seed)
        found = interval(
            home,
            rain,
            circumstances,
            prices_of(home, options),
            n_draws=options.draws,
            seed=seed,
            pattern=pattern_of(options),
            progress=tell,
        )
    state = system_state(home)
    if options.json:
        told = state_form(state).model_dump(mode="json")
        print_json({"state": told} | interval_form(found))
    else:
        print_state(alerts(home, state, UnitSystem.US), open_console())
        print_intervals(found, open_console())
    return 0


COMMAND = Command(
    "interval",
    "how often to visit",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --visit-price 180 --flood-price 12000",
    ),
)
