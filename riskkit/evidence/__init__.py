"""What was observed of a home weighs the draws of what it may be.

::

    home file, [[observation]] ──> standing: what still holds after the parts changed since
                                      │
    draws ──> expected: what each would have shown, and how far off a reading may be
                  pit_tests, hose_at_wall, running
                                      │
                               weights: likelihood, effective sample size, tail chances
                                      │
                               posterior: draws as many as asked, all of the same weight
                                      │
                               planning: what to look at next
"""
