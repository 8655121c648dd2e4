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

>>> import riskkit
>>> home = riskkit.load_home("demo_sites/split_level_on_clay.toml")
>>> answer = home.assess()
>>> answer.headline_storm.return_period_yr
10.0
>>> bool((answer.to_frame()["floor_dry_share"] <= 1).all())
True
"""

from __future__ import annotations

from importlib import import_module
from sys import modules
from typing import TYPE_CHECKING

from riskkit.version import __version__ as __version__

if TYPE_CHECKING:
    from riskkit.assessment import Assessment, Settings, StormAnswer, assess
    from riskkit.ensemble.quantiles import FloorDepth, Outcome, Points
    from riskkit.errors import InputError, RiskkitError
    from riskkit.failures.answer import YearlyChance
    from riskkit.failures.circumstances import Circumstances
    from riskkit.failures.prices import Prices
    from riskkit.failures.service import Intervals, interval
    from riskkit.failures.yearly import chance
    from riskkit.folders import invented_homes
    from riskkit.gauge.answer import LogAnalysis
    from riskkit.gauge.files import gauge_log
    from riskkit.gauge.log import PumpLog, read_log
    from riskkit.home.home import Home, load_home
    from riskkit.home.observations import Observation
    from riskkit.home.saving import save_home
    from riskkit.home.visits import Visit
    from riskkit.options.changes import Change, remedies, remedy
    from riskkit.options.compare import Comparison, compare
    from riskkit.options.observed import (
        ObservationsEffect,
        next_observations,
        observations_effect,
    )
    from riskkit.options.ranking import Ranking, rank_remedies
    from riskkit.options.replays import ReplayComparison, compare_replays, years_study
    from riskkit.options.side_by_side import SideBySide, side_by_side, two_periods
    from riskkit.quantities.quantity import Quantity
    from riskkit.quantities.units import UnitSystem
    from riskkit.rainfall.extremes import depth_duration_frequency
    from riskkit.rainfall.readers.official import read_rain_table
    from riskkit.rainfall.readers.plain import write_rain
    from riskkit.rainfall.readers.record import read_rain
    from riskkit.records import DepthDurationFrequency, RainRecord, Series
    from riskkit.report.charts import level_chart
    from riskkit.report.words import sentence
    from riskkit.risk.design_rain import DesignRain, design_rain
    from riskkit.storm.patterns import Pattern
    from riskkit.years.generated import generated_rain
    from riskkit.years.records import Replay, ReplaySettings
    from riskkit.years.run import replay

# The public names and where they live; imported on first use, so that `import riskkit` is light.
_MODULES = {
    "Assessment": "assessment",
    "Change": "options.changes",
    "Circumstances": "failures.circumstances",
    "Comparison": "options.compare",
    "DepthDurationFrequency": "records",
    "DesignRain": "risk.design_rain",
    "FloorDepth": "ensemble.quantiles",
    "LogAnalysis": "gauge.answer",
    "Home": "home.home",
    "InputError": "errors",
    "Intervals": "failures.service",
    "Observation": "home.observations",
    "ObservationsEffect": "options.observed",
    "Outcome": "ensemble.quantiles",
    "Pattern": "storm.patterns",
    "Points": "ensemble.quantiles",
    "Prices": "failures.prices",
    "PumpLog": "gauge.log",
    "Quantity": "quantities.quantity",
    "RainRecord": "records",
    "Ranking": "options.ranking",
    "Replay": "years.records",
    "ReplayComparison": "options.replays",
    "ReplaySettings": "years.records",
    "RiskkitError": "errors",
    "Series": "records",
    "Settings": "assessment",
    "SideBySide": "options.side_by_side",
    "StormAnswer": "assessment",
    "UnitSystem": "quantities.units",
    "Visit": "home.visits",
    "YearlyChance": "failures.answer",
    "assess": "assessment",
    "chance": "failures.yearly",
    "compare": "options.compare",
    "compare_replays": "options.replays",
    "depth_duration_frequency": "rainfall.extremes",
    "design_rain": "risk.design_rain",
    "gauge_log": "gauge.files",
    "generated_rain": "years.generated",
    "interval": "failures.service",
    "invented_homes": "folders",
    "level_chart": "report.charts",
    "load_home": "home.home",
    "next_observations": "options.observed",
    "observations_effect": "options.observed",
    "rank_remedies": "options.ranking",
    "read_log": "gauge.log",
    "read_rain": "rainfall.readers.record",
    "read_rain_table": "rainfall.readers.official",
    "remedies": "options.changes",
    "remedy": "options.changes",
    "replay": "years.run",
    "save_home": "home.saving",
    "sentence": "report.words",
    "side_by_side": "options.side_by_side",
    "two_periods": "options.side_by_side",
    "write_rain": "rainfall.readers.plain",
    "years_study": "options.replays",
}

__all__ = [
    "Assessment",
    "Change",
    "Circumstances",
    "Comparison",
    "DepthDurationFrequency",
    "DesignRain",
    "FloorDepth",
    "Home",
    "InputError",
    "Intervals",
    "LogAnalysis",
    "Observation",
    "ObservationsEffect",
    "Outcome",
    "Pattern",
    "Points",
    "Prices",
    "PumpLog",
    "Quantity",
    "RainRecord",
    "Ranking",
    "Replay",
    "ReplayComparison",
    "ReplaySettings",
    "RiskkitError",
    "Series",
    "Settings",
    "SideBySide",
    "StormAnswer",
    "UnitSystem",
    "Visit",
    "YearlyChance",
    "assess",
    "chance",
    "compare",
    "compare_replays",
    "depth_duration_frequency",
    "design_rain",
    "gauge_log",
    "generated_rain",
    "interval",
    "invented_homes",
    "level_chart",
    "load_home",
    "next_observations",
    "observations_effect",
    "rank_remedies",
    "read_log",
    "read_rain",
    "read_rain_table",
    "remedies",
    "remedy",
    "replay",
    "save_home",
    "sentence",
    "side_by_side",
    "two_periods",
    "write_rain",
    "years_study",
]


def __getattr__(name: str) -> object:
    if name not in _MODULES:
        what = f"module 'riskkit' has no attribute {name!r}"
        raise AttributeError(what, name=name, obj=modules[__name__])  # names what is near
    value = getattr(import_module(f"riskkit.{_MODULES[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    return sorted(__all__)
