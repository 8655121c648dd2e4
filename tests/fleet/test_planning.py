"""Whom to visit first: gains by hand, plans against the best that can be, and lists."""

from __future__ import annotations

import csv
import datetime
import json
from pathlib import Path

import numpy as np
import openpyxl
import pytest
from fleet.company import BEGUN, company, depths
from scipy.optimize import linear_sum_assignment

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.fleet.aging import AGES_YR
from riskkit.fleet.plan_table import RANK_HEAD, WEEK_HEAD, Wait, rank_rows, wait_of, week_rows
from riskkit.fleet.planning import (
    WEEKS,
    best_interval_yr,
    by_calendar,
    by_gain,
    gains_of,
    overdue_early,
    plan_visits,
    read_gains,
)
from riskkit.fleet.run import run_fleet
from riskkit.fleet.settings import FleetSettings
from riskkit.fleet.store import read_columns
from riskkit.fleet.tour import distances_km, rounds_of

WEEK = 7 / 365.25
EVEN = np.ones(WEEKS)
DAY = datetime.date(2026, 1, 5)
RISING = np.array(AGES_YR)[:, None]  # floods a year equal to the years since the last visit


@pytest.fixture(scope="module")
def run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("company")
    run_fleet(
        company(folder),
        folder / "run",
        FleetSettings(16, day=BEGUN),
        usual=depths(folder),
        workers=0,
    )
    return folder / "run"


def test_a_visit_keeps_away_what_would_have_come_until_the_end_of_the_year() -> None:
    """Rates a + t and t - w after a visit in week w: they differ by a + w for 52 - w weeks."""
    gains = gains_of(RISING, None, 2.0, EVEN)[:, 0]
    weeks = np.arange(WEEKS)
    assert gains == pytest.approx((52 - weeks) * (2.0 + weeks * WEEK) * WEEK, rel=1e-9)


def test_what_was_left_counts_until_somebody_comes() -> None:
    """Five a year more until the visit: 5 x 52 weeks."""
    plain, left = (gains_of(RISING, each, 2.0, EVEN)[0, 0] for each in (None, RISING + 5))
    assert left - plain == pytest.approx(5 * 52 * WEEK)


def test_a_visit_before_the_season_gains_as_much_as_one_long_before() -> None:
    """All storms in the last ten weeks, a home whose rate is 3 before and 1 after a visit."""
    late = np.where(np.arange(WEEKS) >= 42, 5.2, 0.0)
    step = np.ones((len(AGES_YR), 1))
    gains = gains_of(step, 3 * step, 1.0, late)[:, 0]
    assert gains[0] == pytest.approx(gains[42]) == pytest.approx(2 * 10 * 5.2 * WEEK)
    assert gains[47] == pytest.approx(gains[42] / 2)


def test_every_home_once_and_no_week_too_full() -> None:
    """By hand: 9 goes first, to week 0; then 8 to week 1, for week 0 is full; 7 is too late."""
    gain = np.array([[8.0, 8.0], [9.0, 1.0], [7.0, 6.0], [-1.0, -1.0]])
    assert by_gain(gain, 1).tolist() == [1, 0, -1, -1]
    assert by_gain(gain, 2).tolist() == [0, 0, 1, -1]


def test_an_overdue_home_waits_for_a_tenth_more_alone() -> None:
    # 5.0 against 4.9 is no reason to wait, 5.4 against 4.9 is (4.9 x 1.1 = 5.39)
    gain = np.array([[4.9, 4.8, 5.0], [4.9, 4.8, 5.4], [4.9, 4.8, 5.0]])
    overdue = np.array([True, True, False])
    weeks, first = overdue_early(gain, 3, overdue)
    assert weeks.tolist() == [0, 2, 2] and first.tolist() == [0, 0, 0]
    assert by_gain(gain, 3).tolist() == [2, 2, 2]


def test_an_overdue_home_comes_as_soon_as_there_is_room() -> None:
    """The first week is full: 1.168 in the second is within a tenth of 1.174 in the last."""
    both = np.array([True, True])
    gain = np.array([[9.0, 0.0, 0.0], [1.169, 1.168, 1.174]])
    assert [each.tolist() for each in overdue_early(gain, 1, both)] == [[0, 1], [0, 1]]
    # 1.29 is more than 1.1 x 1.168 = 1.2848, but less than 1.1 x 1.18 = 1.298
    gain[1, 2] = 1.29
    assert [each.tolist() for each in overdue_early(gain, 1, both)] == [[0, 2], [0, 1]]
    gain[1, 1] = 1.18
    assert [each.tolist() for each in overdue_early(gain, 1, both)] == [[0, 1], [0, 1]]


def test_an_overdue_home_asks_again_once_another_took_the_room() -> None:
    """It would wait for 5.0 against 4.0 (4.4); the first week taken, 4.8 is near enough (5.28)."""
    gain = np.array([[4.0, 4.8, 5.0], [9.0, 0.0, 0.0]])
    assert overdue_early(gain, 1, np.array([True, False]))[0].tolist() == [1, 0]


