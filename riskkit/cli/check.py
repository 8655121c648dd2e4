"""``riskkit check``: everything that is wrong with a home file."""

from __future__ import annotations

import argparse
import sys

from riskkit.cli._command import Command
from riskkit.cli._options import add_home
from riskkit.quantities.text import cleaned

__all__ = ["COMMAND"]


def _run(options: argparse.Namespace) -> int:
    from riskkit.home.home import check_home, load_home

    name, misfits, notes = cleaned(options.home.name, 255), list[str](), list[str]()
    lines = [str(problem.within(name)) for problem in check_home(options.home)]
    if not lines:
        from riskkit.cli._checking import conflicts, refusals, remarks

        home = load_home(options.home, outside=options.outside)
        lines = [_of(name, line) for line in refusals(home, options.home.parent)]
        if not lines:
            misfits = [f"{name}, does not fit: {line}" for line in conflicts(home)]
        notes = [_of(name, line) for line in remarks(home)]
    said = lines or misfits or [f"{name}: nothing is wrong."]
    sys.stdout.write("\n".join([*said, *notes]) + "\n")
    return 2 if lines else 0


def _of(name: str, line: str) -> str:
    """Say of which file a line is: a comma before a place in it, a colon before a sentence."""
    return f"{name}: {line}" if line[:1].isupper() else f"{name}, {line}"


COMMAND = Command(
    "check",
    "say what is wrong with a home file",
    add_home,
    _run,
    examples=("home.toml",),
)
