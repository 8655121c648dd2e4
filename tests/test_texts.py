"""Values as people who know basements write them: read as they are meant, or refused in a sentence.

The expected lengths follow from the inch of 25.4 mm and the foot of 12 inches (the international
yard and pound agreement); what the words mean is common practice, no source.
"""

from __future__ import annotations

import re

import pytest

from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.quantities.distributions import known_spread
from riskkit.quantities.quantity import Basis, Quantity, is_exact, read_quantity
from riskkit.quantities.units import UnitSystem, has_no_unit, parse_quantity, system_of, with_unit
from riskkit.quantities.variables import variable, variables

INCH = 0.0254


def read(text: str, key: str = "pit.depth") -> Quantity:
    found = read_quantity(text, variable(key), key)
    assert found is not None
    return found


@pytest.mark.parametrize(
    ("text", "low_in", "high_in"),
    [
        ("24-28 in", 24, 28),
        ("24 - 28 in", 24, 28),
        ("24–28 in", 24, 28),
        ("24—28 in", 24, 28),
        ("24‑28 in", 24, 28),
        ("24 in - 28 in", 24, 28),
        ("24in–28in", 24, 28),
        ("24 TO 28 in", 24, 28),
        ("from 24 to 28 in", 24, 28),
        ("between 24 and 28 in", 24, 28),
        ("about 24 to 28 in", 24, 28),
        ("about 24-28 in", 24, 28),
        ("24 to about 28 in", 24, 28),
        ("~24 to ~28 in", 24, 28),
        ("2-3 ft", 24, 36),
        ("24 in - 3 ft", 24, 36),
        ("24-1/2 - 28-1/2 in", 24.5, 28.5),
        ("24-1/2-28 in", 24.5, 28),
        ("24-28-1/2 in", 24, 28.5),
        ("24½–28½ in", 24.5, 28.5),
        ("2'-3'", 24, 36),
        ("2'-6\" to 2'-8\"", 30, 32),
        ("2'-6\" - 2'-8\"", 30, 32),
        ("2 to 2 ft 6 in", 24, 30),  # the feet stand once
        ("24-inch to 28-inch", 24, 28),
    ],
)
def test_a_range_as_people_write_it(text: str, low_in: float, high_in: float) -> None:
    found = read(text)
    assert (found.low, found.high) == pytest.approx((low_in * INCH, high_in * INCH))
    assert found.value == pytest.approx((low_in + high_in) / 2 * INCH)
    assert (found.basis, found.is_rough) == (Basis.GIVEN, False)  # the range says how rough it is
    assert system_of(found.text) is UnitSystem.US


@pytest.mark.parametrize(
    ("text", "key", "inches"),
    [
        ("1-1/2 in", "pipe.bore", 1.5),
        ("1–1/2 in", "pipe.bore", 1.5),
        ("4-1/2 in", "drain.bore", 4.5),
        ("24 - 1/2 in", "pit.depth", 24.5),
        ("24⅝ in", "pit.depth", 24.625),
        ("5'-6\"", "pit.depth", 66),
        ("5'–6\"", "pit.depth", 66),
        ("5’-6”", "pit.depth", 66),
        ("5 ft-6 in", "pit.depth", 66),
        ("5 FT 6 IN", "pit.depth", 66),
        ("5 ft. 6 in.", "pit.depth", 66),
        ("-2 in", "ground.water_table_depth", -2),
        ("–2 in", "ground.water_table_depth", -2),
        ("- 2 in", "ground.water_table_depth", -2),
        ('24"', "pit.depth", 24),
        ("24 inches", "pit.depth", 24),
        ("24-inch", "pit.depth", 24),
        ("24 in,", "pit.depth", 24),
        ("24 in.", "pit.depth", 24),
        ("24 IN", "pit.depth", 24),
        ("24 Inches", "pit.depth", 24),
    ],
)
def test_a_stroke_within_a_value_makes_no_range(text: str, key: str, inches: float) -> None:
    found = read(text, key)
    assert found.value == pytest.approx(inches * INCH)
    assert found.low is None and found.high is None


@pytest.mark.parametrize(
    ("text", "low_in", "high_in"),
    [("-4 - -2 in", -4, -2), ("-4--2 in", -4, -2), ("-2-4 in", -2, 4), ("-2 to 4 in", -2, 4)],
)
def test_a_range_below_zero(text: str, low_in: float, high_in: float) -> None:
    found = read(text, "ground.water_table_depth")
    assert (found.low, found.high) == pytest.approx((low_in * INCH, high_in * INCH))


@pytest.mark.parametrize(
    "word", ["about", "around", "roughly", "approx.", "approx", "approximately", "ca", "ca.", "~"]
)
def test_every_word_for_about_means_the_same(word: str) -> None:
    found = read(f"{word} 20 in")
    assert found.is_rough
    assert found.value == pytest.approx(20 * INCH)


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("2 out of 6", "roof.at_wall", 2 / 6),
        ("2 / 6", "roof.at_wall", 2 / 6),
        ("30 per cent", "roof.at_wall", 0.3),
        ("20–30%", "roof.at_wall", 0.25),
        ("1 to 2 of 6", "roof.at_wall", 1.5 / 6),
        ("1-2 of 6", "roof.at_wall", 1.5 / 6),
        ("2-4", "pipe.elbows", 3),
        ("4-6 min", "ground.gap_time", 300),
        ("43 GPM", "pump.rated_flow", 43 * 231 * INCH**3 / 60),  # a gallon is 231 cubic inches
        ("43 gallons a minute", "pump.rated_flow", 43 * 231 * INCH**3 / 60),
        ("1200 sq. ft.", "roof.area", 1200 * 144 * INCH**2),
        ("1,000-1,400 square feet", "roof.area", 1200 * 144 * INCH**2),
    ],
)
def test_other_kinds_of_values(text: str, key: str, value: float) -> None:
    assert read(text, key).value == pytest.approx(value)


