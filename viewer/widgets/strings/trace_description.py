"""What is known about a trace besides its key points, as text for a pane."""

from collections.abc import Sequence
from html import escape

from viewer.analysis.results.trace_result import Check, TraceResult
from viewer.physics.nomenclature import CONDITIONS, quantity, with_minus
from viewer.widgets.controls.theme import Theme


def description(result: TraceResult, theme: Theme) -> str:
    """HTML: conditions used and recorded, checks, what is missing, what the reader mended.

    Checks that failed come first: "check conditions" sends people here to look for them.
    """
    checks = result.conditions.checks
    failed, passed = ([one for one in checks if one.passed is so] for so in (False, True))
    parts = [
        _checks("Checks not passed", failed, theme),
        _conditions(result, theme),
        _checks("Checks", passed, theme),
    ]
    if result.translation:
        parts.append(_paragraphs("Translation", [with_minus(result.translation)], theme))
    for title, said in (
        ("Missing", result.missing),
        ("Noticed while reading", result.trace.remarks),
    ):
        parts.append(_paragraphs(title, [with_minus(one) for one in said], theme))
    if result.trace.note:
        parts.append(_paragraphs("Note", [result.trace.note], theme))
    return "".join(parts)


def heading(text: str, theme: Theme) -> str:
    return f'<div style="color:{theme.subtle}; margin-top:6px"><b>{escape(text)}</b></div>'


def _paragraphs(title: str, sentences: Sequence[str], theme: Theme) -> str:
    lines = [f"<div>{escape(one)}</div>" for one in sentences]
    return heading(title, theme) + "".join(lines) if lines else ""


def _conditions(result: TraceResult, theme: Theme) -> str:
    used = result.conditions
    rows: list[tuple[str, str, str]] = []
    for name, value, source in (
        ("poa_global", used.poa_global, used.irradiance_from),
        ("temperature_cell", used.temperature_cell, used.temperature_from),
    ):
        rows.append((f"{quantity(name).label}, used", _with_unit(name, value), source))
    for one in CONDITIONS:
        recorded = getattr(result.trace.conditions, one.name)
        if recorded is not None:
            rows.append((f"{one.label}, recorded", _with_unit(one.name, recorded), ""))
    if result.trace.measured_at is not None:
        rows.append(("Measured", f"{result.trace.measured_at:%Y-%m-%d %H:%M:%S}", ""))
    cells = "".join(
        f"<div>{escape(label)}: <b>{escape(value)}</b> "
        f'<span style="color:{theme.subtle}">{escape(with_minus(source))}</span></div>'
        for label, value, source in rows
    )
    return heading("Test conditions", theme) + cells


def _with_unit(name: str, value: float | None) -> str:
    if value is None:
        return "not known"
    return f"{quantity(name).text(value)} {quantity(name).unit}"


def _checks(title: str, checks: Sequence[Check], theme: Theme) -> str:
    lines = []
    for one in checks:
        mark, colour, word = (
            ("✓", theme.level_expected, "passed")
            if one.passed
            else ("✗", theme.level_short, "not passed")
        )
        lines.append(
            f'<div><span style="color:{colour}">{mark} {word}</span> '
            f"<b>{escape(one.check)}</b>: {escape(with_minus(one.detail))}</div>"
        )
    return heading(title, theme) + "".join(lines) if lines else ""
