"""Many homes at once: a table in, an answer for each in partitions, and what follows for a company.

A home is worked out by itself, with draws of its own; what a neighbourhood shares (the ground) and
what all homes under one rain table share (its depths) is drawn once for all of them, so that draw i
of every home belongs to the same world. No module here needs Jupyter.
"""
