"""What a survey would hear of the outages that riskkit reckons with.

Households tell of far fewer short outages than the statistics count. Which share of them they tell
of is fitted to the share of households in the country that told of any, so that figure checks
nothing; those of single cities, which no fit has seen, do.
"""

from __future__ import annotations

from scipy.optimize import brentq

from riskkit.reliability.households import households_with_outage, mixing_shape
from riskkit.reliability.outages import COUNTRY, Outages, outage_rate_per_yr, outages_of

LONG_H = 6.0  # outages as long as that are all told of
TOLD_OF_ANY = 0.254  # of the households of the country (ahs2023)


def households_telling(outages: Outages, short_told: float) -> float:
    """Share of households that would tell of any outage within a year [-]."""
    long = float(outage_rate_per_yr(outages, LONG_H))
    told = long + short_told * (outages.rate_per_yr - long)
    return float(households_with_outage(told, mixing_shape()))


def short_told() -> float:
    """Share of the outages shorter than six hours that households tell of [-]."""
    country = outages_of(COUNTRY)
    return float(brentq(lambda share: households_telling(country, share) - TOLD_OF_ANY, 0.0, 1.0))
