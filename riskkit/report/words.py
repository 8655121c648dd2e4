"""The whole answer in a few plain sentences."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING

from riskkit.antecedent.water_table import WATER_TABLE
from riskkit.assessment import Assessment
from riskkit.errors import need_type
from riskkit.evidence.overlay import overlay_of
from riskkit.quantities.components import Component
from riskkit.quantities.units import UnitSystem
from riskkit.records.arguments import need_if_given
from riskkit.report.number_words import about_share, cases_alike, cases_words
from riskkit.report.path_words import LIKELY_JOINT, RARE_JOINT, joint_counts
from riskkit.report.state_words import after_words, dangers, working_title
from riskkit.report.stop_words import has_second_pump, stop_words
from riskkit.report.time_words import chance_words, soon_words
from riskkit.risk.clock import Clock
from riskkit.risk.system_state import Effect

if TYPE_CHECKING:
    from riskkit.assessment import StormAnswer

__all__ = ["CERTAIN", "doubt_words", "sentence", "water_stands_above"]

CERTAIN = 0.99
"""A share from here on is said without a doubt [-]."""
_EVEN = 0.5  # below it the chance of the pit overflowing is told, not that of the storm carried


def _storm_name(storm: StormAnswer) -> str:
    return f"{storm.return_period_yr:g}-year storm"


def _carries(answer: Assessment) -> str:
    pump = working_title(answer.state)
    sure = [s for s in answer.storms if s.pump_working.floor_dry_share >= 0.9]
    unsure = [s for s in answer.storms if s.pump_working.floor_dry_share < 0.9]
    if not unsure:
        least = min(s.pump_working.floor_dry_share for s in answer.storms)
        likely = "" if least >= CERTAIN else "very likely "
        return (
            f"{pump}, the pit {likely}does not overflow in any storm looked at, up "
            f"to the {_storm_name(answer.storms[-1])}"
        )
    first = unsure[0]
    carried = "" if sure else " carried"
    chance = (
        f"the {_storm_name(first)} may not be{carried} "
        f"({about_share(first.pump_working.floor_dry_share, first.n_draws)} that it is)"
    )
    if first.pump_working.floor_dry_share < _EVEN:
        overflow = about_share(1.0 - first.pump_working.floor_dry_share, first.n_draws)
        chance = f"the chance is {overflow} that the pit overflows in a {_storm_name(first)}"
    if not sure:
        even = f"Even {pump[:1].lower()}{pump[1:]}" if answer.state.has(Component.PUMP) else pump
        return f"{even}, {chance}"
    return f"{pump}, the {_storm_name(sure[-1])} is carried; {chance}"


def _beyond_pump(answer: Assessment) -> str:
    """Say first where the pump lifts nothing, or less than comes in without rain."""
    pump = answer.headline_storm.pump_working
    if not answer.state.has(Component.PUMP):
        return ""
    if math.isinf(pump.peak_use.median):
        return "The pump, as taken here, cannot lift water up to its outlet"
    if pump.peak_use.median <= 0:
        return ""
    lifted_m3_s = pump.peak_inflow_m3_s.median / pump.peak_use.median
    if answer.dry_inflow_m3_s.median <= lifted_m3_s:
        return ""
    return "The pump does not keep up even with the ground water of dry weather"


def _failed(answer: Assessment) -> str:
    storm, after = answer.headline_storm, after_words(answer.state.clock, answer.home)
    worst = storm.worst_stop
    when = f"If {stop_words(answer.home)} in a {_storm_name(storm)} at the worst moment"
    if not answer.state.has(Component.PUMP):
        when = f"In a {_storm_name(storm)}"
    said = f"{when}, the chance is {chance_words(worst.to_floor_s)} that water reaches the floor"
    if not joint_counts(answer):
        return _joined(said, soon_words(worst.to_floor_s, after))
    # the minutes of one path must not pass for those of the other
    joint, rim = worst.joint_first_share, 1.0 - worst.to_rim_s.never_share
    unwarned = ", which the alarm may not tell" if answer.state.clock is Clock.ALARM else ""
    first, over = cases_alike((joint, rim), storm.n_draws)
    over = f"over the rim of the pit in {over}"
    return (
        f"{said}: in {first} cases first where wall and floor meet{unwarned}; "
        f"{', '.join(filter(None, (over, soon_words(worst.to_rim_s, after))))}"
    )


def _joined(chance: str, soon: str) -> str:
    return f"{chance}: {soon}" if soon else chance


def _dry_weather(answer: Assessment) -> str:
    dry, has_pump = answer.dry_s, answer.state.has(Component.PUMP)
    risen = water_stands_above(answer)
    begin = "The ground water stands above the floor: in dry weather too, " if risen else (
        "In dry weather "
    )  # fmt: skip
    chance = f"the chance is {chance_words(dry)}"
    if not has_pump:
        return f"{begin}{chance} that ground water stands on the floor"
    stops = f"if {stop_words(answer.home)}, " if risen else ""
    floor = " that it comes up onto the floor" if risen else ""
    return _joined(
        f"{begin}{stops}{chance}{floor}",
        soon_words(dry, after_words(answer.state.clock, answer.home)),
    )


def water_stands_above(answer: Assessment) -> bool:
    """Tell whether the water table, at its median, stands above the basement floor.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    bool
        Also where it is not known but taken so.
    """
    row = next(row for row in answer.assumptions if row.key == WATER_TABLE)
    return row.p50 < 0.0


def _dead(answer: Assessment) -> str:
    """Say what counts while a pump that lifts nothing, as a visit left it, is not mended."""
    effects = {finding.effect for finding in answer.state.findings}
    if not answer.state.has(Component.PUMP) or Effect.NO_PUMPING not in effects:
        return ""
    storm = answer.headline_storm
    other = ", if the second pump stops too," if has_second_pump(answer.home) else ""
    said = (
        f"As it was left, the pump may lift no water: then{other} in a {_storm_name(storm)} the "
        f"chance is {chance_words(storm.dead_before.rain_to_floor_s)} that water reaches the floor"
    )
    soon = soon_words(storm.dead_before.rain_to_floor_s, "after the rain begins")
    return f"{_joined(said, soon)}. Once it is in order: "


def _at_joint(answer: Assessment) -> str:
    """Say where water comes in beside a working pump; nothing where that is unlikely."""
    storm = answer.headline_storm
    share = storm.pump_working.joint_share
    if share < LIKELY_JOINT:
        rarest = max(answer.storms, key=lambda one: one.pump_working.joint_share)
        if rarest.pump_working.joint_share < RARE_JOINT:
            return ""
        return (
            f"; in a {rarest.return_period_yr:g}-year storm water comes in where wall and "
            f"floor meet in {cases_words(rarest.pump_working.joint_share, rarest.n_draws)} cases"
        )
    even = all(one.pump_working.floor_dry_share >= _EVEN for one in answer.storms)
    return (
        f", {'but' if even else 'and'} in a {storm.return_period_yr:g}-year storm the chance is "
        f"{about_share(share, storm.n_draws)} that water comes in where wall and floor meet"
    )


def doubt_words(answer: Assessment) -> str:
    """Say that a test or an observation contradicts the answer; nothing where none does.

    Parameters
    ----------
    answer : Assessment
        The answer.

    Returns
    -------
    str
        One or two sentences, for before any other.
    """
    left_out = (one.doubt.leaves_out_flow for one in overlay_of(answer.home).remarks)
    if not answer.weighed.misfits and not any(left_out):
        return ""
    return "Do not rely on this yet. What was seen does not fit it: check the pump and the inflow."


def sentence(
    answer: Assessment, system: UnitSystem | None = None, *, state_first: bool = True
) -> str:
    """Say the whole answer: does it carry the storms, how long if it stops, and without rain.

    Parameters
    ----------
    answer : Assessment
        The answer.
    system : UnitSystem, optional
        Units of the reader; a warmer climate is told in both where it is not known.
    state_first : bool
        Begin with what leaves the home without warning or without a pump; not where all of its
        state stands above the sentence.

    Returns
    -------
    str
        Three sentences of plain words, with the same parts in the same order whatever the numbers;
        before them one for a pump that lifts nothing as a visit left it.
    """
    need_type(answer, Assessment, "answer", "give what assess(home) returns")
    need_if_given(system, UnitSystem, "system", "give UnitSystem.US or UnitSystem.METRIC")
    carries, beyond = _carries(answer) + _at_joint(answer), _beyond_pump(answer)
    if beyond:
        carries = f"{beyond}; {carries[:1].lower()}{carries[1:]}"
    climate = answer.rain.climate.words(system) if answer.rain.climate else ""
    if climate:
        carries = f"{climate[:1].upper()}{climate[1:]}: {carries[:1].lower()}{carries[1:]}"
    dead = _dead(answer)
    if dead:
        carries = f"{dead}{carries[:1].lower()}{carries[1:]}"
    state = f"{dangers(answer.state)} ".lstrip() if state_first else ""
    doubt = f"{doubt_words(answer)} ".lstrip()
    return f"{doubt}{state}{carries}. {_failed(answer)}. {_dry_weather(answer)}."
