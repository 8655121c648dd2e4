"""Whatever a file holds, it is read, or refused in one sentence; a long run is `tests/fuzz.py`."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from fuzz import KINDS, LETTERS, TEXTS, VALUES, checked, outcome, sentence, try_one
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.errors import InputError
from riskkit.home.home import Home, read_home
from riskkit.quantities.text import brief, cleaned, steering_letter
from riskkit.rainfall.readers.official import read_rain_table
from riskkit.rainfall.readers.record import read_rain

scalars = st.one_of(
    st.sampled_from(VALUES), st.text(max_size=20), st.integers(), st.floats(), st.booleans()
)
nested = st.recursive(
    scalars,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=4), inner),
    max_leaves=12,
)
KEYS = [
    f"{name}__{key}"
    for name, field in Home.model_fields.items()
    for key in getattr(field.annotation, "model_fields", {})
] + list(Home.model_fields)


@pytest.mark.parametrize("name", KINDS)
def test_mutated_inputs(name: str, tmp_path: Path) -> None:
    read = sum(try_one(KINDS[name], f"small {i}", tmp_path) for i in range(1000))
    assert 0 < read < 1000  # some are broken and some are not, or nothing is tried


CORPUS = sorted((Path(__file__).resolve().parents[1] / "corpus").glob("*.json"))


@pytest.mark.parametrize("path", CORPUS, ids=lambda path: path.stem)
def test_inputs_that_a_guided_search_found(path: Path, tmp_path: Path) -> None:
    """Each of them became something else, as `tests/speed/study_guided.py` found them."""
    kind, texts = TEXTS[path.stem], json.loads(path.read_text("utf-8"))
    found = {outcome(kind, kind.written(text.encode(), tmp_path)) for text in texts}
    assert len(found) > len(texts) / 2 and "read" in found


@settings(max_examples=300)
@given(key=st.sampled_from(KEYS), value=nested)
def test_a_home_takes_any_value_or_refuses_it(key: str, value: Any) -> None:
    try:
        home = Home().changed(**{key: value})
    except InputError as error:
        sentence(error)
    else:
        checked(home)


@settings(max_examples=300)
@given(text=st.text(st.sampled_from([*"[]{}=.,\n\"'a1 ", *LETTERS]), max_size=60))
def test_any_text_is_a_home_or_refused(text: str) -> None:
    try:
        checked(read_home(text, "home.toml"))
    except InputError as error:
        sentence(error)


@settings(max_examples=200)
@given(text=st.text(), most=st.integers(1, 50))
def test_a_cleaned_text_is_one_harmless_line(text: str, most: int) -> None:
    line = cleaned(text, most)
    assert steering_letter(line) == ""
    assert "\n" not in line and len(line) <= most + 1
    line.encode("utf-8")
    assert cleaned(line.removesuffix("…"), most) == line.removesuffix("…").rstrip()


LONG = "9" * 70_000
CELLS = {
    "a depth that cannot be": f"time,depth_mm\n2020-01-01,-{LONG}\n2020-01-02,1\n",
    "a depth that is none": f"time,depth_mm\n2020-01-01,x{LONG}\n2020-01-02,1\n",
    "a decimal comma": f'time,depth_mm\n2020-01-01,"1,{LONG}"\n2020-01-02,1\n',
    "a time": f"time,depth_mm\nx{LONG},1\n2020-01-02,1\n",
    "a unit": f"# unit: {LONG}\ntime,depth\n2020-01-01,1\n2020-01-02,1\n",
    "a unit in a header": f"time,depth (x{LONG})\n2020-01-01,1\n2020-01-02,1\n",
    "an intensity": f"time,rain {LONG} (mm/h)\n2020-01-01,1\n2020-01-02,1\n",
    "a choice": f"# stamp: {LONG}\n# interval: 1 h\ntime,depth_mm\n2020-01-01,1\n2020-01-02,1\n",
    "an interval": f"# interval: {LONG}\ntime,depth_mm\n2020-01-01,1\n2020-01-02,1\n",
    "columns": f"time,rain{LONG}\n2020-01-01,1\n",
    "columns of rain": f"time,rain {LONG},rain mm\n2020-01-01,1,1\n",
    "a header without end": ",".join(["time", *map(str, range(20_000))]) + "\n2020-01-01,1\n",
    "two comments": f"# unit: {LONG}\n# unit: mm\ntime,depth\n2020-01-01,1\n",
    "two stations": f"STATION,DATE,PRCP\nA,2020-01-01,1\nB{LONG},2020-01-02,1\n",
}
TABLE = "# unit: mm\n# series: annual maximum\nduration,2 yr,10 yr\n5 min,4,5\n1 h,5,6\n"
TABLE_CELLS = {
    "a series": TABLE.replace("annual maximum", f"x{LONG}"),
    "a unit": TABLE.replace("mm", f"x{LONG}"),
    "a rate": TABLE.replace("mm", f"mm/{LONG}"),
    "a first column": TABLE.replace("duration", f"x{LONG}"),
    "a period": TABLE.replace("10 yr", f"x{LONG}"),
    "a period without end": TABLE.replace("10 yr", f"{LONG} yr"),
    "a duration": TABLE.replace("1 h", f"{LONG} h"),
    "a depth": TABLE.replace("6", LONG),
}


@pytest.mark.parametrize("name", CELLS)
def test_a_message_shows_little_of_a_cell(name: str, tmp_path: Path) -> None:
    path = tmp_path / "rain.csv"
    path.write_text(CELLS[name])
    with pytest.raises(InputError) as caught:
        read_rain(path)
    sentence(caught.value)
    assert LONG[:121] not in str(caught.value)
    assert len(str(caught.value)) < 500


@pytest.mark.parametrize("name", TABLE_CELLS)
def test_a_message_shows_little_of_a_cell_of_a_table(name: str, tmp_path: Path) -> None:
    path = tmp_path / "table.csv"
    path.write_text(TABLE_CELLS[name])
    with pytest.raises(InputError) as caught:
        read_rain_table(path)
    sentence(caught.value)
    assert LONG[:121] not in str(caught.value)
    assert len(str(caught.value)) < 500
    assert len(brief(LONG)) == 121
