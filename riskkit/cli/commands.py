"""All commands, once: the parser and its help come from this list."""

from __future__ import annotations

from riskkit.cli import (
    app,
    assess,
    check,
    fleet,
    forget,
    ground,
    handout,
    interval,
    log,
    next,
    rain,
    remedies,
    reminders,
    replay,
    schema,
    season,
    takeaway,
    visit,
)

__all__ = ["COMMANDS"]

COMMANDS = (
    assess.COMMAND,
    rain.COMMAND,
    ground.COMMAND,
    replay.COMMAND,
    remedies.COMMAND,
    interval.COMMAND,
    fleet.COMMAND,
    season.COMMAND,
    visit.COMMAND,
    next.COMMAND,
    log.COMMAND,
    handout.COMMAND,
    takeaway.COMMAND,
    reminders.COMMAND,
    check.COMMAND,
    forget.COMMAND,
    schema.COMMAND,
    app.COMMAND,
)
"""Every command, in the order in which the help tells them."""
