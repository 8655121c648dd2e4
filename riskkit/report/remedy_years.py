"""The same years through a home as it is and after each remedy, as a table."""

from __future__ import annotations

from riskkit.ensemble.quantiles import mean_range, outcome
from riskkit.options.replays import ReplayComparison
from riskkit.options.side_by_side import of_years
from riskkit.quantities.units import UnitSystem
from riskkit.report.replay_rows import range_words, volume_range_words
from riskkit.report.rows import Table, new_table

__all__ = ["remedy_years_table"]

_TOLD = ("failed_pump_floods", "failed_pump_floods_within_1_h", "working_floods")


def remedy_years_table(found: ReplayComparison, system: UnitSystem) -> Table:
    """Write what a year brings before and after each remedy.

    Parameters
    ----------
    found : ReplayComparison
        The same years, the home as it is first.
    system : UnitSystem
        Units of the reader.

    Returns
    -------
    Table
        A row each, what helps most against a failed pump first after the home as it is.
    """
    replays = found.replays
    years = {name: of_years(one) for name, one in replays.items()}
    before, *after = years
    fewer = {
        name: (years[before]["failed_pump_floods"] - years[name]["failed_pump_floods"]).mean(axis=1)
        for name in after
    }
    order = [before, *sorted(after, key=lambda name: -float(fewer[name].mean()))]
    rows = [
        (
            name,
            *(range_words(mean_range(years[name][what].mean(axis=1))) for what in _TOLD),
            "" if name == before else range_words(mean_range(fewer[name])),
            volume_range_words(years[name]["pumped_m3"].mean(axis=1), system),
            range_words(outcome(years[name]["run_h"].mean(axis=1))),
        )
        for name in order
    ]
    head = ("", "a failed pump floods", "within 1 h", "floor wet, pump works",
            "fewer floods than as it is", "pumped", "pump runs [h]")  # fmt: skip
    left = ", ".join(change.name for change in found.left_out)
    n = found.before.settings.n_draws
    lines = [
        f"All of a year, {n} simulated variants of the home, each the same one before and "
        "after; in brackets 8 of 10 of them. If done; each alone.",
        *([f"Not tried, for the home has it or lacks the part: {left}."] if left else []),
    ]
    return new_table("A year as it is and after each remedy", head, rows, lines)
