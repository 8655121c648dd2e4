"""Workers of a cluster, through a Dask scheduler."""

from __future__ import annotations

import importlib
from collections.abc import Callable
from concurrent.futures import Future
from typing import TYPE_CHECKING, Any

from riskkit.errors import InputError

if TYPE_CHECKING:
    from riskkit.fleet.jobs import Done, Job

__all__ = ["Cluster"]

_AHEAD = 2  # partitions that wait for each worker
_FEWEST = 8
_WAIT_S = 10


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
        self._executor = self._client.get_executor(pure=False, retries=3)
        self._work = work

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
        found: Future[Done] = self._executor.submit(self._work, job)
        return found

    def stop(self) -> None:
        """Undo what is not done, and let go of the scheduler."""
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
