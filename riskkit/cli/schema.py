"""``riskkit schema``: JSON Schema of a home file or an answer, and the keys of a home file."""

from __future__ import annotations

import argparse

from riskkit.cli._command import Command
from riskkit.cli._console import open_console, print_json

__all__ = ["COMMAND"]


def _add_options(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("what", choices=["home", "keys", "answer", "replay", "replays"])


def _run(options: argparse.Namespace) -> int:
    if options.what == "home":
        from riskkit.home.home import Home

        print_json(Home.model_json_schema())
    elif options.what == "keys":
        from rich.padding import Padding
        from rich.text import Text

        from riskkit.report.keys import keys_rows

        console = open_console()
        for key, written, words in keys_rows():
            console.print(Text(f"{key} = {written}"))
            console.print(Padding(Text(words), (0, 0, 0, 4), expand=False))
    elif options.what == "replay":
        from riskkit.report.replay_form import replay_schema

        print_json(replay_schema())
    elif options.what == "replays":
        from riskkit.report.side_form import side_schema

        print_json(side_schema())
    else:
        from riskkit.report.answer_form import answer_schema

        print_json(answer_schema())
    return 0


COMMAND = Command(
    "schema",
    "print the JSON Schema of a file, or the keys of a home file",
    _add_options,
    _run,
    examples=(
        "home",
        "keys",
        "answer",
    ),
)
