"""What a command is: its name, what it does, its options and what it runs."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from dataclasses import dataclass


@dataclass(frozen=True)
class Command:
    """A command of the command line.

    Parameters
    ----------
    name : str
        What is typed after ``riskkit``.
    help : str
        What it does, as ``riskkit --help`` says it.
    add_options : callable
        Adds its options to its parser.
    run : callable
        Does it, and returns the exit status.
    examples : tuple of str
        What may be typed after its name, as the end of its help shows it.
    """

    name: str
    help: str
    add_options: Callable[[argparse.ArgumentParser], None]
    run: Callable[[argparse.Namespace], int]
    examples: tuple[str, ...] = ()
