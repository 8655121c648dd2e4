"""Every name that a person meets: commands, options, keys, words to choose, labels, colours.

`python tests/names.py` writes them into `tests/names.csv`, each with where it comes from: a term of
the trade, a standard or habit of all programs (with its name), or our own words. What is new comes
in with a question mark, and a test fails until somebody has judged it: what could be taken for the
way of one program gets another name.
"""

from __future__ import annotations

import argparse
import ast
import csv
import io
import re
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
TABLE = ROOT / "tests" / "names.csv"
COLUMNS = ("kind", "name", "from")
JUDGED = re.compile(r"trade|own|standard: .+")
UNJUDGED = "?"
_SAID = ("title", "label", "name")  # what a block or field of a page is headed by
_COLOUR = re.compile(r"#[0-9a-fA-F]{6}\b|#[0-9a-fA-F]{3}\b")
_DRAWN = re.compile(r"M-?\d")  # the way of a pen, not words
_QUOTED = re.compile(r'"([A-Z][^"\\\n<>{}]{2,60})"')


def command_line() -> Iterator[tuple[str, str]]:
    """Commands and options, those of `fleet` too."""
    from riskkit.cli.main import _parser

    waiting: list[tuple[str, argparse.ArgumentParser]] = [("", _parser())]
    while waiting:
        above, parser = waiting.pop()
        for action in parser._actions:  # argparse tells its options by no other way
            if isinstance(action, argparse._SubParsersAction):
                for name, below in action.choices.items():
                    yield "command", f"{above} {name}".strip()
                    waiting.append((f"{above} {name}".strip(), below))
            for option in action.option_strings:
                yield "option", option
            if not action.option_strings and action.dest != "command":
                yield "argument", str(action.metavar or action.dest)


def keys() -> Iterator[tuple[str, str]]:
    """Keys of a home file, of tables and of JSON answers."""
    from riskkit.report.keys import keys_rows
    from riskkit.tables import load_table

    for key, *_ in keys_rows():
        yield "key of a home file", key
    for table, kind in (
        ("fleet_columns", "column of homes"),
        ("trace_columns", "column of a storm"),
    ):
        for row in load_table(table).rows:
            yield kind, next(iter(row.values()))
    for file in ("answer_keys", "replay_keys", "replays_keys"):
        text = (ROOT / "tests" / "report" / f"{file}.txt").read_text(encoding="utf-8")
        for line in text.splitlines()[1:]:  # the first tells the version of the form
            yield "key of JSON", line.partition(":")[0].partition(".")[2]


def choices() -> Iterator[tuple[str, str]]:
    """Words from which a home file chooses."""
    from riskkit.quantities.variables import choices as of_home
    from riskkit.tables import load_table

    for choice in of_home().values():
        for option in choice.options:
            yield "word to choose", option
    for row in load_table("backup_choices").rows:
        yield "word to choose", row["option"]


def labels() -> Iterator[tuple[str, str]]:
    """Heads of blocks, fields and buttons of the pages, and labels of the fields of a home."""
    from riskkit.quantities.variables import variables
    from riskkit.widgets.labels import label

    for key in variables():
        yield "label", label(key)
    for folder in ("widgets", "report"):
        for path in sorted((ROOT / "riskkit" / folder).rglob("*.py")):
            for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
                if isinstance(node, ast.Dict):
                    for said, value in zip(node.keys, node.values, strict=True):
                        if (
                            isinstance(said, ast.Constant) and said.value in _SAID
                            and isinstance(value, ast.Constant) and isinstance(value.value, str)
                        ):  # fmt: skip
                            yield from (("label", one) for one in [value.value] if one)
        for path in sorted((ROOT / "riskkit" / folder).rglob("*.js")):
            for text in _QUOTED.findall(path.read_text(encoding="utf-8")):
                if " " in text.strip() and not _DRAWN.match(text):
                    yield "label", text


def colours() -> Iterator[tuple[str, str]]:
    """Colours of pages, pictures and sheets."""
    for pattern in ("*.py", "*.js", "*.css", "*.html", "*.typ"):
        for path in sorted((ROOT / "riskkit").rglob(pattern)):
            for colour in _COLOUR.findall(path.read_text(encoding="utf-8")):
                yield "colour", colour.lower()


def names() -> list[tuple[str, str]]:
    """All of them, each once, by kind."""
    found: dict[tuple[str, str], None] = {}
    for part in (command_line, keys, choices, labels, colours):
        found.update(dict.fromkeys(sorted(set(part()))))
    return list(found)


def judged() -> dict[tuple[str, str], str]:
    """The table as it is."""
    if not TABLE.exists():
        return {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {(row["kind"], row["name"]): row["from"] for row in csv.DictReader(file)}


def table_text() -> str:
    """The table as it should be: what is judged stays judged."""
    known, text = judged(), io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(COLUMNS)
    writer.writerows((*name, known.get(name, UNJUDGED)) for name in names())
    return text.getvalue()


if __name__ == "__main__":
    TABLE.write_text(table_text(), encoding="utf-8")
