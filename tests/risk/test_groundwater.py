"""The water table before large storms: measured beats remembered beats the default."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from rich.console import Console

from riskkit.antecedent.days import DailyWeather, column_m_of, ground_days
from riskkit.antecedent.levels import WaterLevels
from riskkit.antecedent.months import ground_by_month
from riskkit.antecedent.water_table import antecedent_ground
from riskkit.assessment import DesignRain, Settings, assess, design_rain
from riskkit.cli.main import main
from riskkit.ensemble.draws import Assumption, draw_homes
from riskkit.errors import InputError
from riskkit.home.home import Home, load_home
from riskkit.inflow.watertable import net_recharge_mm, water_table_m
from riskkit.quantities.quantity import Basis
from riskkit.quantities.units import UnitSystem
from riskkit.report.ground import ground_sentence, print_ground
from riskkit.report.json import assessment_form
from riskkit.report.origin_words import rests_on, taken_words

FAST = Settings(n_draws=64, return_periods_yr=(10.0,))
DEFAULT = (0.2, 1.8, 6.0)  # of soil group B, silt loam, in tables/unknown_by_group.csv


@pytest.fixture(scope="module")
def place(demo_sites: Path) -> DesignRain:
    return design_rain(load_home(demo_sites / "home_just_met.toml"), demo_sites)


@pytest.fixture(scope="module")
def home(demo_sites: Path) -> Home:
    home = load_home(demo_sites / "home_just_met.toml")
    return home.changed(ground__soil="silt loam", house__depth_below_ground="6 ft")


def weather_of(place: DesignRain) -> DailyWeather:
    assert place.weather is not None
    return place.weather


def true_level(home: Home, weather: DailyWeather) -> np.ndarray:
    """A water table of 60 days, half a metre per mm a day, that falls to 2.5 m below the floor."""
    days = ground_days(weather, 41.2, ("silt loam",), column_m_of(home))
    net = net_recharge_mm(days.recharge_mm[0], days.unmet_mm[0], 0.4)
    return water_table_m(net, 60.0, 0.9, -2.2, 0.2)[0]


def well(home: Home, weather: DailyWeather, every: int, noise_m: float = 0.05) -> WaterLevels:
    day = np.arange(6000, weather.rain_mm.size, every)
    seen = true_level(home, weather)[day] + np.random.default_rng(2).normal(0, noise_m, day.size)
    return WaterLevels("well.csv", day + weather.first_day, seen)


def test_measured_levels_give_back_the_true_water_table(home: Home, place: DesignRain) -> None:
    weather = weather_of(place)
    told = home.changed(ground__water_levels="well.csv")
    before, remarks = antecedent_ground(told, weather, well(home, weather, 14))
    found = before.water_table
    assert found is not None and found.fit is not None and remarks == ()
    true = -true_level(home, weather)[weather.eve]
    expected = np.quantile(true, [0.05, 0.5, 0.95])
    spread = found.spread
    assert [spread.p05, spread.p50, spread.p95] == pytest.approx(expected, abs=0.12)
    assert found.fit.table.time_day == pytest.approx(60, rel=0.2)
    assert found.fit.error_m == pytest.approx(0.05, abs=0.02)
    assert found.basis is Basis.MEASURED and found.origin == "levels in well.csv"
    assert "fitted to" in found.spread.words and "predicts" in found.spread.words
    by_month = {m.month: m.p50 for m in found.months}
    assert by_month[4] < by_month[9]  # nearer to the floor in spring
    assert -1 < found.with_wetness < -0.3  # wet soil and high ground water come together
    loud, _ = antecedent_ground(told, weather, well(home, weather, 14, noise_m=0.4))
    assert loud.water_table is not None and loud.water_table.fit is not None
    wide = loud.water_table.spread
    assert wide.p95 - wide.p05 > found.spread.p95 - found.spread.p05 + 0.3


def test_remembered_levels_are_the_usual_course(home: Home, place: DesignRain) -> None:
    weather = weather_of(place)
    told = home.changed(ground__water_table_spring="0 in", ground__water_table_autumn="36 in")
    before, remarks = antecedent_ground(told, weather, None)
    found = before.water_table
    assert found is not None and remarks == () and found.basis is Basis.GIVEN
    assert found.origin == 'remembered: spring "0 in" and autumn "36 in"'
    sure = told.changed(ground__water_table_spring="0 in, measured")
    again = antecedent_ground(sure, weather, None)[0].water_table
    assert again is not None and again.origin == found.origin
    assert again.spread.p05 > found.spread.p05  # a smaller error
    by_month = {m.month: m.p50 for m in found.months}
    assert 0 < by_month[4] < by_month[6] < by_month[9] < 36 * 0.0254
    assert found.spread.p05 > -6 * 0.3048 and found.spread.p05 < 0.1 < 0.7 < found.spread.p95
    deeper, _ = antecedent_ground(
        told.changed(ground__water_table_spring="12 in", ground__water_table_autumn="48 in"),
        weather, None,
    )  # fmt: skip
    assert deeper.water_table is not None
    moved = deeper.water_table.spread.p50 - found.spread.p50
    assert moved == pytest.approx(12 * 0.0254, abs=1e-6)  # the same course, a foot deeper


def test_levels_remembered_roughly_spread_wider_and_are_said_whole(
    home: Home, place: DesignRain
) -> None:
    widths = []
    for rough in ("", "about "):
        told = home.changed(
            ground__water_table_spring=f"{rough}300 mm",
            ground__water_table_autumn=f"{rough}1,200 mm, given",
        )
        found = antecedent_ground(told, weather_of(place), None)[0].water_table
        assert found is not None and f'autumn "{rough}1,200 mm"' in found.origin
        widths.append(found.spread.p95 - found.spread.p05)
    assert widths[1] > widths[0]


def test_spring_is_in_september_where_the_seasons_are_turned(home: Home, place: DesignRain) -> None:
    known = home.changed(ground__water_table_spring="0 in", ground__water_table_autumn="36 in")
    here = antecedent_ground(known, place.weather, None)[0].water_table
    turned = replace(weather_of(place), first_day=weather_of(place).first_day + 184)
    south = antecedent_ground(known.changed(place__latitude=-41.2), turned, None)[0].water_table
    assert here is not None and south is not None
    assert south.spread.p50 == pytest.approx(here.spread.p50, abs=0.1)
    by_month = {m.month: m.p50 for m in south.months}
    assert by_month[10] < by_month[3]
    # the same record in the north runs against what is remembered
    before, told = antecedent_ground(known, turned, None)
    assert before.water_table is not None and before.water_table.months == ()
    assert "anywhere between" in told[0] and "by the record" in told[0]


def test_the_ground_is_the_top(home: Home, place: DesignRain) -> None:
    told = home.changed(
        ground__water_table_spring="-5 ft", ground__water_table_autumn="2 ft",
        house__depth_below_ground="5.2 ft",
    )  # fmt: skip
    found = antecedent_ground(told, place.weather, None)[0].water_table
    assert found is not None and found.spread.p05 == pytest.approx(-5.2 * 0.3048)


def assumed(home: Home, place: DesignRain) -> tuple[Assumption, tuple[str, ...]]:
    answer = assess(home, place, FAST)
    row = next(r for r in answer.assumptions if r.key == "ground.water_table_depth")
    return row, answer.warnings


def test_measured_beats_remembered_beats_default_and_a_person_beats_all(
    home: Home, place: DesignRain
) -> None:
    row, _ = assumed(home, place)
    assert (row.p05, row.p50, row.p95) == DEFAULT and row.basis is Basis.UNKNOWN
    told = home.changed(ground__water_table_spring="0 in", ground__water_table_autumn="36 in")
    row, _ = assumed(told, place)
    assert row.basis is Basis.GIVEN and row.value.startswith("remembered")
    seen = replace(place, levels=well(home, weather_of(place), 14))
    both = told.changed(ground__water_levels="well.csv")
    row, _ = assumed(both, seen)
    assert row.basis is Basis.MEASURED and row.value == "levels in well.csv"
    said = rests_on(assess(both, seen, FAST))[-1]
    assert said.startswith("Water table before storms: levels in well.csv; modelled on 166 days")
    assert taken_words(row, UnitSystem.US)[2].startswith("levels in well.csv; modelled on 166")
    row, remarks = assumed(both.changed(ground__water_table_depth="40 in"), seen)
    assert taken_words(row, UnitSystem.US)[2] == "as given"
    assert row.basis is Basis.GIVEN and row.value == "40 in"
    assert any("its levels are not used" in remark for remark in remarks)


def test_levels_that_tell_no_course_are_taken_as_they_are(home: Home, place: DesignRain) -> None:
    weather = weather_of(place)
    told = home.changed(ground__water_levels="well.csv")
    levels = well(home, weather, 14)
    half = levels.day.size // 2
    stuck = WaterLevels(
        "well.csv", levels.day, np.r_[np.full(half, -1.0), levels.above_floor_m[half:]]
    )
    for few, why in (
        (WaterLevels("well.csv", levels.day[:20], levels.above_floor_m[:20]), "they span"),
        (
            WaterLevels("well.csv", levels.day + 40_000, levels.above_floor_m),
            "within the rain record, and the file has 0",
        ),
        (WaterLevels("well.csv", levels.day, np.full(levels.day.size, -1.0)), "all the same"),
        (stuck, "in one half of their time they are all the same"),
    ):
        before, remarks = antecedent_ground(told, weather, few)
        found = before.water_table
        assert found is not None and found.fit is None and why in remarks[0]
        # by chance: a level of the file, and 5 cm of error, that of a measured depth (tables)
        rng = np.random.default_rng(1)
        chance = rng.choice(-few.above_floor_m, 400_000) + rng.normal(0.0, 0.05, 400_000)
        points = np.quantile(chance, [0.05, 0.5, 0.95])
        near = pytest.approx(points, abs=0.01)  # 41 likely errors stand for all
        assert (found.spread.p05, found.spread.p50, found.spread.p95) == near
    before, remarks = antecedent_ground(told, None, levels)
    assert before.water_table is not None and "no daily temperatures" in remarks[-1]
    five = WaterLevels("well.csv", levels.day[:5], levels.above_floor_m[:5])
    before, remarks = antecedent_ground(told, weather, five)
    assert (
        before.water_table is None
        and "it takes 12 days with a level, and the file has 5" in remarks[0]
    )
    before, remarks = antecedent_ground(told, weather, None)
    assert before.water_table is None and "not read" in remarks[0]


def test_remembered_levels_without_a_record_and_alone(home: Home, place: DesignRain) -> None:
    told = home.changed(
        rain={"record": "x.csv", "temperature": None},
        ground__water_table_spring="0 in",
        ground__water_table_autumn="36 in",
    )
    before, remarks = antecedent_ground(told, None, None)
    found = before.water_table
    assert found is not None and found.months == ()
    assert found.spread.p50 == pytest.approx(18 * 0.0254)
    assert "anywhere between" in remarks[0]
    alone = home.changed(ground__water_table_spring="0 in")
    before, remarks = antecedent_ground(alone, place.weather, None)
    assert before.water_table is None and "only together" in remarks[0]


@pytest.mark.parametrize(("how", "error_m"), [(", measured", 0.05), ("", 0.25), ("about ", 0.5)])
def test_errors_of_remembered_levels_widen_what_lies_between(
    home: Home, how: str, error_m: float
) -> None:
    """The error as quantities.csv has it, twice as large for "about", against random draws."""
    texts = [f"about {x} in" if how == "about " else f"{x} in{how}" for x in (0, 36)]
    told = home.changed(
        rain={"record": "x.csv", "temperature": None},
        ground__water_table_spring=texts[0],
        ground__water_table_autumn=texts[1],
    )
    table = antecedent_ground(told, None, None)[0].water_table
    assert table is not None
    random = np.random.default_rng(1)
    spring, autumn = (at + error_m * random.standard_normal(400_000) for at in (0.0, 0.9144))
    way = 0.5 + 0.5 / 1.645 * random.standard_normal(400_000)  # 9 of 10 from 0 to 1
    expected = np.quantile(spring + way * (autumn - spring), (0.05, 0.5, 0.95))
    found = [table.spread.p05, table.spread.p50, table.spread.p95]
    assert found == pytest.approx(expected, abs=0.02)


def test_draws_are_those_of_the_spread_and_nothing_else_moves(
    home: Home, place: DesignRain
) -> None:
    told = home.changed(ground__water_table_spring="0 in", ground__water_table_autumn="36 in")
    before, _ = antecedent_ground(told, place.weather, None)
    plain, _ = antecedent_ground(home, place.weather, None)
    drawn, without = draw_homes(told, 2048, 1, before), draw_homes(home, 2048, 1, plain)
    for name, values in drawn.values.items():
        if name != "water_table_depth_m":
            assert np.array_equal(values, without[name], equal_nan=True), name
    assert before.water_table is not None
    spread = before.water_table.spread
    depth = drawn["water_table_depth_m"]
    expected = [spread.p05, spread.p50, spread.p95]
    assert np.quantile(depth, [0.05, 0.5, 0.95]) == pytest.approx(expected, abs=0.04)
    ranks = [np.argsort(np.argsort(v)) for v in (depth, drawn["saturation"])]
    assert np.corrcoef(ranks)[0, 1] == pytest.approx(before.water_table.with_wetness, abs=0.06)


def test_a_wetness_that_somebody_gives_does_not_go_with_the_water_table(
    home: Home, place: DesignRain
) -> None:
    told = home.changed(ground__water_table_spring="0 in", ground__water_table_autumn="36 in")
    before, _ = antecedent_ground(told, place.weather, None)
    assert before.water_table is not None and before.water_table.with_wetness < -0.3
    given = told.changed(ground__saturation="30 to 90 %")
    drawn = draw_homes(given, 2048, 1, before)
    ranks = [np.argsort(np.argsort(drawn[name])) for name in ("water_table_depth_m", "saturation")]
    assert np.corrcoef(ranks)[0, 1] == pytest.approx(0.0, abs=0.06)


def test_high_ground_water_shortens_the_time_and_the_answer_says_why(
    home: Home, place: DesignRain
) -> None:
    def answer(spring: str, autumn: str) -> tuple[float, str]:
        told = home.changed(ground__water_table_spring=spring, ground__water_table_autumn=autumn)
        found = assess(told, place, FAST)
        return found.dry_inflow_m3_s.high, str(assessment_form(found)["assumptions"])

    high, words = answer("-18 in", "12 in")
    low, _ = answer("4 ft", "7 ft")
    assert high > low >= 0
    assert "stretched to the remembered levels" in words


def test_months_add_up(home: Home, place: DesignRain) -> None:
    ground = ground_by_month(home, place.weather, None)
    weather = weather_of(place)
    assert sum(m.n_storms for m in ground.months) == weather.eve.size
    n_snow = sum(m.n_snow for m in ground.months)
    assert n_snow == round(ground.wetness.snow_share * weather.eve.size)
    assert all(m.n_snow <= m.n_storms and m.n_frozen <= m.n_storms for m in ground.months)
    days = ground_days(weather, 41.2, ("silt loam",), column_m_of(home))
    yearly = days.recharge_mm.sum() / weather.rain_mm.size * 365.25
    assert sum(m.recharge_mm for m in ground.months) == pytest.approx(yearly, rel=0.01)
    by_month = {m.month: m.recharge_mm for m in ground.months}
    assert by_month[3] > by_month[7]


@pytest.mark.usefixtures("demo_rain")
def test_the_command_prints_a_sentence_and_a_table(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ground", str(demo_sites / "home_just_met.toml")]) == 0
    shown = capsys.readouterr().out
    assert shown.startswith("Before the 166 storms above 1.4 in in the record the soil was about")
    assert "snow lay before" in shown.replace("\n", " ") and "September" in shown
    path = tmp_path / "home.toml"
    record, air = (f"alder_bend_{name}.csv.gz" for name in ("rain", "temperature"))
    path.write_text(
        f'[place]\nlatitude = 41.2\n[rain]\nrecord = "{record}"\ntemperature = "{air}"\n'
        '[ground]\nwater_table_spring = "0 in"\nwater_table_autumn = "3 ft"\n',
        encoding="utf-8",
    )
    assert main(["ground", str(path), "--units", "metric"]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "from remembered levels, then stood about" in shown and "cm below the floor" in shown
    assert main(["ground", str(path), "--json"]) == 0
    assert '"form": "riskkit-ground"' in capsys.readouterr().out
    path.write_text(f'[rain]\nrecord = "{record}"\n', encoding="utf-8")
    assert main(["ground", str(path)]) == 2
    assert "without daily temperatures" in capsys.readouterr().err


def test_every_demo_home_tells_its_ground_and_a_told_wetness_stays(
    demo_sites: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    for path in sorted(demo_sites.glob("*.toml")):
        assert main(["ground", str(path)]) == 0
        assert capsys.readouterr().out.startswith("Before the 166 storms")
        home = load_home(path)
        if home.choice("ground.wetness") is None:
            continue
        bare = home.changed(rain__temperature=None)
        answers = [
            assessment_form(assess(one, design_rain(one, demo_sites), FAST)) for one in (home, bare)
        ]
        assert answers[0] == answers[1], path.name


@pytest.mark.usefixtures("demo_rain")
def test_a_file_of_levels_is_read_beside_the_home(
    demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "home.toml"
    record, air = (f"alder_bend_{name}.csv.gz" for name in ("rain", "temperature"))
    path.write_text(
        f'[place]\nlatitude = 41.2\n[rain]\nrecord = "{record}"\ntemperature = "{air}"\n'
        '[ground]\nwater_levels = "well.csv"\n',
        encoding="utf-8",
    )
    assert main(["check", str(path)]) == 2
    assert "ground.water_levels" in capsys.readouterr().out
    home = load_home(path)
    weather = design_rain(home.changed(ground__water_levels=None), tmp_path).weather
    assert weather is not None
    rows = [
        f"{np.datetime64(int(day), 'D')},{-level / 0.3048:.2f}"
        for day, level in zip(*vars_of(well(home, weather, 30)), strict=True)
    ]
    (tmp_path / "well.csv").write_text("date,below_floor_ft\n" + "\n".join(rows), encoding="utf-8")
    assert main(["ground", str(path)]) == 0
    shown = " ".join(capsys.readouterr().out.split())
    assert "from measured levels" in shown and "It answers to rain within about" in shown
    assert main(["check", str(path)]) == 0
    (tmp_path / "well.csv").write_text("date,depth\n2020-01-01,3\n", encoding="utf-8")
    capsys.readouterr()
    assert main(["ground", str(path)]) == 2
    assert capsys.readouterr().err.startswith(
        "riskkit: home.toml, ground.water_levels, well.csv: no date and level"
    )


def vars_of(levels: WaterLevels) -> tuple[np.ndarray, np.ndarray]:
    return levels.day, levels.above_floor_m


def test_an_error_never_makes_the_spread_narrower(home: Home, place: DesignRain) -> None:
    """The middle level before storms with no error at all lies inside the spread that is told."""
    told = home.changed(ground__water_levels="well.csv")
    found = antecedent_ground(told, place.weather, well(home, weather_of(place), 30))[0].water_table
    assert found is not None and found.fit is not None
    assert math.isfinite(found.fit.error_m)
    true = -true_level(home, weather_of(place))[weather_of(place).eve]
    inside = (true > found.spread.p05 - 0.05) & (true < found.spread.p95 + 0.05)
    assert inside.mean() > 0.85


def test_levels_that_rain_does_not_move_are_taken_as_they_are(
    home: Home, place: DesignRain
) -> None:
    weather = weather_of(place)
    levels = well(home, weather, 14)
    noise = np.random.default_rng(9).normal(-1.0, 0.3, levels.day.size)
    blind = WaterLevels("well.csv", levels.day, noise)
    known = home.changed(ground__water_levels="well.csv")
    ground = ground_by_month(known, weather, blind)
    table = ground.water_table
    assert table is not None and table.fit is None and table.months == ()
    assert table.with_wetness == 0
    spread = table.spread
    points = np.quantile(-noise, [0.05, 0.5, 0.95])
    assert (spread.p05, spread.p50, spread.p95) == pytest.approx(points, abs=0.08)
    assert "as they are" in spread.words and "predicts" not in spread.words
    (told,) = [remark for remark in ground.remarks if "water table" in remark]
    assert "the model predicts 0 % of the variance of the other, too little" in told
    assert "highest in" not in ground_sentence(ground, UnitSystem.METRIC)


def test_words_are_those_of_a_person(
    home: Home, place: DesignRain, capsys: pytest.CaptureFixture[str]
) -> None:
    weather = weather_of(place)
    told = home.changed(ground__water_levels="well.csv")
    days = ground_days(weather, 41.2, ("silt loam",), column_m_of(home))
    net = net_recharge_mm(days.recharge_mm[0], days.unmet_mm[0], 0.5)
    day = np.arange(6000, weather.rain_mm.size, 14)
    quick = water_table_m(net, 1.0, 0.05, -0.05)[0][day]
    ground = ground_by_month(told, weather, WaterLevels("well.csv", day + weather.first_day, quick))
    assert ground.water_table is not None and ground.water_table.fit is not None
    print_ground(ground, Console(width=200), UnitSystem.METRIC)
    shown = capsys.readouterr().out
    assert "within about 1 day;" in shown and "0.00" not in shown and "-0" not in shown
    level = WaterLevels("well.csv", day + weather.first_day, np.where(day % 4, -1e-3, 1e-3))
    flat = ground_by_month(told, weather, level)
    assert "then stood about at the floor." in ground_sentence(flat, UnitSystem.METRIC)
    assert "and before none of them was the ground frozen." in ground_sentence(flat, UnitSystem.US)


def test_a_water_table_that_rises_in_the_storm_shortens_the_time(demo_sites: Path) -> None:
    """0.28 m: the rise on the day of a large storm that one in twenty passed at the Dutch well."""
    tell = Settings(n_draws=512, return_periods_yr=(2.0, 10.0))
    found = {}
    for name, base_m in (("row_house_near_creek", -0.203), ("split_level_on_clay", 0.0)):
        home = load_home(demo_sites / f"{name}.toml").changed(
            ground__dry_inflow="unknown",
            visit=[],  # whose rise test tells the inflow too
        )
        rain = design_rain(home, demo_sites)
        still, risen = (
            assess(home.changed(ground__water_table_depth=f"{m:.3f} m, measured"), rain, tell)
            for m in (base_m, base_m - 0.28)
        )
        for before, after in zip(still.storms, risen.storms, strict=True):
            shorter = 1.0 - after.worst_stop.to_floor_s.median / before.worst_stop.to_floor_s.median
            assert shorter > 0, (name, before.return_period_yr)
        found[name] = shorter  # of the 10-year storm, as tests/published/README.md tells it
    assert found["row_house_near_creek"] == pytest.approx(0.16, abs=0.05)
    assert found["split_level_on_clay"] == pytest.approx(0.04, abs=0.05)


def test_swapped_seasons_are_refused(home: Home) -> None:
    with pytest.raises(
        InputError, match=r"1 ft is not deeper than ground\.water_table_spring \(4 ft\)"
    ):
        home.changed(ground__water_table_spring="4 ft", ground__water_table_autumn="1 ft")
    with pytest.raises(InputError, match="above the outside ground"):
        home.changed(ground__water_table_spring="-7 ft", ground__water_table_autumn="1 ft")
