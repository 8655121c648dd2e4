"""A made log of a pump, for examples and tests: a home's own years, cycle by cycle.

``python -m riskkit.gauge.synthetic demo_sites`` makes that of the demo homes again.
"""

from __future__ import annotations

import gzip
import sys
from collections.abc import Sequence
from pathlib import Path

import numpy as np

from riskkit.antecedent.days import DailyWeather
from riskkit.antecedent.hours import hourly_weather
from riskkit.ensemble.draws import draw_homes
from riskkit.errors import InputError
from riskkit.files import write_bytes
from riskkit.gauge.files import log_rain
from riskkit.home.home import Home, load_home
from riskkit.home.samples import HomeSamples
from riskkit.pit.geometry import volume_m3
from riskkit.records import FloatArray, RainRecord
from riskkit.simulate import ground_of, pump_flow_of, storage_of
from riskkit.simulate.continuous import run_hours

__all__ = ["DEMO_LOG", "cycled", "log_text", "main", "synthetic_log", "synthetic_water"]

DEMO_LOG = "split_level_pump_log.csv.gz"
_DEMO_HOME = "split_level_on_clay.toml"
_DEMO_DAYS = (np.datetime64("2019-01-01"), np.datetime64("2021-01-01"))

_HOUR_S = 3600.0
_LEAD_H = 730 * 24
_LONGEST_RUN_H = 240
_JITTER = 0.02  # of the water of a cycle: a float does not turn at the same level every time


def cycled(
    flow_m3_s: FloatArray, start_s: float, volume_m3: float, pump_m3_s: float
) -> tuple[FloatArray, FloatArray]:
    """Return when a pump starts and stops for inflow that is even within each hour.

    Parameters
    ----------
    flow_m3_s : (n_hours,) array
        Inflow [m3/s].
    start_s : float
        Begin of the first hour, since 1970; the pit is then drawn down [s].
    volume_m3 : float
        Water between the levels of stop and start [m3].
    pump_m3_s : float
        What the pump carries [m3/s].

    Returns
    -------
    tuple of (n_runs,) arrays
        Starts and stops [s].

    References
    ----------
    arithmetic : the time at which what came in fills the pit, and what is left of it is lifted
    """
    edges = start_s + _HOUR_S * np.arange(flow_m3_s.size + 1)
    came = np.concatenate([[0.0], np.cumsum(flow_m3_s * _HOUR_S)])
    starts, stops = [], []
    now, end = float(edges[0]), float(edges[-1])
    while True:
        full = float(np.interp(now, edges, came)) + volume_m3
        if full > came[-1]:
            break
        begin = float(np.interp(full, came, edges))
        # the pump is ahead once it has lifted what came since the pit was drawn down
        first = int(np.searchsorted(edges, begin, side="right"))
        later = edges[first : first + _LONGEST_RUN_H]
        left = volume_m3 + np.interp(later, edges, came) - full - pump_m3_s * (later - begin)
        drawn = np.flatnonzero(left <= 0)
        if not drawn.size:
            break
        at = int(drawn[0])
        before_s = begin if at == 0 else float(later[at - 1])
        before = volume_m3 if at == 0 else float(left[at - 1])
        share = before / (before - float(left[at]))
        now = before_s + share * (float(later[at]) - before_s)
        if now > end:
            break
        starts.append(begin)
        stops.append(now)
    return np.array(starts), np.array(stops)


def log_text(starts_s: FloatArray, stops_s: FloatArray) -> str:
    """Write starts and stops as the text of a log, to the second.

    Parameters
    ----------
    starts_s, stops_s : (n_runs,) arrays
        When each run began and ended, since 1970 [s].

    Returns
    -------
    str
        A table with ``time`` and ``running``.
    """
    both = np.round(np.stack([starts_s, stops_s], axis=1)).astype(np.int64)
    both[:, 1] = np.maximum(both[:, 1], both[:, 0] + 1)
    stamps = np.datetime_as_string(both.ravel().astype("datetime64[s]"), unit="s")
    rows = [f"{str(stamp).replace('T', ' ')},{1 - i % 2}" for i, stamp in enumerate(stamps)]
    return "\n".join(["time,running", *rows, ""])


