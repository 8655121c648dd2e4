"""What has been seen at a home, what it told, and what to look at next, as blocks of a sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from riskkit.report.next_words import (
    NOTHING_LEFT,
    effect_lines,
    next_steps,
    observation_words,
    remark_lines,
)
from riskkit.report.sheet import Block, Bullets, Heading
from riskkit.report.stop_words import stopped_words
from riskkit.report.time_words import chance_and_time

if TYPE_CHECKING:
    from riskkit.assessment import Assessment
    from riskkit.options.observed import ObservationsEffect
    from riskkit.quantities.units import UnitSystem

__all__ = ["estimator_seen", "owner_seen"]


def estimator_seen(
    answer: Assessment, effect: ObservationsEffect | None, system: UnitSystem
) -> list[Block]:
    """Say what each observation told, what does not fit, and the three best that are left.

    Parameters
    ----------
    answer : Assessment
        The answer.
    effect : ObservationsEffect or None
        What its observations did; None where there is none.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Block
        For the sheet of the estimator.
    """
    blocks: list[Block] = []
    told = [] if effect is None else effect_lines(effect, system)
    told += remark_lines(answer)
    if told:
        blocks += [Heading("What was observed, and what it changed"), _plain(told, small=True)]
    found = next_steps(answer.useful_observations, system)
    steps = [words for words, _ in found]
    # what several of them ask for is said once
    cautions = dict.fromkeys(caution for _, warned in found for caution in warned)
    if cautions:
        steps.append(f"Caution: {' '.join(cautions)}")
    return [*blocks, Heading("What to look at next"), _plain(steps or [NOTHING_LEFT], small=True)]


def owner_seen(
    answer: Assessment, effect: ObservationsEffect | None, system: UnitSystem
) -> list[Block]:
    """Say to the owner what was seen and how far it changed the answer.

    Parameters
    ----------
    answer : Assessment
        The answer.
    effect : ObservationsEffect or None
        What its observations did; None where there is none.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    list of Block
        For the handout; empty where nothing was seen.
    """
    if effect is None:
        return []
    seen = [_begun(observation_words(one.observation, system)) + "." for one in effect.each]
    then, now = (chance_and_time(time) for time in (effect.then, effect.now))
    name = f"{answer.headline_storm.return_period_yr:g}-year storm"
    change = (
        f"In a {name} with {stopped_words(answer.home)} we reckoned with {then} before. With what "
        f"was seen we reckon with {now}."
    )
    return [Heading("What was seen at your home"), _plain([*seen, change, *remark_lines(answer)])]


def _plain(lines: list[str], *, small: bool = False) -> Bullets:
    return Bullets(tuple(("", line) for line in lines), small=small)


def _begun(words: str) -> str:
    return words[0].upper() + words[1:]
