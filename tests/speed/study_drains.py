"""How well the response of a pump log fits the flow of real drains, judged on the unused half.

Takes a table of daily flow and rain of farm drains (columns ``siteid, plotid, date, flow, dwm,
precip_on_site``, mm a day) by its path; ``dwm`` FD is a drain that flows freely. Each drain is cut
in halves; the same code as ``riskkit log`` is fitted to one and judged on the other.
"""

from __future__ import annotations

import argparse
from pathlib import Path

import numpy as np
import pandas as pd

from riskkit.gauge.cycles import Bins
from riskkit.gauge.response import fit_response
from riskkit.gauge.skill import response_skill
from riskkit.gauge.water import Water

DAY_S = 86400.0
LEAST_DAYS = 730


def drain(table: pd.DataFrame) -> tuple[Bins, Water]:
    """Days with a flow, and the rain of all days; a missing day counts as dry and drops flows."""
    days = table.set_index("date").sort_index()
    days = days[~days.index.duplicated()]
    whole = days.reindex(pd.date_range(days.index[0], days.index[-1]))
    rain, flow = whole["precip_on_site"].to_numpy(), whole["flow"].to_numpy()
    start = whole.index[0].timestamp()
    water = Water(start, DAY_S, np.nan_to_num(rain) * 1e-3, np.isnan(rain).astype(float))
    begin = start + DAY_S * np.arange(flow.size)
    unknown = water.gap_between(begin - 3 * DAY_S, begin + DAY_S) > 0
    known = np.isfinite(flow) & (~unknown | (np.arange(flow.size) < 3))
    known &= ~np.isnan(rain)
    return Bins(begin[known], begin[known] + DAY_S, flow[known] * 1e-3), water


def main() -> None:
    """Print a row for each drain, and the middle of all."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("table", type=Path)
    options = parser.parse_args()
    table = pd.read_csv(options.table, parse_dates=["date"])
    rows = []
    for (site, plot), part in table[table["dwm"] == "FD"].groupby(["siteid", "plotid"]):
        bins, water = drain(part)
        if bins.begin_s.size < LEAST_DAYS:  # of flow with rain on site
            continue
        skill = response_skill(bins, water)
        found = fit_response(bins, water, n_resampled=100)
        recession = np.percentile(found.recession_s() / DAY_S, [5, 50, 95])
        share = np.percentile(found.within_m2(DAY_S, 1.0), [5, 50, 95])
        rows.append([skill.second, skill.first, skill.second_plain, skill.first_plain])
        print(
            f"{site:10} {plot:6} {bins.begin_s.size:5} days  two ways "
            f"{skill.second:5.2f} {skill.first:5.2f}  plain {skill.second_plain:5.2f} "
            f"{skill.first_plain:5.2f}  falls to a third in "
            f"{recession[1]:4.1f} d ({recession[0]:.1f}-{recession[2]:.1f})  within a day "
            f"{share[1]:.2f} ({share[0]:.2f}-{share[2]:.2f})"
        )
    middle = np.median(np.array(rows), axis=0)
    both = np.array(rows)
    print(
        f"{len(rows)} drains, middle: two ways {middle[0]:.2f} {middle[1]:.2f}, plain "
        f"{middle[2]:.2f} {middle[3]:.2f}; better than plain in "
        f"{int((both[:, :2] > both[:, 2:]).sum())} of {both[:, :2].size}"
    )


if __name__ == "__main__":
    main()
