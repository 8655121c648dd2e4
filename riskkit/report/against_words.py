"""Years of a record beside design storms: where they differ, why, and which of them is right."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.report.number_words import two_digits
from riskkit.report.replay_words import often_words, within_words
from riskkit.years.minutes_effect import minutes_effect

if TYPE_CHECKING:
    from collections.abc import Sequence

    from riskkit.options.replays import AgainstDesign, HowOften
    from riskkit.years.minutes_effect import MinutesEffect
    from riskkit.years.records import Replay

__all__ = ["against_lines"]

_NO_REASON = 0.5  # of a difference: what moves less than this does not explain it (judgement)


def against_lines(against: AgainstDesign, replay: Replay) -> list[str]:
    """Say where record and design storms differ by more than their spread, and which is right.

    Parameters
    ----------
    against : AgainstDesign
        Both.
    replay : Replay
        The years.

    Returns
    -------
    list of str
        Sentences.
    """
    effect = minutes_effect(replay)
    apart = [row for row in against.rows if row.is_apart]
    design_more = [row for row in apart if row.design.mean > row.record.mean]
    record_more = [row for row in apart if row not in design_more]
    lines = []
    if design_more:
        lines.append(_design_line(design_more, against, replay, effect))
    if record_more:
        lines.append(_record_line(record_more, replay))
    if not lines:
        lines.append(
            "Record and design storms agree within what other years of the same place might show."
        )
    last = against.rows[-1]
    lines.append(
        f"Counted once a year at most, as design storms know none commoner. With every storm "
        f"counted, the record has {often_words(last.every_storm)} at all."
    )
    return lines


def _times(rows: Sequence[HowOften], replay: Replay) -> str:
    return " and ".join(within_words(row.within_s, replay) for row in rows)


def _counts(rows: Sequence[HowOften], row: HowOften, replay: Replay) -> str:
    """Say the two rates of a row, and which it is where there are others."""
    ours, theirs = (two_digits(one.mean) for one in (row.record, row.design))
    which = f"{within_words(row.within_s, replay)} " if len(rows) > 1 else ""
    return f"{which}{ours} times a year, the design storms {theirs}"


def _design_line(
    rows: Sequence[HowOften], against: AgainstDesign, replay: Replay, effect: MinutesEffect
) -> str:
    row = max(rows, key=lambda one: one.design.mean - one.record.mean)
    gap = row.design.mean - row.record.mean
    moved = next(
        abs(both.minutes - both.even) for both in effect.floods if both.within_s == row.within_s
    )
    is_hidden = moved > _NO_REASON * gap
    nested = round(against.nested_share * against.sharp_storms)
    parts = [
        f"The record counts fewer floods {_times(rows, replay)}: {_counts(rows, row, replay)}.",
        "A design storm holds the wettest hour and the wettest days of its return period at once: "
        f"of the {against.sharp_storms} storms of the record with the wettest hours {nested} are "
        f"among the {against.sharp_storms} with the most water, and "
        f"{against.sharp_wet_share * 100:.0f} % met a lot at nine tenths of what it holds.",
        f"What hides inside the hours {'may explain it' if is_hidden else 'does not explain it'}: "
        f"breaking them down moves the count by {two_digits(moved)} a year, the difference is "
        f"{two_digits(gap)}.",
        "The truth may lie between." if is_hidden else _right(replay),
    ]
    return " ".join(parts)


def _record_line(rows: Sequence[HowOften], replay: Replay) -> str:
    row = max(rows, key=lambda one: one.record.mean - one.design.mean)
    return (
        f"The record counts more floods {_times(rows, replay)}: {_counts(rows, row, replay)}. Of "
        f"such storms {row.wet_share * 100:.0f} % met a lot at nine tenths of what it holds or "
        f"wetter, {row.thaw_share * 100:.0f} % came with melting snow, and "
        f"{row.small_share * 100:.0f} % brought less than the one-year storm of a day. Design "
        f"storms know neither thaws nor which season is wet. {_right(replay)}"
    )


def _right(replay: Replay) -> str:
    return f"Here the record is right, as far as its {replay.years:.0f} years go."
