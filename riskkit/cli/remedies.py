"""``riskkit remedies``: what would help a home, the best first."""

from __future__ import annotations

import argparse
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    DRAWING,
    add_circumstances,
    add_climate,
    add_flood_price,
    add_home_and_rain,
    add_json,
    add_pattern,
    add_units,
    checked_seed,
    circumstances_of,
    need_apart,
    need_endings,
    pattern_of,
    prices_of,
    rain_of,
)
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    add_pattern(parser)
    add_circumstances(parser, draws=64)
    parser.add_argument("--budget", type=float, metavar="MONEY",
                        help="amount that may be spent at once; finds the best set of "
                             "remedies for it")  # fmt: skip
    parser.add_argument("--pairs", action="store_true", help="try remedies in pairs too")
    parser.add_argument("--tree", type=Path, metavar="FILE.svg",
                        help="draw the fault tree of the home into a file")  # fmt: skip
    add_flood_price(parser)
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    from riskkit.assessment import Settings, assess
    from riskkit.files import write_text
    from riskkit.home.home import load_home
    from riskkit.options.ranking import dry_share_now, rank_remedies
    from riskkit.report.chance_view import print_ranking, ranking_form
    from riskkit.report.fault_tree import fault_tree_svg
    from riskkit.report.json import state_form
    from riskkit.report.terminal import print_state
    from riskkit.report.visit_words import alerts
    from riskkit.risk.system_state import system_state

    system, seed = UnitSystem(options.units), checked_seed(options.seed)
    circumstances = circumstances_of(options)
    if options.tree is not None:
        need_apart([options.tree], [options.home, options.rain, options.table])
        need_endings(options, tree=DRAWING)
    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        tell("reading the rain")
        rain, pattern = rain_of(home, options, seed), pattern_of(options)
        tell("following the storms")
        now = assess(home, rain, Settings(seed=seed, pattern=pattern))
        found = rank_remedies(
            home,
            rain,
            circumstances,
            prices=prices_of(home, options),
            budget=options.budget,
            pairs=options.pairs,
            n_draws=options.draws,
            dry_now=dry_share_now(now),  # so that paper and terminal tell one share
            seed=seed,
            pattern=pattern,
            progress=tell,
        )
    if options.tree is not None:
        write_text(options.tree, fault_tree_svg(found.now))
    state = system_state(home)
    if options.json:
        told = state_form(state).model_dump(mode="json")
        print_json({"state": told} | ranking_form(found, system))
    else:
        print_state(alerts(home, state, system), open_console())
        print_ranking(found, open_console(), system)
    return 0


COMMAND = Command(
    "remedies",
    "what would help, the best first, and the chance of a year",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --budget 3000",
        "home.toml --pairs --json",
    ),
)
