"""What an answer says of the doubts about the rain record that it rests on."""

from __future__ import annotations

import math

from riskkit.ensemble.quantiles import Outcome
from riskkit.quantities.variables import significant
from riskkit.rainfall.doubts import deciding_words, row_words
from riskkit.risk.design_rain import RecordDoubts

__all__ = ["doubt_lines"]


def doubt_lines(
    doubts: RecordDoubts, worst_s: Outcome, without_s: Outcome | None = None
) -> list[str]:
    """Say what speaks against the depths of a record, and what the answer is without a value.

    Parameters
    ----------
    doubts : RecordDoubts
        What was found.
    worst_s : Outcome
        Time to water on the floor in the storm of the first sentence, however it is counted [s].
    without_s : Outcome, optional
        The same without the single value that decides the depths [s].

    Returns
    -------
    list of str
        Sentences; none where the answer does not rest on the record.
    """
    if not doubts.is_used:
        return []
    lines = [f"The record may be in doubt: {row_words(row)}." for row in doubts.rows]
    if doubts.deciding is None or without_s is None:
        return lines
    told = (
        f"{deciding_words(doubts.deciding)} With the pump stopped at the worst moment, water is on "
        f"the floor {_time_words(worst_s)} with that value and {_time_words(without_s)} without it."
    )
    return [told, *lines]


def _time_words(time_s: Outcome) -> str:
    if math.isinf(time_s.median):
        return f"never in {100.0 * time_s.never_share:.0f} % of the simulated variants of the home"
    return f"after {significant(time_s.median / 60.0, 2)} min"
