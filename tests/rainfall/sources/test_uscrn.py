"""The Reference Network's 5-minute files through pvlib, from a server on this machine."""

from __future__ import annotations

from typing import Any

import numpy as np
import pytest

from riskkit.errors import InputError
from riskkit.rainfall.sources.candidate import Candidate
from riskkit.rainfall.sources.uscrn import ReferenceNetwork

pytestmark = pytest.mark.usefixtures("crn")


@pytest.fixture
def source(archive: Any) -> ReferenceNetwork:
    return ReferenceNetwork(f"{archive.address}/products")


@pytest.fixture
def station(archive: Any, source: ReferenceNetwork) -> Candidate:
    (found,) = source.near(*archive.place, 50.0)
    return found


def test_lists(station: Candidate) -> None:
    assert station.key == "uscrn:XX_Alder_Bend_2_N"
    assert station.name == "XX Alder Bend 2 N"
    assert (station.first_year, station.last_year, station.interval_s) == (2005, 2019, 300)


def test_five_minutes_begin_in_standard_time(source: ReferenceNetwork, station: Candidate) -> None:
    piece = source.year(station, 2019)
    assert piece is not None
    assert str(piece.times[0]) == "2018-12-31T18:00:00"
    np.testing.assert_array_equal(np.diff(piece.times).astype(int), [300, 300])
    np.testing.assert_array_equal(piece.depth_mm, [0.2, np.nan, 1.4])


def test_absent_year(source: ReferenceNetwork, station: Candidate) -> None:
    assert source.year(station, 2018) is None


def test_broken_files(archive: Any, source: ReferenceNetwork, station: Candidate) -> None:
    name = "/products/subhourly01/2018/CRNS0101-05-2018-XX_Alder_Bend_2_N.txt"
    archive.files[name] = b"<html>moved</html>\n"
    with pytest.raises(InputError, match="cannot be read"):
        source.year(station, 2018)
    archive.files["/products/stations.tsv"] = b"a\tb\n1\t2\n"
    with pytest.raises(InputError, match="a row cannot be read"):
        source.near(*archive.place, 50.0)
    good = b"STATE\tLOCATION\tVECTOR\tLATITUDE\tLONGITUDE\tCOMMISSIONING\tCLOSING\n"
    for place in (b"nan\t1", b"inf\t1", b"x\t1", b"41\t"):
        row = b"XX\tAlder Bend\t2 N\t" + place + b"\t2006-01-01\t\n"
        archive.files["/products/stations.tsv"] = good + row
        with pytest.raises(InputError, match="a row cannot be read"):
            source.near(*archive.place, 50.0)
