"""Homes whose inflow is known: a response by plain convolution, and a pit cycle by cycle.

Nothing of `riskkit.gauge` is used: stores are sums of exponentials at five minutes, and a pump that
draws the pit down takes the volume of a cycle over what it carries beyond the inflow.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from scipy.signal import fftconvolve

from riskkit.gauge.log import PumpLog
from riskkit.records import FloatArray, RainRecord

HOUR_S, DAY_S, YEAR_S = 3600.0, 86400.0, 365.25 * 86400.0
FINE_S = 300.0
START = np.datetime64("2020-01-01T00:00:00")
START_S = float(START.astype("datetime64[s]").astype(np.int64))
LEAD_D = 120  # of rain before the log


@dataclass(frozen=True)
class Truth:
    """What a home does: areas [m2], time constants [h], base flow and its swing, and its pit."""

    area_m2: tuple[float, ...] = (30.0, 50.0)
    store_h: tuple[float, ...] = (0.8, 60.0)
    base_m3_s: float = 2e-6
    swing: float = 0.6  # highest at the end of March
    cycle_m3: float = 0.030617
    pump_m3_s: float = 0.0022
    later_m3_s: float = 0.0  # another pump half way
    per_year: float = 0.0  # wear
    noise: float = 0.1  # of the inflow of each six hours
    seed: int = 1
    stuck_d: tuple[float, ...] = ()
    gaps_d: tuple[tuple[float, float], ...] = field(default_factory=tuple)

    def within_m2(self, hours: float) -> float:
        """Ground whose rain comes within some hours."""
        parts = zip(self.area_m2, self.store_h, strict=True)
        return sum(a * (1.0 - np.exp(-hours / k)) for a, k in parts)


def rain_of(days: float, seed: int) -> RainRecord:
    """Storms of some hours at random, two a week, 900 mm a year or so."""
    random = np.random.default_rng(seed)
    n = round((days + LEAD_D) * 24)
    rain = np.zeros(n)
    for at in np.flatnonzero(random.random(n) < 1.0 / 84.0):
        last = min(n, at + 1 + random.poisson(5))
        rain[at:last] += random.gamma(0.8, 1.7, last - at)
    start = START - np.timedelta64(LEAD_D, "D")
    return RainRecord(np.round(rain, 2), start, 3600, name="made")


def flow_of(truth: Truth, record: RainRecord) -> FloatArray:
    """Inflow of each five minutes of the record [m3/s]."""
    per = round(HOUR_S / FINE_S)
    rain_m = np.repeat(record.depth_mm / per, per) * 1e-3
    age = np.arange(rain_m.size) * FINE_S
    kernel = sum(
        a / (k * HOUR_S) * np.exp(-age / (k * HOUR_S))
        for a, k in zip(truth.area_m2, truth.store_h, strict=True)
    )
    kernel[0] /= 2.0  # in the five minutes of the rain itself half of it has come, in the mean
    flow = np.maximum(fftconvolve(rain_m, kernel)[: rain_m.size], 0.0)
    when = START_S - LEAD_D * DAY_S + age
    base = truth.base_m3_s * (1.0 + truth.swing * np.cos(2 * np.pi * (when / YEAR_S - 0.24)))
    random = np.random.default_rng([truth.seed, 5])
    wobble = np.exp(truth.noise * random.standard_normal(rain_m.size // 72 + 1)).repeat(72)
    return np.asarray((flow + base) * wobble[: rain_m.size])


def runs_of(truth: Truth, record: RainRecord) -> tuple[FloatArray, FloatArray]:
    """Starts and stops [s], from the day the log begins."""
    flow = flow_of(truth, record)
    edges = START_S - LEAD_D * DAY_S + FINE_S * np.arange(flow.size + 1)
    came = np.concatenate([[0.0], np.cumsum(flow * FINE_S)])
    now, end = START_S, float(edges[-1])
    half = (START_S + end) / 2.0
    starts: list[float] = []
    stops: list[float] = []
    stuck = [START_S + day * DAY_S for day in truth.stuck_d]
    while True:
        full = float(np.interp(now, edges, came)) + truth.cycle_m3
        if full >= came[-1]:
            break
        begin = float(np.interp(full, came, edges))
        inflow = flow[int((begin - edges[0]) // FINE_S)]
        carries = truth.pump_m3_s * (1.0 + truth.per_year * (begin - START_S) / YEAR_S)
        if truth.later_m3_s and begin > half:
            carries = truth.later_m3_s
        now = begin + truth.cycle_m3 / max(carries - inflow, 1e-5)
        if stuck and begin > stuck[0]:
            stuck.pop(0)
            now = begin + DAY_S
        starts.append(begin)
        stops.append(now)
    return np.array(starts), np.array(stops)


def text_of(truth: Truth, record: RainRecord) -> str:
    """The log as a file: changes, to the second, an empty cell where a gap begins."""
    starts, stops = runs_of(truth, record)
    rows = [(s, "1") for s in np.round(starts)] + [(s, "0") for s in np.round(stops)]
    for first, last in truth.gaps_d:
        begin, end = START_S + first * DAY_S, START_S + last * DAY_S
        rows = [row for row in rows if not begin <= row[0] < end]
        rows.append((begin, ""))
    rows.sort()
    return "\n".join(["time,running", *(f"{stamp(t)},{state}" for t, state in rows), ""])


def stamp(time_s: float) -> str:
    """A time as people write it."""
    return str(np.datetime64(round(time_s), "s")).replace("T", " ")


def log_of(starts: Sequence[float], stops: Sequence[float]) -> PumpLog:
    """A log of seconds, without gaps."""
    start, stop = np.array(starts, dtype=float), np.array(stops, dtype=float)
    none = np.full(start.size, np.nan)
    watched = np.array([[start[0], max(float(start[-1]), float(np.nanmax(stop)))]])
    return PumpLog("made", start, stop, none, watched, 1.0)
