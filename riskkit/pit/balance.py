"""Level in the pit through a storm, with the pump working.

dV/dt = storm(t) + seepage(level) − pump(level) · on

with the storm constant in each step and the rest linear in each band of a `PitModel`. It is solved
event by event in closed form (`_kernel`), so the step does not limit the accuracy; many draws run
side by side, in threads.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from riskkit.errors import BalanceError, ConvergenceError, RangeError
from riskkit.pit import _kernel
from riskkit.pit.threads import share_draws, still
from riskkit.records import (
    FloatArray,
    IntArray,
    PitInflow,
    PitModel,
    PitRun,
    PumpAccounts,
    hand_over,
)

__all__ = ["run_pit"]

_BALANCE_TOLERANCE = 1e-9
_CHUNK = 128  # draws of one call of the compiled loop


def run_pit(
    pit: PitModel,
    inflow: PitInflow,
    start_level_m: FloatArray | None = None,
    keep_levels: bool = False,
    workers: int | None = None,
    account_steps: int = 0,
    keep_at: IntArray | None = None,
) -> PitRun:
    """Follow the level through a storm with the pump working.

    The pump starts when the level reaches the on level and stops at the off level. Of the water
    that leaves by the outlet a share arrives again, the return lag later to the nearest whole step.
    The most starts per hour are counted in clock hours from the start of the storm, or in the whole
    number of steps nearest to an hour.

    Parameters
    ----------
    pit : PitModel
        Pits, ``n_draws`` of them.
    inflow : PitInflow
        Storm water, of ``n_draws`` rows or of one row for all.
    start_level_m : (n_draws,) array, optional
        Level at the start, relative to the floor [m]; the off level when left out.
    keep_levels : bool
        Keep the level at the end of every step.
    workers : int, optional
        Threads to share the draws [-]; as many as there are processors when left out. The result
        does not depend on it.
    account_steps : int
        Keep an account of every so many steps; none where it is 0 [-].
    keep_at : (n_kept,) array of int, optional
        Keep the level before these steps alone, increasing [-].

    Returns
    -------
    PitRun
        Highest level, alarm and flood times, starts, run time and water balance.

    Raises
    ------
    RangeError
        Where pit, inflow and start level do not fit together.
    ConvergenceError
        Where the events of one step do not come to an end.
    BalanceError
        Where water was made or lost beyond 1e-9 of the water that arrived or was lifted.

    References
    ----------
    arithmetic : water balance, closed form of a linear differential equation
    """
    storm = _storm(pit, inflow)
    n_draws, n_steps = storm.shape
    marks, model = _model(pit)
    off = np.take_along_axis(pit.level_m, pit.off_index[:, None], axis=1)[:, 0]
    start = off if start_level_m is None else np.asarray(start_level_m, dtype=np.float64)
    if start.shape != (n_draws,) or not np.all(np.isfinite(start)):
        raise RangeError("start level", "it is not one finite level for each draw")
    if np.any(start < pit.level_m[:, 0]):
        raise RangeError("start level", "it is below the bottom of the pit")
    lag = max(1, round(pit.return_lag_s / inflow.step_s))
    hour = max(1, round(3600.0 / inflow.step_s))
    out = np.empty((n_draws, _kernel.N_COLUMNS))
    keep = np.arange(n_steps + 1 if keep_levels else 0) if keep_at is None else keep_at
    levels = np.empty((n_draws, keep.size))
    n_accounts = -(-n_steps // account_steps) if account_steps > 0 else 0
    accounts = np.empty((n_draws, n_accounts, _kernel.N_ACCOUNTS))
    extra = (
        marks,
        still(pit.return_share),
        still(pit.drainback_m3),
        storm,
        float(inflow.step_s),
        lag,
        still(start),
        hour,
    )

    def work(first: int, last: int) -> None:
        _kernel.run_draws(
            *model, *extra, first, last, out, levels, still(keep), account_steps, accounts
        )

    share_draws(work, n_draws, n_steps, _CHUNK, workers)
    error = out[:, _kernel.ERROR]
    if np.any(error == _kernel.STUCK):
        draw = int(np.argmax(error == _kernel.STUCK))
        raise ConvergenceError(f"The switching of the pump did not come to an end in draw {draw}.")
    # a comparison that is also false for NaN
    if not np.all(error <= _BALANCE_TOLERANCE):
        worst = int(np.argmax(np.nan_to_num(error, nan=np.inf)))
        raise BalanceError(
            f"Water was made or lost in draw {worst}: {error[worst]:.3g} of all that was moved."
        )
    per_hour = 3600.0 / (hour * inflow.step_s)
    hand_over(out, levels, accounts)
    return PitRun(
        highest_level_m=out[:, _kernel.HIGHEST],
        alarm_s=out[:, _kernel.ALARM],
        flood_s=out[:, _kernel.FLOOD],
        starts=out[:, _kernel.STARTS],
        starts_per_hour=out[:, _kernel.STARTS_PER_HOUR] * per_hour,
        run_time_s=out[:, _kernel.RUN],
        pumped_m3=out[:, _kernel.PUMPED],
        returned_m3=out[:, _kernel.RETURNED],
        inflow_m3=out[:, _kernel.INFLOW],
        balance_error=error,
        level_m=levels if keep.size else None,
        level_at=keep_at,
        accounts=PumpAccounts(*np.moveaxis(accounts, 2, 0)) if account_steps > 0 else None,
    )


def _storm(pit: PitModel, inflow: PitInflow) -> NDArray[np.generic]:
    n_draws = pit.level_m.shape[0]
    storm = inflow.storm_m3_s
    if storm.shape[0] not in (1, n_draws):
        raise RangeError("inflow", f"it has {storm.shape[0]} rows for {n_draws} pits")
    return still(np.broadcast_to(storm, (n_draws, storm.shape[1])))


def _model(pit: PitModel) -> tuple[NDArray[np.generic], tuple[NDArray[np.generic], ...]]:
    """Switch levels as one array, and the arrays of the bands; refuses what has no solution."""
    marks = np.stack([pit.off_index, pit.on_index, pit.alarm_index, pit.floor_index], axis=1)
    levels = np.take_along_axis(pit.level_m, marks, axis=1)
    if np.any(levels[:, 1] - levels[:, 0] < 1e-6):
        raise RangeError("pit", "the pump stops at the level at which it starts", "put it lower")
    height = np.diff(pit.level_m, axis=1)
    for flow, name in ((pit.pump_m3_s, "pump"), (pit.seepage_m3_s, "ground water")):
        jump = np.abs(np.diff(flow, axis=1)) > 1e-9 * (1.0 + flow.max())
        if np.any(jump & (height < 1e-9)):
            raise RangeError("pit", f"the flow of the {name} jumps at one level")
    bands = (pit.level_m, pit.area_m2, pit.pump_m3_s, pit.seepage_m3_s)
    return still(marks), tuple(still(band) for band in bands)
