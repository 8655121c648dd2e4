"""The help of every command shows what can be typed; wrong values are refused in plain words."""

from __future__ import annotations

import shlex

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
        ("app --port eighty", "--port: 'eighty' is not a whole number"),
    ],
)
def test_what_is_no_number_is_refused_in_plain_words(
    typed: str, told: str, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        main(typed.split())
    assert ended.value.code == 2
    command = typed.split()[0]
    assert capsys.readouterr().err == f"riskkit: {told}; see riskkit {command} --help.\n"
