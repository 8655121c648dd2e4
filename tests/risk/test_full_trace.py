"""Every value of one storm: the water adds up over the columns, and each is worked out again.

The expected values are worked from other columns and the numbers of the model that stand beside
them, by the equations that the columns name, each in closed form or in short steps by Euler.
"""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from riskkit.assessment import Assessment, Settings, assess
from riskkit.errors import InputError, RangeError
from riskkit.home.home import load_home
from riskkit.quantities.variables import variables
from riskkit.risk.full_trace import storm_columns
from riskkit.tables import load_sources

HOMES = ("bungalow_on_sand", "split_level_on_clay", "row_house_near_creek")
DT = 300.0
FloatArray = Any


@pytest.fixture(scope="module", params=HOMES)
def answer(request: pytest.FixtureRequest, demo_sites: Path) -> Assessment:
    """Few draws: the median home is the same however many there are."""
    return assess(load_home(demo_sites / f"{request.param}.toml"), None, Settings(n_draws=16))


@pytest.fixture(scope="module", params=(2.0, 100.0))
def frame(answer: Assessment, request: pytest.FixtureRequest) -> pd.DataFrame:
    return answer.trace(request.param)


def model(frame: pd.DataFrame) -> dict[str, Any]:
    return {row["name"]: row["value"] for row in frame.attrs["model"]}


class Columns:
    """Columns of a frame: volumes of the steps, and states before and after them."""

    def __init__(self, frame: pd.DataFrame) -> None:
        self.frame = frame

    def flow(self, *names: str) -> FloatArray:
        """Sum of some flows over each step [m3]."""
        return sum(self.frame[f"{name}_m3_s"].to_numpy()[:-1] for name in names) * DT

    def before(self, name: str) -> FloatArray:
        return self.frame[name].to_numpy()[:-1]

    def after(self, name: str) -> FloatArray:
        return self.frame[name].to_numpy()[1:]

    def more(self, *names: str) -> FloatArray:
        return sum(self.after(f"{name}_m3") - self.before(f"{name}_m3") for name in names)


def rain_m(frame: pd.DataFrame) -> FloatArray:
    return frame["rain_mm"].to_numpy()[:-1] / 1000.0


# ---- the water adds up ---------------------------------------------------------------------------

NODES = {
    "strip": (
        ("at_wall",), ("gap_direct", "ponded_to_gap", "infiltration", "run_off"), ("ponded",)
    ),
    "gap": (
        ("gap_direct", "ponded_to_gap", "window_wells", "roof_tied_in"), ("gap_flow",), ("gap",)
    ),
    "ground of the lot": (("lot_rain",), ("lot_infiltration", "run_on", "lot_run_off"), ()),
    "lot": (("recharge",), ("lot_drain",), ("lot",)),
    "footing": (
        ("gap_flow", "fill_drainage", "lot_drain", "ground_water"), ("deep", "to_pit"),
        ("footing",),
    ),
    "pit": (("to_pit", "returned"), ("pump",), ("pit",)),
    "lot, the pump stopped": (("recharge",), ("stopped_lot_drain",), ("stopped_lot",)),
    "footing, the pump stopped": (
        ("gap_flow", "fill_drainage", "stopped_lot_drain", "stopped_ground_water"),
        ("stopped_deep", "stopped_drain", "stopped_joint"), ("stopped_footing",),
    ),
    "pit, the pump stopped": (("stopped_drain", "stopped_joint"), (), ("stopped_pit",)),
}  # fmt: skip


@pytest.mark.parametrize("node", NODES)
def test_what_comes_to_a_store_goes_or_stays(frame: pd.DataFrame, node: str) -> None:
    come, go, held = NODES[node]
    of = Columns(frame)
    gap = of.flow(*come) - (of.flow(*go) if go else 0.0) - (of.more(*held) if held else 0.0)
    gap = gap[np.isfinite(gap)]
    assert gap.size >= 10
    moved = np.nansum(of.flow(*come)) + sum(np.nanmax(frame[f"{name}_m3"]) for name in held)
    assert np.abs(gap).max() <= 1e-9 * moved


OTHERS: dict[str, dict[str, Any]] = {
    "no pump": {"pump__rated_flow": "none"},
    "no gravel": {"gravel__thickness": "no gravel"},
    "no alarm": {"switch__alarm": "none"},
    "water that comes back": {"pipe__return_share": "60 %", "pipe__drainback_share": "90 %"},
    "measured pit": {
        "pit__diameter": "unknown", "pit__depth": "unknown",
        "pit__table": [["0 m", "0.15 m3"], ["0.5 m", "0.05 m3"], ["1 m", "0 m3"]],
    },
}  # fmt: skip


