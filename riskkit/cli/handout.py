"""``riskkit handout``: a handout for the owner or a sheet for the estimator, to print."""

from __future__ import annotations

import argparse
import datetime
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._console import progress
from riskkit.cli._options import (
    PAGE,
    add_climate,
    add_home_and_rain,
    add_units,
    day,
    need_apart,
    need_endings,
    rain_files,
    rain_of,
)
from riskkit.errors import InputError
from riskkit.quantities.units import UnitSystem

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home_and_rain(parser)
    add_climate(parser)
    parser.add_argument("--for", dest="reader", choices=["owner", "estimator"], default="owner")
    parser.add_argument("--pdf", type=Path, metavar="FILE", help="PDF to write")
    parser.add_argument("--html", type=Path, metavar="FILE", help="page to write")
    add_units(parser)
    parser.add_argument(
        "--paper", choices=["letter", "a4"], help="paper size of the PDF (default by the units)"
    )
    parser.add_argument("--date", type=day, metavar="DAY", help="date shown (default today)")


def _run(options: argparse.Namespace) -> int:
    system = UnitSystem(options.units)
    if options.pdf is None and options.html is None:
        raise InputError("handout", "there is no file to write", "give --pdf FILE or --html FILE")
    outputs = [options.pdf, options.html]
    need_apart(outputs, [options.home, options.rain, options.table])
    need_endings(options, pdf=(".pdf",), html=PAGE)

    from riskkit.assessment import assess
    from riskkit.evidence.standing import standing
    from riskkit.files import write_bytes, write_text
    from riskkit.home.company import find_company
    from riskkit.home.home import load_home
    from riskkit.options.observed import observations_effect
    from riskkit.options.ranking import rank_for
    from riskkit.options.remedies import try_remedies
    from riskkit.report.handout import estimator_sheet, owner_sheet
    from riskkit.report.sheet import Paper, sheet_html, sheet_pdf, with_company

    paper = Paper.LETTER if system is UnitSystem.US else Paper.A4
    if options.paper is not None:
        paper = Paper.LETTER if options.paper == "letter" else Paper.A4
    with progress() as tell:
        home = load_home(options.home, outside=options.outside)
        need_apart(outputs, rain_files(home, options.home))
        company = find_company(options.home.parent)
        rain = rain_of(home, options)
        answer = assess(home, rain, progress=tell)
        write = owner_sheet if options.reader == "owner" else estimator_sheet
        shown = options.date or datetime.date.today()
        tried = try_remedies(answer, progress=tell)
        ranking = rank_for(answer, progress=tell)
        effect = observations_effect(answer, rain, progress=tell) if standing(home) else None
        sheet = write(answer, tried, shown, system, ranking, effect)
        sheet = with_company(sheet, company)
        if options.pdf is not None:
            write_bytes(options.pdf, sheet_pdf(sheet, paper))
        if options.html is not None:
            write_text(options.html, sheet_html(sheet))
    return 0


COMMAND = Command(
    "handout",
    "write a sheet to print",
    _add_options,
    _run,
    examples=(
        "home.toml --pdf owner.pdf",
        "home.toml --for estimator --paper a4 --pdf sheet.pdf",
    ),
)
