"""How the homes of a company are worked out."""

from __future__ import annotations

import datetime
from dataclasses import asdict, dataclass, field

from riskkit.errors import InputError, need_type

__all__ = ["READ_VERSIONS", "SCHEMA_VERSION", "FleetSettings"]

SCHEMA_VERSION = 4
"""Of the partitions that are written."""
READ_VERSIONS = (1, 2, 3, SCHEMA_VERSION)
"""Those that are read: 1 knew no past storms, 2 not the ground before each, nor the wetness of
homes that leave temperatures to the run, 3 not how many rows the table has, nor how much it tells
of each home."""
_FEWEST_DRAWS, _MOST_DRAWS = 16, 4096
_MOST_PAST = 50


@dataclass(frozen=True)
class FleetSettings:
    """How the homes of a company are worked out.

    Parameters
    ----------
    n_draws : int
        Draws of each home, a power of two [-].
    seed : int
        Of the whole run [-].
    kept_yr : tuple of float
        Storms whose draws are kept, for the night of a storm over the whole region [yr].
    day : date
        The day for which ages count; a run is gone on with on its day, so none is taken unasked.
    past : int
        Largest storms of each rain record whose draws are kept [-].
    gauge : tuple of float, optional
        Latitude and longitude at which a storm is as it is said; the middle of the homes where it
        is left out [deg].
    even_rain : bool
        Whether as much falls at every home.
    """

    n_draws: int = 128
    seed: int = 1
    kept_yr: tuple[float, ...] = (10.0, 100.0)
    day: datetime.date = field(kw_only=True)
    past: int = 10
    gauge: tuple[float, float] | None = None
    even_rain: bool = False

    def __post_init__(self) -> None:
        need_type(self.n_draws, int, "draws", "give a power of two, such as 128")
        n = self.n_draws
        if not _FEWEST_DRAWS <= n <= _MOST_DRAWS or n & (n - 1):
            what = f"{n} is not a power of two from {_FEWEST_DRAWS} to {_MOST_DRAWS}"
            raise InputError("draws", what, "such as 128")
        need_type(self.day, datetime.date, "day", "give a date, such as date(2026, 4, 14)")
        if self.seed < 0:
            raise InputError("seed", f"{self.seed} is below zero", "for example 1")
        if not self.kept_yr or any(not 1 <= each <= 100 for each in self.kept_yr):
            raise InputError("storms", "one is not of 1 to 100 years", "such as 10")
        if not 0 <= self.past <= _MOST_PAST:
            raise InputError(
                "past storms", f"{self.past} are not from 0 to {_MOST_PAST}", "such as 10"
            )

    def form(self) -> dict[str, object]:
        """Return them as plain data.

        Returns
        -------
        dict
            For JSON.
        """
        form = asdict(self) | {"kept_yr": list(self.kept_yr), "day": self.day.isoformat()}
        return form | {"gauge": None if self.gauge is None else list(self.gauge)}
