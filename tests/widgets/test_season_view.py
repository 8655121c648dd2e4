"""Generated seasons on the analyst's page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import pytest

from riskkit.rainfall.plain import write_rain
from riskkit.storm.pulses import simulate
from riskkit.storm.synthetic import synthetic_seasons
from riskkit.widgets.app import analyst
from riskkit.widgets.panels import Panel


def send(panel: Panel, **message: Any) -> None:
    panel._hear(panel, message, [])


@pytest.fixture
def towns(tmp_path: Path) -> Path:
    for name, years in (("town.csv", 12), ("young.csv", 6)):
        record = simulate(synthetic_seasons(), years, 1991, np.random.default_rng(6))
        write_rain(record, tmp_path / name)
    return tmp_path


def test_seasons_come_below_the_record_when_asked_for(towns: Path) -> None:
    page = analyst(towns)
    assert not page.bar.view["seasons"]
    send(page.bar, kind="seasons")  # nothing to fit to yet
    assert page.sheet.blocks == []
    send(page.bar, kind="choose", what="record", name="town.csv")
    before = page.sheet.blocks
    assert page.bar.view["seasons"] and not page.bar.view["busy"]
    send(page.bar, kind="seasons")
    assert page.sheet.blocks[: len(before)] == before
    below = page.sheet.blocks[len(before) :]
    assert below[1]["text"].startswith("The generated seasons ")
    assert "rain [in]" in below[2]["svg"] and below[2]["words"]
    assert [len(block["rows"]) for block in below if block["kind"] == "table"] == [12, 12, 3]
    assert not page.bar.view["seasons"] and not page.bar.view["trouble"]
    send(page.bar, kind="units", system="metric")
    assert "rain [mm]" in page.sheet.blocks[len(before) + 2]["svg"]
    send(page.bar, kind="choose", what="record", name="young.csv")
    assert all(block.get("text") != "Generated seasons" for block in page.sheet.blocks)
    record = page.sheet.blocks
    send(page.bar, kind="seasons")  # six years are too few
    assert "young.csv: January is complete in 6 of its years" in page.bar.view["trouble"]
    assert page.sheet.blocks == record and page.bar.view["seasons"]
