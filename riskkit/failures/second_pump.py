"""The storms of a home met by its second pump: whether it carries them, and how long it lives.

The second pump takes over where the first is lost. It carries a storm where neither pit nor joint
lets water onto the floor while it runs, and it runs until its battery is spent.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from riskkit.failures.backup import Electric, electric_of, second_pits
from riskkit.home.backup import Backup, RunsOn
from riskkit.home.home import Home
from riskkit.home.samples import HomeSamples
from riskkit.pit.balance import run_pit
from riskkit.pit.works import working
from riskkit.records import FloatArray, PitModel, freeze_arrays
from riskkit.reliability.battery import depletion_per_h, run_time_h, usable_capacity_ah
from riskkit.reliability.battery_laws import recharge_time_h
from riskkit.risk.critical import StormToRun
from riskkit.risk.storm_water import StormWater
from riskkit.simulate import Ground, Water

__all__ = ["SecondPumpRuns", "battery_course", "second_runs"]

_HOUR_S = 3600.0


@dataclass(frozen=True)
class SecondPumpRuns:
    """What the second pump of a home does in storms and in dry weather; infinite for never.

    Figures never get better from a storm to a rarer one.

    Parameters
    ----------
    carries : (n_storms, n_draws) array
        1 where the second pump alone keeps the floor dry while it runs, else 0, as where it cannot
        lift water to the height of the outlet [-].
    overtopped, at_joint : (n_storms, n_draws) arrays
        1 where both pumps together do not keep up, and where water comes in at the joint though
        they do [-].
    outlasts_s : (n_storms, n_draws) array
        How long the power has to fail, from its worst moment, until the battery is spent [s].
    in_storm : (n_storms, n_draws) array
        1 where that is while the storm and its water last, 0 where dry weather follows [-].
    spent_on_mains : (n_storms, n_draws) array
        1 where the battery is spent in the storm though the charger has power [-].
    flow_m3_s : (n_draws,) array
        What the second pump lifts at its start level [m3/s].
    dry_carries, dry_outlasts_s, dry_spent_on_mains : (n_draws,) arrays
        The same in dry weather [-], [s], [-].
    """

    carries: FloatArray
    overtopped: FloatArray
    at_joint: FloatArray
    outlasts_s: FloatArray
    in_storm: FloatArray
    spent_on_mains: FloatArray
    flow_m3_s: FloatArray
    dry_carries: FloatArray
    dry_outlasts_s: FloatArray
    dry_spent_on_mains: FloatArray

    def __post_init__(self) -> None:
        freeze_arrays(self)


def second_runs(
    home: Home,
    backup: Backup,
    homes: HomeSamples,
    ground: Ground,
    groups: Sequence[Sequence[StormToRun]],
    dry_inflow_m3_s: FloatArray,
    seed: int,
    known: StormWater | None = None,
) -> SecondPumpRuns:
    """Run the storms of a place through all draws of a home with its second pump.

    Parameters
    ----------
    home : Home
        The home.
    backup : Backup
        With a second pump.
    homes : HomeSamples
        Its draws.
    ground : Ground
        The ground round them.
    groups : sequence of sequence of StormToRun
        Storms of each duration, a row for each return period.
    dry_inflow_m3_s : (n_draws,) array
        Ground water that comes in dry weather [m3/s].
    seed : int
        Of the draws [-].
    known : StormWater, optional
        Water of these storms that was worked out before.

    Returns
    -------
    SecondPumpRuns
        A row for each storm, the worst duration of each draw.

    References
    ----------
    judgement : an outage begins at the moment that is worst for the battery
    """
    n = homes.n_draws
    alone, both = second_pits(home, backup, homes, seed)
    flow = np.take_along_axis(alone.pump_m3_s, alone.on_index[:, None], axis=1)[:, 0]
    electric = electric_of(home, backup, n, seed) if backup.has_battery else None
    found, known = [], known or StormWater()
    for storms in groups:
        many, step_s = len(storms), storms[0].rain.step_s
        water = known.of(homes, ground, storms)
        rows = _meets(alone.repeated(many), both.repeated(many), ground.repeated(many), water)
        inflow = water.free.to_pit_m3_s
        use = _use(inflow, np.tile(flow, many)[:, None])
        rows += _lasts(use, step_s, many, electric, backup)
        found.append([row.reshape(many, n) for row in rows])
    carries, over, joint, outlasts, in_storm, spent = (
        np.stack(each) for each in zip(*found, strict=True)
    )
    worst = outlasts.argmin(axis=0)[None]
    over = np.maximum.accumulate(over.max(axis=0), axis=0)
    joint = np.maximum.accumulate(joint.max(axis=0), axis=0)
    dry_use = _use(dry_inflow_m3_s, flow)
    dry_lasts, dry_spent = _dry(dry_use, electric, backup)
    return SecondPumpRuns(
        carries=np.minimum.accumulate(carries.min(axis=0), axis=0) * (flow > 0),
        overtopped=over,
        at_joint=joint * (1 - over),
        outlasts_s=np.minimum.accumulate(outlasts.min(axis=0), axis=0),
        in_storm=np.maximum.accumulate(np.take_along_axis(in_storm, worst, axis=0)[0], axis=0),
        spent_on_mains=np.maximum.accumulate(spent.max(axis=0), axis=0),
        flow_m3_s=flow,
        dry_carries=(dry_use <= 1).astype(np.float64) * (flow > 0),
        dry_outlasts_s=dry_lasts,
        dry_spent_on_mains=dry_spent,
    )


def _use(inflow_m3_s: FloatArray, flow_m3_s: FloatArray) -> FloatArray:
    """Inflow against what the pump lifts; infinite where it lifts nothing of what comes in."""
    without = np.where(inflow_m3_s > 0, np.inf, 0.0)
    return np.divide(inflow_m3_s, flow_m3_s, out=without, where=flow_m3_s > 0)


def _meets(alone: PitModel, both: PitModel, ground: Ground, water: Water) -> list[FloatArray]:
    """Whether the second pump carries the storms, and what both pumps leave."""
    ends = []
    for pit in (alone, both):
        run = run_pit(pit, water.to_pit)
        met = working(pit, ground.footing, water.arriving, water.free.level_m, water.start_m3, run)
        ends.append((np.isfinite(met.rim_s), np.isfinite(met.joint_s)))
    (over_alone, joint_alone), (over, joint) = ends
    return [(~(over_alone | joint_alone)).astype(float), over.astype(float), joint.astype(float)]


def _lasts(
    use: FloatArray, step_s: float, many: int, electric: Electric | None, backup: Backup
) -> list[FloatArray]:
    """How long the second pump runs without the mains, and whether it stops with them."""
    n = use.shape[0]
    if electric is None:
        has_power = backup.runs_on is RunsOn.MAINS_WATER and not backup.has_well
        return [np.full(n, np.inf if has_power else 0.0), np.ones(n), np.zeros(n)]
    repeated = replace(
        electric,
        battery=replace(
            electric.battery,
            **{
                key: np.tile(np.asarray(value), many)
                for key, value in vars(electric.battery).items()
            },
        ),
        current_a=np.tile(electric.current_a, many),
        idle_a=np.tile(electric.idle_a, many),
        charge_a=np.tile(electric.charge_a, many),
    )
    return list(battery_course(use, step_s, repeated))


def _dry(
    use: FloatArray, electric: Electric | None, backup: Backup
) -> tuple[FloatArray, FloatArray]:
    """How long it runs in dry weather without the mains, and whether the charger cannot keep up."""
    duty = np.minimum(use, 1.0)
    if electric is None:
        lasts, _, spent = _lasts(duty[:, None], _HOUR_S, 1, electric, backup)
        return lasts, spent
    hours = run_time_h(electric.battery, electric.current_a, duty, electric.idle_a)
    back = _rates_per_h(electric)[2]
    return _HOUR_S * hours, (hours * back < 1).astype(np.float64)


def _rates_per_h(electric: Electric) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Share of what may be drawn that goes in an hour of running and of rest, and comes back."""
    running = depletion_per_h(electric.battery, electric.current_a)
    idle = depletion_per_h(electric.battery, electric.idle_a)
    usable_ah = usable_capacity_ah(electric.battery, electric.current_a)
    charge = np.where(electric.charge_a > 0, electric.charge_a, 1.0)
    full_h = recharge_time_h(usable_ah, charge, 1.0)
    return running, idle, np.where(electric.charge_a > 0, 1 / np.maximum(full_h, 1e-9), 0.0)


