"""``riskkit season``: storms fitted to a record, how well they hold, and a generated record."""

from __future__ import annotations

import argparse
import gzip
import json
import sys
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.errors import InputError
from riskkit.quantities.text import cleaned
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted

if TYPE_CHECKING:
    from rich.console import Console


__all__ = ["add_season_options", "run_season"]

START_YEAR = 2001
"""First year of a generated record; the reader takes years up to 2200."""

_MOST_YEARS = 200
_USUAL_YEARS = 60


def add_season_options(parser: argparse.ArgumentParser) -> None:
    """Add the options of the command.

    Parameters
    ----------
    parser : argparse.ArgumentParser
        The parser of ``riskkit season``.
    """
    parser.add_argument("record", type=Path, metavar="RECORD",
                        help="rain record, hourly or finer (CSV, or a stored one)")  # fmt: skip
    parser.add_argument("--out", type=Path, metavar="FILE",
                        help="write a generated record, such as rain.csv.gz")  # fmt: skip
    parser.add_argument("--years", type=int, metavar="N",
                        help=f"how long it is (default {_USUAL_YEARS})")  # fmt: skip
    parser.add_argument("--seed", type=int, help="of the generated record (default 1)")
    parser.add_argument(
        "--unit", help="unit of the record where its file does not say, as in or mm"
    )


def run_season(
    options: argparse.Namespace,
    console: Callable[[], Console],
    progress: Callable[[], AbstractContextManager[Callable[[str], None]]],
) -> int:
    """Fit storms to a record, compare, and write a generated record where one is asked for.

    Parameters
    ----------
    options : argparse.Namespace
        The options of ``riskkit season``.
    console : callable
        Makes the console to print on.
    progress : callable
        Tells on the terminal what is being done.

    Returns
    -------
    int
        Exit status 0 [-].

    Raises
    ------
    InputError
        Where an option is wrong, or seasons cannot be told from the record.
    """
    years, seed = _checked(options)
    from riskkit.files import need_writable, write_bytes
    from riskkit.rainfall.readers.record import read_rain
    from riskkit.report.season import (
        generated_csv,
        print_seasons,
        season_form,
        written_sentence,
    )
    from riskkit.seasons.check import check_seasons
    from riskkit.seasons.fit import fit_storms, generated_years, sight_of

    out: Path | None = options.out
    written = ""
    if out is not None:
        need_writable(out, [options.record])
    with progress() as tell:
        tell("reading the record")
        record = read_rain(options.record, unit=options.unit)
        sight = sight_of(record, options.record.name)
        seasons = fit_storms(sight, tell)
        check = check_seasons(seasons, sight, tell)
        if out is not None:
            tell("writing the generated record")
            made = generated_years(seasons, years, START_YEAR, seed)
            source = cleaned(options.record.name, 255)  # it becomes part of a line
            text = generated_csv(made, seasons, check, source, seed)
            written = written_sentence(check, made)
            data = text.encode("utf-8")
            packed = out.suffix == ".gz"  # without name and time inside: same text, same bytes
            write_bytes(out, gzip.compress(data, compresslevel=9, mtime=0) if packed else data)
    if options.json:
        sys.stdout.write(json.dumps(season_form(check, seasons), indent=1, allow_nan=False) + "\n")
        return 0
    there = console()
    print_seasons(check, there, UnitSystem(options.units))
    if out is not None:
        span = counted(years, "year", "years")
        there.print(f"Written: {out}, {span} from {START_YEAR}, seed {seed}.")
        there.print(written)
    return 0


def _checked(options: argparse.Namespace) -> tuple[int, int]:
    """Refuse wrong options at once; return the years to generate, and the seed."""
    seed: int = 1 if options.seed is None else options.seed
    if seed < 0:
        raise InputError("--seed", f"{seed} is below zero", "for example 1")
    if options.out is None:
        for name in ("years", "seed"):
            if getattr(options, name) is not None:
                raise InputError(f"--{name}", "there is no file to write", "name it with --out")
        return 0, seed
    name = options.out.name.lower()
    if not name.endswith((".csv", ".csv.gz")):
        raise InputError(
            "--out", f"{options.out.name!r} is no CSV", "write rain.csv or rain.csv.gz"
        )
    years: int = _USUAL_YEARS if options.years is None else options.years
    if not 1 <= years <= _MOST_YEARS:
        raise InputError(
            "--years", f"{years} years are outside 1 to {_MOST_YEARS}", "for example 60"
        )
    return years, seed
