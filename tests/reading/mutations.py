"""A sweep in files of every kind that is read, and bytes of them changed at random.

Used by a short test and, for hours if one likes, by tests/benchmarks/fuzz_reading.py.
"""

import io
import json
import random
import zipfile
from collections.abc import Callable

import pyarrow as pa
import pyarrow.parquet as pq
from openpyxl import Workbook

from tests.reading.sweeps import CURRENT, POINTS, VOLTAGE, comma, lines
from viewer.reading.file_reading import FileReading
from viewer.site_data.iv_trace import Trace

KEYS = (
    "# combiner: CB1\n# string: S1\n# measured_at: 2024-05-17T10:15:00+02:00\n"
    "# poa_global: 800.5 W/m²\n# temperature_module: 45.5\n# serial: 7\n"
)
PIECES = (
    *(b"", b"0", b"-", b"--1", b"1e999", b"-1e308", b"nan", b"inf", b"0x1p3", b"1_0", b"1.2.3"),
    *(b"\x00", b"\xff\xfe", b"\xef\xbb\xbf", b"\xe2\x88\x92", b"\xd9\xa1", b"\xc2\xa0", b"\x85"),
    *(b"\n", b"\r", b"\r\n", b"\t", b",", b";", b"|", b":", b"=", b"#", b'"', b"'", b"\\", b"\x1b"),
    *(b"[", b"]", b"{", b"}", b"(", b")", b"<", b">", b"&", b"%s", b"{0}", b"../..", b"$", b"^"),
    *(b"voltage", b"current", b"V", b"[mA]", b"[kV]", b"string", b"date", b"time", b"irradiance"),
    *(b"2024-02-30", b"0000-00-00", b"9999-12-31T23:59:60+99:99", b"25:61", b"17.05.2024", b"1e5"),
    b"99999999999999999999999999",
    b"9" * 400,
)


def samples() -> dict[str, bytes]:
    """Files by name, each of which gives one or more traces as it is."""
    columns = {"voltage": VOLTAGE.tolist(), "current": CURRENT.tolist()}
    keys = {"string": "S1", "combiner": "CB1", "date": "2024-05-17 10:15:00", "irradiance": 800.0}
    plain = lines("{v:.3f},{i:.4f}")
    german = "Datum;17.05.2024\nUhrzeit;10:15:30\nEinstrahlung;812,5\n\nU [mV];I [mA]\n"
    many = "string;date;voltage;current\n" + "".join(
        lines(f"S{k};2024-05-17 10:1{k}:00;" + "{v:.1f};{i:.3f}") for k in range(4)
    )
    records = [{"Voltage": v, "Current": i} for v, i in POINTS]
    return {
        "plain.csv": (KEYS + "voltage,current\n" + plain).encode(),
        "bare.csv": plain.encode(),
        "german.csv": (german + comma(lines("{v:.1f};{i:.2f}", (1e3, 1e3)))).encode("cp1252"),
        "tabs.txt": ("U\tI\n" + lines("{v:.2f}\t{i:.4f}")).encode("utf-16"),
        "blocks.dat": (2 * ("String S1\nV I P\n" + lines("{v:.2f} {i:.4f} 0") + "\n")).encode(),
        "many.csv": many.encode(),
        "columns.json": json.dumps({**keys, **columns}).encode(),
        "records.json": json.dumps({**keys, "points": records}).encode(),
        "lines.jsonl": "\n".join(json.dumps({**keys, **columns}) for _ in range(3)).encode(),
        "book.xlsx": _workbook(keys),
        "table.parquet": _parquet(columns),
    }


def _workbook(keys: dict[str, object]) -> bytes:
    book = Workbook()
    for row in [*map(list, keys.items()), [], ["Voltage (V)", "Current (A)"], *map(list, POINTS)]:
        book.active.append(row)
    stream = io.BytesIO()
    book.save(stream)
    return stream.getvalue()


def _parquet(columns: dict[str, list[float]]) -> bytes:
    stream = io.BytesIO()
    pq.write_table(pa.table(columns), stream)
    return stream.getvalue()


