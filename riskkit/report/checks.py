"""What was checked against the outside, as a table: page, notebook and tests take it from here."""

from __future__ import annotations

from riskkit.tables import load_sources, load_table

__all__ = ["CHECK_COLUMNS", "ORIGINS", "checks_markdown", "checks_rows"]

CHECK_COLUMNS = ("stage", "what is checked", "source", "origin", "tolerance")
ORIGINS = {
    "printed": "printed in the source",
    "quoted": "read as others quote it",
    "memory": "recalled, not seen again",
    "computed": "computed from the published equation",
    "practice": "common practice, no source",
}
"""How an expected value is known, by its code in ``tables/checks.csv``."""


def checks_rows() -> list[tuple[str, ...]]:
    """Return the checks of ``tables/checks.csv``, by stage.

    Returns
    -------
    list of tuple of str
        The cells of `CHECK_COLUMNS`.
    """
    return [
        (
            row["stage"],
            row["what"],
            f"{_cite(row['source'])}; {row['where']}" if row["where"] else _cite(row["source"]),
            ORIGINS[row["origin"]],
            row["tolerance"],
        )
        for row in load_table("checks").rows
    ]


def _cite(key: str) -> str:
    source = load_sources()[key]
    return ", ".join(part for part in (source.author, source.title, source.year) if part)


def checks_markdown() -> str:
    """Write the checks as a table in Markdown.

    Returns
    -------
    str
        Its lines.
    """
    rows = [CHECK_COLUMNS, ("---",) * len(CHECK_COLUMNS), *checks_rows()]
    return "\n".join(f"| {' | '.join(row)} |" for row in rows)
