"""How often the ranges of an observed home hold its truth, and how far each observation narrows.

500 invented homes, their truth drawn from what is taken where nothing is known or from something
else, are observed with the errors of tape, watch and memory, one record in fifty wrong. For each
the draws are weighed, and the truth is looked for in the 80 % and the 90 % range of minutes to the
floor in a 10-year storm. Where many draws show the same (never), the truth counts with a place of
chance among them, so that a range of 80 % holds 80 in 100 where all is right.

    python tests/speed/study_evidence.py            # some ten minutes
    python tests/speed/study_evidence.py --homes 64 --pool 2048 --truth "gap twice as wide"
"""

from __future__ import annotations

import argparse
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

import riskkit as rk
from riskkit.ensemble.draws import homes_at, scores_of
from riskkit.evidence.expected import CLASS, LOG, METRES, Expected
from riskkit.evidence.past import Past
from riskkit.evidence.planning import (
    PredictedReadings,
    log_minutes,
    open_observations,
    predicted_readings,
)
from riskkit.evidence.weights import effective_size, log_likelihood, weights_of
from riskkit.home.samples import HomeSamples

Array = NDArray[np.float64]
Kind = tuple[str, str | None]

TRUTHS = {
    "as is taken": {},
    "gravel always open": {"gravel__connected_share": "85 to 99 %"},
    "gravel always closed": {"gravel__connected_share": "1 to 4 %"},
    "gap twice as wide": {"ground__gap_share": "1.2 to 36 %"},
}
SETS: dict[str, list[Kind]] = {
    "nothing": [],
    "twenty minutes with a hose": [("hose_in_pit", None), ("hose_at_wall", None)],
    "what the owner knows": [("how_often", w) for w in ("dry", "spring", "heavy rain")],
    "what the owner knows of ten years": [("floods", None), ("alarms", None)],
    "all that the owner knows": [
        *(("how_often", w) for w in ("dry", "spring", "heavy rain")),
        ("floods", None), ("alarms", None), ("high_water", None),
    ],
    "best twenty minutes": [
        *(("how_often", w) for w in ("dry", "spring", "heavy rain")),
        ("rain_cycle", None), ("hose_in_pit", None),
    ],
}  # fmt: skip
WRONG = 0.02


def both(home: rk.Home, truth: rk.Home, pool: int, seeds: tuple[int, int]) -> HomeSamples:
    """The draws and, after them, the homes that stand for the truth."""
    settings = [rk.Settings(return_periods_yr=(10.0,), n_draws=n, seed=s)
                for n, s in zip((pool, 512), seeds, strict=True)]  # fmt: skip
    before = rk.assess(home, settings=rk.Settings(return_periods_yr=(10.0,), n_draws=16)).antecedent
    draws = homes_at(home, scores_of(settings[0].n_draws, seeds[0]), before)
    true = homes_at(truth, scores_of(settings[1].n_draws, seeds[1]), before)
    return joined(draws, true)


def joined(one: HomeSamples, other: HomeSamples) -> HomeSamples:
    values = {name: np.concatenate([v, other.values[name]]) for name, v in one.values.items()}
    return HomeSamples(
        values, one.backfill + other.backfill, one.soil + other.soil,
        np.concatenate([one.rain_score, other.rain_score]),
        np.concatenate([one.burst_score, other.burst_score]),
    )  # fmt: skip


def times_of(home: rk.Home, n_draws: int, seed: int) -> Array:
    settings = rk.Settings(return_periods_yr=(10.0,), n_draws=n_draws, seed=seed)
    return np.asarray(
        rk.assess(home, settings=settings).headline_storm.worst_stop.to_floor_by_draw_s
    )