def synthetic_water(
    home: Home,
    record: RainRecord,
    weather: DailyWeather,
    days: tuple[np.datetime64, np.datetime64],
    seed: int = 1,
) -> tuple[HomeSamples, float, FloatArray]:
    """Return one variant of a home, and what its drain brings to the pit in some days of a record.

    Parameters
    ----------
    home : Home
        The home.
    record : RainRecord
        Rain of its place.
    weather : DailyWeather
        Days of the same place.
    days : pair of numpy.datetime64
        First day, and the day after the last one.
    seed : int
        Which form of the home [-].

    Returns
    -------
    one : HomeSamples
        That form.
    start_s : float
        Begin of the first hour, since 1970 [s].
    flow_m3_s : (n_hours,) array
        Inflow [m3/s].

    Raises
    ------
    InputError
        Where the latitude is missing, or the days lie outside the record.

    References
    ----------
    chow1988 : linear reservoirs, as `riskkit.simulate.continuous` joins them
    """
    if home.place.latitude is None:
        raise InputError("place", "the latitude is missing", "write latitude = 42.0 under [place]")
    hours = hourly_weather(record, weather, home.place.latitude).led_in(_LEAD_H)
    times = hours.times
    first = int(np.searchsorted(times, days[0])) - _LEAD_H
    last = int(np.searchsorted(times, days[1]))
    if first < 0 or last <= first + _LEAD_H or times[-1] < days[1] - np.timedelta64(1, "h"):
        raise InputError("days", "they lie outside the record", "choose days of the record")
    cut = slice(first, last)  # two years before are run for the ground to forget its beginning
    one = draw_homes(home, 16, seed).picked([0])
    run = run_hours(
        one, ground_of(one), hours.water_mm[cut], hours.demand_mm[cut],
        thawed_share=hours.thawed_share[cut],
    )  # fmt: skip
    start = float(times[first + _LEAD_H].astype("datetime64[s]").astype(np.int64))
    return one, start, np.asarray(run.free.to_pit_m3_s[0, _LEAD_H:])


def synthetic_log(one: HomeSamples, start_s: float, flow_m3_s: FloatArray, seed: int = 1) -> str:
    """Make the log that one variant of a home would have left.

    Parameters
    ----------
    one : HomeSamples
        The home.
    start_s : float
        Begin of the first hour, since 1970 [s].
    flow_m3_s : (n_hours,) array
        Inflow [m3/s].
    seed : int
        Of how much one run differs from the next [-].

    Returns
    -------
    str
        A table as `log_text` writes it, with a line that says that it is made.
    """
    room = storage_of(one)
    volume = float((volume_m3(room, -one["on_depth_m"]) - volume_m3(room, -one["off_depth_m"]))[0])
    levels = np.linspace(-one["off_depth_m"], -one["on_depth_m"], 5).T
    starts, stops = cycled(flow_m3_s, start_s, volume, float(pump_flow_of(one, levels).mean()))
    jitter = np.random.default_rng(seed).normal(0.0, _JITTER, starts.size)
    stops = starts + (stops - starts) * np.exp(jitter)
    return "# origin: made by riskkit, not logged\n" + log_text(starts, stops)


def main(arguments: Sequence[str] | None = None) -> int:
    """Write the made log of a demo home into the folder of the demo homes.

    Parameters
    ----------
    arguments : sequence of str, optional
        The command line; by default that of the process.

    Returns
    -------
    int
        0, or 2 where the home is not there or the file cannot be written [-].
    """
    given = sys.argv[1:] if arguments is None else list(arguments)
    if len(given) != 1 or given[0].startswith("-"):
        sys.stderr.write("usage: python -m riskkit.gauge.synthetic FOLDER\n")
        return 2
    folder = Path(given[0])
    try:
        home = load_home(folder / _DEMO_HOME)
        record, weather = log_rain(home)
        if record is None or weather is None:
            raise InputError(_DEMO_HOME, "it names no rain or no temperatures", "name both")
        text = synthetic_log(*synthetic_water(home, record, weather, _DEMO_DAYS))
        data = gzip.compress(text.encode("utf-8"), compresslevel=9, mtime=0)
        write_bytes(folder / DEMO_LOG, data)
    except InputError as error:
        sys.stderr.write(f"{error}\n")
        return 2
    sys.stdout.write(f"{folder / DEMO_LOG}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