def test_no_overdue_home_passes_an_empty_week_without_a_reason(tmp_path: Path) -> None:
    """Eight homes of one place, overdue since 2025, five visits a week: five and then three."""
    table = tmp_path / "homes.csv"
    lines = [f"H{k},clay,2024-{k:02d}-01,1 yr" for k in range(1, 9)]
    head = "id,ground.soil,service.last_visit,service.visits_every"
    table.write_text("\n".join([head, *lines, ""]), "utf-8")
    usual = depths(tmp_path)
    run_fleet(table, tmp_path / "run", FleetSettings(16, day=BEGUN), usual=usual, workers=0)
    plan = plan_visits(tmp_path / "run", 5, DAY, 150.0, 10000.0)
    gains = {one.about["id"]: one.by_week.mean(axis=1)
             for one in read_gains(tmp_path / "run", DAY, 150.0, 10000.0)}  # fmt: skip
    full = {w for w in range(WEEKS) if sum(home.week == w for home in plan.homes) == 5}
    waits = set()
    for home in plan.homes:
        gain, wait = gains[home.about["id"]], wait_of(home, DAY)
        waits.add(wait)
        assert home.week is not None and home.first_free is not None
        passed = [week for week in range(home.week) if week not in full]
        assert all(gain[home.week] > 1.1 * gain[week] for week in passed[:1])
        assert home.mean_gain_free == pytest.approx(gain[home.first_free])
        if wait is Wait.OTHERS_GAIN_MORE:
            assert not passed and home.week == home.first_free
    assert waits == {Wait.FIRST_WEEK, Wait.OTHERS_GAIN_MORE}


def test_the_greatest_first_is_near_the_best_that_can_be() -> None:
    """At least half is kept in any case, for each choice spoils two at most; measured: 0.99."""
    rng = np.random.default_rng(1)
    gain = rng.gamma(0.5, 1.0, (60, 1)) * np.linspace(1, 0.1, 8) * rng.uniform(0.8, 1, (60, 8))
    weeks = by_gain(gain, 4)
    kept = gain[weeks >= 0, weeks[weeks >= 0]].sum()
    slots = np.repeat(gain, 4, axis=1)
    rows, columns = linear_sum_assignment(slots, maximize=True)
    best = slots[rows, columns].sum()
    assert 0.5 * best <= kept <= best * (1 + 1e-12)
    assert kept > 0.95 * best


def test_the_calendar_takes_the_one_that_is_due_first() -> None:
    due = [datetime.date(2026, 3, 1), None, datetime.date(2025, 1, 1), datetime.date(2026, 2, 1)]
    assert by_calendar(list(due), 2, 2).tolist() == [1, 1, 0, 0]
    assert by_calendar(list(due), 1, 2).tolist() == [-1, -1, 0, 1]


def test_the_interval_that_costs_least() -> None:
    """Rate k t, k = 0.02: (100 + 10000 k T^2/2)/T is least at T = sqrt(2 x 100/(10000 k)) = 1."""
    assert best_interval_yr(0.02 * RISING[:, 0], 100.0, 10000.0) == pytest.approx(1.0)
    assert best_interval_yr(np.full(len(AGES_YR), 0.1), 100.0, 10000.0) == np.inf


def test_a_plan_of_a_run(run: Path) -> None:
    plan = plan_visits(run, 1, DAY, 150.0, 10000.0)
    assert {home.about["id"] for home in plan.homes} == {"A", "B", "C"}
    first = plan.homes[0]
    assert first.about["id"] == "B" and first.about["left"] == ["switch_stuck"]
    assert [h.mean_gain_now for h in plan.homes] == sorted(
        (h.mean_gain_now for h in plan.homes), reverse=True
    )
    assert plan.mean_total == pytest.approx(sum(home.mean_gain for home in plan.homes))
    gains = {one.about["id"]: one for one in read_gains(run, DAY, 150.0, 10000.0)}
    for home in plan.homes:
        assert home.week is not None
        mean = gains[home.about["id"]].by_week[home.week].mean()
        assert home.mean_gain == pytest.approx(mean)
    assert gains["A"].due == datetime.date(2025, 1, 1) + datetime.timedelta(days=730)  # 2 years
    assert plan.mean_total >= plan.mean_calendar
    assert plan.difference.low <= plan.difference.median <= plan.difference.high


def test_the_chance_told_of_a_home_is_that_at_the_time_since_its_visit(run: Path) -> None:
    """C was never visited: the last of the ages; mean of 1 - exp(-floods a year) over the draws."""
    told = {row["id"]: row for part in read_columns(run, ["id", "chance_mean", "by_age_per_yr"])
            for row in part.to_pylist()}  # fmt: skip
    by_age = np.array(told["C"]["by_age_per_yr"]).reshape(len(AGES_YR), -1)
    chance = (1 - np.exp(-by_age)).mean(axis=1)
    assert told["C"]["chance_mean"] == pytest.approx(chance[-1], rel=1e-3)
    assert chance[-1] > 1.05 * chance[AGES_YR.index(1.0)]  # as old as that, it would be less


