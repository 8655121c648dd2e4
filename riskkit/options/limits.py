"""What a remedy has to change so that it is worth saying: one set for every way it is tried."""

from __future__ import annotations

__all__ = ["LONGER", "LONGER_S", "SURER"]

LONGER = 1.15
"""Times as long until water on the floor (judgement)."""
LONGER_S = 120.0
"""And longer by this much (judgement)."""
SURER = 0.05
"""More of the draws that never flood, or whose pit does not overflow (judgement)."""
