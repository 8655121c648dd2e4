"""Calendar files, read back by icalendar and compared with RFC 5545."""

from __future__ import annotations

import datetime
import re
from itertools import pairwise
from pathlib import Path

import icalendar
import pytest
from dateutil.rrule import rrulestr

from riskkit.cli.main import main
from riskkit.errors import InputError
from riskkit.home.home import Home
from riskkit.report.calendar import months_later, reminders_calendar, service_date

VISIT = datetime.date(2026, 4, 14)
PUMP, FILTER = "Test the sump pump", "Wash the filter of the dehumidifier or air unit"

FAULTS = {"Put the alarm in order now", "Find out why the pump moves so little now"}


def events(text: bytes) -> dict[str, icalendar.Event]:
    found = icalendar.Calendar.from_ical(text)
    assert isinstance(found, icalendar.Calendar)
    return {str(event["summary"]).partition(":")[0]: event for event in found.walk("VEVENT")}


def test_who_gets_what_and_when(visited: Home) -> None:
    all_of_them = icalendar.Calendar.from_ical(reminders_calendar(visited)).walk("VEVENT")
    by_reader: dict[str, list[datetime.date]] = {}
    for event in all_of_them:
        if event.get("status") == "CONFIRMED":  # due now, see below
            continue
        assert len(event.categories) == 1
        by_reader.setdefault(event.categories[0], []).append(event.start)
    # three and six months after April 14; the services on the day agreed
    assert by_reader["owner"] == [datetime.date(2026, 7, 14), datetime.date(2026, 10, 14)]
    assert by_reader["company"] == [datetime.date(2026, 10, 14)] * 3
    owner = events(reminders_calendar(visited, readers=("owner",)))
    assert set(owner) - FAULTS == {PUMP, FILTER}
    assert owner[PUMP]["rrule"]["INTERVAL"] == [3]
    assert owner[FILTER]["rrule"]["INTERVAL"] == [6]


def test_the_filter_is_that_of_the_dehumidifier_and_the_inlet_is_cleared_at_service(
    visited: Home,
) -> None:
    """Common practice, no source: a sump pump has no filter that an owner washes."""
    found = events(reminders_calendar(visited))
    words = str(found[FILTER]["description"])
    assert "unplug it" in words and "Reset the filter light" in words and "drain hose" in words
    assert "pump has no filter" in words
    assert all("filter" not in name or "dehumidifier" in name for name in found)
    assert "Clear the pump inlet" in str(found["Service visit"]["description"])


def test_form_of_the_file_is_as_rfc_5545_wants(visited: Home) -> None:
    text = reminders_calendar(visited)
    # 3.1: lines end in CR LF and are no longer than 75 octets; folded ones begin with a blank
    assert text.endswith(b"\r\n") and b"\n" not in text.replace(b"\r\n", b"")
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    lines = text.replace(b"\r\n ", b"").decode("utf-8").split("\r\n")
    # 3.4, 3.6, 3.7: one calendar with PRODID and VERSION once; events with UID and DTSTAMP in UTC
    assert lines[0] == "BEGIN:VCALENDAR" and lines[-2] == "END:VCALENDAR"
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert lines.count("VERSION:2.0") == 1
    begun = lines.count("BEGIN:VEVENT")
    assert begun == lines.count("END:VEVENT") == 5 + len(FAULTS)
    assert sum(bool(re.fullmatch(r"DTSTAMP:\d{8}T\d{6}Z", line)) for line in lines) == begun
    uids = [line for line in lines if line.startswith("UID:")]
    assert len(set(uids)) == begun
    # 3.6.1: DTSTART is wanted; both ends of an all-day event are dates and the end is later
    for event in events(text).values():
        assert event.end - event.start == datetime.timedelta(days=1)


def test_long_names_are_folded_between_letters_and_escaped(visited: Home) -> None:
    name = "Haus Nr. 7; Süd, Straße\\Platz " + "ü" * 60
    text = reminders_calendar(visited.changed(name=name))
    assert all(len(line) <= 75 for line in text.split(b"\r\n"))
    for line in text.split(b"\r\n"):
        line.decode("utf-8")  # never cut within a letter
    (event, *_) = events(text).values()
    assert str(event["summary"]).endswith(name)  # icalendar undoes what RFC 3.3.11 wants escaped
    assert b"Nr. 7\\; S" in text.replace(b"\r\n ", b"")


@pytest.mark.parametrize("cut", ["\r\n", "\n", "\u2028", "\u0085"])
def test_a_name_cannot_add_lines(visited: Home, cut: str) -> None:
    with pytest.raises(InputError, match=r"name: it holds the control character"):
        visited.changed(name=f"x{cut}END:VEVENT{cut}ATTACH:file:///etc/passwd")


def test_a_name_stays_a_name(visited: Home) -> None:
    name = r"x\nEND:VEVENT\nATTACH:file:///etc/passwd;y,z"
    found = icalendar.Calendar.from_ical(reminders_calendar(visited.changed(name=name)))
    assert len(found.walk("VEVENT")) == 5 + len(FAULTS)
    assert all("attach" not in event for event in found.walk("VEVENT"))
    assert str(found.walk("VEVENT")[0]["summary"]).endswith(name)


