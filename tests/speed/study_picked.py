"""How well few variants that were picked tell what many say, beside as many that nobody chose.

Run as ``python tests/speed/study_picked.py`` (some minutes). For each of the invented homes a field
is changed, as on a page. Told is how far the answer of few draws lies from that of 512, as the root
mean square of the logarithm of their ratio over the changes: draws picked from the answer before
the change, and the first draws of the sequence. Then, for the yearly rate of floods of a ranking,
its standard deviation over seeds in per cent of its mean: picked, and as many and twice as many of
the sequence. Last, how far the standard error that a ranking tells of the difference of two
neighbours is its scatter over seeds: scatter over error, root mean square over all neighbours, with
the least and the greatest; and of how many pairs one seed says that the one is better, another the
other, beside how many pairs would stand in two orders if no ties were told.
"""

from __future__ import annotations

from dataclasses import replace
from itertools import combinations, pairwise
from pathlib import Path

import numpy as np

from riskkit.assessment import Assessment, DesignRain, Settings, assess, design_rain
from riskkit.errors import InputError
from riskkit.failures.answer import YearlyChance
from riskkit.failures.yearly import chance
from riskkit.home.home import Home, load_home
from riskkit.options.ranking import Ranking, rank_remedies
from riskkit.widgets.work import first_answer

DEMO = Path(__file__).parents[2] / "demo_sites"
CHANGES: tuple[dict[str, object], ...] = (
    {"roof__at_wall": 0.0}, {"roof__at_wall": 0.6}, {"pit__diameter": "17 in"},
    {"switch__alarm": "5 in"}, {"ground__water_table_depth": "2 ft"},
    {"ground__water_table_depth": "1 ft"}, {"pump__rated_flow": "30 gpm"},
)  # fmt: skip
SEEDS = range(1, 9)


def apart(few: Assessment, many: Assessment) -> list[float]:
    """Logarithm of the ratio of what is told of the headline storm; NaN for none."""
    one, other = few.headline_storm, many.headline_storm
    pairs = [(getattr(one.worst_stop.to_floor_s, name), getattr(other.worst_stop.to_floor_s, name))
             for name in ("low", "median", "high")]  # fmt: skip
    pairs.append((one.pump_working.peak_use.median, other.pump_working.peak_use.median))
    with np.errstate(divide="ignore", invalid="ignore"):
        found = [0.0 if a == b else float(np.log(a / b)) for a, b in pairs]
    return [value if np.isfinite(value) else np.nan for value in found]


def of_answers(home: Home, rain: DesignRain) -> None:
    whole = assess(home, rain)
    rows: dict[str, list[list[float]]] = {}
    for change in CHANGES:
        try:
            changed = home.changed(**change)
        except InputError:  # a home that has no room for it
            continue
        many = assess(changed, rain)
        few = {
            "picked 32": first_answer(changed, rain, Settings(), whole),
            "first 32": assess(changed, rain, replace(Settings(), n_draws=32)),
            "first 64": assess(changed, rain, replace(Settings(), n_draws=64)),
        }
        for name, answer in few.items():
            rows.setdefault(name, []).append(apart(answer, many))
    for name, errors in rows.items():
        told = np.sqrt(np.nanmean(np.square(errors), axis=0))
        print(f"  {name:10s} time low {told[0]:.2f}, median {told[1]:.2f}, high {told[2]:.2f}; "
              f"share of pump capacity {told[3]:.2f}")  # fmt: skip


def of_rankings(home: Home, rain: DesignRain) -> None:
    for name, rate in (
        ("picked 64", lambda seed: picked_of(rank_remedies(home, rain, changes=[], seed=seed))),
        ("first 64", lambda seed: chance(home, rain, n_draws=64, seed=seed)),
        ("first 128", lambda seed: chance(home, rain, n_draws=128, seed=seed)),
    ):
        found = np.array([rate(seed).floods_per_yr for seed in SEEDS])
        spread = 100 * found.std() / found.mean()
        print(f"  {name:10s} floods a year {found.mean():.3f}, over seeds {spread:.0f} %")


def picked_of(found: Ranking) -> YearlyChance:
    """The home as it is, of the draws that were picked alone."""
    return found.rows[0].chance_before


def of_errors(home: Home, rain: DesignRain) -> None:
    found = [rank_remedies(home, rain, seed=seed) for seed in SEEDS]
    rows = [{row.remedy.name: row for row in each.rows if row.helps_chance} for each in found]
    told = [name for name in rows[0] if all(name in each for each in rows)]
    told.sort(key=lambda name: float(np.mean([each[name].mean_after for each in rows])))
    ratios = []
    for one, other in pairwise(told):
        pairs = np.array([each[one].better_by(each[other]) for each in rows])
        if np.any(pairs[:, 1] > 0):  # else they are the same in every draw
            ratios.append(pairs[:, 0].std(ddof=1) / np.sqrt(np.mean(pairs[:, 1] ** 2)))
    spread = float(np.sqrt(np.mean(np.square(ratios))))
    told_apart = plain = 0
    for one, other in combinations(told, 2):
        by_group = [each[one].tie_group - each[other].tie_group for each in rows]
        by_mean = [each[one].mean_after - each[other].mean_after for each in rows]
        told_apart += min(by_group) < 0 < max(by_group)
        plain += min(by_mean) < 0 < max(by_mean)
    print(
        f"  neighbours {len(ratios)}: scatter over error {spread:.2f} ({min(ratios):.2f} to "
        f"{max(ratios):.2f}); told the other way round {told_apart} pairs, without ties {plain}"
    )


def main() -> None:
    for path in sorted(DEMO.glob("*.toml")):
        home = load_home(path)
        rain = design_rain(home, DEMO)
        print(home.name)
        of_answers(home, rain)
        of_rankings(home, rain)
        of_errors(home, rain)


if __name__ == "__main__":
    main()