def mutated(name: str, data: bytes, rng: random.Random, others: list[bytes]) -> bytes:
    """The file with some changes; a workbook mostly inside its parts, so that it still opens."""
    changes = rng.choice((1, 1, 2, 3, 8, 40))
    if name.endswith(".xlsx") and rng.random() < 0.8:
        return _inside_archive(data, rng, changes)
    for _ in range(changes):
        data = rng.choice(CHANGES)(data, rng)
    if rng.random() < 0.05:
        data += rng.choice(others)
    return data


def _inside_archive(data: bytes, rng: random.Random, changes: int) -> bytes:
    stream = io.BytesIO()
    with (
        zipfile.ZipFile(io.BytesIO(data)) as before,
        zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as after,
    ):
        names = before.namelist()
        chosen = rng.choice([*names, "xl/worksheets/sheet1.xml", "xl/sharedStrings.xml"])
        for one in names:
            part = before.read(one)
            for _ in range(changes * (one == chosen)):
                part = rng.choice(CHANGES)(part, rng)
            after.writestr(one, part)
    return stream.getvalue()


def _some(data: bytes, rng: random.Random) -> tuple[int, int]:
    begin = rng.randrange(len(data) + 1)
    return begin, min(len(data), begin + rng.choice((0, 1, 1, 2, 5, 20, 200)))


def _replace(data: bytes, rng: random.Random) -> bytes:
    begin, end = _some(data, rng)
    return data[:begin] + rng.choice(PIECES) + data[end:]


def _noise(data: bytes, rng: random.Random) -> bytes:
    begin, end = _some(data, rng)
    return data[:begin] + rng.randbytes(end - begin) + data[end:]


def _repeat(data: bytes, rng: random.Random) -> bytes:
    begin, end = _some(data, rng)
    times = rng.choice((2, 2, 3, 50, 3000 if end - begin < 30 else 2))
    return data[:begin] + data[begin:end] * times + data[end:]


def _move(data: bytes, rng: random.Random) -> bytes:
    begin, end = _some(data, rng)
    piece, rest = data[begin:end], data[:begin] + data[end:]
    place = rng.randrange(len(rest) + 1)
    return rest[:place] + piece + rest[place:]


def _cut(data: bytes, rng: random.Random) -> bytes:
    begin, _ = _some(data, rng)
    return data[:begin] if rng.random() < 0.5 else data[begin:]


def _swap_everywhere(data: bytes, rng: random.Random) -> bytes:
    old = rng.choice(
        (b",", b";", b".", b"\n", b"0", b"1", b" ", b":", b'"', b"voltage", b"current")
    )
    return data.replace(old, rng.choice(PIECES), rng.choice((1, 3, 100)))


def _flip(data: bytes, rng: random.Random) -> bytes:
    if not data:
        return data
    place = rng.randrange(len(data))
    return data[:place] + bytes([data[place] ^ (1 << rng.randrange(8))]) + data[place + 1 :]


Change = Callable[[bytes, random.Random], bytes]
CHANGES: tuple[Change, ...] = (
    *(_replace, _replace, _noise, _repeat, _move, _cut, _swap_everywhere, _flip),
)


def assert_readable_or_told(reading: FileReading, name: str) -> None:
    """Traces of finite numbers, or sentences of one line that name the file."""
    assert reading.traces or reading.failures
    for failure in reading.failures:
        assert "\n" not in failure.problem
        assert "\r" not in failure.problem
        assert name in failure.problem
        assert len(failure.problem) < 600
    for trace in reading.traces:
        assert_is_finite(trace)


def assert_is_finite(trace: Trace) -> None:
    assert trace.voltage.shape == trace.current.shape == (trace.voltage.size,)
    assert trace.voltage.size >= 5
    assert abs(trace.voltage).max() <= 1e5
    assert abs(trace.current).max() <= 1e5
    for value in vars(trace.conditions).values():
        assert value is None or abs(value) < float("inf")
    for text in (trace.combiner, trace.string, trace.serial, trace.note):
        assert text is None or "\n" not in text
