"""Storms and faults of one draw, made by hand."""

from __future__ import annotations

from typing import Any

import numpy as np

from riskkit.failures.faults import PUMP_CAUSES, Faults
from riskkit.failures.storms import HomeStorms
from riskkit.reliability.outages import COUNTRY, outages_of

HOUR = 3600.0
NEVER = np.inf


def storms(**rows: Any) -> HomeStorms:
    """Two storms, one and a tenth a year: the rare one overtops, a dead pump has an hour's warning;
    the pump that stops never floods."""
    every: dict[str, Any] = {
        "rate_per_yr": [1.0, 0.1],
        "overtopped": [0.0, 1.0],
        "at_joint": [0.0] * len(rows.get("rate_per_yr", [1.0, 0.1])),
        "dead_to_floor_s": [3 * HOUR, 3 * HOUR],
        "dead_to_alarm_s": [2 * HOUR, 2 * HOUR],
        "dead_warning_s": [HOUR, HOUR],
        "stop_to_floor_s": [NEVER, NEVER],
        "stop_warning_s": [NEVER, NEVER],
    } | {key: value for key, value in rows.items() if not key.startswith(("dry", "has"))}
    shaped = {k: np.array(v) if k == "rate_per_yr" else np.array(v)[:, None]
              for k, v in every.items()}  # fmt: skip
    return HomeStorms(
        **shaped,
        dry_to_floor_s=np.array([rows.get("dry_to_floor_s", NEVER)]),
        dry_to_alarm_s=np.array([rows.get("dry_to_alarm_s", NEVER)]),
        has_pump=rows.get("has_pump", True),
    )


def faults(chance: dict[str, float] | None = None, **more: Any) -> Faults:
    """An alarm that sounds in 9 of 10 cases and has power in 8 of 10 outages; somebody hears it in
    half of the cases and can act in 8 of 10, in half of those within an hour."""
    told = {key: value for key, value in more.items() if not isinstance(value, dict | frozenset)}
    one = {
        "missing": 0.0, "silent": 0.1, "battery_dead": 0.2, "hears": 0.5, "can_act": 0.8,
        "acts_after_s": HOUR, "acts_log_sd": 0.8, "outage_factor": 1.0, "storm_h": 24.0,
    } | told  # fmt: skip
    given = dict.fromkeys(PUMP_CAUSES, 0.0) | (chance or {})
    rates = {key: np.array([rate]) for key, rate in more.get("per_yr", {}).items()}
    return Faults(
        chance={key: np.array([value]) for key, value in given.items()},
        per_yr=rates,
        defects_per_yr=rates,
        hidden={},
        shown_per_yr={},
        certain=more.get("certain", frozenset()),
        outages=outages_of(COUNTRY),
        **{key: np.array([value]) for key, value in one.items()},
    )


__all__ = ["HOUR", "NEVER", "faults", "storms"]
