"""``riskkit reminders``: dates to remember, as a calendar file."""

from __future__ import annotations

import argparse
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._options import add_home, day, need_apart, need_endings, need_past, rain_files
from riskkit.errors import InputError

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    add_home(parser)
    parser.add_argument(
        "--ics", type=Path, metavar="FILE", required=True, help="calendar file to write"
    )
    parser.add_argument("--for", dest="reader", choices=["owner", "company"],
                        help="dates for the owner only, or for the company only")  # fmt: skip
    parser.add_argument("--from", dest="start", type=day, metavar="DAY",
                        help="count from this day (default the last visit)")  # fmt: skip


def _run(options: argparse.Namespace) -> int:
    from riskkit.files import write_bytes
    from riskkit.home.home import load_home
    from riskkit.report.calendar import READERS, reminders_calendar

    need_apart([options.ics], [options.home])
    need_endings(options, ics=(".ics",))
    home = load_home(options.home, outside=options.outside)
    need_apart([options.ics], rain_files(home, options.home))
    if options.start is None and not home.visit:
        raise InputError(options.home.name, "it holds no visit", "give a day with --from")
    need_past(home, options.home)
    readers = READERS if options.reader is None else (options.reader,)
    write_bytes(options.ics, reminders_calendar(home, options.start, readers))
    return 0


COMMAND = Command(
    "reminders",
    "write a calendar file of service reminders",
    _add_options,
    _run,
    examples=("home.toml --ics dates.ics",),
)
