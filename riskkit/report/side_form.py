"""What years side by side are as JSON: every key, what it may hold, and what it means.

Made as `riskkit.report.answer_form` is; each of the years is as `riskkit.report.replay_form` says.
"""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import Field

from riskkit.options.side_by_side import Verdict
from riskkit.report.answer_form import Figure, Form, schema_of
from riskkit.report.replay_form import MeanRange, Years
from riskkit.version import __version__

SIDE_VERSION: Literal[6] = 6


class ContrastForm(Form):
    """How much more than the first one has in a year."""

    name: str
    what: str
    difference: MeanRange
    by_years: tuple[Figure, Figure]
    """Between what the mean would lie with other years, 19 times in 20."""
    verdict: Verdict
    """Apart; or else why not: within what nobody knows of the homes, within what other years would
    show, fewer than five years, or no difference at all."""


class SideForm(Form):
    """Years side by side."""

    form: Literal["riskkit-replays"] = "riskkit-replays"
    form_version: Literal[6] = SIDE_VERSION
    riskkit_version: str = __version__
    sentence: str
    names: Annotated[list[str], Field(min_length=2)]
    contrasts: list[ContrastForm]
    """Each but the first against the first."""
    replays: list[Years]
    """In the order of the names."""


def side_schema() -> dict[str, Any]:
    """Return the JSON Schema of `riskkit.report.side_view.side_form`.

    Returns
    -------
    dict
        The schema.
    """
    return schema_of(SideForm, f"riskkit replays side by side, form version {SIDE_VERSION}")
