"""The record of rain that most homes of the tests name is analysed once, also day by day."""

from __future__ import annotations

import hashlib
from collections.abc import Iterator
from dataclasses import fields

import numpy as np
import pytest

from riskkit.antecedent.days import DailyWeather
from riskkit.rainfall.readers.temperature import DailyTemperature
from riskkit.records import DepthDurationFrequency, RainRecord
from riskkit.risk import design_rain
from riskkit.risk.design_rain import RecordDoubts

__all__ = ["days_worked_out_once", "depths_fitted_once"]


def told_by(record: object) -> tuple[object, ...]:
    """What a record holds, short enough to be compared."""
    names = [item.name for item in fields(record)]  # type: ignore[arg-type]  # a dataclass
    values = [getattr(record, name) for name in names]
    return tuple(
        hashlib.sha256(value.tobytes()).digest() if isinstance(value, np.ndarray) else repr(value)
        for value in values
    )


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
        key = *told_by(record), seed, needed
        if key not in found:
            found[key] = fit(record, seed, needed=needed)  # what is refused is refused each time
        return found[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(design_rain, "_own_depths", fitted)
        yield


@pytest.fixture(scope="session", autouse=True)
def days_worked_out_once() -> Iterator[None]:
    """The days of a record of rain and one of temperatures are worked out once, likewise."""
    work_out = design_rain.daily_weather
    found: dict[tuple[object, ...], DailyWeather] = {}

    def worked_out(rain: RainRecord, temperature: DailyTemperature) -> DailyWeather:
        key = *told_by(rain), *told_by(temperature)
        if key not in found:
            found[key] = work_out(rain, temperature)
        return found[key]

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(design_rain, "daily_weather", worked_out)
        yield
