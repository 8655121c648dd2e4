"""None is an answer: no alarm, no pump, no gravel, no check valve, no pit."""

from __future__ import annotations

from pathlib import Path

import pytest

from riskkit.ensemble.draws import assumptions, draw_homes
from riskkit.errors import InputError
from riskkit.home.home import Home, read_home
from riskkit.home.saving import home_text
from riskkit.quantities.components import Component, key_of


@pytest.mark.parametrize("part", list(Component))
def test_none_and_no_so_and_so_say_that_a_part_is_missing(part: Component) -> None:
    key = key_of(part).replace(".", "__")
    for text in ("none", "None", f"no {part.value.replace('_', ' ')}"):
        home = Home().changed(**{key: text})
        assert home.lacks(part), text
        assert not any(home.lacks(other) for other in Component if other is not part)
        assert not Home().changed(**{key: "unknown"}).lacks(part)
    assert not Home().lacks(part)


def test_none_is_written_and_read_back() -> None:
    home = Home().changed(
        switch__alarm="no alarm", pump__rated_flow="none", gravel__thickness="no gravel",
        pipe__check_valve="no check valve", pit__diameter="no pit",
        second_pump__rated_flow="no second pump",
    )  # fmt: skip
    text = home_text(home, "", "home")
    assert 'alarm = "no alarm"' in text
    again = read_home(text, "home")
    assert all(again.lacks(part) for part in Component) and again == home


def test_a_measure_of_what_is_not_there_is_unknown_and_gravel_has_no_thickness() -> None:
    home = Home().changed(switch__alarm="none", gravel__thickness="no gravel")
    assert home.quantity("switch.alarm") is None
    assert home.written("switch.alarm") is not None
    gravel = home.quantity("gravel.thickness")
    assert gravel is not None and gravel.value == 0
    assert (draw_homes(home, 16, 1)["gravel_thickness_m"] == 0).all()
    assert Home().changed(gravel__thickness="0 in").lacks(Component.GRAVEL)


def test_nothing_is_assumed_of_what_is_not_there() -> None:
    def keys(**values: object) -> set[str]:
        return {row.key for row in assumptions(Home().changed(**values))}

    assert "switch.alarm" in keys() and "switch.alarm" not in keys(switch__alarm="none")
    left = keys(pump__rated_flow="no pump")
    assert not any(key.split(".")[0] in ("pump", "pipe") for key in left)
    assert not {"switch.on", "switch.off", "pit.pump_volume"} & left
    assert "gravel.connected_share" not in keys(gravel__thickness="none")


def test_none_of_what_a_home_always_has_is_refused() -> None:
    with pytest.raises(InputError, match="basement_area"):
        Home().changed(house__basement_area="none")


def test_the_schema_offers_none(tmp_path: Path) -> None:
    schema = Home.model_json_schema()
    alarm = schema["$defs"]["Switch"]["properties"]["alarm"]
    assert "none" in alarm["examples"] and "no alarm" in alarm["description"]
