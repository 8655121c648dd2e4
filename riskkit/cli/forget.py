"""``riskkit forget``: take a home out of everything that is kept of it on this machine."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING

from riskkit.cli._command import Command
from riskkit.quantities.text import cleaned
from riskkit.quantities.variables import counted

if TYPE_CHECKING:
    from riskkit.fleet.forgetting import Traces

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("home", type=Path, metavar="HOME", help="home file (TOML)")
    parser.add_argument("--run", dest="runs", type=Path, nargs="+", default=[], metavar="FOLDER",
                        help="folders of fleet runs that may hold it")  # fmt: skip
    parser.add_argument("--id", metavar="ID",
                        help="id of the home in those runs (default the name of its "
                        "file)")  # fmt: skip
    parser.add_argument("--remove", action="store_true",
                        help="remove it; otherwise only list what would be "
                        "removed")  # fmt: skip


def _run(options: argparse.Namespace) -> int:
    from riskkit.fleet.forgetting import find_traces, remove_traces

    traces = find_traces(options.home, options.runs, options.id)
    if options.remove:
        remove_traces(traces)
    sys.stdout.write("\n".join(_words(traces, removed=options.remove)) + "\n")
    return 0


def _words(traces: Traces, *, removed: bool) -> list[str]:
    lines = ["Removed:" if removed else "Would be removed:"]
    lines += [f"  {cleaned(str(each), 4096)}" for each in (traces.home, *traces.beside)]
    lines += [f"  row {traces.home_id} of {each}" for each in traces.partitions]
    lines += [f"  refused row {traces.home_id} of {each}" for each in traces.refused]
    if traces.replays:
        count = len(traces.replays)
        replays = counted(count, "replay", "replays")
        lines.append(f"  {replays} of it kept on this machine, or of an earlier version")
    if traces.mentions:
        lines.append("Not removed, but its name or id stands there:")
        lines += [f"  {cleaned(str(each), 4096)}" for each in traces.mentions]
    lines.append(
        "Not looked at: logs of the pump and levels, PDF files and pictures of other names, "
        "workbooks, other folders, backups, and what was sent to somebody."
    )
    if not removed:
        lines.append("Nothing was removed; give --remove to remove it. There is no way back.")
    return lines


COMMAND = Command(
    "forget",
    "list or remove what is stored of a home on this machine",
    _add_options,
    _run,
    examples=(
        "home.toml",
        "home.toml --run runs/2026 --remove",
    ),
)
