"""What became of each file that was read, as lines of text for a terminal."""

from collections.abc import Sequence

from viewer.physics.nomenclature import quantity
from viewer.reading.file_reading import FileReading
from viewer.reading.many_files import ReadingReport
from viewer.reports.plain_table import aligned
from viewer.site_data.iv_trace import Trace

HEADINGS = ("Trace", "Combiner", "String", "Measured at", "Points", "V up to", "A up to", "W/m²")
_RIGHT = {"Points", "V up to", "A up to", "W/m²"}
MISSING = "–"


def reading_lines(
    report: ReadingReport, traces: Sequence[Trace], explain: bool = False
) -> list[str]:
    """A table of the traces, then reasons if asked for, doubts, copies and the sum."""
    lines = aligned(HEADINGS, [_row(trace) for trace in traces], _RIGHT) if traces else []
    if explain:
        lines += _explained(report)
    for reading in report.doubtful:
        lines += ["", f"{reading.source}: to look at", *(f"  {one}" for one in reading.doubts)]
    lines += [f"{copy.source} is a copy of {copy.same_as}." for copy in report.duplicates]
    return [*lines, "", report.summary()]


def _row(trace: Trace) -> tuple[str, ...]:
    return (
        trace.source,
        trace.combiner or MISSING,
        trace.string or MISSING,
        f"{trace.measured_at:%Y-%m-%d %H:%M}" if trace.measured_at else MISSING,
        str(trace.voltage.size),
        quantity("voltage").text(float(trace.voltage.max())),
        quantity("current").text(float(trace.current.max())),
        quantity("poa_global").text(trace.conditions.poa_global),
    )


def _explained(report: ReadingReport) -> list[str]:
    """The reasons, once for all files that share them."""
    files: dict[tuple[str, ...], list[FileReading]] = {}
    for _, reading in report.readings.values():
        if reading.reasons:
            files.setdefault(reading.reasons, []).append(reading)
    lines: list[str] = []
    for reasons, readings in files.items():
        more = f" and {len(readings) - 1} more" if len(readings) > 1 else ""
        lines += ["", f"{readings[0].source}{more}:", *(f"  {reason}" for reason in reasons)]
    return lines