def battery_course(
    use: FloatArray, step_s: float, electric: Electric
) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Follow a battery through a storm: how long it lives from the worst moment of an outage.

    In each step the pump runs for the share of the time that inflow bears to what it lifts. After
    the last step the inflow stays as it is then.

    Parameters
    ----------
    use : (n_draws, n_steps) array
        Inflow against what the second pump lifts; above 1 it runs all the time [-].
    step_s : float
        Length of a step [s].
    electric : Electric
        What it takes from its battery.

    Returns
    -------
    outlasts_s : (n_draws,) array
        Least time from the beginning of an outage until the battery is spent [s].
    in_storm : (n_draws,) array
        1 where it is spent before the last step, else 0 [-].
    spent_on_mains : (n_draws,) array
        1 where it is spent before the last step though the charger has power, else 0 [-].

    References
    ----------
    peukert1897 : share of what may be drawn that goes in an hour
    arithmetic : sum over the steps
    """
    running, idle, back = _rates_per_h(electric)
    duty = np.minimum(use, 1.0)
    step_h = step_s / _HOUR_S
    with np.errstate(invalid="ignore"):  # nothing left to draw, and not called upon
        rate = np.where(duty > 0, duty * running[:, None], 0.0)
        rate = rate + np.where(duty < 1, (1 - duty) * idle[:, None], 0.0)
    rate = np.minimum(rate, 1e9)
    gone = np.cumsum(np.pad(rate * step_h, ((0, 0), (1, 0))), axis=1)
    ends_h = np.arange(gone.shape[1]) * step_h
    lasts, within = np.empty(len(gone)), np.empty(len(gone))
    for row, (course, last) in enumerate(zip(gone, rate[:, -1], strict=True)):
        wanted = course[:-1] + 1.0
        beyond = wanted > course[-1]
        with np.errstate(divide="ignore", invalid="ignore"):
            later = ends_h[-1] + np.where(beyond, (wanted - course[-1]) / last, 0.0)
        spent = np.where(beyond, later, np.interp(wanted, course, ends_h))
        least = int((spent - ends_h[:-1]).argmin())
        lasts[row], within[row] = spent[least] - ends_h[least], float(not beyond[least])
    level = np.zeros(len(gone))
    spent_on = np.zeros(len(gone), dtype=np.bool_)
    for step in range(rate.shape[1]):
        level = np.maximum(level + (rate[:, step] - back) * step_h, 0.0)
        spent_on |= level >= 1.0
    return lasts * _HOUR_S, within, spent_on.astype(np.float64)
