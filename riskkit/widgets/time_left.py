"""How long work of a kind still takes, by how long it took the last time on this machine."""

from __future__ import annotations

import time
from collections.abc import Callable

__all__ = ["TimeLeft"]


class TimeLeft:
    """Says how far work of one kind is, from its steps and from the last time it was done.

    Parameters
    ----------
    clock : callable
        Tells the time [s].
    """

    def __init__(self, clock: Callable[[], float] = time.monotonic) -> None:
        self._clock = clock
        self._before: dict[str, float] = {}  # by step, the share of the whole time that was over
        self._took = 0.0  # the whole time, the last time [s]
        self._now: dict[str, float] = {}
        self._begun = 0.0

    def begin(self) -> None:
        """Begin the work."""
        self._begun, self._now = self._clock(), {}

    def words(self, step: str) -> str:
        """Say a step and the time left.

        Parameters
        ----------
        step : str
            What is being done.

        Returns
        -------
        str
            The step; with the time left where the work was done before.

        Examples
        --------
        >>> seconds = iter([0.0, 4.0, 10.0, 100.0, 106.0])
        >>> left = TimeLeft(lambda: next(seconds))
        >>> left.begin(); left.words("second half"); left.ended()
        'second half'
        >>> left.begin(); left.words("second half")
        'second half, about 9 s left'
        """
        over = self._clock() - self._begun
        self._now[step] = over
        if not self._took or step not in self._before:
            return step
        # where a quarter was over after 30 s, three times as long is left
        share = self._before[step]
        left = self._took * (1.0 - share) if share == 0.0 else over * (1.0 - share) / share
        return f"{step}, {_about(left)} left"

    def ended(self) -> None:
        """Remember how long it took."""
        self._took = max(self._clock() - self._begun, 1e-3)
        self._before = {step: over / self._took for step, over in self._now.items()}


def _about(seconds: float) -> str:
    if seconds < 90.0:
        return f"about {max(1, round(seconds))} s"
    return f"about {round(seconds / 60.0)} min"
