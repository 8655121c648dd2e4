"""Home files: read, refused in one sentence, written back with their comments."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.quantity import Basis, read_quantity
from riskkit.site import Site, check_site, load_site, save_site
from riskkit.units import UnitSystem
from riskkit.variables import choices, variable, variables


def write(folder: Path, text: str) -> Path:
    path = folder / "home.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_values_carry_unit_and_basis(tmp_path: Path) -> None:
    site = load_site(
        write(
            tmp_path,
            """
            name = "x"
            [pit]
            diameter = "18 in, measured"
            depth = "0.61 m"
            [switch]
            alarm = "5 to 7 in"
            [roof]
            at_wall = "2 of 8"
            area = "unknown"
            """,
        )
    )
    diameter = site.quantity("pit.diameter")
    assert diameter is not None and diameter.basis is Basis.MEASURED
    assert diameter.value == pytest.approx(0.4572)  # 18 in at 25.4 mm, the international inch
    alarm = site.quantity("switch.alarm")
    assert alarm is not None and alarm.low == pytest.approx(0.127)
    assert alarm.high == pytest.approx(0.1778)
    share = site.quantity("roof.at_wall")
    assert share is not None and share.value == 0.25
    assert site.quantity("roof.area") is None
    assert site.quantity("pipe.length") is None


@pytest.mark.parametrize(
    "text",
    [
        "5 ft 6 in",
        "5ft 6in",
        "5' 6\"",
        "66 in",
        "1.6764 m",
        "167.64cm",
        "5-1/2 ft",
        "5 1/2 ft",
        "5'-6\"",
        "5½ ft",
        "5 feet 6 inches",
    ],
)
def test_lengths_as_people_write_them(text: str) -> None:
    found = read_quantity(text, variable("house.depth_below_ground"), "here")
    assert found is not None
    assert found.value == pytest.approx(1.6764)


def test_fractions_and_thousands_as_people_write_them() -> None:
    inch = 0.0254  # by definition
    for text, key, value in (
        ("18 1/2 in", "pit.diameter", 18.5 * inch),
        ("18-1/2 in, measured", "pit.diameter", 18.5 * inch),
        ("5 ft 6 1/2 in", "house.depth_below_ground", 66.5 * inch),
        ("1,200 ft2", "roof.area", 1200 * 144 * inch**2),
        ("1,200 ft2, measured", "roof.area", 1200 * 144 * inch**2),
        ("1,000 to 1,400 ft2", "roof.area", 1200 * 144 * inch**2),
        ("17 1/2 to 19 1/2 in", "pit.diameter", 18.5 * inch),
        ("-8 1/2 in", "ground.water_table_depth", -8.5 * inch),
    ):
        found = read_quantity(text, variable(key), "here")
        assert found is not None and found.value == pytest.approx(value), text
        assert (found.basis is Basis.MEASURED) == text.endswith("measured")
        assert found.text == text


@pytest.mark.parametrize("text", ["18 9**9**9**9 in", "18 @!", "18 ''", "18 in**2", "18 in^1"])
def test_a_unit_is_never_worked_out(text: str) -> None:
    with pytest.raises(InputError, match=r"the unit .* is not known"):
        read_quantity(text, variable("pit.diameter"), "here")


@pytest.mark.parametrize(
    "text", ["43 gpm", "43 gal/min", "2.713 L/s", "162.77 L/min", "9.767 m3/h"]
)
def test_flows_as_people_write_them(text: str) -> None:
    found = read_quantity(text, variable("pump.rated_flow"), "here")
    assert found is not None
    # 1 US gallon is 231 cubic inches, so 43 gpm is 2.7129 L/s
    assert found.value == pytest.approx(43 * 231 * 0.0254**3 / 60, rel=2e-4)


def test_the_message_names_key_fault_and_remedy(tmp_path: Path) -> None:
    path = write(tmp_path, '[pit]\ndiameter = "18 gpm"\n')
    with pytest.raises(InputError) as caught:
        load_site(path)
    assert str(caught.value) == (
        "home.toml, pit.diameter: '18 gpm' is not a length; "
        'write it like "18 in", "46 cm", "15 to 24 in" or "unknown".'
    )


def test_check_lists_every_fault(tmp_path: Path) -> None:
    path = write(
        tmp_path,
        """
        [pit]
        diameter = 18
        depht = "24 in"
        [switch]
        on = "400 in"
        [ground]
        soil = "mud"
        """,
    )
    found = {problem.where: problem for problem in check_site(path)}
    assert set(found) == {"pit.diameter", "pit.depht", "switch.on", "ground.soil"}
    assert "no unit" in found["pit.diameter"].what
    assert "depth" in found["pit.depht"].right
    assert "outside" in found["switch.on"].what


def test_impossible_orders_are_refused_in_words(tmp_path: Path) -> None:
    path = write(tmp_path, '[switch]\non = "20 in"\noff = "12 in"\n')
    (problem,) = check_site(path)
    assert problem.where == "switch.off"
    assert "would stop before it starts" in problem.what


def test_round_trip_keeps_comments_and_order(tmp_path: Path) -> None:
    text = (
        '# my home\nname = "x"   # a name\n\n[pit]  # the pit\ndepth = "24 in"\n'
        'diameter = "18 in"  # by tape\n\n[roof]\nat_wall = "2 of 4"\n'
    )
    path = write(tmp_path, text)
    site = load_site(path)
    save_site(site, path)
    assert path.read_text(encoding="utf-8") == text.replace(
        'name = "x"   # a name\n', 'name = "x"   # a name\nformat = 1\n'
    )
    save_site(site.changed(pit__depth="26 in, measured", ground__slope="flat"), path)
    after = path.read_text(encoding="utf-8")
    assert "# my home" in after and "# by tape" in after and "# a name" in after
    again = load_site(path)
    depth = again.quantity("pit.depth")
    assert depth is not None and depth.text == "26 in, measured"
    assert again.choice("ground.slope") == "flat"


def test_saving_tables_and_new_files(tmp_path: Path) -> None:
    site = Site(name="new").changed(pump__curve=[["0 gpm", "22 ft"], ["43 gpm", "10 ft"]])
    save_site(site, tmp_path / "new.toml")
    again = load_site(tmp_path / "new.toml")
    curve = again.pairs("pump.curve")
    assert curve is not None
    np.testing.assert_allclose(
        curve, [[0, 22 * 0.3048], [43 * 231 * 0.0254**3 / 60, 3.048]], rtol=1e-8
    )
    assert not list(tmp_path.glob("*.part"))


def test_a_home_is_frozen() -> None:
    from pydantic import ValidationError

    with pytest.raises(ValidationError):
        Site(name="x").name = "y"


def test_every_demo_home_fits_the_schema(demo_sites: Path) -> None:
    import tomllib

    schema = json.loads(json.dumps(Site.model_json_schema()))
    homes = sorted(demo_sites.glob("*.toml"))
    assert len(homes) == 4
    for home in homes:
        jsonschema.validate(tomllib.loads(home.read_text(encoding="utf-8")), schema)
        load_site(home)


def test_dictionary_of_quantities_is_sound() -> None:
    for key, item in variables().items():
        spread = item.unknown
        assert item.low <= spread.p05 < spread.p50 < spread.p95 <= item.high, key
        assert item.shape.measured < item.shape.given, key
    for key, choice in choices().items():
        assert choice.targets <= set(variables()), key
        for spreads in choice.options.values():
            for target, spread in spreads.items():
                item = variables()[target]
                assert item.low <= spread.p05 < spread.p50 < spread.p95 <= item.high, key


@pytest.mark.parametrize("key", sorted(variables()))
def test_the_ends_that_are_shown_can_be_typed(key: str) -> None:
    """Rounded inwards: the range itself gives way by nothing."""
    item = variables()[key]
    for system in UnitSystem:
        for text in item.end_texts(system):
            assert item.low <= read_quantity(text, item, "here").value <= item.high * (1 + 1e-9)


def test_a_little_beyond_the_range_is_beyond_it() -> None:
    item = variables()["pit.diameter"]  # to 2.5 m
    with pytest.raises(InputError, match="outside what can be"):
        read_quantity("251 cm", item, "here")
