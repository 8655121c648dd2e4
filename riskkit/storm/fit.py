"""Fit the storms of `riskkit.storm.pulses` to statistics by month: generalised moments."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from riskkit.records import FloatArray
from riskkit.storm.moments import process_statistics
from riskkit.storm.pulses import StormKind, StormSeasons

__all__ = ["match_statistics"]

_NAMES = ("count", "storm_h", "cell_rate_per_h", "cell_h", "intensity_mm_h")
# judgement: how far, as a factor e to this, the numbers of a place may be from usual ones ...
_USUAL = np.tile([1.0, 0.4, 0.4, 0.3, 1.0], 2)
# ... and how closely a statistic is to be met: shares of it, for the correlation the difference.
# Sixty years tell the mean of a month to 7 %, the deviation to 8 %, the correlation to 0.03 and the
# wet share to 5 %; correlation and wet share met no closer than 0.03 gave way to the other two.
_MEAN, _SD, _LAG1, _WET = 0.01, 0.03, 0.02, 0.015
_MOST_STEPS, _SETTLED = 60, 1e-3


def match_statistics(
    target: FloatArray, start: StormSeasons, usual: StormSeasons | None = None
) -> StormSeasons:
    """Find the storms whose rain has given statistics, every month by itself.

    Least squares of the logarithms, with a weak pull towards usual numbers for what the statistics
    leave open, by damped steps (Levenberg and Marquardt) for all months side by side.

    Parameters
    ----------
    target : (12, 3, 4) array
        Statistics as of `riskkit.storm.moments.process_statistics` [mm, mm, -, -].
    start : StormSeasons
        Where to begin; the shapes and the gauge stay as they are.
    usual : StormSeasons, optional
        Usual numbers, by default those to begin with.

    Returns
    -------
    StormSeasons
        The storms.

    References
    ----------
    rodriguez_iturbe1987 : section 5, matching moments
    marquardt1963 : damped least squares
    judgement : tolerances and pull
    """
    middle = _to_rows(usual or start)

    def residuals(rows: FloatArray) -> FloatArray:
        found = process_statistics(_from_rows(rows, start))
        parts = (
            np.log(found[:, :1, 0] / target[:, :1, 0]) / _MEAN,
            np.log(found[..., 1] / target[..., 1]) / _SD,
            (found[..., 2] - target[..., 2]) / _LAG1,
            np.log((1.0 - found[..., 3]) / (1.0 - target[..., 3])) / _WET,
            (rows - middle) / _USUAL,
        )
        return np.concatenate(parts, axis=1)

    rows = _to_rows(start)
    now = residuals(rows)
    damping = np.ones(12)
    nudge = 1e-5 * np.eye(_USUAL.size)
    for _ in range(_MOST_STEPS):
        slope = np.stack([(residuals(rows + one) - now) / 1e-5 for one in nudge], axis=2)
        square = np.einsum("mri,mrj->mij", slope, slope)
        downhill = -np.einsum("mri,mr->mi", slope, now)
        square += square * np.eye(_USUAL.size) * damping[:, None, None]
        step = np.linalg.solve(square, downhill[..., None])[..., 0]
        there = rows + np.clip(step, -1.0, 1.0)
        then = residuals(there)
        before, after = np.sum(now**2, axis=1), np.sum(then**2, axis=1)
        better = after < before
        rows = np.where(better[:, None], there, rows)
        now = np.where(better[:, None], then, now)
        damping = np.clip(np.where(better, damping / 4.0, damping * 4.0), 1e-6, 1e6)
        if np.all(np.abs(before - after) <= _SETTLED * before):
            break
    return _from_rows(rows, start)


def _to_rows(seasons: StormSeasons) -> FloatArray:
    columns = [getattr(kind, name) for kind in seasons.kinds for name in _NAMES]
    return np.asarray(np.log(np.stack(columns, axis=1)))


def _from_rows(rows: FloatArray, like: StormSeasons) -> StormSeasons:
    steady, thunder = np.exp(rows.T).reshape(2, len(_NAMES), 12)
    return replace(like, steady=_with(like.steady, steady), thunder=_with(like.thunder, thunder))


def _with(kind: StormKind, columns: FloatArray) -> StormKind:
    return replace(kind, **dict(zip(_NAMES, columns, strict=True)))
