"""How the inflow answers to rain: linear stores in parallel, and base flow with its season.

::

    rain ──┬──────────────────> stores of half an hour to months ─┐
           └─> soil, until full ─> stores of half an hour to months ─┼─> inflow
    ground water, through the year ───────────────────────────────┘

Each store lets out water in proportion to what it holds. Their time constants are fixed, each twice
the one before; how much goes through each is found by least squares that let no share be less than
zero, so there is one best answer and no first guess. What the soil holds, and what plants use of
it, is the one of a few that predicts best what is left out of the fit; a log of less than four
months does not tell it, and all rain goes straight there.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import nnls

from riskkit.gauge.cycles import Bins
from riskkit.gauge.water import Soil, Water, let_out, soils_of
from riskkit.records import FloatArray, IntArray
from riskkit.records.frozen import freeze_arrays

__all__ = ["Design", "Response", "dry_bins", "fit_response", "scaled", "stores_of"]

_HOUR_S, _DAY_S, _YEAR_S = 3600.0, 86400.0, 365.25 * 86400.0
_LONGEST_S = 90.0 * _DAY_S
_QUICK_S = 6.0 * _HOUR_S  # stores up to it hold water of hours
_SEASONS_S = 1.9 * _YEAR_S  # each half then has nearly a year
_SOIL_S = 120.0 * _DAY_S  # a shorter log does not tell dry ground from wet
_N_PHASES = 4
_BLOCKS, _BLOCK_D = 30.0, (2.0, 14.0)  # of the bootstrap
_RATIO = 2.0**0.5  # of a time constant to the one before
_RIDGE = 1e-9
_QUARTERS = 4
_STEADY_SHARE = 0.3  # of the mean flow: the error that is left when hardly any flows


def _phases(time_s: FloatArray) -> FloatArray:
    """Four weights through the year, none below zero, whose pairs add up to one."""
    angle = 2.0 * np.pi * (time_s % _YEAR_S) / _YEAR_S
    return (
        np.stack([1 + np.cos(angle), 1 - np.cos(angle), 1 + np.sin(angle), 1 - np.sin(angle)]) / 2
    )


@dataclass(frozen=True, eq=False)
class Response:
    """A fitted response.

    Parameters
    ----------
    store_s : (n_stores,) array
        Time constants [s].
    rain_m2 : (n_samples, n_stores) array
        Ground whose rain goes straight through each store: first the best fit, then resampled ones
        [m2].
    soil_m2 : (n_samples, n_stores) array
        Ground whose rain goes through each store once the soil is saturated [m2].
    base_m3_s : (n_samples, n_phases) array
        Base flow, by phase of the year where there are four [m3/s].
    water : Water
        What fell.
    soil : Soil, optional
        What the soil let through; none where the log is too short to tell.
    """

    store_s: FloatArray
    rain_m2: FloatArray
    soil_m2: FloatArray
    base_m3_s: FloatArray
    water: Water
    soil: Soil | None

    def __post_init__(self) -> None:
        freeze_arrays(self)

    @property
    def through(self) -> float:
        """Share of all rain that the soil lets through [-]."""
        if self.soil is None:
            return 0.0
        return float(self.soil.excess_m.sum() / max(float(self.water.depth_m.sum()), 1e-12))

    def within_m2(self, time_s: float, through: float) -> FloatArray:
        """Return the ground whose rain comes within a time.

        Parameters
        ----------
        time_s : float
            Since it fell [s].
        through : float
            Share that the soil lets through: none when it is dry, all when it is full, `through`
            in the mean [-].

        Returns
        -------
        (n_samples,) array
            Area [m2].

        References
        ----------
        arithmetic : each store has let out 1 - exp(-t / k)
        """
        return np.asarray(self._area_m2(through) @ -np.expm1(-time_s / self.store_s))

    def _area_m2(self, through: float) -> FloatArray:
        return np.asarray(self.rain_m2 + through * self.soil_m2)

    def lag_s(self) -> FloatArray:
        """Return the mean delay of water that comes through stores of up to six hours.

        Returns
        -------
        (n_samples,) array
            Time from the middle of the rain to that of its water; NaN where none comes so [s].

        References
        ----------
        chow1988 : the lag of linear stores is the mean of their time constants
        """
        quick = self.store_s <= _QUICK_S
        area = self._area_m2(1.0)[:, quick]
        total = area.sum(axis=1)
        with np.errstate(invalid="ignore", divide="ignore"):
            return np.asarray(np.where(total > 0, area @ self.store_s[quick] / total, np.nan))

    def recession_s(self) -> FloatArray:
        """Return how long the inflow takes to fall to a third of what it is a day after rain.

        Returns
        -------
        (n_samples,) array
            Without base flow, at saturation; NaN where nothing is left after a day [s].

        References
        ----------
        arithmetic : stores that empty side by side
        """
        times = np.geomspace(_HOUR_S, 10.0 * self.store_s[-1], 400)
        rate = self._area_m2(1.0) / self.store_s
        first = rate @ np.exp(-_DAY_S / self.store_s)
        later = rate @ np.exp(-(_DAY_S + times[None, :]) / self.store_s[:, None])
        found = np.full(first.size, np.nan)
        for i in np.flatnonzero(first > 0):
            found[i] = np.interp(-1.0 / 3.0, -later[i] / first[i], times)
        return found

    def parts_m3(self, begin_s: FloatArray, end_s: FloatArray) -> FloatArray:
        """Return what the best fit brings between times: quick, slow and base.

        Parameters
        ----------
        begin_s, end_s : (n,) arrays
            From when to when, since 1970 [s].

        Returns
        -------
        (3, n) array
            Stores of up to six hours, longer ones, base flow [m3].

        References
        ----------
        chow1988 : linear reservoirs side by side
        """
        each = self.rain_m2[0][:, None] * _store_columns(
            self.water, self.water.depth_m, self.store_s, begin_s, end_s
        )
        if self.soil is not None:
            each = each + self.soil_m2[0][:, None] * _store_columns(
                self.water, self.soil.excess_m, self.store_s, begin_s, end_s
            )
        quick = self.store_s <= _QUICK_S
        n = self.base_m3_s.shape[1]
        base = self.base_m3_s[0] @ _base_columns(n, begin_s, end_s)
        return np.stack([each[quick].sum(axis=0), each[~quick].sum(axis=0), base])

    def base_by_month_m3_s(self) -> FloatArray:
        """Return the base flow in the middle of each month.

        Returns
        -------
        (n_samples, 12) array
            Flow [m3/s].

        References
        ----------
        arithmetic : weights through the year
        """
        middle: FloatArray = np.asarray((np.arange(12) + 0.5) / 12.0 * _YEAR_S)
        n = self.base_m3_s.shape[1]
        weights = np.ones((1, 12)) if n == 1 else _phases(middle)
        return np.asarray(self.base_m3_s @ weights)


def _store_columns(
    water: Water, depth_m: FloatArray, store_s: FloatArray, begin_s: FloatArray, end_s: FloatArray
) -> FloatArray:
    """What a square metre brings through each store, (n_stores, n) [m3]."""
    at, n = np.concatenate([begin_s, end_s]), begin_s.size
    out = [let_out(depth_m, water.start_s, water.step_s, float(k), at) for k in store_s]
    return np.array([each[n:] - each[:n] for each in out])


def _base_columns(n_phases: int, begin_s: FloatArray, end_s: FloatArray) -> FloatArray:
    time = end_s - begin_s
    if n_phases == 1:
        return np.asarray(time[None, :])
    return np.asarray(_phases((begin_s + end_s) / 2.0) * time)


def _begun_columns(store_s: FloatArray, begin_s: FloatArray, end_s: FloatArray) -> FloatArray:
    """What stores of days hold when the rain begins, as shares that come [-]."""
    slow = store_s[store_s >= _DAY_S]
    from_s, to_s = begin_s - begin_s[0], end_s - begin_s[0]
    return np.array([np.exp(-from_s / k) - np.exp(-to_s / k) for k in slow]).reshape(
        -1, from_s.size
    )


def stores_of(step_s: float, span_s: float) -> FloatArray:
    """Return time constants, each twice the one before, that a log can tell.

    Parameters
    ----------
    step_s : float
        Length of a step of the rain [s].
    span_s : float
        Length of the log [s].

    Returns
    -------
    (n_stores,) array
        From half a step to a third of the log, three months at most [s].

    References
    ----------
    judgement : closer ones than twice cannot be told apart in a noisy recession
    """
    most = min(_LONGEST_S, span_s / 3.0)
    n = int(np.floor(np.log(most / (step_s / 2.0)) / np.log(_RATIO))) + 1
    return np.asarray(step_s / 2.0 * _RATIO ** np.arange(max(n, 1)), dtype=np.float64)


@dataclass(frozen=True, eq=False)
class Design:
    """Rows scaled so that each counts by its length, and columns so that each is as large.

    Parameters
    ----------
    rows : (n_rows, n_columns) array
        What each unknown brings [any].
    target : (n_rows,) array
        What was measured [any].
    size : (n_columns,) array
        By what the columns were divided [any].
    """

    rows: FloatArray
    target: FloatArray
    size: FloatArray

    def solve(self, gram: FloatArray, cross: FloatArray) -> FloatArray:
        """Solve least squares that let nothing be below zero, from sums of products.

        Parameters
        ----------
        gram : (n_columns, n_columns) array
            Products of the columns [any].
        cross : (n_columns,) array
            Products of columns and target [any].

        Returns
        -------
        (n_columns,) array
            The unknowns, not scaled [any].

        References
        ----------
        lawson1974 : chapter 23
        """
        ridge = _RIDGE * np.trace(gram) / len(gram)
        root = np.linalg.cholesky(gram + ridge * np.eye(len(gram)))
        found, _ = nnls(root.T, np.linalg.solve(root, cross), maxiter=100 * len(gram))
        return np.asarray(found / self.size)


def scaled(columns: FloatArray, bins: Bins, volume_m3: FloatArray) -> Design:
    """Return rows for least squares of mean flows, each counting by its length and its error.

    What is predicted is off by more where it is much: the variance of a flow is taken to grow with
    the flow that a first fit tells, above a share of the mean flow.

    Parameters
    ----------
    columns : (n_columns, n_bins) array
        Volume that a unit of each unknown brings [any].
    bins : Bins
        When.
    volume_m3 : (n_bins,) array
        Volume measured [m3].

    Returns
    -------
    Design
        What to solve.

    References
    ----------
    carroll1988 : least squares with weights by a first fit
    judgement : the variance grows with the flow itself, not its square
    """
    even = _weighed(columns, volume_m3, 1.0 / np.sqrt(bins.time_s))
    told = even.solve(even.rows.T @ even.rows, even.rows.T @ even.target) @ columns / bins.time_s
    mean = float(volume_m3.sum() / bins.time_s.sum())
    error = bins.time_s * (_STEADY_SHARE + told / max(mean, 1e-30))  # variance, without its unit
    return _weighed(columns, volume_m3, 1.0 / np.sqrt(error))


def _weighed(columns: FloatArray, volume_m3: FloatArray, weight: FloatArray) -> Design:
    rows = columns * weight
    size = np.sqrt((rows**2).sum(axis=1))
    size[size == 0] = 1.0
    return Design((rows / size[:, None]).T, volume_m3 * weight, size)


def fit_response(
    bins: Bins,
    water: Water,
    *,
    soils: tuple[Soil, ...] | None = None,
    n_resampled: int = 0,
    seed: int = 1,
    begins_dry: bool = False,
) -> Response:
    """Fit stores in parallel and base flow to what flowed in.

    Mean flows of bins are fitted, each counting by its length. Spread comes from blocks of days of
    the log drawn anew with replacement; they are longer than a storm, a thirtieth of the log from
    two days to two weeks.

    Parameters
    ----------
    bins : Bins
        What flowed in [m3].
    water : Water
        Rain and melt of the same days and before them.
    soils : tuple of Soil, optional
        The soils to try, where `soils_of` has been asked before.
    n_resampled : int
        How many samples of the log are fitted besides [-].
    seed : int
        Of drawing them [-].
    begins_dry : bool
        Whether stores are empty when the rain begins; else what they hold is fitted.

    Returns
    -------
    Response
        The best fit first.

    References
    ----------
    chow1988 : linear reservoirs side by side
    lawson1974 : least squares with no value below zero
    kunsch1989 : resampling of blocks
    """
    span = float(bins.end_s[-1] - bins.begin_s[0])
    stores = stores_of(water.step_s, span)
    n_phases = _N_PHASES if span >= _SEASONS_S else 1
    rain = _store_columns(water, water.depth_m, stores, bins.begin_s, bins.end_s)
    columns = [rain, _base_columns(n_phases, bins.begin_s, bins.end_s)]
    if not begins_dry and bins.begin_s[0] - water.start_s < _LONGEST_S:
        columns.append(_begun_columns(stores, bins.begin_s, bins.end_s))
    if span < _SOIL_S:
        soils = ()
    soils = soils_of(water) if soils is None else soils
    soil = _best_soil(rain, columns[1:], bins, water, stores, soils)
    if soil is not None:
        columns.append(_store_columns(water, soil.excess_m, stores, bins.begin_s, bins.end_s))
    design = scaled(np.concatenate(columns), bins, bins.inflow_m3)
    block = _block_of(bins, span)
    n = int(block[-1]) + 1
    order = np.searchsorted(block, np.arange(n + 1))
    grams = np.array([design.rows[a:b].T @ design.rows[a:b] for a, b in _pairs(order)])
    crosses = np.array([design.rows[a:b].T @ design.target[a:b] for a, b in _pairs(order)])
    random = np.random.default_rng(seed)
    drawn = [np.bincount(random.integers(0, n, n), minlength=n) for _ in range(n_resampled)]
    counts = np.array([np.ones(n), *drawn], dtype=np.float64)
    found = np.array([design.solve(np.tensordot(c, grams, 1), c @ crosses) for c in counts])
    many = stores.size
    through = found[:, -many:] if soil is not None else np.zeros((len(found), many))
    return Response(stores, found[:, :many], through, found[:, many : many + n_phases], water, soil)


def _best_soil(
    rain: FloatArray,
    others: list[FloatArray],
    bins: Bins,
    water: Water,
    stores: FloatArray,
    soils: tuple[Soil, ...],
) -> Soil | None:
    """Take the soil that predicts best what is left out, a quarter of the log at a time.

    Every second store will do for that. Where no soil predicts more, there is none.
    """
    best = None
    few = [rain[::2], *others]
    least = _prediction_error(scaled(np.concatenate(few), bins, bins.inflow_m3)) if soils else 0.0
    for soil in soils:
        more = _store_columns(water, soil.excess_m, stores[::2], bins.begin_s, bins.end_s)
        error = _prediction_error(scaled(np.concatenate([*few, more]), bins, bins.inflow_m3))
        if error < least:
            best, least = soil, error
    return best


def _prediction_error(design: Design) -> float:
    """Sum of squares of each quarter, predicted by the three others."""
    ends = np.linspace(0, design.target.size, _QUARTERS + 1).astype(np.int64)
    quarters = [slice(a, b) for a, b in _pairs(ends)]
    grams = [design.rows[at].T @ design.rows[at] for at in quarters]
    crosses = [design.rows[at].T @ design.target[at] for at in quarters]
    error = 0.0
    for at, gram, cross in zip(quarters, grams, crosses, strict=True):
        found = design.solve(sum(grams) - gram, sum(crosses) - cross) * design.size
        error += float(((design.target[at] - design.rows[at] @ found) ** 2).sum())
    return error


def _pairs(order: IntArray) -> list[tuple[int, int]]:
    return list(zip(order[:-1].tolist(), order[1:].tolist(), strict=True))


def _block_of(bins: Bins, span_s: float) -> IntArray:
    days = float(np.clip(span_s / _DAY_S / _BLOCKS, *_BLOCK_D))
    place = ((bins.begin_s - bins.begin_s[0]) // (days * _DAY_S)).astype(np.int64)
    return np.unique(place, return_inverse=True)[1].astype(np.int64)


def dry_bins(bins: Bins, water: Water, dry_s: float) -> NDArray[np.bool_]:
    """Tell in which bins, and for how long before them, no water fell.

    Parameters
    ----------
    bins : Bins
        What flowed in.
    water : Water
        Rain and melt.
    dry_s : float
        How long before [s].

    Returns
    -------
    (n_bins,) array of bool
        True where it was dry and nothing of it is unknown [-].
    """
    before = bins.begin_s - dry_s
    fell = water.between(before, bins.end_s)
    unknown = water.gap_between(before, bins.end_s)
    return np.asarray((fell < 1e-4) & (unknown <= 0))