@pytest.mark.parametrize("name", OTHERS)
def test_the_water_adds_up_in_other_homes(demo_sites: Path, name: str) -> None:
    home = load_home(demo_sites / "row_house_near_creek.toml").changed(**OTHERS[name])
    frame = assess(home, None, Settings(n_draws=16)).trace(100)
    for node in NODES:
        test_what_comes_to_a_store_goes_or_stays(frame, node)
    keys = {row["key"] for row in frame.attrs["parameters"]}
    assert ("switch.alarm" in keys) == (name != "no alarm")
    assert ("pit.table" in keys) == (name == "measured pit")
    assert (frame["pump_m3_s"].max() > 0) == (name != "no pump")
    assert frame.attrs["about"]["has_pump"] == (name != "no pump")


@pytest.mark.parametrize(
    ("soaked", "gone", "deficit", "store"),
    [
        ("infiltration", "fill_drainage", "fill_deficit", "fill"),
        ("lot_infiltration", "recharge", "lot_deficit", "lot_way_down"),
    ],
)
def test_ground_takes_up_what_infiltrates(
    frame: pd.DataFrame, soaked: str, gone: str, deficit: str, store: str
) -> None:
    of = Columns(frame)
    gap = of.flow(soaked) - of.flow(gone) + of.more(deficit) - of.more(store)
    assert np.abs(gap).max() <= 1e-9 * (of.flow(soaked).sum() + frame[f"{store}_m3"].max())


def test_all_water_of_the_storm_is_somewhere(frame: pd.DataFrame) -> None:
    """Rain and ground water against all that left and all that is held, over the whole storm."""
    of, known = Columns(frame), model(frame)
    catchment_m2 = (
        known["perimeter_m"] * known["fill_width_m"] + known["lot_area_m2"]
        + known["roof_area_m2"] * known["runoff_share"] + known["well_area_m2"]
    )  # fmt: skip
    came = rain_m(frame).sum() * catchment_m2 + of.flow("ground_water", "returned").sum()
    went = of.flow("roof_led_away", "run_off", "lot_run_off", "deep", "pump").sum()
    stores = ("ponded", "fill", "gap", "lot_way_down", "lot", "footing", "pit")
    stays = of.more(*stores).sum() - of.more("fill_deficit", "lot_deficit").sum()
    assert abs(came - went - stays) <= 1e-9 * came
    assert came > 10.0


# ---- each equation once more ---------------------------------------------------------------------


def test_rain_on_roof_strip_wells_and_lot(frame: pd.DataFrame) -> None:
    of, known, rain = Columns(frame), model(frame), rain_m(frame)
    np.testing.assert_allclose(of.before("rain_mm_h"), of.before("rain_mm") * 12.0)
    np.testing.assert_allclose(of.after("rain_total_mm"), np.cumsum(of.before("rain_mm")))
    carried = np.minimum(rain, known["gutter_capacity_mm_h"] / 1000.0 / 12.0)
    roof = known["roof_area_m2"] * known["runoff_share"]
    left = 1.0 - known["share_at_wall"] - known["share_to_drain"]
    expected = {
        "strip_rain": rain * known["perimeter_m"] * known["fill_width_m"],
        "roof_at_wall": carried * roof * known["share_at_wall"],
        "roof_tied_in": carried * roof * known["share_to_drain"],
        "roof_led_away": carried * roof * left,
        "gutter_overflow": (rain - carried) * roof,
        "window_wells": rain * known["well_area_m2"],
        "lot_rain": rain * known["lot_area_m2"],
    }
    for name, values in expected.items():
        np.testing.assert_allclose(of.flow(name), values, rtol=1e-9, atol=1e-13, err_msg=name)
    not_taken = (of.flow("lot_rain") - of.flow("lot_infiltration")) / known["lot_area_m2"]
    np.testing.assert_allclose(of.flow("run_on"), not_taken * known["runon_area_m2"], atol=1e-12)
    four = of.flow("strip_rain", "roof_at_wall", "gutter_overflow", "run_on")
    np.testing.assert_allclose(of.flow("at_wall"), four, rtol=1e-12)
    np.testing.assert_allclose(of.flow("gap_direct"), known["gap_share"] * four, rtol=1e-9)


