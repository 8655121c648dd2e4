"""Storms that did fall, through one home: each by itself, as its rain came in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from riskkit.antecedent.water_table import AntecedentGround
from riskkit.ensemble.shared import Seeds
from riskkit.errors import collect_warnings
from riskkit.failures.at_place import AtPlace
from riskkit.failures.storms import HomeStorms, second_of, storms_from_runs
from riskkit.home.home import Home
from riskkit.home.samples import joined
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun
from riskkit.risk.runs import StormRuns, run_storms
from riskkit.risk.time_to_flood import dry_marks_s
from riskkit.simulate import ground_of

__all__ = ["past_home_storms"]


def past_home_storms(
    home: Home,
    place: AtPlace,
    seed: int | Seeds,
    storms: Sequence[StormToRun],
    before: Sequence[AntecedentGround],
) -> tuple[HomeStorms, ...]:
    """Run storms that did fall through all draws of a home, each on the ground that it found.

    A draw is the same home in each of them: only what its days tell of the ground differs.

    Parameters
    ----------
    home : Home
        The home.
    place : AtPlace
        Its draws and the ground round them.
    seed : int or Seeds
        Of the draws [-].
    storms : sequence of StormToRun
        Storms in the same steps, their peaks in the same step.
    before : sequence of AntecedentGround
        How each of them found the ground; `place.before` where its days do not tell.

    Returns
    -------
    tuple of HomeStorms
        For each storm what it does, in a row of its own.
    """
    if not storms:
        return ()
    with collect_warnings():
        homes = [place.homes_before(each) for each in before]
        ground = ground_of(joined(homes))
        runs = run_storms(
            place.homes, place.pit, storms, ground, Clock.STOP, with_depth=False, least_only=True
        )
        dry_alarm, dry_floor = dry_marks_s(place.pit, place.ground)
        found = []
        for k, storm in enumerate(storms):
            alone = StormRuns(**{f.name: getattr(runs, f.name)[k : k + 1] for f in fields(runs)})
            one = storms_from_runs(
                np.array([1 / storm.return_period_yr]), [alone], dry_alarm, dry_floor,
                has_pump=place.pit.has_pump,
            )  # fmt: skip
            own = ground.picked(np.arange(k * one.n_draws, (k + 1) * one.n_draws))
            there = replace(place, homes=homes[k], ground=own, groups=((storm,),))
            found.append(second_of(home, one, there, seed, None))
        return tuple(found)
