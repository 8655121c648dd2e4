"""What is written is read back, whatever it is."""

import gzip

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st

from riskkit.rainfall.readers.plain import write_rain
from riskkit.rainfall.readers.record import read_rain
from riskkit.records import RainRecord

depths = st.one_of(
    st.just(0.0), st.just(float("nan")), st.floats(0, 300, allow_nan=False, allow_subnormal=False)
)


@settings(max_examples=60)
@given(
    values=st.lists(depths, min_size=1, max_size=80).filter(lambda v: not np.all(np.isnan(v))),
    interval_s=st.sampled_from([60, 300, 600, 900, 1800, 3600, 21600, 86400]),
    begin=st.integers(-(10**9), 2 * 10**9),
    packed=st.booleans(),
)
def test_write_then_read_gives_the_same_record(tmp_path_factory, values, interval_s, begin, packed):
    record = RainRecord(np.array(values), np.datetime64(begin // 60 * 60, "s"), interval_s, "here")
    path = tmp_path_factory.mktemp("rain") / "rain.csv"
    write_rain(record, path)
    if packed:
        path.write_bytes(gzip.compress(path.read_bytes()))
    again = read_rain(path)
    assert np.array_equal(again.depth_mm, record.depth_mm, equal_nan=True)
    assert (again.start, again.interval_s, again.name) == (record.start, interval_s, "here")


@settings(max_examples=80)
@given(st.binary(max_size=300))
def test_any_bytes_are_read_or_refused_in_a_sentence(tmp_path_factory, data):
    from riskkit.errors import InputError

    path = tmp_path_factory.mktemp("rain") / "rain.csv"
    path.write_bytes(data)
    try:
        read_rain(path)
    except InputError as error:
        assert str(error).endswith(".")


@settings(max_examples=150)
@given(st.text(alphabet="time,depth_mm\n0123456789-: ;.\"'#T\t", max_size=200))
def test_any_text_below_a_header_is_read_or_refused(tmp_path_factory, text):
    from riskkit.errors import InputError

    path = tmp_path_factory.mktemp("rain") / "rain.csv"
    path.write_text("time,depth_mm\n2020-01-01 00:00,0\n" + text, encoding="utf-8")
    try:
        read_rain(path)
    except InputError as error:
        assert str(error).endswith(".")