def test_ponded_water_leaks_down_the_gap(frame: pd.DataFrame) -> None:
    """dp/dt = r - p / T: p goes from p0 to r T + (p0 - r T) exp(-t / T)."""
    of, known = Columns(frame), model(frame)
    strip = known["perimeter_m"] * known["fill_width_m"]
    before, after, most = of.before("ponded_m"), of.after("ponded_m"), known["ponding_depth_m"]
    within = (before > 0) & (after > 0) & (before < most) & (after < most)
    rate = (of.flow("at_wall") - of.flow("gap_direct", "infiltration")) / strip / DT
    rest = rate * known["ponding_time_s"]
    expected = rest + (before - rest) * math.exp(-DT / known["ponding_time_s"])
    np.testing.assert_allclose(after[within], expected[within], rtol=1e-6, atol=1e-12)
    full = (before == most) & (after == most)
    leak = most / known["ponding_time_s"] * strip * DT
    np.testing.assert_allclose(of.flow("ponded_to_gap")[full], leak, rtol=1e-9)
    assert after.max() <= most
    np.testing.assert_allclose(of.before("ponded_m3"), before * strip)


def test_infiltration_by_green_and_ampt(frame: pd.DataFrame) -> None:
    """F - S ln((F + S) / S) = k t while water stands; else all that comes goes in."""
    of, known = Columns(frame), model(frame)
    strip = known["perimeter_m"] * known["fill_width_m"]
    f0, f1 = of.before("infiltrated_m"), of.after("infiltrated_m")
    np.testing.assert_allclose((f1 - f0) * strip, of.flow("infiltration"), atol=1e-12)
    s, k = known["fill_sorption_m"], known["fill_k_m_s"]
    room = known["fill_storage_m"] * strip
    # where all goes in, rounding leaves ponded water of 1e-19 m
    p0, p1 = of.before("ponded_m") > 1e-12, of.after("ponded_m") > 1e-12
    ponded = p0 & p1
    ponded &= of.after("fill_m3") < 0.999 * room
    grown = f1 - f0 - s * np.log((f1 + s) / (f0 + s))
    np.testing.assert_allclose(grown[ponded], k * DT, rtol=1e-6)
    dry = ~p0 & ~p1 & (of.flow("run_off") == 0) & (of.flow("ponded_to_gap") < 1e-12)
    assert dry.any()
    come = of.flow("at_wall") - of.flow("gap_direct")
    np.testing.assert_allclose(of.flow("infiltration")[dry], come[dry], atol=1e-12)
    g0, g1 = of.before("lot_infiltrated_m"), of.after("lot_infiltrated_m")
    s, k = known["lot_sorption_m"], known["lot_k_m_s"]
    shed = of.flow("lot_rain") - of.flow("lot_infiltration") > 1e-9
    through = shed & np.append(False, shed[:-1])  # more than it takes from the beginning on
    through &= of.after("lot_way_down_m3") < 0.999 * known["lot_storage_m"] * known["lot_area_m2"]
    grown = g1 - g0 - s * np.log((g1 + s) / (g0 + s))
    rising = through & (np.diff(rain_m(frame), prepend=0.0) >= 0)
    np.testing.assert_allclose(grown[rising], k * DT, rtol=1e-6)


@pytest.mark.parametrize(
    ("store", "come", "gone", "time"),
    [
        ("gap", ("gap_direct", "ponded_to_gap", "window_wells", "roof_tied_in"), "gap_flow", "gap"),
        ("fill", ("infiltration",), "fill_drainage", "fill"),
        ("lot_way_down", ("lot_infiltration",), "recharge", "lot"),
    ],
)
def test_linear_stores(
    frame: pd.DataFrame, store: str, come: tuple[str, ...], gone: str, time: str
) -> None:
    """dS/dt = r - S / T: S goes from S0 to r T + (S0 - r T) exp(-t / T)."""
    of, tau = Columns(frame), model(frame)[f"{time}_time_s"]
    deficit = {"fill": "fill_deficit_m3", "lot_way_down": "lot_deficit_m3"}.get(store)
    wet = np.ones(len(frame) - 1, bool) if deficit is None else of.before(deficit) == 0
    assert wet.sum() > 100
    rest = of.flow(*come) / DT * tau
    before, after = of.before(f"{store}_m3"), of.after(f"{store}_m3")
    expected = rest + (before - rest) * math.exp(-DT / tau)
    np.testing.assert_allclose(after[wet], expected[wet], rtol=1e-9, atol=1e-12)
    out = before + of.flow(*come) - expected
    np.testing.assert_allclose(of.flow(gone)[wet], out[wet], rtol=1e-6, atol=1e-12)


