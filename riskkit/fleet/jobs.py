"""A partition to work out, and what any worker makes of it: nothing here writes a file."""

from __future__ import annotations

import signal
from collections import OrderedDict
from dataclasses import dataclass
from typing import Any

from riskkit.errors import RiskkitError
from riskkit.fleet.answers import answer_row
from riskkit.fleet.places import Place
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import part_bytes
from riskkit.fleet.table import BadRow, RawRow, home_of_row

__all__ = ["MOST_PLACES", "Done", "Job", "begin_worker", "work_out"]

MOST_PLACES = 64
"""Places whose rain is held at once."""
Done = tuple[int, bytes, tuple[BadRow, ...]]
"""Number of a partition, its homes as parquet, and its refused rows."""


@dataclass(frozen=True)
class Job:
    """A partition to work out.

    Parameters
    ----------
    number : int
        Of the partition [-].
    rows : tuple of RawRow
        Its homes, whose rows are in order.
    places : tuple of pairs
        Name of the files of each home's rain, and the rain.
    place_of : tuple of int
        Which of `places` each home has [-].
    bad : tuple of BadRow
        Rows that were refused already.
    settings : FleetSettings
        How to work it out.
    middle : tuple of float, optional
        Where a storm over all homes is as it is said; None where no home has a place [deg].
    """

    number: int
    rows: tuple[RawRow, ...]
    places: tuple[Place, ...]
    place_of: tuple[int, ...]
    bad: tuple[BadRow, ...]
    settings: FleetSettings
    middle: tuple[float, float] | None = None


_stop: Any = None  # set where the run is to end; of the worker's process
_places: OrderedDict[tuple[Any, ...], Place] = OrderedDict()


def begin_worker(stop: Any) -> None:
    """Prepare a process of its own.

    Parameters
    ----------
    stop : multiprocessing.Event
        Set where the run is to end.
    """
    global _stop
    _stop = stop
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # the caller is told, and tells us


def _same_place(place: Place) -> Place:
    """Return the place as this process knows it, so that what was worked out of it is not again."""
    key = (place.name, place.hashes, len(place.past), place.middle)
    known = _places.setdefault(key, place)
    _places.move_to_end(key)
    while len(_places) > MOST_PLACES:
        _places.popitem(last=False)
    return known


def work_out(job: Job) -> Done:
    """Work out one partition.

    Parameters
    ----------
    job : Job
        The partition.

    Returns
    -------
    number : int
        Of the partition [-].
    data : bytes
        Its homes, as parquet.
    bad : tuple of BadRow
        Its refused rows.

    Raises
    ------
    KeyboardInterrupt
        Where the run is to end.
    """
    rows, bad = [], list(job.bad)
    places = [_same_place(place) for place in job.places]
    for row, at in zip(job.rows, job.place_of, strict=True):
        if _stop is not None and _stop.is_set():
            raise KeyboardInterrupt
        home = home_of_row(row)
        if isinstance(home, BadRow):
            bad.append(home)
            continue
        try:
            rows.append(answer_row(home, places[at], job.settings, job.middle))
        except RiskkitError as error:
            bad.append(BadRow(home.number, home.home_id, str(error)))
    about = {
        "settings": job.settings.form(),
        "rain": {place.name: dict(place.hashes) for place in job.places},
        "past": {place.name: [storm.form() for storm in place.past] for place in job.places},
    }
    return job.number, part_bytes(rows, about), tuple(sorted(bad, key=lambda row: row.number))
