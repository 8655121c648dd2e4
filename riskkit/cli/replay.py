"""``riskkit replay``: the years of the rain record through the pit of a home."""

from __future__ import annotations

import argparse
import contextlib
import json
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import open_console
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from riskkit.assessment import DesignRain
    from riskkit.home.home import Home

__all__ = ["add_replay_options", "run_replay"]

_USUAL_DRAWS = 64


def add_replay_options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of ``riskkit replay``.
    """
    parser.add_argument("--draws", type=int, default=_USUAL_DRAWS,
                        help=f"a power of two from 2 to 4096 (default {_USUAL_DRAWS})")  # fmt: skip
    parser.add_argument("--seed", type=int, default=1, help="of the draws (default 1)")
    parser.add_argument("--storms", type=Path, metavar="FILE", help="write the storms as CSV")
    parser.add_argument("--months", type=Path, metavar="FILE", help="write the months as CSV")
    parser.add_argument("--html", type=Path, metavar="FILE", help="write a page with a chart")


def run_replay(
    options: argparse.Namespace,
    rain_of: Callable[[Home, argparse.Namespace], DesignRain],
    need_apart: Callable[[list[Path | None], list[Path | None]], None],
) -> int:
    """Replay the years of a home, print them, and write what was asked for.

    Parameters
    ----------
    options : argparse.Namespace
        The options of ``riskkit replay``.
    rain_of : callable
        Reads the rain of a home as the options say.
    need_apart : callable
        Refuses files to write that are read too.

    Returns
    -------
    int
        Exit status 0 [-].

    Raises
    ------
    InputError
        Where an option is wrong, or there is nothing to replay.
    """
    from riskkit.home.home import load_home
    from riskkit.years.records import ReplaySettings

    outputs = [options.storms, options.months, options.html]
    need_apart(outputs, [options.home, options.rain, options.table])
    settings = ReplaySettings(n_draws=options.draws, seed=options.seed)
    from riskkit.files import write_text
    from riskkit.options.replays import years_study
    from riskkit.report.replay_view import print_replay, replay_csv, replay_form, replay_page
    from riskkit.years.kept import kept_replay

    system = UnitSystem(options.units)
    with _bar() as tell:
        home = load_home(options.home)
        need_apart(outputs, [options.home.parent / name for name in home.files])
        tell("reading the rain", 0.0)
        rain = rain_of(home, options)
        found = kept_replay(home, rain, settings, progress=tell)
        tell("running the design storms beside them", 1.0)
        study = years_study(found, rain)
    # nothing is written before all is there
    written: list[tuple[Path | None, Callable[[], str]]] = [
        (options.storms, lambda: replay_csv(found.storms)),
        (options.months, lambda: replay_csv(found.months)),
        (options.html, lambda: replay_page(study, system)),
    ]
    texts = [(path, text()) for path, text in written if path is not None]
    for path, text in texts:
        write_text(path, text)
    if options.json:
        sys.stdout.write(json.dumps(replay_form(study), indent=1, allow_nan=False) + "\n")
    else:
        print_replay(study, open_console(), system)
    return 0


@contextlib.contextmanager
def _bar() -> Iterator[Callable[[str, float], None]]:
    """Tell on the terminal what is being done and how long it will take; nothing to a pipe."""
    from rich.console import Console
    from rich.progress import BarColumn, Progress, TextColumn, TimeRemainingColumn

    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda words, share: None
        return
    columns = (
        TextColumn("{task.description}", markup=False), BarColumn(), TimeRemainingColumn(),
    )  # fmt: skip
    with Progress(*columns, console=console, transient=True) as progress:
        task = progress.add_task("reading", total=1.0)
        yield lambda words, share: progress.update(task, description=words, completed=share)
