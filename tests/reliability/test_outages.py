"""Outages: rates, lengths, weather and unlike homes."""

from __future__ import annotations

import re
from pathlib import Path

import numpy as np
import pytest
from scipy.special import gammainc

from riskkit.errors import InputError, RangeError
from riskkit.reliability import households as h
from riskkit.reliability import outage_weather as w
from riskkit.reliability import outages as o
from tests.published.telling import households_telling, short_told

AREAS = [o.outages_of(area) for area in o.outage_areas()]


@pytest.mark.parametrize("area", AREAS, ids=lambda area: area.area)
def test_lengths_have_the_printed_mean_and_tail(area: o.Outages) -> None:
    rng, count = np.random.default_rng(1), 200_000
    is_major = rng.random(count) < area.major_per_yr / area.rate_per_yr
    lengths = rng.exponential(np.where(is_major, area.major_h, area.ordinary_h))
    assert lengths.mean() == pytest.approx(area.mean_h, abs=4 * lengths.std() / np.sqrt(count))
    share = float(o.outage_rate_per_yr(area, 6.0)) / area.rate_per_yr
    error = np.sqrt(share * (1 - share) / count)
    assert (lengths > 6).mean() == pytest.approx(share, abs=4 * error)
    assert area.major_h > area.ordinary_h


def test_weather_shares_are_shares_and_major_events_come_with_more() -> None:
    shares = w.weather_shares()
    assert 0 < shares.ordinary < shares.major < 1
    for area in AREAS:
        hours = np.linspace(0, 48, 20)
        tied = w.weather_rate_per_yr(area, hours) / o.outage_rate_per_yr(area, hours)
        assert np.all(np.diff(tied) > 0)  # the longer, the more often with weather


def test_chance_in_a_storm_is_that_of_simulated_years() -> None:
    """Outages at any hour and in storms, laid over storms of equal length, year by year."""
    area, rng, years, storms, length = (
        o.outages_of("Maine"),
        np.random.default_rng(6),
        20_000,
        5,
        30,
    )
    hours, shares = w.HOURS_PER_YEAR * years, w.weather_shares()
    begins = (np.arange(years * storms) + 0.5) * w.HOURS_PER_YEAR / storms
    out = np.zeros(begins.size, dtype=bool)
    kinds = (
        (area.ordinary_per_yr, area.ordinary_h, shares.ordinary),
        (area.major_per_yr, area.major_h, shares.major),
    )
    for rate, mean, share in kinds:
        number = rng.poisson(rate * (1 - share) * years)
        start, lasts = rng.random(number) * hours, rng.exponential(mean, number)
        storm = np.searchsorted(begins, start, side="right") - 1
        during = (storm >= 0) & (start < begins[storm] + length)
        out[storm[during]] = True
        until = np.searchsorted(begins, start)
        until = np.minimum(until, begins.size - 1)
        into = (begins[until] >= start) & (start + lasts > begins[until])
        out[until[into]] = True
        out |= rng.poisson(rate * share / storms, begins.size) > 0
    wanted = float(w.chance_over_storm(area, length, storms))
    error = np.sqrt(wanted * (1 - wanted) / begins.size)
    assert out.mean() == pytest.approx(wanted, abs=4 * error)


def test_chance_in_a_storm_by_hand() -> None:
    """Long outages, and so many storms that those with weather are spread thin: the rest counts."""
    area, shares = o.Outages("nowhere", 0.5, 200.0, 0.2, 400.0), w.weather_shares()
    ordinary, major = (1 - shares.ordinary) * 0.5, (1 - shares.major) * 0.2
    lasting = (ordinary * 200 + major * 400) / 8766  # began before and is not over
    found = w.chance_over_storm(area, 0.0, 1e12)
    assert float(found) == pytest.approx(1 - np.exp(-lasting))
    begins = (ordinary + major) * 48 / 8766
    assert float(w.chance_over_storm(area, 48.0, 1e12)) == pytest.approx(
        1 - np.exp(-lasting - begins)
    )
    # of those that matter only from 100 h on: exp(-1/2) of the one kind, exp(-1/4) of the other
    ordinary, major = ordinary * np.exp(-0.5), major * np.exp(-0.25)
    expected = (ordinary * (200 + 48) + major * (400 + 48)) / 8766
    found = w.chance_over_storm(area, 48.0, 1e12, 100.0, factor=2.0)
    assert float(found) == pytest.approx(1 - np.exp(-2 * expected))
    assert sum(o.outage_rates_by_kind_per_yr(area)) == pytest.approx(area.rate_per_yr)


def test_a_storm_has_more_outages_than_as_many_quiet_hours() -> None:
    for area in AREAS:
        blind = 1 - np.exp(-area.rate_per_yr * 24 / w.HOURS_PER_YEAR)
        assert float(w.chance_over_storm(area, 24, 6)) > 3 * blind


def test_unlike_homes_are_negative_binomial() -> None:
    rng, count, rate = np.random.default_rng(12), 400_000, 0.9
    factor = h.home_factor(rng.random(count))
    assert factor.mean() == pytest.approx(1, abs=4 * factor.std() / np.sqrt(count))
    assert factor.std() ** 2 == pytest.approx(1 / h.mixing_shape(), rel=0.03)
    with_outage = (rng.poisson(rate * factor) > 0).mean()
    wanted = float(h.households_with_outage(rate, h.mixing_shape()))
    assert with_outage == pytest.approx(wanted, abs=4 * np.sqrt(0.25 / count))
    assert gammainc(h.mixing_shape(), h.mixing_shape() * h.home_factor(0.3)) == pytest.approx(0.3)


def test_alike_homes_are_poisson() -> None:
    rate = np.array([0.0, 0.1, 2.0])
    assert h.households_with_outage(rate, 1e9) == pytest.approx(-np.expm1(-rate), rel=1e-6)


def test_figures_of_the_readme_are_those_of_the_model() -> None:
    readme = Path(__file__).resolve().parents[1] / "published" / "README.md"
    shown = readme.read_text("utf-8").partition("<!-- outages -->")[2].partition("<!-- end")[0]
    rows = re.findall(r"\| ([A-Z][\w ]+) \| (\d+) % \|", shown)
    assert len(rows) == 3
    for area, per_cent in rows:
        found = households_telling(o.outages_of(area), short_told())
        assert round(100 * found) == int(per_cent)
    blind = h.households_with_outage(o.outages_of("United States").rate_per_yr, 1e9)
    assert blind == pytest.approx(0.75, abs=0.01)


def test_what_cannot_be_is_refused() -> None:
    with pytest.raises(InputError, match="Atlantis"):
        o.outages_of("Atlantis")
    with pytest.raises(RangeError, match="storms"):
        w.chance_over_storm(AREAS[0], 24, 0)
    with pytest.raises(RangeError, match="storm: its length"):
        w.chance_over_storm(AREAS[0], -1.0, 6)
    with pytest.raises(RangeError, match="weather shares: the printed"):
        w.WeatherShares(0.3, 1.1)
    with pytest.raises(RangeError, match="length"):
        o.outage_rate_per_yr(AREAS[0], -1.0)
    with pytest.raises(RangeError, match="share"):
        h.home_factor(1.0)
    with pytest.raises(RangeError, match="outages"):
        o.Outages("nowhere", -0.1, 1, 1, 1)
