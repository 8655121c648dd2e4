"""The command line: one file a command, all of them listed in `riskkit.cli.commands`.

Exit status: 0 done, 2 bad input (and `check` found faults), 130 interrupted.
"""

from __future__ import annotations

import argparse
import gc
import os
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any, NoReturn

from riskkit.cli._command import Command
from riskkit.cli._console import INTERRUPTED, forget_output, prepare_output, tell_steps
from riskkit.cli._options import with_leave
from riskkit.cli.commands import COMMANDS
from riskkit.errors import InputError, RiskkitError
from riskkit.version import __version__

__all__ = ["main"]


class _OneLine(argparse.ArgumentParser):
    """Refuses in one sentence; what there is to choose from is told by ``--help``."""

    def __init__(self, *arguments: Any, **options: Any) -> None:
        super().__init__(*arguments, **options)
        self.register("type", int, _whole_number)
        self.register("type", float, _number)

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        if action.choices is None or value in action.choices:
            return
        shown, known = f"{value!r:.60}", ", ".join(map(str, action.choices))
        if isinstance(action.choices, Mapping):  # the commands, each with its own parser
            what = f"{shown}: there is no such command; the commands are {known}"
            raise argparse.ArgumentError(None, what)
        named = action if action.option_strings else None
        what = f"{shown} is not a choice; the choices are {known}"
        raise argparse.ArgumentError(named, what)

    def error(self, message: str) -> NoReturn:
        text = message.removeprefix("argument ")
        text = f"{text[:1].upper()}{text[1:]}" if text == message else text
        print(f"riskkit: {text}; see {self.prog} --help.", file=sys.stderr)  # noqa: T201 - it prints
        raise SystemExit(2)


def _whole_number(text: str) -> int:
    try:
        return int(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is not a whole number") from None


def _number(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r:.60} is not a number") from None


def _examples(command: Command) -> str | None:
    if not command.examples:
        return None
    return "\n".join(
        ["for example:", *(f"  riskkit {command.name} {one}".rstrip() for one in command.examples)]
    )


def _parser() -> argparse.ArgumentParser:
    parser = _OneLine(
        prog="riskkit",
        description="Will the sump pump carry the storms of this place, and how many minutes pass "
        "from the high-water alarm to water on the floor if it stops?",
    )
    parser.add_argument("--version", action="version", version=f"riskkit {__version__}")
    parsers = parser.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for command in COMMANDS:
        one = parsers.add_parser(
            command.name,
            help=command.help,
            description=f"{command.help[:1].upper()}{command.help[1:]}.",
            epilog=_examples(command),
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.add_options(one)
        one.add_argument("-v", "--verbose", action="store_true",
                         help="say each step, with its time, on the error output")  # fmt: skip
        one.set_defaults(run=command.run)
    return parser


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
    options = argparse.Namespace()
    try:
        prepare_output()
        parser = _parser()
        if "_ARGCOMPLETE" in os.environ:  # a shell asks what could be typed next
            import argcomplete

            argcomplete.autocomplete(parser)
        options = parser.parse_args(arguments)
        tell_steps(verbose=options.verbose)
        status: int = options.run(options)
        sys.stdout.flush()
    except RiskkitError as error:
        return _refuse(_with_option(error, options))
    except KeyboardInterrupt:
        _refuse("stopped; nothing was written")
        return INTERRUPTED
    except BrokenPipeError:  # the reader, such as `head`, has seen enough
        forget_output()
        return 0
    except OSError as error:  # such as a full disk behind the output
        forget_output()
        return _refuse(f"it cannot be read or written: {error.strerror or 'an unknown reason'}.")
    except MemoryError:
        return _refuse(
            "there is not enough memory for this; try fewer variants (--draws) or a shorter record."
        )
    except RecursionError:
        return _refuse("something in the files is nested too deeply.")
    finally:
        if collecting:
            gc.enable()
    return status


_OPTIONS = {
    "assess": "riskkit assess",
    "headline_yr": "--storm",
    "look": "riskkit rain",
    "neighbour_unit": "--neighbour-unit in",
    "official_series": "--official-series",
    "official_unit": "--official-unit in",
    "record": "--rain",
    "table": "--table",
    "unit": "--unit in",
}


_SAID = {
    "age of the pump": "pump_age",
    "time between visits": "visits_every",
    "chance that somebody hears the alarm": "hears",
    "time until somebody lifts the water away": "acts_after",
    "area": "area",
    "draws": "draws",
    "budget": "budget",
    "currency": "currency",
    "flood": "flood_price",
    "visit": "visit_price",
    "repair": "repair_price",
    "failure": "failure_price",
    "partition": "part_size",
    "storms": "storms",
    "workers": "workers",
    "visits a week": "visits_per_week",
    "past storms": "past",
    "storm": "storm",
    "nights": "nights",
    "time from a call": "within",
    "share of the calls": "share",
    "year": "parted_at",
    "years": "generated",
    "place": "near",
    "distance": "within",
    "official unit": "official_unit",
    "official series": "official_series",
    "unit": "unit",
    "neighbour unit": "neighbour_unit",
}
"""By what the library calls a value: the option that told it."""

_NAMES_A_FILE = ("rain", "table", "neighbour", "temperature", "truth", "run")


def _with_option(error: RiskkitError, options: argparse.Namespace) -> str:
    """Say how the argument that the library speaks of is written on the command line."""
    if not isinstance(error, InputError):
        return with_leave(error)
    where, argument = _on_the_line(error.where, options), error.argument
    told = InputError(where, error.what, error.right, argument=argument)
    option = _OPTIONS.get(argument)
    return f"{str(told)[:-1]}, with {option}." if option else with_leave(told)


def _on_the_line(where: str, options: argparse.Namespace) -> str:
    """Put the option that told a value, or named a file, before it or in its place."""
    name = _SAID.get(where, "")
    if getattr(options, name or "none", None) is not None:
        return f"--{name.replace('_', '-')}"
    for name in _NAMES_A_FILE:
        file = getattr(options, name, None)
        if file is not None and (where == str(file) or where.startswith(f"{file}, ")):
            return f"--{name.replace('_', '-')}, {where}"
    home = getattr(options, "home", None)
    if where == "rain" and isinstance(home, Path):  # a section that is not in the home file
        return f"{home.name}, {where}"
    return where


def _refuse(text: str) -> int:
    print(f"riskkit: {text}", file=sys.stderr)  # noqa: T201 - the command line prints
    return 2


if __name__ == "__main__":
    sys.exit(main())
