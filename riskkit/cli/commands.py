"""All commands, once: the parser and its help come from this list."""

from __future__ import annotations

from riskkit.cli import (
    app,
    assess,
    check,
    ground,
    handout,
    rain,
    reminders,
    replay,
    schema,
    season,
    visit,
)

__all__ = ["COMMANDS"]

COMMANDS = (
    assess.COMMAND,
    rain.COMMAND,
    ground.COMMAND,
    replay.COMMAND,
    season.COMMAND,
    visit.COMMAND,
    handout.COMMAND,
    reminders.COMMAND,
    check.COMMAND,
    schema.COMMAND,
    app.COMMAND,
)
"""Every command, in the order in which the help tells them."""
