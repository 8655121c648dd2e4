"""Where the command line prints: terminals, files and pipes, whole or broken."""

from __future__ import annotations

import codecs
import contextlib
import io
import json
import logging
import os
import sys
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from riskkit.errors import InputError

if TYPE_CHECKING:
    from rich.console import Console


_LOG = logging.getLogger("riskkit")
INTERRUPTED = 130
"""Exit status of a command that was stopped."""

_PLAIN = {
    "·": "*",
    "–": "-",
    "—": "-",
    "−": "-",
    "…": "...",
    "≤": "<=",
    "≥": ">=",
    "²": "2",
    "³": "3",
}


def tell_steps(*, verbose: bool) -> None:
    """Write each step with its time to the error output, a line each, where that is asked for."""
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(logging.Formatter("%(asctime)s %(message)s"))
    _LOG.handlers[:] = [handler] if verbose else []
    _LOG.setLevel(logging.INFO if verbose else logging.WARNING)


def prepare_output() -> None:
    """Let letters that a terminal lacks become plain ones; refuse a closed output."""
    if _is_closed(sys.stderr):
        sys.stderr = io.StringIO()
    if _is_closed(sys.stdout):
        sys.stdout = io.StringIO()
        raise InputError("output", "it is closed", "give it a terminal, a file or a pipe")
    if isinstance(sys.stdout, io.TextIOWrapper):
        codecs.register_error("riskkit", _in_plain_letters)
        sys.stdout.reconfigure(errors="riskkit")


def _in_plain_letters(error: UnicodeError) -> tuple[str, int]:
    """Write "1-9" where the output has no dash, and "?" for other letters it lacks."""
    if not isinstance(error, UnicodeEncodeError):
        raise error
    lacking = error.object[error.start : error.end]
    return "".join(_PLAIN.get(letter, "?") for letter in lacking), error.end


def _is_closed(stream: object) -> bool:
    return stream is None  # so Python shows an output that was closed before it started


def forget_output() -> None:
    """Let nothing more come of what waits to be printed, also while Python ends."""
    with contextlib.suppress(io.UnsupportedOperation):  # an output without a file, as in a notebook
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def open_console() -> Console:
    from rich.console import Console

    class Quiet(Console):
        def on_broken_pipe(self) -> None:  # else it would end the process with status 1
            raise BrokenPipeError

    # a pipe or a file gets whole lines, a terminal its own width
    width = None if sys.stdout.isatty() else 120
    return Quiet(width=width, highlight=False, markup=False, emoji=False)


@contextlib.contextmanager
def progress() -> Iterator[Callable[[str], None]]:
    """Tell on the terminal what is being done; say nothing to a pipe, but for ``--verbose``."""
    if _LOG.isEnabledFor(logging.INFO):
        yield _LOG.info
        return
    from rich.console import Console
    from rich.text import Text

    console = Console(stderr=True)
    if not console.is_terminal:
        yield lambda _: None
        return
    with console.status("reading") as status:
        yield lambda text: status.update(Text(text))  # "[/x]" in the name of a station is no markup


def print_json(form: dict[str, object]) -> None:
    """Print an answer as JSON."""
    sys.stdout.write(json.dumps(form, indent=1, allow_nan=False) + "\n")
