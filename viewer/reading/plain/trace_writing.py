"""Traces to the plain format, so that what was read once can be kept as a visit folder."""

import re
from collections.abc import Iterable
from pathlib import Path

from viewer.reading.plain.key_names import CONDITION_NAMES
from viewer.site_data.iv_trace import Trace
from viewer.site_data.whole_file import write_whole


def plain_text(trace: Trace) -> str:
    """The trace in the plain format; numbers are written so that they read back unchanged."""
    keys: dict[str, object] = {
        "combiner": trace.combiner,
        "string": trace.string,
        "measured_at": trace.measured_at.isoformat() if trace.measured_at else None,
        **{name: getattr(trace.conditions, name) for name in CONDITION_NAMES},
        "module": trace.module,
        "serial": trace.serial,
        "note": trace.note,
    }
    lines = [
        f"# {key}: {_one_line(value)}" for key, value in keys.items() if value not in (None, "")
    ]
    lines.append("voltage,current")
    points = zip(trace.voltage.tolist(), trace.current.tolist(), strict=True)
    lines += [f"{voltage!r},{current!r}" for voltage, current in points]
    return "\n".join(lines) + "\n"


def write_traces(traces: Iterable[Trace], folder: Path) -> list[str]:
    """Writes each trace to COMBINER/NAME.csv under the folder, never over another file.

    Returns the paths written, relative to the folder. Raises OSError.
    """
    written = []
    for trace in traces:
        place = folder / _file_name(trace.combiner or "no combiner")
        place.mkdir(parents=True, exist_ok=True)
        path = _free(place, _stem(trace))
        write_whole(path, plain_text(trace))
        written.append(path.relative_to(folder).as_posix())
    return written


def _stem(trace: Trace) -> str:
    stem = _file_name(trace.string or Path(trace.source).stem)
    return f"{stem}_{trace.measured_at:%Y-%m-%dT%H%M%S}" if trace.measured_at else stem


def _free(folder: Path, stem: str) -> Path:
    path, number = folder / f"{stem}.csv", 1
    while path.exists():
        number += 1
        path = folder / f"{stem}_{number}.csv"
    return path


def _file_name(text: str) -> str:
    """The text without what a file name may not hold on some system."""
    name = re.sub(r"[^\w .()+=-]+", "_", text).strip(" .")
    return name[:100] or "unnamed"


def _one_line(value: object) -> str:
    return " ".join(str(value).split())
