"""Values that are told roughly: in the home file, the form, the command line and the schema."""

from __future__ import annotations

import json
import math
from pathlib import Path

import pytest

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.home.saving import save_home
from riskkit.quantities.distributions import known_spread
from riskkit.quantities.quantity import Basis, read_quantity
from riskkit.quantities.units import UnitSystem, with_unit
from riskkit.quantities.variables import choices, variables
from riskkit.widgets.fields import form_values

DEPTH, SHARE = variables()["pit.depth"], variables()["roof.at_wall"]


@pytest.mark.parametrize("text", ["about 20 in", "~20 in", "~ 20 in", "ca. 20 in", "About 20 in"])
def test_about_is_told_with_a_wider_spread(text: str) -> None:
    rough, plain = read_quantity(text, DEPTH, "here"), read_quantity("20 in", DEPTH, "here")
    assert rough is not None
    assert plain is not None
    assert (rough.value, rough.basis, rough.text) == (plain.value, Basis.GIVEN, text)
    wide, narrow = (known_spread(one, DEPTH.shape) for one in (rough, plain))
    assert wide is not None
    assert narrow is not None
    assert wide.p05 < narrow.p05 < wide.p50 == narrow.p50 < narrow.p95 < wide.p95


@pytest.mark.parametrize("key", [key for key, item in variables().items() if item.low < item.high])
def test_about_widens_every_quantity(key: str) -> None:
    item = variables()[key]
    text = item.text(item.unknown.p50, UnitSystem.METRIC, 2)
    rough, plain = (read_quantity(t, item, key) for t in (f"about {text}", text))
    assert rough is not None
    assert plain is not None
    wide, narrow = (known_spread(one, item.shape) for one in (rough, plain))
    assert wide is not None
    assert narrow is not None
    assert wide.p05 < narrow.p05
    assert narrow.p95 < wide.p95
    assert all(map(math.isfinite, (wide.p05, wide.p95)))


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("about 20 in, measured", "pit.depth", "is stated roughly, so it is not measured"),
        ("~20 in, measured", "pit.depth", "is stated roughly, so it is not measured"),
        ("about 0 %", "roof.at_wall", "no spread can be made of"),
        ("about 100 %", "roof.at_wall", "no spread can be made of"),
        ("about 6 of 6", "roof.at_wall", "no spread can be made of"),
        ("about 0 of 6", "roof.at_wall", "no spread can be made of"),
        ("about 20 to 24 in, measured", "pit.depth", "is stated roughly, so it is not measured"),
        ("20 to about 24 in, measured", "pit.depth", "is stated roughly, so it is not measured"),
        ("about 99.9999999 %", "roof.at_wall", "no spread can be made of"),
        ("about 0.0000001 %", "roof.at_wall", "no spread can be made of"),
        ("about", "pit.depth", "does not start with a number"),
        ("about about 20 in", "pit.depth", "does not start with a number"),
    ],
)
def test_what_cannot_be_told_roughly_is_refused_in_one_sentence(
    text: str, key: str, words: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(InputError, match=words):
        read_quantity(text, variables()[key], key)
    section, _, name = key.partition(".")
    path = tmp_path / "home.toml"
    path.write_text(f'format = 1\nname = "x"\n[{section}]\n{name} = "{text}"\n', "utf-8")
    assert main(["assess", str(path)]) == 2
    said = capsys.readouterr().err
    assert words in said
    assert said.count("\n") == 1
    assert "Traceback" not in said


def test_a_share_may_be_told_roughly() -> None:
    found = read_quantity("about 2 of 6", SHARE, "here")
    assert found is not None
    assert found.is_rough
    assert found.value == pytest.approx(2 / 6)


def test_file_form_and_schema_agree(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert with_unit("about 20", "in") == "about 20 in"
    home = Home().changed(pit__depth="about 20 in")
    save_home(home, tmp_path / "home.toml")
    assert load_home(tmp_path / "home.toml") == home
    us = form_values(home, UnitSystem.US, {}, {})["pit.depth"]
    assert (us["text"], us["known"], us["measured"]) == ("about 20 in", True, False)
    metric = form_values(home, UnitSystem.METRIC, {}, {})["pit.depth"]["text"]
    assert metric == "about 51 cm"  # 20 x 2.54 = 50.8
    assert Home().changed(pit__depth=metric).quantity("pit.depth").is_rough  # type: ignore[union-attr]  # it is there
    assert main(["schema", "home"]) == 0
    assert '"about ' in capsys.readouterr().out


def test_the_keys_of_a_home_file_are_printed(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "keys"]) == 0
    lines = capsys.readouterr().out.splitlines()
    keys = {line.partition(" = ")[0] for line in lines if not line.startswith(" ")}
    assert set(variables()) | set(choices()) <= keys
    assert any("18 in" in line for line in lines if line.startswith("pit.diameter = "))


def test_the_schema_offers_only_what_can_be_read(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema", "home"]) == 0
    sections = json.loads(capsys.readouterr().out)["$defs"]
    for key, item in variables().items():
        section, _, name = key.partition(".")
        shown = next(
            d["properties"][name] for title, d in sections.items() if title.lower() == section
        )
        for text in shown["examples"]:
            assert read_quantity(text, item, key) is not None
