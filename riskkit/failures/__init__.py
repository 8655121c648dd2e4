"""Reliability joined to a home: chance of water on the floor in a year, and what visits change.

::

    home ──> circumstances ──> faults ──┐  chances and rates of every cause, draw by draw
    home, rain ──────────────> storms ──┴──> yearly ──> YearlyChance      ──> interval

Storms say when water comes and how fast, with the pump working, failed before or stopping; faults
say how likely the pump is lost and nobody acts in time. Neither knows the other until `yearly`.
"""
