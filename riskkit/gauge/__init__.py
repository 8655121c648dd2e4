"""A log of the pump read as a gauge of what flows into the pit.

::

    log of starts ──> cycles ──> volumes ──┐
                         │                 ├─> response: stores in parallel ──> LogAnalysis
    home ──> volume of a cycle             │      on half of the log, judged on the other
    rain of the same days ─────────────────┘
                         └─> pump: capacity, a step, a trend
"""