@pytest.mark.parametrize("text", ["24 in measured", "24 in (measured)", "24 in; measured"])
def test_measured_without_its_comma(text: str) -> None:
    found = read(text)
    assert (found.basis, found.text) == (Basis.MEASURED, "24 in, measured")


ONE_END = "tells one end of a range only"


@pytest.mark.parametrize(
    ("text", "key", "words"),
    [
        ("<5 min", "ground.gap_time", ONE_END),
        ("more than 30 min", "ground.gap_time", ONE_END),
        ("5 min or less", "ground.gap_time", ONE_END),
        ("up to 30 in", "pit.depth", ONE_END),
        ("at least 20 in", "pit.depth", ONE_END),
        ("20+ in", "pit.depth", ONE_END),
        ("20 in+", "pit.depth", ONE_END),
        ("18 x 24 in", "pit.diameter", "holds two numbers"),
        ("18x24", "pit.diameter", "holds two numbers"),
        ("3 or 4", "pipe.elbows", "holds two numbers"),
        ("20 ± 2 in", "pit.depth", "a tolerance, which is told as a range"),
        ("20 in +/- 2 in", "pit.depth", "a tolerance, which is told as a range"),
        ("4:30", "ground.gap_time", 'it would be "4 min 30 s"'),
        ("20 in or so", "pit.depth", 'not first as in "about 20 in"'),
        ("2 in above the floor", "ground.water_table_depth", "'above the floor' after the unit"),
        ("eighteen inches", "pit.diameter", "does not start with a number in digits"),
        ("18", "pit.diameter", "'18' has no unit"),
        ("20 to 24", "pit.depth", "'20' has no unit"),
        ("20 in to 24", "pit.depth", "'24' has no unit"),
        ("28-24 in", "pit.depth", "does not go up"),
        ("1/3 hp", "pump.rated_flow", "is not a flow"),
        ("1/3 HP", "pump.rated_flow", "is not a flow"),
        ("7 of 6", "roof.at_wall", "in '7 of 6' the first number is greater than the second"),
        ("2 of 0", "roof.at_wall", "is a share of nothing"),
        ("30", "roof.at_wall", 'write "30 %" if per cent are meant'),
    ],
)
def test_what_is_no_value_is_refused_in_one_clear_sentence(text: str, key: str, words: str) -> None:
    with pytest.raises(InputError, match=re.escape(words)) as caught:
        read_quantity(text, variable(key), key)
    assert caught.value.right
    assert str(caught.value).count("\n") == 0


def test_a_range_is_no_reading() -> None:
    with pytest.raises(InputError, match="is a range where one value is wanted"):
        parse_quantity("18-20 in", "m", "begin")


@pytest.mark.parametrize(
    ("typed", "unit", "text"),
    [
        ("24-28", "in", "24-28 in"),
        ("24 – 28", "in", "24 – 28 in"),
        ("about 24 to 28", "in", "about 24 to 28 in"),
        ("18-1/2", "in", "18-1/2 in"),
        ("20,", "in", "20 in"),
        ("-2", "in", "-2 in"),
        ("2/6", "%", "2/6"),
        ("18 1/2", "%", "18 1/2 %"),
        ("20-30", "%", "20-30 %"),
        ("5'-6", "in", "5'-6"),
        ("up to 20", "in", "up to 20"),
    ],
)
def test_a_form_adds_its_unit_once(typed: str, unit: str, text: str) -> None:
    assert with_unit(typed, unit) == text
    assert has_no_unit(typed.rstrip(",")) == (text != typed or typed == "2/6")


@pytest.mark.parametrize("text", ["about 99.9999999 %", "about 99.99 %", "about 0.01 %"])
def test_a_share_too_near_to_all_or_none_is_not_told_roughly(text: str) -> None:
    item = variables()["roof.at_wall"]
    exact = read(text.removeprefix("about "), "roof.at_wall")
    assert known_spread(exact, item.shape) is None
    assert is_exact(exact.value, item.shape)
    with pytest.raises(InputError, match="no spread can be made of"):
        read(text, "roof.at_wall")
    assert known_spread(read("about 99.9 %", "roof.at_wall"), item.shape) is not None


@pytest.mark.parametrize("filler", [" ", "-", "1", ",", "1-", "to ", "'"])
def test_a_long_text_is_refused_at_once(filler: str) -> None:
    text = f"20 in{filler * 100_000}x"
    with pytest.raises(InputError, match="letters is too long"):
        read(text)
    assert with_unit(text, "in") == text


def test_a_text_too_long_for_a_value_is_left_as_it_is() -> None:
    # thousands of digits take seconds to look through for a number
    assert with_unit("9" * 80, "in") == "9" * 80 + " in"
    assert with_unit("9" * 81, "in") == "9" * 81


def test_a_home_keeps_a_value_as_it_was_written() -> None:
    home = Home().changed(pit__depth="24–28 in,", roof__at_wall="about 2 out of 6")
    assert home.model_dump()["pit"]["depth"] == "24–28 in"
