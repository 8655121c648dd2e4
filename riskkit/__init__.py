"""Will the sump pump carry the storms of this place, and how long if it stops?

::

    rain record ──> rainfall ──> storm ──> inflow ──> pit      each stage an island,
                                              │                joined only in simulate
                                           simulate
                                              │
                                             risk              repeated over draws
                                              │
                                          assessment           the one-call answer
                                              │
                                            report ──> cli

>>> from pathlib import Path
>>> import riskkit
>>> path = Path("demo_sites/split_level_on_clay.toml")
>>> home = riskkit.load_home(path)
>>> rain = riskkit.design_rain(home, path.parent)
>>> answer = riskkit.assess(home, rain)
>>> answer.headline_storm.return_period_yr
10.0
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from riskkit.version import __version__ as __version__

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, Settings, assess, design_rain
    from riskkit.ensemble.quantiles import Outcome
    from riskkit.errors import InputError, RiskkitError
    from riskkit.home.home import Home, load_home
    from riskkit.home.saving import save_home
    from riskkit.quantities.units import UnitSystem
    from riskkit.rainfall.readers.official import read_rain_table
    from riskkit.rainfall.readers.record import read_rain
    from riskkit.records import DepthDurationFrequency, RainRecord
    from riskkit.report.words import sentence
    from riskkit.storm.patterns import Pattern

# The public names and where they live; imported on first use, so that `import riskkit` is light.
_HOMES = {
    "Assessment": "assessment",
    "DepthDurationFrequency": "records",
    "InputError": "errors",
    "Outcome": "ensemble.quantiles",
    "Pattern": "storm.patterns",
    "RainRecord": "records",
    "RiskkitError": "errors",
    "Settings": "assessment",
    "Home": "home.home",
    "UnitSystem": "quantities.units",
    "assess": "assessment",
    "design_rain": "assessment",
    "load_home": "home.home",
    "read_rain": "rainfall.readers.record",
    "read_rain_table": "rainfall.readers.official",
    "save_home": "home.saving",
    "sentence": "report.words",
}

__all__ = [
    "Assessment",
    "DepthDurationFrequency",
    "Home",
    "InputError",
    "Outcome",
    "Pattern",
    "RainRecord",
    "RiskkitError",
    "Settings",
    "UnitSystem",
    "assess",
    "design_rain",
    "load_home",
    "read_rain",
    "read_rain_table",
    "save_home",
    "sentence",
]


def __getattr__(name: str) -> object:
    if name not in _HOMES:
        raise AttributeError(f"module 'riskkit' has no attribute {name!r}")
    value = getattr(import_module(f"riskkit.{_HOMES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
