"""What is said of a previewed file: what is wrong, what to look at, what was understood and why."""

from collections.abc import Sequence
from html import escape

from viewer.physics.nomenclature import counted
from viewer.state.importing.file_preview import PLAIN, FilePreview, field_lines, trace_words

MOST_LINES = 12
"""Lines of one kind; a file of many traces repeats itself."""


def preview_html(preview: FilePreview) -> str:
    """The sentences under headings, the most urgent first."""
    reading = preview.reading
    remarks = dict.fromkeys(remark for one in reading.traces for remark in one.remarks)
    for doubt in reading.doubts:
        remarks.pop(doubt, None)
    count = len(reading.traces)
    parts = (
        ("Not read", preview.problems),
        ("To look at", reading.doubts),
        (counted(count, "trace"), [trace_words(one) for one in reading.traces]),
        ("Noticed", tuple(remarks)),
        ("Understood so, because", (PLAIN,) if preview.plain else reading.reasons),
        ("Found", field_lines(preview) if not preview.plain else ()),
    )
    return "".join(_part(title, lines) for title, lines in parts if lines)


def _part(title: str, lines: Sequence[str]) -> str:
    said = [*lines[:MOST_LINES]]
    if len(lines) > MOST_LINES:
        said.append(f"and {len(lines) - MOST_LINES} more")
    items = "".join(f"<li>{escape(one)}</li>" for one in said)
    heading = f"<p style='margin-bottom:0'><b>{escape(title)}</b></p>"
    return f"{heading}<ul style='margin-top:0'>{items}</ul>"
