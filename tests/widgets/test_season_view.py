"""Generated seasons on the analyst's page: what is refused, and the tables behind the picture."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from riskkit.quantities.units import UnitSystem
from riskkit.rainfall.readers.plain import write_rain
from riskkit.seasons.check import check_seasons
from riskkit.seasons.fit import sight_of
from riskkit.storm.pulses import simulate
from riskkit.storm.synthetic import synthetic_seasons
from riskkit.widgets.app import analyst
from riskkit.widgets.season_view import SeasonAnswer, season_blocks


def test_a_young_record_is_refused_by_its_name_and_stays_shown(tmp_path: Path) -> None:
    record = simulate(synthetic_seasons(), 6, 1991, np.random.default_rng(6))
    write_rain(record, tmp_path / "young.csv")
    page = analyst(tmp_path)
    page.look_at("young.csv")
    shown = page.sheet.blocks
    page.make_seasons()
    assert "young.csv: January is complete in 6 of its years" in page.bar.view["trouble"]
    assert page.sheet.blocks == shown and page.bar.view["seasons"]


def test_windows_and_largest_rains_stand_below() -> None:
    record = simulate(synthetic_seasons(), 12, 1991, np.random.default_rng(6))
    check = check_seasons(synthetic_seasons(), sight_of(record))
    svg = '<svg xmlns="http://www.w3.org/2000/svg" width="8" height="8"></svg>'
    blocks = season_blocks(SeasonAnswer(check, dict.fromkeys(UnitSystem, svg)), UnitSystem.METRIC)
    files = next(block for block in blocks if block["kind"] == "files")["items"]
    assert [item["name"] for item in files] == ["seasons.svg", "seasons.png"]
    more = next(block for block in blocks if block["kind"] == "more")
    assert [len(table["rows"]) for table in more["blocks"]] == [12, 3]
    assert "[mm]" in more["blocks"][1]["title"]
    assert "other years may differ more" in blocks[-1]["text"]
