"""The record of rain that most homes of the tests name is analysed once."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import fields

import pytest

from riskkit.records import DepthDurationFrequency, RainRecord
from riskkit.risk import design_rain
from riskkit.risk.design_rain import RecordDoubts

__all__ = ["depths_fitted_once"]


@pytest.fixture(scope="session", autouse=True)
def depths_fitted_once() -> Iterator[None]:
    """The same record is checked and fitted once: nearly every home of the tests reads one of two.

    It is read from its file each time, and what it holds decides.
    """
    fit = design_rain._own_depths
    found: dict[tuple[object, ...], tuple[DepthDurationFrequency | None, RecordDoubts]] = {}

    def fitted(
        record: RainRecord, seed: int, *, needed: bool
    ) -> tuple[DepthDurationFrequency | None, RecordDoubts]:
        told = (getattr(record, item.name) for item in fields(record) if item.name != "depth_mm")
        key = hashlib.sha256(record.depth_mm.tobytes()).digest(), *map(repr, told), seed, needed
        if key not in found:
            found[key] = fit(record, seed, needed=needed)  # what is refused is refused each time
        return found[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(design_rain, "_own_depths", fitted)
        yield
