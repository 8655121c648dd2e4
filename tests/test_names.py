"""Every name that a person meets is judged: a term of the trade, a standard, or our own."""

from __future__ import annotations

import pytest

from tests import names


@pytest.fixture(scope="module")
def met() -> list[tuple[str, str]]:
    return names.names()


def test_the_table_is_of_today(met: list[tuple[str, str]]) -> None:
    known = names.judged()
    assert not set(met) - set(known), "run python tests/names.py, and judge what is new"
    assert not set(known) - set(met), "run python tests/names.py: names that nobody meets any more"
    assert names.TABLE.read_text(encoding="utf-8") == names.table_text()


def test_every_name_is_judged() -> None:
    open_ones = [name for name, told in names.judged().items() if not names.JUDGED.fullmatch(told)]
    assert not open_ones


def test_the_collector_finds_what_is_known_to_be_there(met: list[tuple[str, str]]) -> None:
    """One of each kind, so that an empty list would not pass."""
    known = {
        ("command", "fleet run"), ("option", "--budget"), ("argument", "HOME"),
        ("key of a home file", "pump.rated_flow"), ("column of a storm", "pit_level_m"),
        ("column of homes", "service.last_visit"), ("key of JSON", "stop_to_floor_s"),
        ("word to choose", "tethered"), ("label", "What would help"), ("colour", "#0072b2"),
    }  # fmt: skip
    assert not known - set(met)
    assert {kind for kind, _ in known} == {kind for kind, _ in met}


def test_a_new_name_waits_for_its_judgement(
    monkeypatch: pytest.MonkeyPatch, met: list[tuple[str, str]]
) -> None:
    monkeypatch.setattr(names, "names", lambda: [*met, ("option", "--brand-new")])
    assert names.table_text().endswith("option,--brand-new,?\n")