def test_the_same_home_and_day_give_the_same_bytes(visited: Home) -> None:
    assert reminders_calendar(visited) == reminders_calendar(visited, VISIT)


def test_a_later_visit_moves_the_same_entries(visited: Home) -> None:
    old = events(reminders_calendar(visited, VISIT))
    new = events(reminders_calendar(visited, datetime.date(2026, 10, 14)))
    for key, event in old.items():
        assert event["uid"] == new[key]["uid"]
        assert new[key].sequence > event.sequence >= 0
    other = events(reminders_calendar(visited.changed(name="another home"), VISIT))
    assert {e["uid"] for e in other.values()}.isdisjoint(e["uid"] for e in old.values())


@pytest.mark.parametrize("start", ["2026-08-31", "2025-11-30", "2024-02-29", "2026-01-15"])
def test_every_repetition_falls_on_a_day_that_is_there(visited: Home, start: str) -> None:
    begin = datetime.date.fromisoformat(start)
    for key, months in ((PUMP, 3), (FILTER, 6)):
        event = events(reminders_calendar(visited, begin))[key]
        days = list(
            rrulestr(
                event["rrule"].to_ical().decode(),
                dtstart=datetime.datetime.combine(event.start, datetime.time()),
            )
        )
        assert len(days) == 8
        gaps = {(b.year - a.year) * 12 + b.month - a.month for a, b in pairwise(days)}
        assert gaps == {months}


def test_months_later_by_hand() -> None:
    day = datetime.date
    assert months_later(day(2026, 1, 31), 1) == day(2026, 2, 28)
    assert months_later(day(2027, 11, 30), 3) == day(2028, 2, 29)
    assert months_later(day(2026, 12, 31), 12) == day(2027, 12, 31)
    assert months_later(day(2026, 9, 30), 3) == day(2026, 12, 30)
    assert months_later(day(2026, 5, 5), 0) == day(2026, 5, 5)


def test_service_is_a_year_on_where_none_is_agreed(visited: Home) -> None:
    assert service_date(visited, VISIT) == datetime.date(2026, 10, 14)
    bare = visited.changed(visit=[{"date": "2026-04-14"}])
    assert service_date(bare, VISIT) == datetime.date(2027, 4, 14)


def test_without_visit_and_day_it_is_refused(visited: Home) -> None:
    with pytest.raises(InputError, match="no visit"):
        reminders_calendar(visited.changed(visit=[]))
    with pytest.raises(InputError, match="outside"):
        reminders_calendar(visited, datetime.date(1900, 1, 1))


def test_command(demo_sites: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    home, out = str(demo_sites / "bungalow_on_sand.toml"), tmp_path / "a.ics"
    assert main(["reminders", home, "--ics", str(out)]) == 2
    assert "give a day with --from" in capsys.readouterr().err
    assert main(["reminders", home, "--ics", str(out), "--from", "2026-04-14"]) == 0
    assert len(events(out.read_bytes())) == 5
    more = ["--from", "2026-04-14", "--for", "company"]
    assert main(["reminders", home, "--ics", str(out), *more]) == 0
    assert len(events(out.read_bytes())) == 3


def test_what_failed_today_is_due_today_for_owner_and_company(visited: Home) -> None:
    for readers in (("owner",), ("company",)):
        found = events(reminders_calendar(visited, readers=readers))  # type: ignore[arg-type]  # of a table
        due = found["Put the alarm in order now"]
        assert due.start == VISIT and due.categories == list(readers)
        assert due["status"] == "CONFIRMED" and "rrule" not in due
        assert "The alarm did not sound: there is no warning." in due["description"]
        assert "corroded contact" in due["description"]


def test_what_was_put_in_order_is_called_off(visited: Home) -> None:
    old = events(reminders_calendar(visited))["Put the alarm in order now"]
    later = {"date": "2026-10-14", "checks": {"alarm_sounded": "yes"}}
    mended = visited.changed(visit=[*visited.visit, later])
    new = events(reminders_calendar(mended))["Put the alarm in order now"]
    assert new["uid"] == old["uid"] and new["status"] == "CANCELLED"
    assert new.sequence > old.sequence
    same_day = {"found": "no", "done": "contact cleaned", "left": "yes"}
    one_go = visited.changed(visit=[{"date": "2026-04-14", "checks": {"alarm_sounded": same_day}}])
    assert "Put the alarm in order now" not in events(reminders_calendar(one_go))


def test_nothing_is_to_do_for_what_is_not_there(visited: Home) -> None:
    bare = visited.changed(
        visit=[], switch__alarm="none", pump__rated_flow="none", pipe__check_valve="none"
    )
    found = set(events(reminders_calendar(bare, VISIT)))
    assert not {"Test the sump pump", "Change the alarm battery", "Look at the check valve"} & found
    assert {"Put in a pump now", "Put in a high-water alarm now"} <= found
