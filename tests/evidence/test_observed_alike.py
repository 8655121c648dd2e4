"""A change that no observation tells of is answered at once from draws that were weighed before."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from riskkit.assessment import Settings, assess, design_rain
from riskkit.evidence import posterior
from riskkit.evidence.posterior import weighed_homes
from riskkit.home.home import Home, read_home
from riskkit.widgets.work import first_answer

DEMO = Path(__file__).resolve().parents[2] / "demo_sites"
OBSERVED = (
    '\n[[observation]]\ndate = "2024-04-14"\nkind = "how_often"\nwhen = "heavy rain"\n'
    'often = "every few minutes"\n'
)
ANOTHER = '\n[[observation]]\ndate = "2024-04-14"\nkind = "cycle"\nrun = "12 s"\npause = "70 min"\n'
FEW = Settings(n_draws=128)


def home_with(more: str) -> Home:
    text = (DEMO / "split_level_on_clay.toml").read_text("utf-8")
    return read_home(text + more, "home.toml").in_folder(DEMO)


def test_the_same_home_has_the_same_draws_either_way() -> None:
    home = home_with(OBSERVED)
    weighed = weighed_homes(home, 64, 1)
    again = weighed_homes(home, 64, 1, known=weighed)
    assert weighed.scores is not None and len(weighed.observations) == 1
    assert again == weighed and again.scores is weighed.scores


def test_what_was_told_is_weighed_anew_only_where_it_is_told_otherwise(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    home = home_with(OBSERVED)
    rain = design_rain(home)
    whole = assess(home, rain, FEW)

    def weigh(*_: object) -> None:
        raise ArithmeticError("weighed anew")

    monkeypatch.setattr(posterior, "_known_scores_of", weigh)
    wider = first_answer(home.changed(pit={"diameter": "22 in"}), rain, FEW, whole)
    assert np.median(wider.homes["pit_diameter_m"]) == pytest.approx(22 * 0.0254, rel=0.03)
    unmoved = np.flatnonzero(np.isin(whole.homes["gap_time_s"], wider.homes["gap_time_s"]))
    assert unmoved.size == wider.homes.n_draws  # they are draws of the answer before
    with pytest.raises(ArithmeticError, match="weighed anew"):
        first_answer(home_with(OBSERVED + ANOTHER), rain, FEW, whole)
    with pytest.raises(ArithmeticError, match="weighed anew"):
        first_answer(home_with(""), rain, FEW, whole)
