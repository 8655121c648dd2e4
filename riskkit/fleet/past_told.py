"""The past storms that a run kept, as its partitions tell them."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from riskkit.errors import InputError
from riskkit.fleet.store import done_parts, part_path, read_notes

__all__ = ["PastTold", "past_of_run"]


@dataclass(frozen=True)
class PastTold:
    """A large storm of a record, as a run tells it.

    Parameters
    ----------
    place : str
        Whose rain it is: names of its files.
    number : int
        Its place among the storms of that record, the rarest 0 [-].
    name : str
        Its first day.
    begin, end, window : str
        Its first and last wet interval, and the beginning of its window.
    duration_h : float
        Duration in which it is rarest [h].
    depth_mm : float
        Rain of that duration [mm].
    return_period_yr : float
        How seldom as much comes [yr].
    beside_gap : bool
        Whether time is missing in it or within a day of it.
    rain_mm : tuple of float
        Rain of each hour of its window [mm].
    ground : str, optional
        Where its ground comes from, as of `riskkit.antecedent.before_storm.GroundFrom`; None of a
        run before that was told, whose ground is as before large storms in general.
    snow_mm : float
        Water that snow held on the evening before its window, which is not let melt [mm].
    may_be_frozen : bool
        Whether the ground may have been frozen then.
    """

    place: str
    number: int
    name: str
    begin: str
    end: str
    window: str
    duration_h: float
    depth_mm: float
    return_period_yr: float
    beside_gap: bool
    rain_mm: tuple[float, ...]
    ground: str | None = None
    snow_mm: float = 0.0
    may_be_frozen: bool = False


def past_of_run(folder: Path) -> tuple[PastTold, ...]:
    """Return the past storms that a run kept, place by place, the rarest first.

    Parameters
    ----------
    folder : Path
        Folder of the run.

    Returns
    -------
    tuple of PastTold
        Its storms.

    Raises
    ------
    InputError
        Where a partition tells none that can be read.
    """
    found: dict[str, list[PastTold]] = {}
    for number in sorted(done_parts(folder)):
        path = part_path(folder, number)
        try:
            told = json.loads(read_notes(path)).get("past", {})
            for place, storms in told.items():
                if place not in found:
                    found[place] = [
                        PastTold(place, k, **storm | {"rain_mm": tuple(storm["rain_mm"])})
                        for k, storm in enumerate(storms)
                    ]
        except (ValueError, TypeError, KeyError, AttributeError):
            right = "delete it and run again: the others stay"
            raise InputError(path.name, "its notes cannot be read", right) from None
    return tuple(storm for place in sorted(found) for storm in found[place])
