"""The command line.

==========================  ==================================================================
``riskkit assess HOME``     does the pump carry the storms, and how long from alarm to floor
``riskkit rain RECORD``     quality of a rain record and its table of depths
``riskkit season RECORD``   storms fitted to a record by month, and a record generated from them
``riskkit rain --near ...`` public records near a place; ``--fetch`` keeps one on this machine
``riskkit replay HOME``     the years of the record through this pit: months, storms, trends
``riskkit ground HOME``     the ground before big storms: wetness, snow and water table by month
``riskkit visit HOME``      what the last visit measured, and the answer before and after
``riskkit handout HOME``    handout for the owner or sheet for the estimator, to print
``riskkit reminders HOME``  dates to remember, as a calendar file
``riskkit check HOME``      what is wrong with a home file
``riskkit schema WHAT``     JSON Schema of a home file or of an answer
``riskkit app``             the pages for estimator, technician and analyst, in a browser
==========================  ==================================================================

Exit status: 0 done, 2 bad input (and `check` found faults), 130 interrupted.
"""

from __future__ import annotations

import argparse
import datetime
import gc
import json
import sys
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._console import forget_output, open_console, prepare_output, progress
from riskkit.cli.rain import (
    add_climate,
    add_look_options,
    add_near_options,
    add_official,
    list_or_fetch,
    official_series,
    wanted_climate,
    wanted_record,
)
from riskkit.cli.replay import add_replay_options, run_replay
from riskkit.cli.season import add_season_options, run_season
from riskkit.errors import InputError, NoPitError, RiskkitError
from riskkit.quantities.components import Component
from riskkit.quantities.text import cleaned
from riskkit.quantities.units import UnitSystem
from riskkit.version import __version__

if TYPE_CHECKING:
    from riskkit.assessment import DesignRain
    from riskkit.home.home import Home

__all__ = ["main"]

_PATTERNS = {
    "nested": "ALTERNATING_BLOCK",
    "type-i": "NRCS_I",
    "type-ia": "NRCS_IA",
    "type-ii": "NRCS_II",
    "type-iii": "NRCS_III",
    "first-quarter": "HUFF_1",
    "second-quarter": "HUFF_2",
    "third-quarter": "HUFF_3",
    "fourth-quarter": "HUFF_4",
    "even": "UNIFORM",
}


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="riskkit",
        description="Will the sump pump carry the storms of this place, and how many minutes pass "
        "from the high-water alarm to water on the floor if it stops?",
    )
    parser.add_argument("--version", action="version", version=f"riskkit {__version__}")
    commands = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")

    assess = commands.add_parser("assess", help="answer for one home")
    _home_and_rain(assess)
    assess.add_argument(
        "--pattern",
        choices=sorted(_PATTERNS),
        default="nested",
        metavar="SHAPE",
        help=f"shape of the storms (default nested): {', '.join(_PATTERNS)}",
    )
    assess.add_argument(
        "--draws", type=int, default=512, help="a power of two from 16 to 65536 (default 512)"
    )
    assess.add_argument("--seed", type=int, default=1, help="of the draws (default 1)")
    assess.add_argument("--storm", type=float, default=10.0, metavar="YEARS",
                        help="storm of the first sentence and the chart (default 10)")  # fmt: skip
    add_climate(assess)
    _common(assess)
    assess.add_argument("--html", type=Path, metavar="FILE", help="write a page with a chart")
    assess.set_defaults(run=_assess)

    rain = commands.add_parser("rain", help="quality and depths of a rain record")
    rain.add_argument("record", type=Path, nargs="?", metavar="RECORD",
                      help="rain record (CSV, or one that --fetch stored)")  # fmt: skip
    add_near_options(rain)
    add_look_options(rain)
    rain.add_argument("--unit", help="unit of the record where its file does not say, as in or mm")
    rain.add_argument("--seed", type=int, default=1, help="of the limits (default 1)")
    _common(rain)
    rain.set_defaults(run=_rain)

    ground = commands.add_parser("ground", help="wetness, snow and water table before big storms")
    _home_and_rain(ground)
    _common(ground)
    ground.set_defaults(run=_ground, climate=None)

    replay = commands.add_parser("replay", help="years of the record through the pit of a home")
    _home_and_rain(replay)
    add_replay_options(replay)
    _common(replay)
    replay.set_defaults(run=lambda given: run_replay(given, _rain_of, _need_apart), climate=None)

    season = commands.add_parser("season", help="storms by month, and a generated record")
    add_season_options(season)
    _common(season)
    season.set_defaults(run=lambda given: run_season(given, open_console, progress))

    visit = commands.add_parser("visit", help="enter what the last visit measured")
    _home_and_rain(visit)
    add_climate(visit)
    visit.add_argument("--units", choices=["us", "metric"], default="us")
    visit.add_argument("--save", action="store_true", help="write the values into the home file")
    visit.set_defaults(run=_visit)

    handout = commands.add_parser("handout", help="write a sheet to print")
    _home_and_rain(handout)
    add_climate(handout)
    handout.add_argument("--for", dest="reader", choices=["owner", "estimator"], default="owner")
    handout.add_argument("--pdf", type=Path, metavar="FILE", help="PDF to write")
    handout.add_argument("--html", type=Path, metavar="FILE", help="page to write")
    handout.add_argument("--units", choices=["us", "metric"], default="us")
    handout.add_argument("--paper", choices=["letter", "a4"], help="of the PDF (else by units)")
    handout.add_argument("--date", type=_day, metavar="DAY", help="day shown (default today)")
    handout.set_defaults(run=_handout)

    reminders = commands.add_parser("reminders", help="write dates to remember")
    reminders.add_argument("home", type=Path, metavar="HOME", help="home file (TOML)")
    reminders.add_argument("--ics", type=Path, metavar="FILE", required=True, help="file to write")
    reminders.add_argument("--for", dest="reader", choices=["owner", "company"],
                           help="for one reader only")  # fmt: skip
    reminders.add_argument("--from", dest="start", type=_day, metavar="DAY",
                           help="count from this day (default the last visit)")  # fmt: skip
    reminders.set_defaults(run=_reminders)

    check = commands.add_parser("check", help="say what is wrong with a home file")
    check.add_argument("home", type=Path, metavar="HOME", help="home file (TOML)")
    check.set_defaults(run=_check)

    schema = commands.add_parser("schema", help="print the JSON Schema of a file")
    schema.add_argument("what", choices=["home", "answer"])
    schema.set_defaults(run=_schema)

    app = commands.add_parser("app", help="serve the pages on this machine")
    app.add_argument("--port", type=int, default=0, help="port (default: any that is free)")
    app.add_argument("--folder", type=Path, default=Path(), metavar="FOLDER",
                     help="where home files are (default: here)")  # fmt: skip
    app.set_defaults(run=_app)
    return parser


