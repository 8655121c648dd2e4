"""Workers of a cluster, through a Dask scheduler."""

from __future__ import annotations

import importlib
from collections import OrderedDict
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace
from typing import TYPE_CHECKING, Any

from riskkit.errors import InputError
from riskkit.fleet.jobs import MOST_PLACES

if TYPE_CHECKING:
    from riskkit.fleet.jobs import Done, Job
    from riskkit.fleet.places import Place

__all__ = ["Cluster"]

_AHEAD = 2  # partitions that wait for each worker
_FEWEST = 8
_WAIT_S = 10
_RETRIES = 3


def _same(place: Place) -> Place:
    return place


def _worked_out(work: Callable[[Job], Done], job: Job, *places: Place) -> Done:
    return work(replace(job, places=places))


class Cluster:
    """Workers behind the scheduler at an address; a partition of a lost worker is run by another.

    Parameters
    ----------
    address : str
        Of the scheduler, such as ``"tcp://127.0.0.1:8786"``.
    work : callable
        Works a partition out.
    """

    def __init__(self, address: str, work: Callable[[Job], Done]) -> None:
        try:
            distributed: Any = importlib.import_module("distributed")
        except ModuleNotFoundError:
            right = 'pip install "riskkit[fleet]"'
            raise InputError("--scheduler", "it needs dask.distributed", right) from None
        try:
            self._client: Any = distributed.Client(address, timeout=_WAIT_S, set_as_default=False)
        except (OSError, ValueError, TimeoutError):
            right = "begin one with dask scheduler, and workers with dask worker"
            what = f"there is no scheduler at {address}"
            raise InputError("--scheduler", what, right) from None
        cores = sum(self._client.ncores().values())
        self.ahead = max(_AHEAD * cores, _FEWEST)
        self._executor = self._client.get_executor(pure=False, retries=_RETRIES)
        self._work = work
        self._places: OrderedDict[Place, Any] = OrderedDict()

    def submit(self, job: Job) -> Future[Done]:
        """Hand a partition on.

        Parameters
        ----------
        job : Job
            The partition.

        Returns
        -------
        Future
            What will come of it.
        """
        places = [self._at_workers(place) for place in job.places]
        found: Future[Done] = self._executor.submit(
            _worked_out, self._work, replace(job, places=()), *places
        )
        return found

    def _at_workers(self, place: Place) -> Any:
        """Hand a place on once: it is some 400 kB with its days, against 20 of a partition's rows.

        Each worker fetches it when it first needs it, and where all that held it are lost the
        scheduler sends it anew.
        """
        if place not in self._places:
            self._places[place] = self._client.submit(_same, place, pure=False, retries=_RETRIES)
            while len(self._places) > MOST_PLACES:
                self._places.popitem(last=False)
        self._places.move_to_end(place)
        return self._places[place]

    def stop(self) -> None:
        """Undo what is not done, and let go of the scheduler."""
        self._places.clear()
        self._executor.shutdown(wait=False)
        self._client.close()

    def again(self) -> bool:
        """Begin anew: never, for the scheduler does that by itself.

        Returns
        -------
        bool
            False.
        """
        return False