def test_reservoirs_of_the_lot(frame: pd.DataFrame) -> None:
    """Each M goes from M0 to r T + (M0 - r T) exp(-t / T), less what a higher level keeps back."""
    of, known = Columns(frame), model(frame)
    time, share, area = (np.array(known[f"store_{x}"]) for x in ("s", "share", "area_m2"))
    taken = {row["key"]: row["value"] for row in frame.attrs["parameters"]}
    rate = taken["ground.antecedent_recharge"] / 1000.0 / 86400.0 * known["lot_area_m2"]
    now = rate * share * time
    level, recharge = frame["footing_level_m"].to_numpy(), of.flow("recharge") / DT
    fall, gain = np.exp(-DT / time), time * -np.expm1(-DT / time)
    held = []
    for k in range(len(frame) - 1):
        held.append(now + area * (level[k] - known["invert_m"]))
        now = now * fall + share * recharge[k] * gain
        now -= area * (level[k + 1] - level[k]) * gain / DT
    for i, store in enumerate(np.transpose(held), start=1):
        np.testing.assert_allclose(of.before(f"lot_store_{i}_m3"), store, rtol=1e-9, atol=1e-9)
    np.testing.assert_allclose(of.before("lot_m3"), np.sum(held, axis=1), rtol=1e-9, atol=1e-9)


def arriving(of: Columns, known: dict[str, Any], level: str, stopped: str = "") -> Any:
    """What reaches the footing as it stands, and the area with which lot and ground go along."""
    time, area = np.array(known["store_s"]), np.array(known["store_area_m2"])
    along = float((area * (1.0 + time * np.expm1(-DT / time) / DT)).sum())
    come = of.flow("gap_flow", "fill_drainage") + of.flow(f"{stopped}lot_drain")
    come = come + of.flow(f"{stopped}ground_water") - of.flow(f"{stopped}deep")
    edges, far = np.array(known["footing_level_m"]), np.array(known["footing_ground_water_m3_s"])
    band = np.clip(np.searchsorted(edges, of.before(level), side="right") - 1, 0, far.size - 2)
    along = along - (np.diff(far) / np.diff(edges))[band] * DT / 2
    # the flows are told after what the reservoirs kept back, and less came, while the level rose
    return (come + along * (of.after(level) - of.before(level))) / DT, along


def test_the_level_beside_the_footing(frame: pd.DataFrame) -> None:
    """A dh/dt = q - C (h - invert) within a band: h goes to rest + (h0 - rest) exp(-C t / A)."""
    of, known = Columns(frame), model(frame)
    edges, areas = np.array(known["footing_level_m"]), np.array(known["footing_area_m2"])
    q, along = arriving(of, known, "footing_level_m")
    before, after = of.before("footing_level_m"), of.after("footing_level_m")
    c, invert = known["conductance_m2_s"], known["invert_m"]
    band = np.searchsorted(edges, before, side="right") - 1
    same = (band == np.searchsorted(edges, after, side="right") - 1) & (before > invert + 1e-6)
    at = np.flatnonzero(same & (after > invert + 1e-6))
    assert at.size > 10
    area = areas[np.minimum(band[at], areas.size - 1)] + along[at]
    rest = invert + q[at] / c
    expected = rest + (before[at] - rest) * np.exp(-c * DT / area)
    np.testing.assert_allclose(after[at], expected, rtol=1e-7, atol=1e-10)
    mean = c * (rest - invert) + c * (before[at] - rest) * area / c / DT * -np.expm1(-c * DT / area)
    np.testing.assert_allclose(of.flow("to_pit")[at] / DT, mean, rtol=1e-6, atol=1e-12)


def test_ground_water_and_what_the_deep_ground_takes(frame: pd.DataFrame) -> None:
    of, known = Columns(frame), model(frame)
    ends = np.array([of.before("footing_level_m"), of.after("footing_level_m")])
    steady = np.interp(ends, known["footing_level_m"], known["footing_ground_water_m3_s"]).mean(0)
    np.testing.assert_allclose(of.flow("ground_water") / DT, steady, rtol=1e-9, atol=1e-15)
    assert np.all(of.flow("deep") / DT <= known["deep_m3_s"] * (1 + 1e-9) + 1e-18)
    wet = of.flow("gap_flow", "fill_drainage") / DT > known["deep_m3_s"]
    assert wet.any()
    np.testing.assert_allclose(of.flow("deep")[wet] / DT, known["deep_m3_s"], rtol=1e-9, atol=1e-18)