def _home_and_rain(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("home", type=Path, metavar="HOME", help="home file (TOML)")
    parser.add_argument("--rain", type=Path, metavar="RECORD", help="rain record (CSV)")
    parser.add_argument("--table", type=Path, metavar="FILE", help="official table of depths (CSV)")
    add_official(parser)
    parser.add_argument(
        "--unit", help="unit of the record where its file does not say, as in or mm"
    )


def _rain_of(home: Home, options: argparse.Namespace, seed: int = 1) -> DesignRain:
    from riskkit.assessment import design_rain

    return design_rain(
        home,
        options.home.parent,
        record=options.rain,
        table=options.table,
        unit=options.unit,
        official_unit=options.official_unit,
        official_series=official_series(options),
        seed=seed,
        climate=wanted_climate(options),
    )


def _day(text: str) -> datetime.date:
    try:
        return datetime.date.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(
            f"{text!r} is not a day; write it like 2026-04-14"
        ) from None


def _common(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "--units", choices=["us", "metric"], default="us", help="units of the output (default us)"
    )
    parser.add_argument("--json", action="store_true", help="print JSON instead of tables")


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command line.

    Parameters
    ----------
    arguments : sequence of str, optional
        Instead of those of the process.

    Returns
    -------
    int
        Exit status.
    """
    # a command lives for a second or two, and most of that is importing: collecting garbage
    # meanwhile would take a tenth of it
    collecting = gc.isenabled()
    gc.disable()
    try:
        prepare_output()
        options = _parser().parse_args(arguments)
        status: int = options.run(options)
        sys.stdout.flush()
    except RiskkitError as error:
        return _refuse(str(error))
    except KeyboardInterrupt:
        _refuse("stopped; nothing was written")
        return 130
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        forget_output()
        return 0
    except OSError as error:  # such as a full disk behind the output
        forget_output()
        return _refuse(f"it cannot be read or written: {error.strerror or 'an unknown reason'}.")
    except MemoryError:
        return _refuse("there is not enough memory for this; try fewer draws or a shorter record.")
    except RecursionError:
        return _refuse("something in the files is nested too deeply.")
    finally:
        if collecting:
            gc.enable()
    return status


def _refuse(text: str) -> int:
    print(f"riskkit: {text}", file=sys.stderr)  # noqa: T201 - the command line prints
    return 2


def _print_json(form: dict[str, object]) -> None:
    sys.stdout.write(json.dumps(form, indent=1, allow_nan=False) + "\n")


def _assess(options: argparse.Namespace) -> int:
    from riskkit.assessment import Pattern, Settings, assess
    from riskkit.home.home import load_home

    system = UnitSystem(options.units)
    _need_apart([options.html], [options.home, options.rain, options.table])
    storms = Settings.return_periods_yr
    if options.storm not in storms:
        raise InputError(
            "--storm",
            f"{options.storm:g} years is not one of the storms looked at",
            f"they are {', '.join(f'{years:g}' for years in storms)} years",
        )
    settings = Settings(
        headline_yr=options.storm,
        pattern=Pattern[_PATTERNS[options.pattern]],
        n_draws=options.draws,
        seed=_seed(options.seed),
    )
    with progress() as tell:
        home = load_home(options.home)
        _need_apart([options.html], _rain_files(home, options.home))
        if home.lacks(Component.PIT) and options.html is None:  # a page has nothing to show
            return _say_no_pit(home, in_json=options.json)
        tell("reading the rain")
        rain = _rain_of(home, options, settings.seed)
        answer = assess(home, rain, settings, progress=tell)
        if options.html is not None:
            from riskkit.files import write_text
            from riskkit.report.page import assessment_page

            tell("drawing the page")
            write_text(options.html, assessment_page(answer, system))
    if options.json:
        from riskkit.report.json import assessment_form

        _print_json(assessment_form(answer))
        return 0
    from riskkit.report.terminal import print_assessment, print_comparison

    console = open_console()
    print_assessment(answer, console, system)
    if rain.beside is not None:
        from riskkit.rainfall.extremes import compare_tables

        print_comparison(compare_tables(rain.beside, rain.used), console)
    return 0


def _say_no_pit(home: Home, *, in_json: bool) -> int:
    words = str(NoPitError())
    if in_json:
        from riskkit.report.json import no_pit_form

        _print_json(no_pit_form(home, words))
    else:
        sys.stdout.write(f"{home.name}\n{words}\n")
    return 0


def _rain(options: argparse.Namespace) -> int:
    from riskkit.cli.rain import look_at_record

    path = wanted_record(options)
    if path is None:
        with progress() as tell:
            path = list_or_fetch(options, open_console, tell)
        if path is None:
            return 0
    _need_apart([options.chart], [path, options.table, options.neighbour])
    options.seed = _seed(options.seed)
    look_at_record(path, options)
    return 0


def _ground(options: argparse.Namespace) -> int:
    from riskkit.antecedent.months import ground_by_month
    from riskkit.home.home import load_home
    from riskkit.report.ground import ground_form, print_ground

    home = load_home(options.home)
    with progress() as tell:
        tell("reading the rain")
        rain = _rain_of(home, options)
        tell("following the days")
        ground = ground_by_month(home, rain.weather, rain.levels)
    if options.json:
        _print_json(ground_form(ground))
    else:
        print_ground(ground, open_console(), UnitSystem(options.units))
    return 0


def _visit(options: argparse.Namespace) -> int:
    from riskkit.assessment import assess
    from riskkit.home.home import load_home
    from riskkit.home.saving import save_home
    from riskkit.home.visits import last_visit
    from riskkit.report.visit_words import visit_report
    from riskkit.report.words import sentence
    from riskkit.risk.evidence import home_with_visit, home_without_visit

    home = load_home(options.home)
    _need_past(home, options.home)
    visit = last_visit(home.visit)
    if visit is None:
        raise InputError(options.home.name, "it holds no visit", "write one as [[visit]]")
    system = UnitSystem(options.units)
    read = home_with_visit(home, visit, system)
    with progress() as tell:
        rain = _rain_of(home, options)
        before = sentence(assess(home_without_visit(home, visit), rain, progress=tell), system)
        answer = assess(read.home, rain, progress=tell)
    sys.stdout.write("\n".join(visit_report(visit, read, answer, before, system)) + "\n")
    if options.save:
        save_home(read.home, options.home, home, visit=visit)
    return 0


def _handout(options: argparse.Namespace) -> int:
    from riskkit.assessment import assess
    from riskkit.files import write_bytes, write_text
    from riskkit.home.home import load_home
    from riskkit.options.remedies import try_remedies
    from riskkit.report.handout import estimator_sheet, owner_sheet
    from riskkit.report.sheet import Paper, sheet_html, sheet_pdf

    system = UnitSystem(options.units)
    if options.pdf is None and options.html is None:
        raise InputError("handout", "there is no file to write", "give --pdf FILE or --html FILE")
    outputs = [options.pdf, options.html]
    _need_apart(outputs, [options.home, options.rain, options.table])
    paper = Paper.LETTER if system is UnitSystem.US else Paper.A4
    if options.paper is not None:
        paper = Paper.LETTER if options.paper == "letter" else Paper.A4
    with progress() as tell:
        home = load_home(options.home)
        _need_apart(outputs, _rain_files(home, options.home))
        rain = _rain_of(home, options)
        answer = assess(home, rain, progress=tell)
        write = owner_sheet if options.reader == "owner" else estimator_sheet
        day = options.date or datetime.date.today()
        sheet = write(answer, try_remedies(answer, progress=tell), day, system)
        if options.pdf is not None:
            write_bytes(options.pdf, sheet_pdf(sheet, paper))
        if options.html is not None:
            write_text(options.html, sheet_html(sheet))
    return 0


def _reminders(options: argparse.Namespace) -> int:
    from riskkit.files import write_bytes
    from riskkit.home.home import load_home
    from riskkit.report.calendar import READERS, reminders_calendar

    _need_apart([options.ics], [options.home])
    home = load_home(options.home)
    _need_apart([options.ics], _rain_files(home, options.home))
    if options.start is None and not home.visit:
        raise InputError(options.home.name, "it holds no visit", "give a day with --from")
    _need_past(home, options.home)
    readers = READERS if options.reader is None else (options.reader,)
    write_bytes(options.ics, reminders_calendar(home, options.start, readers))
    return 0


def _check(options: argparse.Namespace) -> int:
    from riskkit.home.home import check_home, load_home

    name, misfits, notes = cleaned(options.home.name, 255), list[str](), list[str]()
    lines = [str(problem.within(name)) for problem in check_home(options.home)]
    if not lines:
        from riskkit.cli._checking import conflicts, refusals, remarks

        home = load_home(options.home)
        lines = [f"{name}, {line}" for line in refusals(home, options.home.parent)]
        if not lines:
            misfits = [f"{name}, does not fit: {line}" for line in conflicts(home)]
        notes = [f"{name}, {line}" for line in remarks(home)]
    said = lines or misfits or [f"{name}: nothing is wrong."]
    sys.stdout.write("\n".join([*said, *notes]) + "\n")
    return 2 if lines else 0


def _schema(options: argparse.Namespace) -> int:
    if options.what == "home":
        from riskkit.home.home import Home

        _print_json(Home.model_json_schema())
    else:
        from riskkit.report.answer_form import answer_schema

        _print_json(answer_schema())
    return 0


def _app(options: argparse.Namespace) -> int:
    from riskkit.cli.serve import serve

    def tell(text: str) -> None:
        sys.stdout.write(f"{text}\n")
        sys.stdout.flush()

    return serve(options.folder, options.port, tell)


def _seed(seed: int) -> int:
    if seed < 0:
        raise InputError("--seed", f"{seed} is below zero", "for example 1")
    return seed


def _need_apart(outputs: Sequence[Path | None], inputs: Iterable[Path | None]) -> None:
    """Refuse at once what could not be written in the end, or would overwrite what is read."""
    from riskkit.files import need_writable

    taken = [path for path in inputs if path is not None]
    for path in outputs:
        if path is not None:
            need_writable(path, taken)
            taken.append(path)


def _need_past(home: Home, path: Path) -> None:
    from riskkit.home.visits import need_past

    try:
        need_past(home.visit)
    except InputError as error:
        raise error.within(path.name) from None


def _rain_files(home: Home, path: Path) -> list[Path]:
    return [path.parent / name for name in home.files]


if __name__ == "__main__":
    sys.exit(main())
