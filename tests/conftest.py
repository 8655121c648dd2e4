"""The published checks as a table, and fixtures shared by all tests."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, settings

from riskkit.tables import load_sources

# no test is timed: a busy machine must not fail one
settings.register_profile("untimed", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("untimed")

ROOT = Path(__file__).resolve().parent.parent
STAGES = ("rain", "storm", "inflow", "pit", "pump", "risk")
ORIGINS = {
    "printed": "printed in the source",
    "memory": "recalled, not seen again",
    "computed": "computed from the published equation",
    "practice": "common practice, no source",
}


@pytest.fixture(scope="session")
def demo_sites() -> Path:
    """Folder of the invented homes."""
    return ROOT / "demo_sites"


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption(
        "--validation-table",
        action="store_true",
        help="print the table of published checks for the README, and run nothing else",
    )


def validation_rows(items: list[pytest.Item]) -> list[tuple[str, ...]]:
    """One row per stage and source: what is checked, how many values, where, origin, tolerance."""
    rows: dict[tuple[str, ...], int] = {}
    for item in items:
        mark = item.get_closest_marker("published")
        if mark is None:
            continue
        entry = mark.kwargs
        source = load_sources()[entry["source"]]
        cite = ", ".join(p for p in (source.author, source.title, source.year) if p)
        row = (
            entry["stage"],
            entry["what"],
            f"{cite}; {entry['where']}" if entry["where"] else cite,
            ORIGINS[entry["origin"]],
            str(entry["tolerance"]),
        )
        rows[row] = rows.get(row, 0) + 1
    return sorted(rows, key=lambda row: (STAGES.index(row[0]), row[1:]))


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    for item in items:
        mark = item.get_closest_marker("published")
        if mark is None:
            continue
        wanted = {"stage", "what", "source", "where", "origin", "tolerance"}
        if set(mark.kwargs) != wanted or mark.args:
            raise pytest.UsageError(f"{item.nodeid}: published() takes {sorted(wanted)}")
        if mark.kwargs["stage"] not in STAGES or mark.kwargs["origin"] not in ORIGINS:
            raise pytest.UsageError(f"{item.nodeid}: unknown stage or origin")
        if mark.kwargs["source"] not in load_sources():
            raise pytest.UsageError(f"{item.nodeid}: source {mark.kwargs['source']!r} is not known")
    if config.getoption("--validation-table"):
        print("\n| stage | what is checked | source | origin | tolerance |")
        print("|---|---|---|---|---|")
        for row in validation_rows(items):
            print("| " + " | ".join(row) + " |")
        items.clear()
