"""Towns by name without network; what is kept of them may be damaged or impossible to keep."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import platformdirs
import pytest

from riskkit.rainfall import places
from riskkit.rainfall.places import Place, find_places


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A cache folder of its own, in which nothing is kept yet."""
    monkeypatch.setattr(platformdirs, "user_cache_path", lambda *_, **__: tmp_path / "cache")
    places._towns.cache_clear()
    yield tmp_path / "cache"
    places._towns.cache_clear()


@pytest.fixture
def few_towns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Three towns in place of the package, which takes seconds to read."""
    towns = [
        Place("St. Louis, MO", 38.63, -90.20, 300_000),
        Place("Alton, IL", 38.89, -90.18, 25_000),
        Place("Århus, Denmark", 56.16, 10.21, 285_000),
    ]
    monkeypatch.setattr(places, "_from_package", lambda: towns)


def test_a_town_is_found_by_the_beginning_of_its_name_and_kept(cache: Path) -> None:
    (first, *_) = find_places("st louis mo")
    # 38.63 N, 90.20 W, from memory, to a tenth of a degree
    assert first.name == "St. Louis, MO"
    assert (first.latitude, first.longitude) == pytest.approx((38.63, -90.20), abs=0.1)
    assert find_places("ST.  LOUIS,")[0] == first
    assert find_places("st") == () and find_places("no town is called so") == ()
    (kept,) = cache.iterdir()
    whole = kept.read_bytes()
    places._towns.cache_clear()
    assert find_places("st louis mo")[0] == first  # read back from the file
    assert kept.read_bytes() == whole


@pytest.mark.usefixtures("few_towns")
@pytest.mark.parametrize(
    "damage", [b"", b"St. Louis, MO,38.6\n", b"\xff\xfe,1,2,3\n", b"a,b,c,d\n"]
)
def test_a_damaged_file_is_made_again(cache: Path, damage: bytes) -> None:
    first = find_places("alton il")
    (kept,) = cache.iterdir()
    whole = kept.read_bytes()
    kept.write_bytes(damage)
    places._towns.cache_clear()
    assert find_places("alton il") == first
    assert kept.read_bytes() == whole


@pytest.mark.usefixtures("few_towns")
def test_where_nothing_can_be_kept_towns_are_found_all_the_same(cache: Path) -> None:
    cache.write_text("a file where the folder should be")
    assert find_places("st louis mo")[0].name == "St. Louis, MO"
    assert cache.read_text() == "a file where the folder should be"