def read(
    shown: Array | tuple[PredictedReadings, ...], pool: int, at: int, rng: np.random.Generator
) -> tuple[Expected, ...]:
    """What is read at one true home, and what each draw of the pool would have shown there."""
    is_wrong = rng.random() < WRONG
    none = np.zeros(pool)
    if isinstance(shown, np.ndarray):
        chances = np.full(shown.shape[1], 1 / shown.shape[1]) if is_wrong else shown[at]
        word = float(rng.choice(shown.shape[1], p=chances / chances.sum()))
        return (Expected(word, none, none, CLASS, shown[:pool]),)
    found = []
    for one in shown:
        way = one.way[at]
        width = METRES if one.mean[at, way] < 2.0 and one.sd[at, way] < 0.3 else LOG
        mean, sd = one.mean[:pool, way], one.sd[:pool, way]
        reading = float(one.mean[at, way] + one.sd[at, way] * rng.standard_normal())
        if is_wrong:
            reading = float(np.median(mean) + width * (rng.random() - 0.5))
        found.append(Expected(reading, mean, sd, width))
    return tuple(found)


def place(value: Array, weight: Array, truth: float, rng: np.random.Generator) -> float:
    """Where the truth lies in the weighed draws; of equal ones at a place of chance."""
    return float(weight[value < truth].sum() + rng.random() * weight[value == truth].sum())


def ends(value: Array, weight: Array, share: float) -> tuple[float, float]:
    order = np.argsort(value)
    sums = np.cumsum(weight[order])
    low, high = np.searchsorted(sums, [(1 - share) / 2, (1 + share) / 2])
    return float(value[order][low]), float(value[order][min(high, value.size - 1)])


def study(
    name: str, homes: HomeSamples, times: Array, truths: Array, kinds: list[Kind], n: int,
    past: Past,
) -> str:  # fmt: skip
    pool, rng = times.size, np.random.default_rng(7)
    shown = [predicted_readings(homes, *kind, past) for kind in kinds]
    value = log_minutes(times)
    held = np.zeros(2)
    sizes, widths, spreads = [], [], []
    even = np.full(pool, 1 / pool)
    for k in range(n):
        weight = even
        if kinds:
            log = sum(log_likelihood(read(one, pool, pool + k, rng)) for one in shown)
            weight = weights_of(np.asarray(log))
        at = place(value, weight, float(log_minutes(truths[k : k + 1])[0]), rng)
        held += [0.1 <= at <= 0.9, 0.05 <= at <= 0.95]
        low, high = ends(value, weight, 0.8)
        middle = weight @ value
        widths.append(high - low)
        spreads.append(float(np.sqrt(weight @ (value - middle) ** 2)))
        sizes.append(effective_size(weight))
    eighty, ninety = 100 * held / n
    return (
        f"| {name} | {eighty:.0f} | {ninety:.0f} | {np.exp(np.median(widths)):.0f} | "
        f"{np.mean(spreads):.2f} | {np.median(sizes):.0f} |"
    )


def main() -> int:
    parser = argparse.ArgumentParser()
    parser.add_argument("--homes", type=int, default=500)
    parser.add_argument("--pool", type=int, default=16384)
    parser.add_argument("--home", type=Path, default=Path("demo_sites/home_just_met.toml"))
    parser.add_argument("--truth", choices=TRUTHS, help="that alone")
    options = parser.parse_args()
    home = rk.load_home(options.home)
    past = Past(None, rk.design_rain(home).used)
    times = times_of(home, options.pool, 1)
    head = "| observed | 80 % holds | 90 % holds | 80 % range, factor | spread | draws in effect |"
    for truth in [options.truth] if options.truth else TRUTHS:
        changes = TRUTHS[truth]
        true_home = home.changed(**changes) if changes else home
        truths = times_of(true_home, 512, 2)
        homes = both(home, true_home, options.pool, (1, 2))
        sys.stdout.write(f"\nTruth: {truth}\n\n{head}\n|---|---|---|---|---|---|\n")
        sets = dict(SETS)
        if not changes:
            sets |= {
                f"{kind} {when or ''}".strip(): [(kind, when)]
                for kind, when in open_observations(home)
            }
        for name, kinds in sets.items():
            row = study(name, homes, times, truths, kinds, options.homes, past)
            sys.stdout.write(f"{row}\n")
            sys.stdout.flush()
    return 0


if __name__ == "__main__":
    sys.exit(main())
