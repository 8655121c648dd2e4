"""How well one half of a log predicts the other, and how well plainer models do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from riskkit.gauge.cycles import Bins
from riskkit.gauge.response import fit_response, scaled, stores_of
from riskkit.gauge.water import Soil, Water, between, soils_of, store_outflow
from riskkit.records import FloatArray

__all__ = ["Skill", "explained_share", "response_skill"]

_CASCADE = (1, 2, 3, 4)  # stores in a row of the two-parameter unit hydrograph (nash1957)


@dataclass(frozen=True)
class Skill:
    """Shares of the variance of the inflow that are explained on a half not used for the fit.

    Parameters
    ----------
    second, first : float
        Of the second half by a fit to the first, and the other way round, against the mean of the
        half that is judged; below zero where that mean tells more [-].
    second_plain, first_plain : float
        The same of the two-parameter unit hydrograph [-].
    """

    second: float
    first: float
    second_plain: float
    first_plain: float


def explained_share(told_m3: FloatArray, bins: Bins) -> float:
    r"""Share of the variance of flows that is explained.

    .. math:: 1 - \sum(q - \hat q)^2 / \sum(q - \bar q)^2

    Parameters
    ----------
    told_m3 : (n_bins,) array
        What was predicted [m3].
    bins : Bins
        What flowed in; each counts by its length.

    Returns
    -------
    float
        At most 1 [-].

    References
    ----------
    nash1970 : efficiency
    """
    time = bins.time_s
    flow = bins.flow_m3_s
    mean = float((flow * time).sum() / time.sum())
    left = float(((flow - told_m3 / time) ** 2 * time).sum())
    return 1.0 - left / float(((flow - mean) ** 2 * time).sum())


def response_skill(bins: Bins, water: Water, soils: tuple[Soil, ...] | None = None) -> Skill:
    """Judge each half of a log by a fit to the other, beside a unit hydrograph of two parameters.

    Parameters
    ----------
    bins : Bins
        What flowed in [m3].
    water : Water
        Rain and melt of the same days and before them.
    soils : tuple of Soil, optional
        The soils to try, where `soils_of` has been asked before.

    Returns
    -------
    Skill
        Shares of variance [-].
    """
    soils = soils_of(water) if soils is None else soils
    middle = (bins.begin_s[0] + bins.end_s[-1]) / 2.0
    is_first = bins.begin_s < middle
    halves = (bins.picked(is_first), bins.picked(~is_first))
    shares = []
    for fitted, judged in (halves, halves[::-1]):
        told = (
            fit_response(fitted, water, soils=soils)
            .parts_m3(judged.begin_s, judged.end_s)
            .sum(axis=0)
        )
        plain = _cascade_told(fitted, judged, water)
        shares.append((explained_share(told, judged), explained_share(plain, judged)))
    (second, second_plain), (first, first_plain) = shares
    return Skill(second, first, second_plain, first_plain)


def _cascade_told(fitted: Bins, judged: Bins, water: Water) -> FloatArray:
    """What Nash's cascade of n equal stores predicts, its share and a constant fitted."""
    best: tuple[float, FloatArray] | None = None
    for k in stores_of(water.step_s, float(fitted.end_s[-1] - fitted.begin_s[0])):
        out = water.depth_m
        for _ in _CASCADE:
            out = store_outflow(out, water.step_s, float(k))
            told = [
                np.stack([between(water.edges_s, out, b.begin_s, b.end_s), b.time_s])
                for b in (fitted, judged)
            ]
            design = scaled(told[0], fitted, fitted.inflow_m3)
            found = design.solve(design.rows.T @ design.rows, design.rows.T @ design.target)
            share = explained_share(found @ told[0], fitted)
            if best is None or share > best[0]:
                best = share, found @ told[1]
    if best is None:
        raise ValueError("a log has no time constants")
    return best[1]
