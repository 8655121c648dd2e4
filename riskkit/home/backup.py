"""What stands by the pump, as a home file tells it: a second pump, its battery, a generator."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from enum import Enum

from riskkit.home.home import Home
from riskkit.home.visit_checks import visit_checks
from riskkit.quantities.backup import backup_quantities
from riskkit.quantities.components import Component

__all__ = ["Backup", "RunsOn", "Starts", "asked_checks", "backup_of"]


class RunsOn(Enum):
    """What drives a second pump; the value is its word in a home file."""

    BATTERY = "battery"
    INVERTER = "inverter"
    MAINS = "mains"
    MAINS_WATER = "mains water"


class Starts(Enum):
    """How a generator starts; the value is its word in a home file."""

    AUTOMATIC = "automatic"
    BY_HAND = "by hand"


@dataclass(frozen=True)
class Backup:
    """What stands by the pump.

    Parameters
    ----------
    runs_on : RunsOn or None
        What drives the second pump; None where there is none.
    generator : Starts or None
        How the generator starts; None where there is none.
    has_well : bool
        Whether the mains water comes from a well, which stops with the power.
    battery_age_yr : float or None
        Age of the battery; None where nobody knows [yr].
    """

    runs_on: RunsOn | None
    generator: Starts | None
    has_well: bool
    battery_age_yr: float | None

    @property
    def has_battery(self) -> bool:
        """Whether the second pump lives on a battery."""
        return self.runs_on in (RunsOn.BATTERY, RunsOn.INVERTER)

    @property
    def parts(self) -> frozenset[str]:
        """What there is, by its section of the home file."""
        there = {
            "second_pump": self.runs_on is not None,
            "battery": self.has_battery,
            "generator": self.generator is not None,
        }
        return frozenset(part for part, has in there.items() if has)


def backup_of(home: Home) -> Backup:
    """Return what stands by the pump of a home.

    A home file that tells of a battery or of a second pump, and not what drives it, has one on a
    battery; one that tells of mains water alone has one that the mains water drives.

    Parameters
    ----------
    home : Home
        The home.

    Returns
    -------
    Backup
        Without anything where the file tells of nothing.
    """
    told = home.choice("second_pump.runs_on")
    seen = {key.split(".")[0] for key in backup_quantities() if home.written(key) is not None}
    runs_on = None
    if home.lacks(Component.SECOND_PUMP):
        told, seen = "none", seen - {"second_pump", "battery", "mains_water"}
    if told not in (None, "none"):
        runs_on = RunsOn(told)
    elif told is None and seen & {"second_pump", "battery"}:
        runs_on = RunsOn.BATTERY
    elif told is None and "mains_water" in seen:
        runs_on = RunsOn.MAINS_WATER
    starts = home.choice("generator.starts")
    generator = Starts(starts) if starts not in (None, "none") else None
    if starts is None and "generator" in seen:
        generator = Starts.BY_HAND
    age = home.quantity("battery.age")
    return Backup(
        runs_on,
        generator,
        has_well=home.choice("mains_water.source") == "well",
        battery_age_yr=None if age is None else age.value,
    )


def asked_checks(home: Home, group: str = "") -> Mapping[str, Mapping[str, str]]:
    """Return the checks of a visit that are asked at a home: none of a part that it has not.

    Parameters
    ----------
    home : Home
        The home.
    group : str
        Part of the visit, as for `riskkit.home.visit_checks.visit_checks`.

    Returns
    -------
    mapping of str to mapping
        Rows of ``tables/visit_checks.csv`` by their key.
    """
    parts = backup_of(home).parts
    return {key: row for key, row in visit_checks(group).items() if row["part"] in ("", *parts)}