def lifted(known: dict[str, Any], level: float, q: float) -> tuple[float, float]:
    """Level after a step, and what was lifted, in steps of 20 ms; the pump at rest before."""
    edges, areas = np.array(known["pit_level_m"]), known["pit_area_m2"]
    pump = known["pit_pump_m3_s"]
    on, out, short = False, 0.0, 0.02
    for _ in range(round(DT / short)):
        flow = float(np.interp(level, edges, pump)) if on else 0.0
        band = int(np.clip(np.searchsorted(edges, level, side="right") - 1, 0, len(areas) - 1))
        level += (q - flow) * short / areas[band]
        out += flow * short
        if level >= known["on_m"]:
            on = True
        elif on and level <= known["off_m"]:
            on = False
            out -= known["drainback_m3"]
            level += known["drainback_m3"] / areas[band]
    return level, out


def test_the_pump_takes_the_pit_from_one_switch_level_to_the_other(frame: pd.DataFrame) -> None:
    of, known = Columns(frame), model(frame)
    starts = of.flow("pump") > 1e-6
    rests = ~starts
    assert starts.any() and rests.any()
    came = of.flow("to_pit", "returned")
    np.testing.assert_allclose(of.more("pit")[rests], came[rests], atol=1e-9)
    # in the step after one of rest the pump is at rest when the step begins
    at = int(np.flatnonzero(starts & np.append(False, rests[:-1]))[0])
    level, out = lifted(known, of.before("pit_level_m")[at], came[at] / DT)
    # a start or stop may come 20 ms late, which is 20 ms of the flows
    late = 0.02 * max(known["pit_pump_m3_s"])
    assert out == pytest.approx(of.flow("pump")[at], abs=5 * late)
    pit_m3 = of.after("pit_m3")[at] - of.before("pit_m3")[at]
    assert came[at] - out == pytest.approx(pit_m3, abs=5 * late)
    assert level == pytest.approx(of.after("pit_level_m")[at], abs=5 * late / 0.1)


def test_a_share_of_what_left_comes_back_later(frame: pd.DataFrame) -> None:
    of, known = Columns(frame), model(frame)
    lag = round(known["return_lag_s"] / DT)
    out = of.flow("pump")
    if known["return_share"] == 0:
        assert of.flow("returned").max() == 0
        return
    assert of.flow("returned")[:lag].max() == 0
    # what falls back from the pipe in a later step than it was lifted in is owed
    owed = known["drainback_m3"]
    np.testing.assert_allclose(
        of.flow("returned")[lag:], known["return_share"] * out[:-lag], atol=owed + 1e-9
    )


def test_both_levels_after_the_stop(frame: pd.DataFrame) -> None:
    """Euler in steps of 10 ms from one row to the next: where the water comes in fastest."""
    of, known = Columns(frame), model(frame)
    q, along = arriving(of, known, "stopped_footing_level_m", "stopped_")
    at = int(np.nanargmax(np.where(np.isfinite(q), of.flow("stopped_drain"), np.nan)))
    out_edges, in_edges = np.array(known["footing_level_m"]), np.array(known["pit_level_m"])
    h_out, h_in = of.before("stopped_footing_level_m")[at], of.before("stopped_pit_level_m")[at]
    short, drained = 0.01, 0.0

    def band(edges: FloatArray, level: float) -> int:
        return int(np.clip(np.searchsorted(edges, level, side="right") - 1, 0, edges.size - 2))

    leak = of.flow("stopped_joint")[at] / DT
    for _ in range(round(DT / short)):
        flow = known["conductance_m2_s"] * (h_out - max(h_in, known["invert_m"]))
        a_out = known["footing_area_m2"][band(out_edges, h_out)] + along[at]
        a_in = known["pit_area_m2"][band(in_edges, h_in)]
        h_out += (q[at] - flow - leak) * short / a_out
        h_in += (flow + leak) * short / a_in
        drained += flow * short
    assert h_out == pytest.approx(of.after("stopped_footing_level_m")[at], abs=2e-4)
    assert h_in == pytest.approx(of.after("stopped_pit_level_m")[at], abs=2e-4)
    assert drained == pytest.approx(of.flow("stopped_drain")[at], rel=2e-3)


