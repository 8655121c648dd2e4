"""Outcomes told by their points, for tests of words and tables."""

from __future__ import annotations

from functools import partial

from riskkit.ensemble.quantiles import Outcome

of_512 = partial(Outcome, n_draws=512)
