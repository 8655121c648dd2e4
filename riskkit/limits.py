"""What is read at most, in one place. Each limit is held while reading, before the rest is here.

They leave room for what a person has, and keep a file that was made to do harm, or broke on its
way, from taking the memory or the time of the machine: of any file of up to 10 MB, no more than
500 MB and some seconds.
"""

from __future__ import annotations

HOME_BYTES = 1_000_000
"""Bytes of a home file; a home with twenty visits has about 20,000."""
HOME_LEVELS = 12
"""Sections, lists and inline tables in each other; a home has five."""
HOME_VISITS = 500
"""Visits of one home, and observations of it."""

MOST_MONEY = 1e9
"""A price, a budget or the value of a house, in whichever currency; a house costs some 1e8 yen."""

TABLE_BYTES = 400_000_000
"""Bytes of a table of rain, temperatures or levels, unpacked, and of an answer of an archive."""
TABLE_DENSITY = 100
"""Unpacked bytes to packed ones; tables of times come to 8 to 25."""
TABLE_LINE = 100_000
"""Letters of a line."""
TABLE_ROWS = 10_000_000
"""Rows: 19 years of minutes, 95 years of 5 minutes."""
TABLE_COMMENTS = 1000
"""Lines besides."""
OFFICIAL_ROWS = 1000
"""Lines of an official table of storm depths; the longest known has some sixty."""

RECORD_INTERVALS = 10_000_000
"""Intervals of a record from its first to its last, as rows; few rows can span as many."""
STORED_WORDS = 10_000_000
"""Bytes of what is said about a stored record, with what was removed from it."""
STORED_NOTES = 200
"""Notes of a stored record."""
TEMPERATURE_DAYS = 100_000
"""Days that temperatures span: 270 years. One wrong date lies farther away."""
LOG_ROWS = 3_000_000
"""Rows of a log of a pump: five years of looks by the minute."""
