"""Files of every kind, changed at random in the same way each time: traces or sentences, no more.

`python -m tests.benchmarks.fuzz_reading` does the same for as long as one likes.
"""

import random
import struct
import time
import zlib

import pytest

from tests.reading.mutations import assert_readable_or_told, mutated, samples
from viewer.reading.file_reading import read_data
from viewer.reading.limits import SECONDS_LIMIT

GIVEN = samples()
EACH = 60


@pytest.mark.parametrize("name", GIVEN)
def test_unchanged_it_is_read(name: str) -> None:
    reading = read_data(GIVEN[name], name)
    assert reading.traces
    assert not reading.failures
    assert_readable_or_told(reading, name)


@pytest.mark.parametrize("name", GIVEN)
def test_changed_it_is_read_or_told(name: str) -> None:
    ends = set()
    for number in range(EACH):
        rng = random.Random(f"{name} {number}")
        data = mutated(name, GIVEN[name], rng, list(GIVEN.values()))
        began = time.thread_time()
        reading = read_data(data, name)
        assert time.thread_time() - began < 2 * SECONDS_LIMIT
        assert_readable_or_told(reading, name)
        ends.add(bool(reading.traces))
    assert ends == {True, False}  # the changes are neither too gentle nor too rough


def test_a_workbook_whose_packed_bytes_are_wrong() -> None:
    """The archive's own list is whole, what it leads to does not unpack."""
    data = bytearray(GIVEN["book.xlsx"])
    begin = data.index(b"PK\x03\x04")
    names, extra = struct.unpack_from("<HH", data, begin + 26)
    packed = begin + 30 + names + extra
    data[packed : packed + 8] = b"\xff" * 8
    with pytest.raises(zlib.error):
        zlib.decompress(bytes(data[packed : packed + 64]), -15)
    (failure,) = read_data(bytes(data), "book.xlsx").failures
    assert failure.problem.startswith("book.xlsx is a damaged workbook")
