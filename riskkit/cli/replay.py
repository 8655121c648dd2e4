"""``riskkit replay``: the years of the rain record through the pit of a home."""

from __future__ import annotations

import argparse
import contextlib
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json
from riskkit.cli._options import (
    PAGE,
    PICTURE,
    TABLE,
    add_json,
    add_outside,
    add_rain,
    add_units,
    checked_seed,
    need_apart,
    need_endings,
    picture_bytes,
    rain_files,
    rain_of,
)
from riskkit.cli._side_by_side import check_side_by_side, home_files, run_side_by_side
from riskkit.quantities.units import UnitSystem

if TYPE_CHECKING:
    from riskkit.years.records import ReplaySettings

__all__ = ["COMMAND"]

_USUAL_DRAWS = 64
_ENDINGS = {"storms": TABLE, "months": TABLE, "html": PAGE, "picture": PICTURE,
            "storm_picture": PICTURE}  # fmt: skip


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "homes", type=Path, nargs="+", metavar="HOME",
        help="home file (TOML); several, or a folder of them, are compared",
    )  # fmt: skip
    add_outside(parser)
    add_rain(parser)
    parser.add_argument("--draws", type=int, default=_USUAL_DRAWS,
                        help="variants of the home: a power of two from 2 to 4096 "
                        f"(default {_USUAL_DRAWS})")  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )
    beside = parser.add_mutually_exclusive_group()
    beside.add_argument("--parted-at", type=int, metavar="YEAR",
                        help="divide the record at this year and compare both spans")  # fmt: skip
    beside.add_argument("--generated", type=int, metavar="YEARS",
                        help="compare the record with so many generated years")  # fmt: skip
    parser.add_argument("--storms", type=Path, metavar="FILE", help="write the storms as CSV")
    parser.add_argument("--months", type=Path, metavar="FILE", help="write the months as CSV")
    parser.add_argument("--compared", type=Path, metavar="FILE",
                        help="write the comparison as CSV")  # fmt: skip
    parser.add_argument("--picture", type=Path, metavar="FILE",
                        help="write the chart as .svg or .png")  # fmt: skip
    parser.add_argument("--storm-picture", type=Path, metavar="FILE",
                        help="write the chart of the storms as .svg or .png")  # fmt: skip
    add_units(parser)
    add_json(parser)
    parser.add_argument("--html", type=Path, metavar="FILE", help="write a page with a chart")
    parser.set_defaults(climate=None)


def _run(options: argparse.Namespace) -> int:
    from riskkit.years.records import ReplaySettings

    settings = ReplaySettings(n_draws=options.draws, seed=checked_seed(options.seed))
    homes = home_files(options.homes)
    check_side_by_side(options, homes)
    if len(homes) > 1 or options.parted_at is not None or options.generated is not None:
        return run_side_by_side(options, homes, settings, _bar)
    return _run_one(options, homes[0], settings)


def _run_one(options: argparse.Namespace, path: Path, settings: ReplaySettings) -> int:
    from riskkit.files import write_bytes, write_text
    from riskkit.home.home import load_home
    from riskkit.options.replays import years_study
    from riskkit.report.replay_json import replay_form
    from riskkit.report.replay_view import (
        print_replay,
        replay_csv,
        replay_page,
        replay_spec,
        storm_spec,
    )
    from riskkit.years.cache import cached_replay

    options.home = path
    outputs = [
        options.storms, options.months, options.html, options.picture, options.storm_picture,
    ]  # fmt: skip
    need_apart(outputs, [path, options.rain, options.table])
    need_endings(options, **_ENDINGS)
    system = UnitSystem(options.units)
    with _bar() as tell:
        home = load_home(path, outside=options.outside)
        need_apart(outputs, rain_files(home, path))
        tell("reading the rain", 0.0)
        rain = rain_of(home, options)
        found = cached_replay(home, rain, settings, progress=tell)
        tell("running the design storms beside them", 1.0)
        study = years_study(found, rain)
    # nothing is written before all is there
    written: list[tuple[Path | None, Callable[[], str]]] = [
        (options.storms, lambda: replay_csv(found.storms)),
        (options.months, lambda: replay_csv(found.months)),
        (options.html, lambda: replay_page(study, system)),
    ]
    texts = [(path, text()) for path, text in written if path is not None]
    pictures: list[tuple[Path | None, Callable[[], dict[str, Any]]]] = [
        (options.picture, lambda: replay_spec(study, system)),
        (options.storm_picture, lambda: storm_spec(study, system)),
    ]
    drawn = [(path, picture_bytes(path, spec())) for path, spec in pictures if path is not None]
    for path, text in texts:
        write_text(path, text)
    for path, data in drawn:
        write_bytes(path, data)
    if options.json:
        print_json(replay_form(study))
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


COMMAND = Command(
    "replay",
    "years of the record through the pit of a home",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --storms storms.csv --months months.csv",
        "homes --compared homes.csv",
        "home.toml --parted-at 1995",
    ),
)
