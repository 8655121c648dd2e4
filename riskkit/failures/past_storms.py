"""Storms that did fall, through one home: each by itself, as its rain came in time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import fields, replace

import numpy as np

from riskkit.ensemble.shared import Seeds
from riskkit.errors import collect_warnings
from riskkit.failures.at_place import AtPlace
from riskkit.failures.storms import HomeStorms, second_of, storms_from_runs
from riskkit.home.home import Home
from riskkit.risk.clock import Clock
from riskkit.risk.critical import StormToRun
from riskkit.risk.runs import StormRuns, run_storms
from riskkit.risk.time_to_flood import dry_marks_s

__all__ = ["past_home_storms"]


def past_home_storms(
    home: Home, place: AtPlace, seed: int | Seeds, storms: Sequence[StormToRun]
) -> tuple[HomeStorms, ...]:
    """Run storms that did fall through all draws of a home.

    The ground is drawn as before the largest storms in general, not as it was before each of them.

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

    Returns
    -------
    tuple of HomeStorms
        For each storm what it does, in a row of its own.
    """
    if not storms:
        return ()
    with collect_warnings():
        runs = run_storms(
            place.homes, place.pit, storms, place.ground, Clock.STOP,
            with_depth=False, least_only=True,
        )  # fmt: skip
        dry_alarm, dry_floor = dry_marks_s(place.pit, place.ground)
        found = []
        for k, storm in enumerate(storms):
            alone = StormRuns(**{f.name: getattr(runs, f.name)[k : k + 1] for f in fields(runs)})
            one = storms_from_runs(
                np.array([1 / storm.return_period_yr]), [alone], dry_alarm, dry_floor,
                has_pump=place.pit.has_pump,
            )  # fmt: skip
            found.append(second_of(home, one, replace(place, groups=((storm,),)), seed, None))
        return tuple(found)
