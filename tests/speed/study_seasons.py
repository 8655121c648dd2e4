"""How generated seasons hold: against their own record, other years, and within the hour.

``python tests/speed/study_seasons.py RECORD`` fits storms to an hourly record and to each half of
it, compares them with the record and with the other half, and prints what is
said of it.
``--readme tests/published/README.md`` writes that into it, between its two comments; no figure of
the paragraph is typed by hand.
"""

from __future__ import annotations

import argparse
import json
import re
import textwrap
from dataclasses import asdict, dataclass, replace
from pathlib import Path

import numpy as np

from riskkit.rainfall.maxima import annual_maxima
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import FloatArray, RainRecord
from riskkit.seasons.check import SeasonCheck, check_seasons
from riskkit.seasons.fit import fit_storms, sight_of
from riskkit.storm.pulses import simulate

BEGIN, END = "<!-- season figures", "<!-- end of season figures -->"
WIDTH = 120


@dataclass(frozen=True)
class Figures:
    """What is said of the seasons of one record; counts, and shares in per cent."""

    place: str
    years: int
    statistics: int
    of_statistics: int
    depths: int
    of_depths: int
    other_statistics: tuple[int, int]  # fitted to the first and to the second half
    other_depths: tuple[int, int]
    other_least_pct: int  # depths of the second half's storms against the first half
    other_most_pct: int
    burst_pct: int  # 5-min over 1-h depths of generated rain, the 2-year maxima


def paragraph(found: Figures) -> str:
    """Write the figures as the README has them."""
    first, second = found.other_statistics
    of, rains = found.of_statistics, found.of_depths
    first, second = zip(found.other_statistics, found.other_depths, strict=True)
    text = (
        f"At {found.place} ({found.years} years), {found.statistics} of {of} monthly statistics "
        f"lie where 8 of 10 such records lie, and {found.depths} of {rains} largest rains (2, 10 "
        "and 50 years over 1, 6 and 24 h) within the record's own limits; but to these it was "
        f"fitted. Storms fitted to the first half of those years meet {first[0]} of the {of} "
        f"statistics of the second and {first[1]} of its {rains} largest rains; fitted to the "
        f"second half, {second[0]} and {second[1]} of the first, whose largest rains they miss by "
        f"{found.other_least_pct:+d} to {found.other_most_pct:+d} %. Rain within the hour is not "
        "fitted and comes out too even: its 2-year depth of 5 min is "
        f"{found.burst_pct} % of that of an hour, about half of what published ratios say."
    )
    return "\n".join(textwrap.wrap(text, WIDTH))


def section(found: Figures) -> str:
    """Write the part of the README between its comments, with the figures that it is made of."""
    return f"{BEGIN}: {json.dumps(asdict(found))} -->\n{paragraph(found)}\n{END}"


def section_of(readme: str) -> re.Match[str]:
    """Find that part; its first group is the figures."""
    found = re.search(rf"{BEGIN}: (.*?) -->\n.*?\n{END}", readme, re.DOTALL)
    if found is None:
        raise ValueError("the README has no season figures between its comments")
    return found


def halves(record: RainRecord) -> tuple[RainRecord, RainRecord]:
    """Cut a record at the begin of its middle year."""
    year = record.times.astype("datetime64[Y]").astype(int)
    cut = int(np.searchsorted(year, (year[0] + year[-1] + 1) // 2))
    return (
        replace(record, depth_mm=record.depth_mm[:cut]),
        replace(record, depth_mm=record.depth_mm[cut:], start=record.times[cut]),
    )


def over_record_pct(check: SeasonCheck) -> FloatArray:
    """Generated largest rains over those of the record [%]."""
    return 100.0 * (check.generated_depth_mm / check.record_depth_mm - 1.0)


def figures_of(record: RainRecord, place: str) -> Figures:
    """Fit, compare, and count."""
    sight = sight_of(record)
    storms = fit_storms(sight)
    own = check_seasons(storms, sight)
    first, second = halves(record)
    other = [
        check_seasons(fit_storms(sight_of(one)), sight_of(two))
        for one, two in ((first, second), (second, first))
    ]
    rain = simulate(replace(storms, gauge_mm=0.01), 150, 2001, np.random.default_rng(4), 300)
    burst, hour = np.median(annual_maxima(rain, [1 / 12, 1.0]).depth_mm, axis=1)
    return Figures(
        place=place,
        years=own.years,
        statistics=own.statistics_within[0],
        of_statistics=own.statistics_within[1],
        depths=own.depths_within[0],
        of_depths=own.depths_within[1],
        other_statistics=(other[0].statistics_within[0], other[1].statistics_within[0]),
        other_depths=(other[0].depths_within[0], other[1].depths_within[0]),
        other_least_pct=round(float(over_record_pct(other[1]).min())),
        other_most_pct=round(float(over_record_pct(other[1]).max())),
        burst_pct=round(100.0 * float(burst / hour)),
    )


def main() -> None:
    parser = argparse.ArgumentParser()
    parser.add_argument("record", type=Path)
    parser.add_argument("--readme", type=Path, help="write the figures into this file")
    parser.add_argument("--place", help="of the record (by default what the file names)")
    options = parser.parse_args()
    readme = options.readme or Path(__file__).parents[1] / "published" / "README.md"
    text = readme.read_text(encoding="utf-8")
    place = options.place or json.loads(section_of(text)[1])["place"]
    found = figures_of(read_rain(options.record), place)
    print(section(found))
    if options.readme is not None:
        match = section_of(text)
        new = text[: match.start()] + section(found) + text[match.end() :]
        readme.write_text(new, encoding="utf-8")


if __name__ == "__main__":
    main()
