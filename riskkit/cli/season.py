"""``riskkit season``: storms fitted to a record, how well they hold, and a generated record."""

from __future__ import annotations

import argparse
import gzip
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import add_json, add_unit, add_units, checked_seed
from riskkit.errors import InputError
from riskkit.quantities.text import cleaned
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import counted

__all__ = ["COMMAND"]

START_YEAR = 2001
"""First year of a generated record; the reader takes years up to 2200."""

_MOST_YEARS = 200
_USUAL_YEARS = 60


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("record", type=Path, metavar="RECORD",
                        help="rain record, hourly or finer (CSV, or a stored one)")  # fmt: skip
    parser.add_argument("--out", type=Path, metavar="FILE",
                        help="write a generated record, such as rain.csv.gz")  # fmt: skip
    parser.add_argument("--years", type=int, metavar="N",
                        help=f"length of the record (default {_USUAL_YEARS})")  # fmt: skip
    parser.add_argument("--seed", type=int, help="random seed of the generated record (default 1)")
    add_unit(parser)
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
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
        print_json(season_form(check, seasons))
        return 0
    there = open_console()
    print_seasons(check, there, UnitSystem(options.units))
    if out is not None:
        span = counted(years, "year", "years")
        there.print(f"Written: {out}, {span} from {START_YEAR}, seed {seed}.")
        there.print(written)
    return 0


def _checked(options: argparse.Namespace) -> tuple[int, int]:
    """Refuse wrong options at once; return the years to generate, and the seed."""
    seed = checked_seed(1 if options.seed is None else options.seed)
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


COMMAND = Command(
    "season",
    "storms by month, and a generated record",
    _add_options,
    _run,
    examples=(
        "rain.csv",
        "rain.csv --out generated.csv --years 60",
    ),
)
