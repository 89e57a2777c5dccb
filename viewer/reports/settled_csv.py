"""Findings settled in the field as one CSV table, a line a finding."""

import csv
from collections.abc import Iterable
from pathlib import Path

from viewer.analysis.causes.confirmation import Confirmation, RepairGain
from viewer.analysis.results.trace_result import TraceResult
from viewer.site_data.cell_text import plain_cell
from viewer.site_data.whole_file import drafted

HEADINGS = (
    "trace",
    "combiner",
    "string",
    "suggested",
    "confirmed",
    "action",
    "parts",
    "author",
    "confirmed_at",
    "retest",
    "power_ratio before",
    "power_ratio after",
    "gain at STC [W]",
    "gain beyond uncertainty",
)
Settled = tuple[Confirmation, TraceResult | None, RepairGain | None]


def save_settled(findings: Iterable[Settled], path: Path) -> None:
    """Write the table as UTF-8 with a decimal point and commas (RFC 4180). Raises OSError."""
    with drafted(path) as draft, draft.open("w", encoding="utf-8", newline="") as stream:
        writer = csv.writer(stream)
        writer.writerow(HEADINGS)
        writer.writerows(_row(*one) for one in findings)


def _row(one: Confirmation, result: TraceResult | None, gain: RepairGain | None) -> list[str]:
    trace = result.trace if result is not None else None
    before = result.power_ratio if result is not None else None
    texts = [
        one.trace,
        (trace.combiner or "") if trace else "",
        (trace.string or "") if trace else "",
        one.suggested,
        one.confirmed,
        one.action,
        "; ".join(one.parts),
        one.author or "",
        one.confirmed_at.isoformat() if one.confirmed_at else "",
        one.retest or "",
    ]
    return [
        *(plain_cell(text) for text in texts),
        _number(before, 4),
        _number(gain.ratio_after if gain else None, 4),
        _number(gain.watt_gain if gain else None, 1),
        "" if gain is None else "yes" if gain.certain else "no",
    ]


def _number(value: float | None, digits: int) -> str:
    return "" if value is None else f"{value:.{digits}f}"
