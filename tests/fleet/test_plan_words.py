"""What is said of a plan: no number pretends to more than its spread."""

from __future__ import annotations

import datetime

import pytest

from riskkit.ensemble.quantiles import Points
from riskkit.fleet.planning import Plan, Planned
from riskkit.report.fleet_plan_words import plan_lines


@pytest.mark.parametrize(
    ("difference", "says"),
    [
        (Points(-0.4, 0.0036, 0.9), "which of the two keeps more away is undecided."),
        (Points(0.001, 0.0036, 0.01), "the two keep away about as many."),
        (Points(0.0, 0.2, 0.9), "which of the two keeps more away is undecided."),
        (Points(0.42, 1.7, 3.1), "the plan keeps away 0.42 to 3.1 more of them."),
        (Points(-3.1, -1.7, -0.42), "the plan keeps away 0.42 to 3.1 fewer of them."),
    ],
)
def test_two_orders_are_told_apart_only_where_their_spread_does(
    difference: Points, says: str
) -> None:
    total = Points(2.0, 5.0, 9.0)
    plan = Plan(datetime.date(2026, 1, 5), 5, (), total, total, difference, 5.1, 4.9)
    assert plan_lines(plan)[1].endswith(says)


def test_one_visit_keeps_and_several_keep() -> None:
    gain = Points(0.01, 0.075, 0.2)
    home = Planned({}, gain, 0.075, 0, 0.075, 0, 0.075, None, 1.0)

    def lines(n: int) -> list[str]:
        day = datetime.date(2026, 1, 5)
        return plan_lines(Plan(day, 5, (home,) * n, gain, gain, gain, 0.075, 0.06))

    one, several = lines(1), lines(2)
    assert one[0].startswith("1 visit in a year") and "5 a week, keeps 0.075 floods" in one[0]
    assert one[1].startswith("One visit in the order in which they are due keeps 0.06")
    assert "5 a week, keep 0.075 floods" in several[0]
    assert several[1].startswith("As many in the order in which they are due keep 0.06")
