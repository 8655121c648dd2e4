"""The help of every command shows what can be typed; wrong values are refused in plain words."""

from __future__ import annotations

import os
import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from riskkit.cli._command import Command
from riskkit.cli.commands import COMMANDS
from riskkit.cli.main import _parser, main


@pytest.mark.parametrize("command", COMMANDS, ids=lambda one: one.name)
def test_examples_of_the_help_can_be_typed(
    command: Command, capsys: pytest.CaptureFixture[str]
) -> None:
    assert command.examples
    for example in command.examples:
        options = _parser().parse_args([command.name, *shlex.split(example)])
        assert options.command == command.name
    with pytest.raises(SystemExit) as ended:
        main([command.name, "--help"])
    assert ended.value.code == 0
    told = capsys.readouterr().out
    for example in command.examples:
        assert f"  riskkit {command.name} {example}".rstrip() + "\n" in told + "\n"


@pytest.mark.parametrize(
    ("typed", "told"),
    [
        ("assess home.toml --draws many", "--draws: 'many' is not a whole number"),
        ("assess home.toml --draws 64.5", "--draws: '64.5' is not a whole number"),
        ("interval home.toml --hears half", "--hears: 'half' is not a number"),
        (
            "schema nonsense",
            "'nonsense' is not a choice; the choices are home, keys, answer, replay, replays",
        ),
        (
            "assess home.toml --units miles",
            "--units: 'miles' is not a choice; the choices are us, metric",
        ),
        ("app --port eighty", "--port: 'eighty' is not a whole number"),
    ],
)
def test_what_cannot_be_is_refused_in_plain_words(
    typed: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(typed.split())
    assert ended.value.code == 2
    command = typed.split()[0]
    assert capsys.readouterr().err == f"riskkit: {told}; see riskkit {command} --help.\n"


@pytest.mark.parametrize("typed", ["bogus", "bogus home.toml --json", "fleet bogus"])
def test_a_command_that_there_is_not_is_refused_with_those_there_are(
    typed: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(typed.split())
    assert ended.value.code == 2
    said = capsys.readouterr().err
    assert said.startswith("riskkit: 'bogus': there is no such command; the commands are ")
    known = ["run", "rank"] if typed.startswith("fleet") else ["assess", "remedies", "app"]
    listed = said.partition("the commands are ")[2].split(";")[0].split(", ")
    assert set(known) <= set(listed)
    assert said.count("\n") == 1


def completed(line: str, told: Path) -> list[str]:
    """What a shell is told that could be typed next, by the protocol of argcomplete."""
    asked = {"_ARGCOMPLETE": "1", "_ARGCOMPLETE_IFS": "\n", "COMP_LINE": line, "COMP_TYPE": "9",
             "COMP_POINT": str(len(line)), "_ARGCOMPLETE_STDOUT_FILENAME": str(told)}  # fmt: skip
    subprocess.run([sys.executable, "-m", "riskkit"], env=os.environ | asked, check=True)
    return [word.strip() for word in told.read_text("utf-8").split("\n") if word.strip()]


def test_a_shell_completes_commands_and_options(tmp_path: Path) -> None:
    told = tmp_path / "told"
    assert {"assess", "remedies", "fleet"} <= set(completed("riskkit ", told))
    assert sorted(completed("riskkit rem", told)) == ["remedies", "reminders"]
    assert completed("riskkit assess --tr", told) == ["--trace"]


def test_verbose_says_each_step_with_its_time(
    demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    home = str(demo_sites / "bungalow_on_sand.toml")
    assert main(["assess", home, "--draws", "64", "-v"]) == 0
    said = capsys.readouterr()
    steps = said.err.strip().split("\n")
    assert len(steps) >= 2
    assert all(re.match(r"\d{4}-\d\d-\d\d \d\d:\d\d:\d\d,\d{3} \w", step) for step in steps)
    assert main(["assess", home, "--draws", "64"]) == 0
    quiet = capsys.readouterr()
    assert quiet.err == "" and quiet.out == said.out
