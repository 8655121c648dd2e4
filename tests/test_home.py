"""Home files: read, refused in one sentence, written back with their comments."""

from __future__ import annotations

import json
from pathlib import Path

import jsonschema
import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.home.home import Home, check_home, load_home
from riskkit.home.saving import save_home
from riskkit.quantities.quantity import Basis, read_quantity
from riskkit.quantities.units import UnitSystem
from riskkit.quantities.variables import choices, variable, variables


def write(folder: Path, text: str) -> Path:
    path = folder / "home.toml"
    path.write_text(text, encoding="utf-8")
    return path


def test_values_carry_unit_and_basis(tmp_path: Path) -> None:
    home = load_home(
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
    diameter = home.quantity("pit.diameter")
    assert diameter is not None and diameter.basis is Basis.MEASURED
    assert diameter.value == pytest.approx(0.4572)  # 18 in at 25.4 mm, the international inch
    alarm = home.quantity("switch.alarm")
    assert alarm is not None and alarm.low == pytest.approx(0.127)
    assert alarm.high == pytest.approx(0.1778)
    share = home.quantity("roof.at_wall")
    assert share is not None and share.value == 0.25
    assert home.quantity("roof.area") is None
    assert home.quantity("pipe.length") is None


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
        load_home(path)
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
    found = {problem.where: problem for problem in check_home(path)}
    assert set(found) == {"pit.diameter", "pit.depht", "switch.on", "ground.soil"}
    assert "no unit" in found["pit.diameter"].what
    assert "depth" in found["pit.depht"].right
    assert "outside" in found["switch.on"].what


def test_impossible_orders_are_refused_in_words(tmp_path: Path) -> None:
    path = write(tmp_path, '[switch]\non = "20 in"\noff = "12 in"\n')
    (problem,) = check_home(path)
    assert problem.where == "switch.off"
    assert "would stop before it starts" in problem.what


@pytest.mark.parametrize(
    ("key", "text", "words"),
    [
        ("switch.alarm", "30 in", "30 in is not above switch.on (13 in), so the alarm would sound"),
        ("switch.on", "5 in", "5 in is not deeper than switch.alarm (6 in), so the alarm would"),
        ("switch.on", "21 in", "21 in is not above switch.off (20 in), so the pump would stop"),
        ("switch.off", "25 in", "25 in is not above pit.depth (24 in), so the pump would have to"),
        ("pit.depth", "19 in", "19 in is not deeper than switch.off (20 in), so the pump would"),
        ("ground.drain_depth", "25 in", "25 in is not above pit.depth (24 in), so the drain"),
        ("pump.rated_head", "30 ft", "30 ft is not below pump.shutoff_head (25 ft)"),
        ("pump.shutoff_head", "9 ft", "9 ft is not above pump.rated_head (10 ft)"),
        ("pit.bottom_diameter", "19 in", "19 in is more than pit.diameter (18 in)"),
        ("pit.diameter", "15 in", "15 in is less than pit.bottom_diameter (16 in)"),
        ("roof.at_wall", "90 %", "90 % with roof.to_drain (20 %) is more than all downspouts"),
        ("roof.to_drain", "60 %", "60 % with roof.at_wall (50 %) is more than all downspouts"),
        ("ground.water_table_spring", "5 ft", "5 ft is not above ground.water_table_autumn (4 ft)"),
        ("ground.water_table_autumn", "0 ft", "0 ft is not deeper than ground.water_table_spring"),
        ("ground.water_table_depth", "-7 ft", "-7 ft is above the outside ground, which lies 6 ft"),
        ("house.depth_below_ground", "1 ft", "1 ft puts the outside ground below the water of"),
    ],
)
def test_of_two_that_clash_the_one_just_written_is_named(key: str, text: str, words: str) -> None:
    home = Home().changed(
        switch__alarm="6 in", switch__on="13 in", switch__off="20 in", pit__depth="24 in",
        ground__drain_depth="8 in", pump__rated_head="10 ft", pump__shutoff_head="25 ft",
        pit__diameter="18 in", pit__bottom_diameter="16 in", roof__at_wall="50 %",
        roof__to_drain="20 %", house__depth_below_ground="6 ft",
        ground__water_table_spring="1 ft", ground__water_table_autumn="4 ft",
        ground__water_table_depth="-2 ft",
    )  # fmt: skip
    with pytest.raises(InputError) as caught:
        home.changed(**{key.replace(".", "__"): text})
    assert caught.value.where == f"home, {key}"
    assert caught.value.what.startswith(words)
    assert "more)" not in caught.value.what  # what is wrong beside one is said once


def test_of_two_that_clash_in_a_file_the_less_usual_is_named(tmp_path: Path) -> None:
    # an alarm hangs six inches down, a pump starts about a foot down and stops a foot and a half
    # down, a pit is two feet deep: common practice, no source
    for upper, high, lower, low, where in (
        ("switch.alarm", "30 in", "pit.depth", "24 in", "switch.alarm"),
        ("switch.alarm", "6 ft", "pit.depth", "5 ft", "switch.alarm"),
        ("switch.on", "36 in", "switch.off", "20 in", "switch.on"),
        ("switch.on", "13 in", "switch.off", "10 in", "switch.off"),
    ):
        lines = [f'{key} = "{text}"\n' for key, text in ((upper, high), (lower, low))]
        (problem,) = check_home(write(tmp_path, "".join(lines)))
        assert (problem.where, high in problem.what, low in problem.what) == (where, True, True)
    table = '[pit]\ntable = [["0 in", "9 gal"], ["2 ft", "0 gal"]]\n[switch]\noff = "26 in"\n'
    (problem,) = check_home(write(tmp_path, table))
    assert problem.where == "switch.off"  # the depth stands nowhere to be mended
    assert "26 in is not above pit.depth (24 in by pit.table)" in problem.what


def test_what_is_wrong_is_told_in_the_order_of_the_file(tmp_path: Path) -> None:
    text = (
        'nmae = "x"\n[pump]\nrated_flow = "43"\n[switch]\nonn = "12 in"\n'
        'alarm = "deep"\n[[visit]]\nwho = "x"\n[pit]\ndepth = 24\n'
    )
    found = [problem.where for problem in check_home(write(tmp_path, text))]
    assert found == [
        "nmae", "pump.rated_flow", "switch.onn", "switch.alarm", "visit 1, date", "pit.depth",
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("text", "degrees"),
    [
        ("41.2 N", 41.2),
        ("41.2° N", 41.2),
        ("N 41.2", 41.2),
        ("41.2\u00a0N", 41.2),  # a space that a phone does not break at
        ("41.2° north", 41.2),
        ("33.9 S", -33.9),
        ("-33.9", -33.9),
        ("−33.9°", -33.9),
        ("41.2", 41.2),
        ("41° 12' N", 41.2),  # 60 minutes to the degree
        ("41°12’36” N", 41.21),  # 60 seconds to the minute
        ("unknown", None),
    ],
)
def test_latitudes_as_people_write_them(text: str, degrees: float | None, tmp_path: Path) -> None:
    path = write(tmp_path, f'[place]\nlatitude = """{text}"""\n')
    home = load_home(path)
    assert home.place.latitude == (None if degrees is None else pytest.approx(degrees))
    save_home(home.changed(pit__depth="24 in"), path, home)
    assert text in path.read_text(encoding="utf-8")  # as it was written
    assert load_home(path).place == home.place


@pytest.mark.parametrize(
    ("text", "degrees"), [("89.4 W", -89.4), ("89.4° West", -89.4), ("W 89.4", -89.4), ("5 E", 5)]
)
def test_longitudes_as_people_write_them(text: str, degrees: float) -> None:
    home = Home().changed(place__longitude=text)
    assert home.place.longitude == pytest.approx(degrees)
    jsonschema.validate({"place": {"longitude": text}}, Home.model_json_schema())


def test_round_trip_keeps_comments_and_order(tmp_path: Path) -> None:
    text = (
        '# my home\nname = "x"   # a name\n\n[pit]  # the pit\ndepth = "24 in"\n'
        'diameter = "18 in"  # by tape\n\n[roof]\nat_wall = "2 of 4"\n'
    )
    path = write(tmp_path, text)
    home = load_home(path)
    save_home(home, path, home)
    assert path.read_text(encoding="utf-8") == text.replace(
        'name = "x"   # a name\n', 'name = "x"   # a name\nformat = 1\n'
    )
    save_home(home.changed(pit__depth="26 in, measured", ground__slope="flat"), path, home)
    after = path.read_text(encoding="utf-8")
    assert "# my home" in after and "# by tape" in after and "# a name" in after
    again = load_home(path)
    depth = again.quantity("pit.depth")
    assert depth is not None and depth.text == "26 in, measured"
    assert again.choice("ground.slope") == "flat"


def test_saving_tables_and_new_files(tmp_path: Path) -> None:
    home = Home(name="new").changed(pump__curve=[["0 gpm", "22 ft"], ["43 gpm", "10 ft"]])
    save_home(home, tmp_path / "new.toml")
    again = load_home(tmp_path / "new.toml")
    curve = again.pairs("pump.curve")
    assert curve is not None
    np.testing.assert_allclose(
        curve, [[0, 22 * 0.3048], [43 * 231 * 0.0254**3 / 60, 3.048]], rtol=1e-8
    )
    assert not list(tmp_path.glob("*.part"))


def test_a_home_is_frozen() -> None:
    with pytest.raises(InputError, match=r"cannot be set in place; Home\.changed returns"):
        Home(name="x").name = "y"


def test_every_demo_home_fits_the_schema(demo_sites: Path) -> None:
    import tomllib

    schema = json.loads(json.dumps(Home.model_json_schema()))
    homes = sorted(demo_sites.glob("*.toml"))
    assert len(homes) == 4
    for home in homes:
        jsonschema.validate(tomllib.loads(home.read_text(encoding="utf-8")), schema)
        load_home(home)


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


def test_the_ends_that_are_shown_are_numbers_that_people_say() -> None:
    """No digit that only comes from another unit: 0.3 m is 11.81 in, 1 cm is 0.394 in."""
    for item in variables().values():
        for system in UnitSystem:
            for text in item.end_texts(system):
                digits = text.split()[0].replace(",", "").replace(".", "").strip("-0")
                assert len(digits) <= 2, (item.key, text)
    assert variable("pit.depth").end_texts(UnitSystem.US) == ("12 in", "110 in")
    assert variable("pit.depth").end_texts(UnitSystem.METRIC) == ("30 cm", "300 cm")
    assert variable("switch.alarm").end_texts(UnitSystem.US)[0] == "0.4 in"


def test_a_little_beyond_the_range_is_beyond_it() -> None:
    item = variables()["pit.diameter"]  # to 2.5 m
    with pytest.raises(InputError, match="outside what can be"):
        read_quantity("251 cm", item, "here")
