"""Storms of an answer with some figures told otherwise."""

from __future__ import annotations

from dataclasses import fields, replace

from riskkit.assessment import Assessment
from riskkit.risk.storm_answer import StormAnswer

GROUPS = ("water_to_pit", "pump_working", "worst_stop", "dead_before")


def storm_with(storm: StormAnswer, **figures: object) -> StormAnswer:
    """Replace figures of a storm, whichever group they stand in."""
    changed: dict[str, object] = {}
    for group in GROUPS:
        value = getattr(storm, group)
        names = {item.name for item in fields(value)} & figures.keys()
        changed[group] = replace(value, **{name: figures.pop(name) for name in names})
    return replace(storm, **changed, **figures)  # type: ignore[arg-type]  # of any group


def with_headline(answer: Assessment, **figures: object) -> Assessment:
    """Replace figures of the storm of the first sentence."""
    told = answer.headline_storm
    storms = [storm_with(s, **figures) if s is told else s for s in answer.storms]
    return replace(answer, storms=tuple(storms))
