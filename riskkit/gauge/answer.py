"""What a log of the pump tells of a home: inflow, response to rain, ground water and the pump."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from typing import TYPE_CHECKING

import numpy as np

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.hours import hourly_weather
from riskkit.ensemble.draws import draw_homes, median_home
from riskkit.errors import InputError, NoPitError, need_type
from riskkit.evidence.overlay import home_as_seen
from riskkit.gauge.cycles import (
    Anomaly,
    AnomalySpan,
    Bins,
    Cycles,
    bins_of,
    cycle_flow_m3_s,
    cycles_of,
)
from riskkit.gauge.log import PumpLog
from riskkit.gauge.pump import PumpCourse, pump_course, pump_flow_m3_s
from riskkit.gauge.response import Response, dry_bins, fit_response
from riskkit.gauge.skill import Skill, response_skill
from riskkit.gauge.water import Water, soils_of
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.quantities.components import Component
from riskkit.quantities.variables import variables
from riskkit.records import FloatArray, RainRecord
from riskkit.records.shown import ShownInNotebook
from riskkit.simulate import cycle_volume_m3_of, drainback_m3_of, pump_flow_of

if TYPE_CHECKING:
    import pandas as pd

__all__ = ["Fitted", "Lacking", "LogAnalysis", "antecedent_water", "gauge"]

_HOUR_S, _DAY_S = 3600.0, 86400.0
_DRY_S = 2.0 * _DAY_S  # since the last rain or melt
_FEWEST_BINS, _FEWEST_DAYS, _FEWEST_DRY = 40, 20.0, 5
_LEAD_S = 2.0 * 365.25 * _DAY_S  # of rain before the log
_AFTER_GAP_S = 3.0 * _HOUR_S  # rain that is not known spoils what comes so soon after it
_SILENT_S, _SILENT_MM = _DAY_S, 25.0  # a rest, and rain in it, that are worth a look (judgement)
_DRAWS, _RESAMPLED = 256, 200
_WIDER = 1.35  # few blocks tell too little: as drawn, limits of 90 % held in 78 to 88 % of homes
_WIDER_AREA = 1.6  # of 383 logs of a month or a season 86 in 100 held with 1.35
_WIDER_RECESSION = 1.75  # of 133 logs of a month 84 in 100 held with 1.35
_LEAST = 1e-9
_LOG_UNITS = {
    "log.hour_area": "m2", "log.hour_area_full": "m2", "log.day_area": "m2",
    "log.day_area_full": "m2", "log.lag": "s", "log.recession": "s", "log.pump_flow": "m3/s",
    "log.storm_flow": "m3/s", "log.cycle_volume": "m3",
}  # fmt: skip
_SHORTEST = 1.05  # of the shortest store: a delay that can be told
_TELLING_MM = 50.0  # rain in a log below which no response is fitted


class Lacking(Enum):
    """Why a log tells no response to rain."""

    RAIN = "rain"
    DAYS = "days"
    CYCLES = "cycles"
    DRY = "dry"


@dataclass(frozen=True)
class Fitted:
    """A quantity that a log tells, with the limits within which nine of ten lie.

    Parameters
    ----------
    quantity : str
        Key of the home file, such as ``"pump.capacity"``, or what else it is: ``"log.hour_area"``
        [m2], ``"log.hour_area_full"`` [m2], ``"log.lag"`` [s], ``"log.recession"`` [s],
        ``"log.pump_flow"`` [m3/s].
    value, low, high : float
        Middle, 5 % and 95 % point [SI unit of the quantity].
    """

    quantity: str
    value: float
    low: float
    high: float

    @property
    def unit(self) -> str:
        """SI unit of the quantity."""
        known = variables().get(self.quantity)
        return _LOG_UNITS[self.quantity] if known is None else known.unit


@dataclass(frozen=True, eq=False, repr=False)
class LogAnalysis(ShownInNotebook):
    """Results of the analysis of a pump log.

    Parameters
    ----------
    home : Home
        The home.
    log : PumpLog
        Its log.
    cycles : Cycles
        Its cycles, and what tells no inflow.
    cycle_m3 : Fitted
        Water of a cycle, from the levels of the switch and the room of the pit [m3].
    bins : Bins
        Inflow of whole cycles, of an hour at least.
    water : Water, optional
        Rain and melt of the same time; none where none is known.
    response : Response, optional
        How inflow answers to it; none where the log does not tell.
    lacking : Lacking, optional
        Why it does not.
    skill : Skill, optional
        How well each half is predicted by the other.
    pump : PumpCourse, optional
        What the pump carried; none where runs are not told.
    fitted : tuple of Fitted
        What can be compared with the inputs of the home.
    """

    home: Home
    log: PumpLog
    cycles: Cycles
    cycle_m3: Fitted
    bins: Bins
    water: Water | None
    response: Response | None
    lacking: Lacking | None
    skill: Skill | None
    pump: PumpCourse | None
    fitted: tuple[Fitted, ...]

    def __repr__(self) -> str:
        days = f"{self.log.days:.0f} days, {self.log.start_s.size:,} starts"
        return f"LogAnalysis({self.home.name!r}, {self.log.name!r}, {days})"

    def of(self, quantity: str) -> Fitted | None:
        """Return one of the quantities told.

        Parameters
        ----------
        quantity : str
            Its key.

        Returns
        -------
        Fitted or None
            None where the log does not tell it.
        """
        return next((one for one in self.fitted if one.quantity == quantity), None)

    def to_frame(self) -> pd.DataFrame:
        """Return the inflow as a table, a row for each span of whole cycles.

        Returns
        -------
        pandas.DataFrame
            By ``time``, the begin of the span: its length ``hours`` [h], ``inflow_m3_s``, and where
            a response was fitted ``rain_mm`` [mm], ``fitted_m3_s`` and its parts ``quick_m3_s``,
            ``slow_m3_s`` and ``base_m3_s`` [m3/s].
        """
        import pandas as pd

        bins = self.bins
        columns = {"hours": bins.time_s / _HOUR_S, "inflow_m3_s": bins.flow_m3_s}
        if self.water is not None:
            columns["rain_mm"] = self.water.between(bins.begin_s, bins.end_s) * 1e3
        if self.response is not None:
            parts = self.response.parts_m3(bins.begin_s, bins.end_s) / bins.time_s
            columns["fitted_m3_s"] = parts.sum(axis=0)
            columns |= dict(zip(("quick_m3_s", "slow_m3_s", "base_m3_s"), parts, strict=True))
        times = pd.to_datetime(np.round(bins.begin_s).astype(np.int64), unit="s")
        return pd.DataFrame(columns, index=pd.Index(times, name="time"))

    def fitted_frame(self) -> pd.DataFrame:
        """Return the quantities told as a table, a row for each.

        Returns
        -------
        pandas.DataFrame
            By ``quantity``: ``value``, ``low`` and ``high``, and their ``unit``, an SI unit; ``1``
            for a share.
        """
        import pandas as pd

        rows = [(one.quantity, one.value, one.low, one.high, one.unit) for one in self.fitted]
        frame = pd.DataFrame(rows, columns=["quantity", "value", "low", "high", "unit"])
        return frame.set_index("quantity")


def gauge(
    home: Home,
    log: PumpLog,
    record: RainRecord | None = None,
    weather: DailyWeather | None = None,
    *,
    seed: int = 1,
) -> LogAnalysis:
    """Read a log of the pump as a gauge of what flows into the pit.

    Parameters
    ----------
    home : Home
        The home; the size of its pit and the levels of its switch make each cycle a volume.
    log : PumpLog
        The log, as `riskkit.read_log` reads it.
    record : RainRecord, optional
        Rain of the same days; without it no response is fitted.
    weather : DailyWeather, optional
        Days of the same place with temperatures, for snow and what plants use.
    seed : int
        Of the draws of the home and of resampling [-].

    Returns
    -------
    LogAnalysis
        Inflow, response, pump, and what is odd in the log.

    Raises
    ------
    NoPitError
        Where the home has no pit.
    InputError
        Where the home has no pump, or the log no whole cycle.
    """
    need_type(home, Home, "home", 'read one with load_home("home.toml")')
    need_type(log, PumpLog, "pump log", 'read one with read_log("pump.csv")')
    if home.lacks(Component.PIT):
        raise NoPitError
    if home.lacks(Component.PUMP):
        raise InputError("pump", "the home has none, so it has no log", "enter the pump")
    cycles = cycles_of(log)
    if not cycles.begin_s.size:
        raise InputError(log.name, "no whole cycle is in it", "two starts without a gap are needed")
    seen = home_as_seen(home)
    median, homes = median_home(seen), draw_homes(seen, _DRAWS, seed)
    water = antecedent_water(home, log, record, weather)
    if water is not None:
        odd = (*(_with_rain(one, water) for one in cycles.odd), *_silent(cycles, water))
        cycles = replace(cycles, odd=tuple(sorted(odd, key=lambda one: one.begin_s)))
    bins, pump = _inflow(median, cycles)
    lacking = _lacking(log, bins, water)
    response = skill = None
    if lacking is None and water is not None:
        kept, soils = _known(bins, water), soils_of(water)
        response = fit_response(kept, water, soils=soils, n_resampled=_RESAMPLED, seed=seed)
        skill = response_skill(kept, water, soils)
    factor = cycle_volume_m3_of(homes) / float(cycle_volume_m3_of(median)[0])
    volume = _spread("log.cycle_volume", cycle_volume_m3_of(homes))
    fitted = _fitted(home, homes, factor, bins, water, response, pump, seed)
    return LogAnalysis(
        home, log, cycles, volume, bins, water, response, lacking, skill, pump, fitted
    )


def antecedent_water(
    home: Home, log: PumpLog, record: RainRecord | None, weather: DailyWeather | None
) -> Water | None:
    """Return rain and melt of a log and the two years before it, by the hour or longer.

    Parameters
    ----------
    home : Home
        The home, for its latitude.
    log : PumpLog
        The log.
    record : RainRecord, optional
        Rain.
    weather : DailyWeather, optional
        Days with temperatures; without them, or without a latitude, rain counts as it falls.

    Returns
    -------
    Water or None
        None where the record does not reach into the log.
    """
    if record is None:
        return None
    begin, end = float(log.watched_s[0, 0]), float(log.watched_s[-1, 1])
    latitude = home.place.latitude
    demand = None
    if weather is not None and latitude is not None:
        hours = hourly_weather(record, weather, latitude)
        start, step = hours.first_day * _DAY_S, _HOUR_S
        depth, gap, demand = hours.water_mm, hours.is_gap, hours.demand_mm
    else:
        start = float(record.start.astype("datetime64[s]").astype(np.int64))
        step = float(record.interval_s)
        gap = np.isnan(record.depth_mm).astype(np.float64)
        depth = np.nan_to_num(record.depth_mm)
        if step < _HOUR_S:
            many = round(_HOUR_S / step)
            whole = depth.size // many * many
            depth = depth[:whole].reshape(-1, many).sum(axis=1)
            gap = gap[:whole].reshape(-1, many).max(axis=1, initial=0.0)
            step *= many
    first = max(0, int((begin - _LEAD_S - start) // step))
    last = min(depth.size, int(np.ceil((end - start) / step)))
    if last - first < 2 or start + last * step <= begin:
        return None
    cut = slice(first, last)
    wants = None if demand is None else demand[cut] * 1e-3
    return Water(start + first * step, step, depth[cut] * 1e-3, gap[cut], wants)


def _inflow(median: HomeSamples, cycles: Cycles) -> tuple[Bins, PumpCourse | None]:
    """Inflow of whole cycles, and what the pump carries, with the middle volume of a cycle."""
    volume = float(cycle_volume_m3_of(median)[0])
    fall_m = float((median["off_depth_m"] - median["on_depth_m"])[0])
    each = np.where(np.isfinite(cycles.drop_m), cycles.drop_m / fall_m, 1.0) * volume
    back = min(float(drainback_m3_of(median)[0]), 0.5 * volume)
    pump = pump_course(cycles.begin_s, pump_flow_m3_s(cycles, each, back))
    if pump is not None:
        carries = pump.at(cycles.begin_s)
    else:
        levels = np.linspace(-median["off_depth_m"], -median["on_depth_m"], 5).T
        carries = np.full(cycles.begin_s.size, float(pump_flow_of(median, levels).mean()))
    flow = cycle_flow_m3_s(cycles, each, back, carries)
    inflow = flow * (cycles.end_s - cycles.begin_s)
    return bins_of(cycles.begin_s, cycles.end_s, inflow, _HOUR_S), pump


def _with_rain(odd: AnomalySpan, water: Water) -> AnomalySpan:
    begin, end = np.array([odd.begin_s - _DAY_S]), np.array([odd.end_s])
    if not np.isfinite(end[0]) or water.gap_between(begin, end)[0] > 0:
        return odd
    return replace(odd, rain_mm=float(water.between(begin, end)[0] * 1e3))


def _known(bins: Bins, water: Water) -> Bins:
    """Keep the bins whose rain is known, and that of the hours before them."""
    return bins.picked(water.gap_between(bins.begin_s - _AFTER_GAP_S, bins.end_s) <= 0)


def _lacking(log: PumpLog, bins: Bins, water: Water | None) -> Lacking | None:
    if water is None:
        return Lacking.RAIN
    known = _known(bins, water)
    if not known.begin_s.size:
        return Lacking.RAIN
    if known.time_s.sum() < _FEWEST_DAYS * _DAY_S:
        return Lacking.DAYS if log.days < _FEWEST_DAYS else Lacking.RAIN
    if known.begin_s.size < _FEWEST_BINS:
        return Lacking.CYCLES
    if float(water.between(known.begin_s, known.end_s).sum()) * 1e3 < _TELLING_MM:
        return Lacking.DRY
    return None


def _silent(cycles: Cycles, water: Water) -> tuple[AnomalySpan, ...]:
    """Rests of days with much rain: dry ground, or a pump or a logger that stood still."""
    gone = cycles.end_s - cycles.begin_s > _SILENT_S
    rain = water.between(cycles.begin_s, cycles.end_s) * 1e3
    return tuple(
        AnomalySpan(
            Anomaly.SILENT, float(cycles.begin_s[i]), float(cycles.end_s[i]), float(rain[i])
        )
        for i in np.flatnonzero(gone & (rain >= _SILENT_MM))
    )


def _wider(of: FloatArray, by: float = _WIDER) -> FloatArray:
    """Resampled values farther from the best fit, which is the first, as logarithms."""
    best = max(float(of[0]), _LEAST)
    return np.asarray(best * (np.maximum(of, _LEAST) / best) ** by)


def _spread(quantity: str, values: FloatArray, median: float | None = None) -> Fitted:
    low, half, high = (float(v) for v in np.percentile(values, [5.0, 50.0, 95.0]))
    return Fitted(quantity, half if median is None else median, low, high)


def _fitted(
    home: Home,
    homes: HomeSamples,
    factor: FloatArray,
    bins: Bins,
    water: Water | None,
    response: Response | None,
    pump: PumpCourse | None,
    seed: int,
) -> tuple[Fitted, ...]:
    """Quantities with their spread: that of the log, times that of the volume of a cycle."""
    found: list[Fitted] = []
    if water is not None:
        dry = bins.picked(dry_bins(bins, water, _DRY_S))
        if dry.begin_s.size >= _FEWEST_DRY:
            flows = np.repeat(dry.flow_m3_s, np.maximum(1, dry.time_s // _HOUR_S).astype(np.int64))
            product = np.percentile(flows, np.linspace(0.5, 99.5, 100))[:, None] * factor
            found.append(_spread("ground.dry_inflow", product.ravel()))
    if pump is not None:
        random = np.random.default_rng([seed, 2])
        now = pump.last_m3_s + pump.error_m3_s * random.standard_normal(factor.size)
        found.append(_spread("log.pump_flow", now * factor))
        levels = np.linspace(-homes["off_depth_m"], -homes["on_depth_m"], 5).T
        new = replace(homes, values={**homes.values, "capacity_share": np.ones(homes.n_draws)})  # noqa: PD011 - no frame
        plate = pump_flow_of(new, levels).mean(axis=1)
        told = home.quantity("pump.rated_flow") is not None or home.pairs("pump.curve") is not None
        if told and np.all(plate > 0):
            found.append(_spread("pump.capacity", now * factor / plate))
    if response is not None:
        random = np.random.default_rng([seed, 3])
        scale = factor[random.integers(0, factor.size, len(response.rain_m2))]
        for quantity, of in (
            ("log.hour_area", response.within_m2(_HOUR_S, response.through)),
            ("log.hour_area_full", response.within_m2(_HOUR_S, 1.0)),
            ("log.day_area", response.within_m2(_DAY_S, response.through)),
            ("log.day_area_full", response.within_m2(_DAY_S, 1.0)),
        ):
            found.append(_spread(quantity, _wider(of, _WIDER_AREA)[1:] * scale[1:], float(of[0])))
        for quantity, of, by in (
            ("log.lag", response.lag_s(), _WIDER),
            ("log.recession", response.recession_s(), _WIDER_RECESSION),
        ):
            finite = of[np.isfinite(of)]
            if of[0] <= response.store_s[0] * _SHORTEST:  # shorter than the rain is told
                continue
            if np.isfinite(of[0]) and finite.size > len(of) // 2:
                found.append(_spread(quantity, _wider(finite, by)[1:], float(of[0])))
    return tuple(found)
