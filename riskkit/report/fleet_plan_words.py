"""Words about the visits of a company and the night of a storm over its region."""

from __future__ import annotations

from collections import Counter
from typing import TYPE_CHECKING

import numpy as np

from riskkit.fleet.plan_table import Offer, Wait, offer_of, wait_of
from riskkit.fleet.planning import LEAST_GAIN
from riskkit.quantities.variables import counted, significant
from riskkit.report.fleet_past_words import past_storm_words
from riskkit.report.number_words import percent_words
from riskkit.report.rows import Table, new_table

if TYPE_CHECKING:
    import datetime

    from riskkit.ensemble.quantiles import Points
    from riskkit.fleet.night import Nights
    from riskkit.fleet.planning import Plan, Planned

__all__ = [
    "OFFER_WORDS",
    "hours_without_calls",
    "night_lines",
    "night_table",
    "plan_lines",
    "plan_table",
    "reached_line",
    "wait_words",
]

OFFER_WORDS = {
    Offer.SECOND_PUMP: "a second pump on a battery",
    Offer.BATTERY: "power in an outage",
    Offer.GRADING: "ground that falls away",
    Offer.NOTHING: "",
}
_SHORT = {
    Wait.NOT_OVERDUE: "",
    Wait.FIRST_WEEK: "at once",
    Wait.GAINS_MORE_LATER: "more later",
    Wait.OTHERS_GAIN_MORE: "after others",
    Wait.NO_ROOM: "no week left",
}
_SHORT_OFFER = {Offer.SECOND_PUMP: "second pump", Offer.BATTERY: "power", Offer.GRADING: "grading"}
_CHANCE_WORDS = (
    "The chance a year is that of the day of the run, with the faults of the time since the last "
    "visit (ten years where there was none); riskkit remedies gives the mean over the time between "
    "visits, so the two differ for one home."
)
_LEAST_TOLD = 0.05  # floods of a company in a year, below which no plan is called better
_PART_H = 6  # of a row of the table of calls


def _span(points: Points, digits: int = 2) -> str:
    return " to ".join(significant(end, digits) for end in (points.low, points.high))


def _difference_words(points: Points) -> str:
    """What the plan keeps away beyond the calendar, where its spread tells which is more."""
    low, high = sorted(abs(end) for end in (points.low, points.high))
    if points.low <= 0 <= points.high:
        return "which of the two keeps more away is undecided"
    if high < _LEAST_TOLD:
        return "the two keep away about as many"
    word = "more" if points.low > 0 else "fewer"
    return f"the plan keeps away {significant(low, 2)} to {significant(high, 2)} {word} of them"


def plan_lines(plan: Plan) -> list[str]:
    """Say what the visits of a year keep away, and what those by the calendar alone would.

    Parameters
    ----------
    plan : Plan
        The plan.

    Returns
    -------
    list of str
        A line each.
    """
    visits = sum(home.week is not None for home in plan.homes)
    keep, many = ("keeps", "One visit") if visits == 1 else ("keep", "As many")
    return [
        f"{counted(visits, 'visit', 'visits')} in a year from {plan.begins}, "
        f"{plan.per_week} a week, {keep} {significant(plan.mean_total, 2)} floods away "
        f"(8 in 10 variants {_span(plan.total)}).",
        f"{many} in the order in which they are due {keep} "
        f"{significant(plan.mean_calendar, 2)} away (8 in 10 variants {_span(plan.calendar)}); "
        f"{_difference_words(plan.difference)}.",
        "A home has the week in which its visit keeps most away until the end of that year: "
        "mostly shortly before the months in which storms begin there. One that is overdue has the "
        "first week that homes that gain more leave room in, unless a later week keeps at least "
        f"{percent_words(LEAST_GAIN - 1)} more away.",
    ]


def wait_words(home: Planned, begins: datetime.date) -> str:
    """Say why a home that is overdue waits for its week.

    Parameters
    ----------
    home : Planned
        The home.
    begins : date
        First day of the first week.

    Returns
    -------
    str
        Empty where it is not overdue.
    """
    wait = wait_of(home, begins)
    gains = (home.mean_gain_now, home.mean_gain, home.mean_gain_free)
    now, then, early = (significant(100 * gain, 2) for gain in gains)
    free = 0 if home.first_free is None else home.first_free
    return {
        Wait.NOT_OVERDUE: "",
        Wait.FIRST_WEEK: "overdue: visited in the first week",
        Wait.GAINS_MORE_LATER: "overdue: a visit in its week keeps more away than one in week "
        f"{free + 1}, the first with room ({then} against {early} floods of 100 visits)",
        Wait.OTHERS_GAIN_MORE: "overdue: the weeks before go to homes that gain more "
        f"(here {then} floods of 100 visits)",
        Wait.NO_ROOM: "overdue: no week of the year is left, for other homes gain more "
        f"(here {now} floods of 100 visits)",
    }[wait]


def reached_line(plan: float, calendar: float) -> str:
    """Say how much of the best that can be is reached where everything is known.

    Parameters
    ----------
    plan, calendar : float
        Shares of the best plan [-].

    Returns
    -------
    str
        A sentence.
    """
    return (
        f"Of what the best plan keeps away where everything is known, this one keeps away "
        f"{percent_words(plan)}, the calendar alone {percent_words(calendar)}."
    )


