"""The state of a page as plain values, and back."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from riskkit.assessment import Pattern, Settings
from riskkit.home.home import Home
from riskkit.quantities.units import UnitSystem
from riskkit.widgets.state import HomeState

__all__ = ["state_from_dict", "state_to_dict"]


def state_to_dict(state: HomeState) -> dict[str, Any]:
    """Return the state as plain values.

    Parameters
    ----------
    state : HomeState
        The state.

    Returns
    -------
    dict
        ``home``, ``settings``, ``system`` and ``path``.
    """
    settings = asdict(state.settings) | {"pattern": state.settings.pattern.name}
    return {
        "home": state.home.model_dump(mode="json", exclude_defaults=True)
        | {"name": state.home.name},
        "settings": settings,
        "system": state.system.value,
        "path": None if state.path is None else str(state.path),
    }


def state_from_dict(values: dict[str, Any]) -> HomeState:
    """Return a state from plain values; it has no file open.

    Parameters
    ----------
    values : dict
        As `state_to_dict` made them.

    Returns
    -------
    HomeState
        The state.
    """
    settings = dict(values["settings"])
    settings["pattern"] = Pattern[settings["pattern"]]
    settings["return_periods_yr"] = tuple(settings["return_periods_yr"])
    return HomeState(
        home=Home().changed(**values["home"]),
        settings=Settings(**settings),
        system=UnitSystem(values["system"]),
    )
