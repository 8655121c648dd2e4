"""None is an answer: no alarm, no pump, no gravel, no check valve, no pit."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.errors import InputError
from riskkit.home.home import Site, read_site
from riskkit.home.saving import site_text
from riskkit.quantities.components import Component, key_of


@pytest.mark.parametrize("part", list(Component))
def test_none_and_no_so_and_so_say_that_a_part_is_missing(part: Component) -> None:
    key = key_of(part).replace(".", "__")
    for text in ("none", "None", f"no {part.value.replace('_', ' ')}"):
        site = Site().changed(**{key: text})
        assert site.lacks(part), text
        assert not any(site.lacks(other) for other in Component if other is not part)
        assert not Site().changed(**{key: "unknown"}).lacks(part)
    assert not Site().lacks(part)


def test_none_is_written_and_read_back() -> None:
    site = Site().changed(
        switch__alarm="no alarm", pump__rated_flow="none", gravel__thickness="no gravel",
        pipe__check_valve="no check valve", pit__diameter="no pit",
    )  # fmt: skip
    text = site_text(site, "", "home")
    assert 'alarm = "no alarm"' in text
    again = read_site(text, "home")
    assert all(again.lacks(part) for part in Component) and again == site


def test_a_measure_of_what_is_not_there_is_unknown_and_gravel_has_no_thickness() -> None:
    site = Site().changed(switch__alarm="none", gravel__thickness="no gravel")
    assert site.quantity("switch.alarm") is None
    assert site.written("switch.alarm") is not None
    gravel = site.quantity("gravel.thickness")
    assert gravel is not None and gravel.value == 0
    assert (draw_homes(site, 16, 1)["gravel_thickness_m"] == 0).all()
    assert Site().changed(gravel__thickness="0 in").lacks(Component.GRAVEL)


def test_nothing_is_assumed_of_what_is_not_there() -> None:
    def keys(**values: object) -> set[str]:
        return {row.key for row in assumptions(Site().changed(**values))}

    assert "switch.alarm" in keys() and "switch.alarm" not in keys(switch__alarm="none")
    left = keys(pump__rated_flow="no pump")
    assert not any(key.split(".")[0] in ("pump", "pipe") for key in left)
    assert not {"switch.on", "switch.off", "pit.pump_volume"} & left
    assert "gravel.connected_share" not in keys(gravel__thickness="none")


def test_none_of_what_a_home_always_has_is_refused() -> None:
    with pytest.raises(InputError, match="basement_area"):
        Site().changed(house__basement_area="none")


def test_the_schema_offers_none(tmp_path: Path) -> None:
    schema = Site.model_json_schema()
    alarm = schema["$defs"]["Switch"]["properties"]["alarm"]
    assert "none" in alarm["examples"] and "no alarm" in alarm["description"]