def test_water_comes_in_at_the_joint_where_it_stands_above_the_floor(frame: pd.DataFrame) -> None:
    of, known = Columns(frame), model(frame)
    over = [
        at("stopped_footing_level_m") - np.maximum(0.0, at("stopped_pit_level_m"))
        for at in (of.before, of.after)
    ]
    leak = of.flow("stopped_joint")
    told = np.isfinite(leak)
    most = known["joint_m2_s"] * np.maximum(np.maximum(*over), 0.0) * DT
    assert np.all(leak[told] <= most[told] * (1 + 1e-9))
    least = known["joint_m2_s"] * np.maximum(np.minimum(*over), 0.0) * DT
    # where the head hardly changes, by the mean of both ends
    calm = told & (least > 0.8 * most)
    np.testing.assert_allclose(leak[calm], (least[calm] + most[calm]) / 2, rtol=0.02)


# ---- what stands beside the columns --------------------------------------------------------------


def test_the_levels_are_those_of_the_chart(answer: Assessment) -> None:
    frame = answer.trace()
    storm = answer.headline_storm
    assert frame.attrs["about"]["return_period_yr"] == 10.0 == storm.return_period_yr
    drawn = storm.trace
    np.testing.assert_allclose(frame["pit_level_m"][:-1], drawn.working_m, atol=1e-12)
    np.testing.assert_allclose(frame["stopped_pit_level_m"][:-1], drawn.stopped_m, atol=1e-12)
    stopped = np.isfinite(drawn.stopped_m)
    beside = np.where(stopped, frame["stopped_footing_level_m"][:-1], frame["footing_level_m"][:-1])
    np.testing.assert_allclose(beside, drawn.footing_m, atol=1e-12)
    np.testing.assert_allclose(frame["to_pit_m3_s"][:-1], drawn.inflow_m3_s, rtol=1e-12)
    assert frame.attrs["about"]["stop_s"] == drawn.stop_s


def test_minutes_run_from_the_stop_and_from_the_alarm(frame: pd.DataFrame) -> None:
    about, known = frame.attrs["about"], model(frame)
    after = frame["time_s"] >= about["stop_s"]
    assert frame["since_stop_min"][~after].isna().all()
    np.testing.assert_allclose(
        frame["since_stop_min"][after], (frame["time_s"][after] - about["stop_s"]) / 60.0
    )
    sounded = frame["since_alarm_min"].notna()
    level = frame["stopped_pit_level_m"]
    assert (level[sounded] >= known["alarm_m"] - 1e-9).all() or not sounded.any()
    assert (level[~sounded & level.notna()] < known["alarm_m"] + 1e-9).all()


def test_parameters_are_those_of_the_home_that_is_shown(answer: Assessment) -> None:
    rows = {row["key"]: row for row in answer.trace().attrs["parameters"]}
    middle = answer.headline_storm.trace.home
    assert len(rows) > 40
    for key, row in rows.items():
        if key in variables():
            assert row["value"] == middle[variables()[key].name][0]
        assert row["basis"] in ("measured", "given", "unknown")
        assert row["basis"] != "unknown" or row["source"] in load_sources()
    assert rows["ground.soil"]["value"] == middle.soil[0]
    assert rows["pit.depth"]["unit"] == "m"
    told = {row.key: row.basis.value for row in answer.assumptions}
    assert all(rows[key]["basis"] == basis for key, basis in told.items() if key in rows)


def test_every_column_is_explained(answer: Assessment) -> None:
    frame = answer.trace()
    rows = frame.attrs["columns"]
    assert [row["name"] for row in rows] == list(frame.columns)
    ends = {"m3/s": "_m3_s", "m3": "_m3", "m": "_m", "mm": "_mm", "mm/h": "_mm_h", "s": "_s",
            "min": "_min"}  # fmt: skip
    for row in rows:
        assert row["name"].endswith(ends[row["unit"]])
        assert row["at"] in ("moment", "step") and row["source"] in load_sources()
        last = frame[row["name"]].iloc[-1]
        assert (
            math.isnan(last)
            if row["at"] == "step"
            else not math.isnan(last) or "since" in (row["name"])
        )


def test_a_storm_that_was_not_looked_at_is_refused(answer: Assessment) -> None:
    with pytest.raises(InputError, match="there is no storm of 7 years; they are of 1, 2, 5, 10"):
        answer.trace(7)
    two = answer.median_home.picked([0, 0])
    with pytest.raises(RangeError, match="one home"):
        storm_columns(two, answer.headline_storm.trace)