def plan_table(plan: Plan, count: int) -> Table:
    """Make a table of the homes that gain most by a visit now.

    Parameters
    ----------
    plan : Plan
        The plan.
    count : int
        Rows [-].

    Returns
    -------
    Table
        The first so many.
    """
    rows = []
    for rank, home in enumerate(plan.homes[:count], start=1):
        offer, at_most = offer_of(home)
        offered = "" if offer is Offer.NOTHING else _SHORT_OFFER[offer]
        rows.append((
            f"{rank}  {home.about['name']}",
            f"{significant(100 * home.mean_gain_now, 2)}",
            _span_100(home.gain_now), percent_words(home.about["chance_mean"]),
            "" if home.due is None else home.due.isoformat(),
            "none" if home.week is None else str(home.week + 1), _SHORT[wait_of(home, plan.begins)],
            offered, "" if offer is Offer.NOTHING else significant(100 * at_most, 2),
        ))  # fmt: skip
    head = (
        "Home", "kept away", "8 in 10", "chance a year", "due", "week", "overdue",
        "to offer", "at most",
    )  # fmt: skip
    title = "Whom to visit first: floods that 100 such visits now keep away within a year"
    notes = (
        *_waiting_lines(plan),
        _CHANCE_WORDS,
        "8 in 10: what so many variants of the home lie between. "
        "To offer: a second pump on a battery, power in an outage, or ground that falls away, and "
        "how many floods of 100 years it keeps away at most.",
    )
    return new_table(title, head, rows, notes, words=(0, 6, 7))


def _waiting_lines(plan: Plan) -> list[str]:
    """Say how many homes are overdue, and why those wait that do."""
    waits = Counter(wait_of(home, plan.begins) for home in plan.homes)
    overdue = sum(waits.values()) - waits[Wait.NOT_OVERDUE]
    if not overdue:
        return []
    told = {
        Wait.FIRST_WEEK: "in the first week",
        Wait.GAINS_MORE_LATER: "in a later week in which the visit keeps more away",
        Wait.OTHERS_GAIN_MORE: "after homes that gain more",
        Wait.NO_ROOM: "in no week of the year, for others gain more",
    }
    parts = [f"{waits[wait]} {words}" for wait, words in told.items() if waits[wait]]
    homes = counted(overdue, "home is", "homes are")
    return [f"{homes} overdue on {plan.begins}. The visits come: {'; '.join(parts)}."]


def _span_100(points: Points) -> str:
    return " to ".join(significant(100 * end, 2) for end in (points.low, points.high))


def night_lines(found: Nights, within_h: float, share: float, crews: int | None) -> list[str]:
    """Say what the night of a storm brings, and how many crews it takes.

    Parameters
    ----------
    found : Nights
        Many nights.
    within_h : float
        Time from a call until a crew sets out [h].
    share : float
        Of the calls [-].
    crews : int or None
        Crews on hand; None where nobody said [-].

    Returns
    -------
    list of str
        A line each.
    """
    words = {
        "alarms": ("alarm sounds", "alarms sound"), "wet": ("floor gets wet", "floors get wet"),
        "without_power": (
            "home loses power for long enough to flood",
            "homes lose power for long enough to flood",
        ),
        "calls": ("call comes in", "calls come in"),
    }  # fmt: skip
    past = found.past
    years = "1 year" if found.storm_yr == 1 else f"{found.storm_yr:g} years"
    storm = f"A storm of {years}" if past is None else past_storm_words(past)
    homes = counted(found.homes, "home", "homes")
    lines = [f"{storm}, over {homes}, {counted(len(found.nights), 'night', 'nights')}:"]
    for name, (one, many) in words.items():
        mean = significant(found.mean(name), 2)
        lines.append(
            f"  {mean} {one if mean == '1' else many} (8 in 10 nights {_span(found.counted(name))})"
        )
    needed = found.crews_for(within_h, share)
    lines.append(
        f"For {percent_words(share)} of the calls to see a crew set out within {within_h:g} h "
        f"it takes {counted(needed, 'crew', 'crews')}."
    )
    if crews is not None:
        reached = percent_words(found.in_time(crews, within_h))
        lines.append(f"With {counted(crews, 'crew', 'crews')} it is {reached}.")
    return lines


def hours_without_calls(found: Nights) -> str:
    """Say that a table of the hours would show nothing, where no hour is likely to bring a call.

    Parameters
    ----------
    found : Nights
        Many nights.

    Returns
    -------
    str
        One sentence; empty where an hour brings a call in more than one night of ten.
    """
    hours = found.calls_by_hour()
    if not hours or any(each.high > 0 for each in hours):
        return ""
    return "No hour of the storm brings a call in more than 1 of 10 nights."


def night_table(found: Nights) -> Table:
    """Make a table of the calls, a row for each six hours.

    Parameters
    ----------
    found : Nights
        Many nights.

    Returns
    -------
    Table
        The calls on average and the busiest hour of each.
    """
    hours, rows = found.calls_by_hour(), []
    calls_h = np.concatenate([night.calls_h for night in found.nights])
    for first in range(0, len(hours), _PART_H):
        part = hours[first : first + _PART_H]
        mean = np.sum((calls_h >= first) & (calls_h < first + len(part))) / len(found.nights)
        worst = max(part, key=lambda each: (each.median, each.high))
        rows.append((
            f"{first} to {first + len(part)}",
            significant(float(mean), 2), significant(worst.median, 2),
            " to ".join(significant(end, 2) for end in (worst.low, worst.high)),
        ))  # fmt: skip
    head = ("Hours of the storm", "calls on average", "calls in its busiest hour", "8 in 10 nights")
    if found.past is None:
        return new_table("Calls", head, rows)
    return new_table(f"Calls by hours from {found.past.window.replace('T', ' ')}", head, rows)