def test_no_visit_a_week_makes_no_plan(run: Path) -> None:
    with pytest.raises(InputError, match="are not from 1"):
        plan_visits(run, 0, DAY, 150.0, 10000.0)


def test_lists_go_out_as_csv_and_xlsx(
    run: Path,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    out, week = tmp_path / "homes.csv", tmp_path / "week.xlsx"
    arguments = ["fleet", "rank", str(run), "--visits-per-week", "3", "--begins", "2026-01-05",
                 "--out", str(out), "--list", str(week), "--crews", "1"]  # fmt: skip
    assert main(arguments) == 0
    said = capsys.readouterr().out
    assert "a later week keeps at least 10 % more away" in " ".join(said.split())
    assert "2 Mill Lane" in said and "2027-01-01" in said
    assert "with the faults of the time since the last visit" in " ".join(said.split())
    with out.open(encoding="utf-8", newline="") as stream:
        head, *rows = list(csv.reader(stream))
    assert tuple(head) == RANK_HEAD and rows[0][1] == "B"
    sheet = openpyxl.load_workbook(week).active
    assert sheet is not None
    lines = list(sheet.iter_rows(values_only=True))
    assert lines[0] == WEEK_HEAD and len(lines) > 1
    assert main([*arguments[:3], "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["homes"][0]["id"] == "B" and told["reached"] is None
    assert told["homes_in_all"] == len(told["homes"]) == len(rows)
    assert main([*arguments[:3], "--first", "1", "--json"]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["homes_in_all"] == len(rows) and len(told["homes"]) == 1
    for wrong in (["--out", str(tmp_path / "x.txt")], ["--week", "60"], ["--crews", "0"],
                  ["--yard", "here"], ["--visits-per-week", "0"]):  # fmt: skip
        assert main(["fleet", "rank", str(run), *wrong]) == 2


def test_the_list_of_a_week_holds_its_homes_once(run: Path) -> None:
    plan = plan_visits(run, 3, DAY, 150.0, 10000.0)
    week = plan.homes[0].week
    assert week is not None
    rows = week_rows(plan, week, 1)
    expected = sorted(h.about["id"] for h in plan.homes if h.week == week)
    assert sorted(str(row[3]) for row in rows) == expected
    assert len(rank_rows(plan)) == 3


def test_straight_lines_on_the_ball() -> None:
    """A degree is 2 pi 6371/360 = 111.19 km, of longitude at 60 degrees north half of that."""
    km = distances_km(np.array([60.0, 60.0]), np.array([10.0, 11.0]))
    assert km[0, 1] == pytest.approx(2 * np.pi * 6371 / 360 / 2, rel=1e-4)
    across = distances_km(np.array([0.0, 0.0]), np.array([179.5, -179.5]))
    assert across[0, 1] == pytest.approx(111.195, rel=1e-4)


def test_a_round_goes_about_a_square() -> None:
    """Corners of a square of 0.1 degree: the way round is 4 x 11.12 km, not over the middle."""
    corners = [(0.1, 0.1), (0.1, 0.0), (0.0, 0.1)]
    (way,) = rounds_of(corners, (0.0, 0.0), days=1)
    assert way.km == pytest.approx(4 * 11.1195, rel=1e-3)
    assert sorted(way.stops) == [0, 1, 2] and way.stops[1] == 0


def test_rounds_share_the_points_about_evenly() -> None:
    rng = np.random.default_rng(2)
    points = [(float(a), float(b)) for a, b in rng.uniform(0, 0.2, (23, 2))]
    ways = rounds_of(points, (0.1, 0.1), crews=2)
    assert sorted(stop for way in ways for stop in way.stops) == list(range(23))
    assert max(len(way.stops) for way in ways) <= 3  # 23 among 10
    assert len({(way.day, way.crew) for way in ways}) == len(ways)
    assert {way.crew for way in ways} == {0, 1} and {way.day for way in ways} <= set(range(5))
    assert rounds_of([], (0.0, 0.0)) == ()


def test_a_table_of_somebody_is_never_written_over(
    run: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The list of homes may be the only one; what the command wrote itself may be renewed."""
    own = company(tmp_path)
    before = own.read_bytes()
    rank = ["fleet", "rank", str(run), "--visits-per-week", "3", "--begins", "2026-01-05"]
    for option in ("--out", "--list"):
        assert main([*rank, option, str(own)]) == 2
        assert capsys.readouterr().err == (
            "riskkit: homes.csv: there is another file of this name, which would be lost; give "
            "another name, or take it away first.\n"
        )
    assert main(["fleet", "demo", "3", "--out", str(own)]) == 2
    assert own.read_bytes() == before
    for _ in range(2):
        assert main([*rank, "--out", str(tmp_path / "rank.csv")]) == 0


def test_a_run_of_which_all_rows_are_refused_is_no_success(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    command = ["fleet", "run", str(company(tmp_path)), "--out", str(tmp_path / "run")]
    assert main([*command, "--draws", "16", "--workers", "1"]) == 2  # no rain is given
    assert "every row is refused, the first, row 2: rain" in capsys.readouterr().err
    assert not (tmp_path / "run").exists()
