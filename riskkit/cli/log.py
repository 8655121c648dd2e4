"""``riskkit log``: a log of the pump read as a gauge of what flows into the pit."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json, progress
from riskkit.cli._options import (
    PICTURE,
    TABLE,
    add_home,
    add_json,
    add_unit,
    add_units,
    checked_seed,
    need_apart,
    need_endings,
    picture_bytes,
    rain_files,
)
from riskkit.errors import collect_warnings
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home(parser)
    parser.add_argument("log", type=Path, metavar="FILE",
                        help='log of the pump (CSV): "time,running" with 1 and 0, or '
                        '"time,level_in"')  # fmt: skip
    parser.add_argument("--rain", type=Path, metavar="RECORD",
                        help="rain record of the same days (CSV)")  # fmt: skip
    add_unit(parser)
    parser.add_argument("--picture", type=Path, metavar="FILE",
                        help="write the chart, *.svg or *.png")  # fmt: skip
    parser.add_argument("--inflow", type=Path, metavar="FILE",
                        help="write the inflow against time (CSV)")  # fmt: skip
    parser.add_argument("--save", action="store_true",
                        help="enter the results in the home file")  # fmt: skip
    parser.add_argument(
        "--seed", type=int, default=1, help="random seed of the variants (default 1)"
    )
    add_units(parser)
    add_json(parser)


def _run(options: argparse.Namespace) -> int:
    from riskkit.files import write_bytes, write_text
    from riskkit.gauge.files import log_study
    from riskkit.gauge.observed import home_with_log
    from riskkit.home.home import load_home
    from riskkit.home.saving import save_home
    from riskkit.report.log_chart import log_spec
    from riskkit.report.log_words import entered_line, log_form, print_log

    seed = checked_seed(options.seed)
    home = load_home(options.home, outside=options.outside)
    inputs = [options.home, options.log, options.rain, *rain_files(home, options.home)]
    need_apart([options.picture, options.inflow], inputs)
    need_endings(options, picture=PICTURE, inflow=TABLE)
    system = UnitSystem(options.units)
    with progress() as tell, collect_warnings():
        study = log_study(home, options.log, options.rain, unit=options.unit, seed=seed, tell=tell)
    if (
        options.save and study.misfit is not None
    ):  # nothing of another home is entered into this one
        raise study.misfit
    found, storm = study.found, study.storm
    misfit = "" if study.misfit is None else str(study.misfit)
    picture = None
    if options.picture is not None:
        picture = picture_bytes(options.picture, log_spec(found, system))
    if options.inflow is not None:
        write_text(options.inflow, found.to_frame().to_csv(float_format="%.6g"))
    if picture is not None:
        write_bytes(options.picture, picture)
    if options.save:
        save_home(home_with_log(home, found, storm, system), options.home, home)
    if options.json:
        print_json(log_form(found, storm, misfit=bool(misfit)))
    else:
        print_log(found, open_console(), system, study.told, misfit)
        if options.save:
            sys.stdout.write(entered_line(found, storm, options.home.name, system) + "\n")
    return 0


COMMAND = Command(
    "log",
    "use a pump log as a gauge of the inflow",
    _add_options,
    _run,
    examples=(
        "home.toml pump.csv",
        "home.toml pump.csv --picture inflow.svg --save",
    ),
)
