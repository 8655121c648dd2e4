"""How generated seasons hold against years they were not fitted to, and within the hour.

``python tests/speed/study_seasons.py RECORD`` fits storms to each half of an hourly record and
compares them with the other half; then it sets short peaks of generated rain against one hour.
"""

from __future__ import annotations

import sys
from dataclasses import replace
from pathlib import Path

import numpy as np

from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.readers import read_rain
from riskkit.risk.season_check import check_seasons
from riskkit.risk.seasons import fit_storms, sight_of
from riskkit.storm.pulses import simulate


def main() -> None:
    record = read_rain(Path(sys.argv[1]))
    year = record.times.astype("datetime64[Y]").astype(int)
    cut = int(np.searchsorted(year, (year[0] + year[-1] + 1) // 2))
    halves = (
        replace(record, depth_mm=record.depth_mm[:cut]),
        replace(record, depth_mm=record.depth_mm[cut:], start=record.times[cut]),
    )
    for name, one, other in (("first", *halves), ("second", *halves[::-1])):
        check = check_seasons(fit_storms(sight_of(one)), sight_of(other))
        (within, of), (depths, of_depths) = check.statistics_within, check.depths_within
        print(f"fitted to the {name} half, against the other: {within} of {of} statistics within")
        print(f"their limits, {depths} of {of_depths} depths; depths over those of the record:")
        print(np.round(check.generated_depth_mm / check.record_depth_mm, 2))
    fine = replace(fit_storms(sight_of(record)), gauge_mm=0.01)
    rain = simulate(fine, 150, 2001, np.random.default_rng(4), 300)
    maxima = annual_maxima(rain, [1 / 12, 1 / 6, 0.25, 0.5, 1.0]).depth_mm
    middle = np.quantile(maxima, (0.5, 0.9), axis=1)
    print("5, 10, 15 and 30 min over 1 h, the 2- and 10-year maxima:")
    print(np.round(middle / middle[:, -1:], 2))


if __name__ == "__main__":
    main()
