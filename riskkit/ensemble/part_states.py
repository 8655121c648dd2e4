"""What states of parts do to the draws of a home."""

from __future__ import annotations

import zlib

import numpy as np
from scipy.special import ndtri

from riskkit.quantities.distributions import spread_at
from riskkit.quantities.part_states import PartState, StateEffect
from riskkit.records import FloatArray

__all__ = ["put_in_state"]

_LEAST_BELOW_ALARM_M = 0.01  # that the pump starts, however late


def put_in_state(values: dict[str, FloatArray], states: tuple[PartState, ...]) -> None:
    """Let parts that are clogged, blocked or caught change what passes and when the pump starts.

    The pump starts below the alarm however late it is. The places in a spread are even and in an
    order of their own, so that no other column of the draws moves.

    Parameters
    ----------
    values : dict of str to (n_draws,) array
        Quantities by name, in order; ``passing_share`` is added, ``on_depth_m`` changed [any].
    states : tuple of PartState
        Of the parts of the home.

    References
    ----------
    judgement : the spreads of ``tables/part_states.csv``; states of two parts are independent
    """
    n = len(values["on_depth_m"])
    passes, late = np.ones(n), np.zeros(n)
    for state in states:
        if state.spread is None:
            continue
        place = np.random.default_rng(zlib.crc32(state.choice.encode())).permutation(n)
        scale = "logit" if state.effect is StateEffect.FLOW else "log"
        by = spread_at(state.spread, scale, ndtri((place + 0.5) / n))
        passes, late = (passes * by, late) if scale == "logit" else (passes, late + by)
    values["passing_share"] = passes
    values["on_depth_m"] = np.where(
        late > 0,
        np.maximum(values["on_depth_m"] - late, values["alarm_depth_m"] + _LEAST_BELOW_ALARM_M),
        values["on_depth_m"],
    )
