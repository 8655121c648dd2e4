"""``riskkit check``: everything that is wrong with home files."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

from riskkit.cli._command import Command
from riskkit.cli._options import add_outside
from riskkit.cli._side_by_side import home_files
from riskkit.errors import RiskkitError
from riskkit.quantities.text import cleaned

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument(
        "homes", type=Path, nargs="+", metavar="HOME",
        help="home file (TOML); several, or a folder of them",
    )  # fmt: skip
    add_outside(parser)


def _run(options: argparse.Namespace) -> int:
    paths = home_files(options.homes)
    if len(paths) == 1:
        lines, is_wrong = _checked(paths[0], paths[0].name, outside=options.outside)
        sys.stdout.write("\n".join(lines) + "\n")
        return 2 if is_wrong else 0
    names, wrong = [path.name for path in paths], 0
    for path in paths:
        # two of one name are told apart by their folders
        name = path.name if names.count(path.name) == 1 else str(path)
        try:
            lines, is_wrong = _checked(path, name, outside=options.outside)
        except RiskkitError as error:  # a file that cannot be read: the others are still checked
            lines, is_wrong = [str(error)], True
        wrong += is_wrong
        sys.stdout.write("\n".join(lines) + "\n")
        sys.stdout.flush()
    return 2 if wrong else 0


def _checked(path: Path, name: str, *, outside: bool) -> tuple[list[str], bool]:
    """Return what there is to say of a home file, line by line, and whether it is wrong."""
    from riskkit.home.home import check_home, load_home

    name, misfits, notes = cleaned(name, 255), list[str](), list[str]()
    lines = [str(problem.within(name)) for problem in check_home(path)]
    if not lines:
        from riskkit.cli._checking import conflicts, needed_by_replay, refusals, remarks

        home = load_home(path, outside=outside)
        lines = [_of(name, line) for line in refusals(home, path.parent)]
        notes = [_of(name, line) for line in remarks(home)]
        if not lines:
            misfits = [f"{name}, does not fit: {line}" for line in conflicts(home)]
            notes += [_of(name, line) for line in needed_by_replay(home)]
    said = lines or misfits or [f"{name}: nothing is wrong."]
    return [*said, *notes], bool(lines)


def _of(name: str, line: str) -> str:
    """Say of which file a line is: a comma before a place in it, a colon before a sentence."""
    return f"{name}: {line}" if line[:1].isupper() else f"{name}, {line}"


COMMAND = Command(
    "check",
    "say what is wrong with home files",
    _add_options,
    _run,
    examples=("home.toml", "homes"),
)
