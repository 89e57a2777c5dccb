"""What every document states whatever its purpose: who, with what, how, how sure, what not."""

import textwrap
from collections import Counter
from collections.abc import Mapping, Sequence
from datetime import date

from viewer import __version__
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.nomenclature import quantity
from viewer.physics.uncertainty.uncertainty import INPUT_NAMES, SOURCES, InputUncertainties
from viewer.reports.document.content import (
    BulletList,
    Column,
    Facts,
    Paragraph,
    ReportDetails,
    Section,
    TableBlock,
    Value,
)
from viewer.reports.document.trace_blocks import has_rear_light
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts

LONGEST_REMARK = 900
"""Characters of the user's remarks that the one-page summary prints."""


def identity(
    layout: SiteLayout, results: Sequence[TraceResult], details: ReportDetails, printed_on: date
) -> Facts:
    """Site, client, dates, people and program."""
    words = texts(details.language)["report"]
    days = sorted({r.trace.measured_at.date() for r in results if r.trace.measured_at})
    measured = " – ".join(
        day.isoformat() for day in dict.fromkeys((days[0], days[-1]) if days else ())
    )
    entries = (
        (words["site"], layout.name),
        (words["client"], details.client),
        (words["measured"], measured),
        (words["traces"], str(len(results))),
        (words["tester"], details.tester),
        (words["qualification"], details.qualification),
        (words["weather"], details.weather),
        (words["sensor"], details.sensor),
        (words["next_inspection"], details.next_inspection),
        (words["printed"], printed_on.isoformat()),
        (words["program"], f"Curvewright {__version__}"),
        (words["signature"], words["signature_line"]),
    )
    return Facts(
        words["identity"], tuple((name, value or words["blank"]) for name, value in entries)
    )


def method_section(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    inputs: InputUncertainties,
    details: ReportDetails,
) -> Section:
    """Instruments, conditions and failed checks, correction method, model, uncertainty, limits."""
    words, heads = texts(details.language)["report"], texts(details.language)["columns"]
    instruments = details.instruments or (words["no_instruments"],)
    procedures = Counter(r.translation for r in results if r.translation)
    said = [f"{name}: {count}" for name, count in procedures.items()]
    in_full = (
        Paragraph(words["remarks"], strong=True),
        Paragraph(details.remarks, as_entered=True),
    )
    blocks = (
        *(in_full if _is_long(details.remarks) else ()),
        Paragraph(words["instruments"], strong=True),
        BulletList(tuple(instruments), as_entered=True),
        Paragraph(words["correction"], strong=True),
        BulletList(tuple(said) or (words["no_correction"],)),
        Paragraph(words["model"], strong=True),
        Paragraph(words["model_text"]),
        _datasheets(layout, words, heads),
        traced_table(layout, results, words, heads),
        checks_table(results, words, heads),
        *_changed_limits(details, words, heads),
        _uncertainty_table(inputs, texts(details.language)["inputs"], words, heads),
        Paragraph(words["limits_heading"], strong=True),
        BulletList(tuple(words["limits_text"])),
        Paragraph(texts(details.language)["cautions"]["heading"], strong=True),
        BulletList(tuple(texts(details.language)["cautions"]["sentences"])),
    )
    return Section(words["method"], blocks, on_new_page=True)


def remarks(details: ReportDetails) -> tuple[Paragraph, ...]:
    """The user's remarks for the summary; long ones only begin there, the method has them whole."""
    if not details.remarks:
        return ()
    if not _is_long(details.remarks):
        return (Paragraph(details.remarks, as_entered=True),)
    said = textwrap.shorten(details.remarks, LONGEST_REMARK, placeholder=" …")
    where = texts(details.language)["report"]["remarks_go_on"]
    return (Paragraph(f"{said} {where}", as_entered=True),)


def _is_long(text: str) -> bool:
    return len(text) > LONGEST_REMARK or text.count("\n") > 12


def _datasheets(
    layout: SiteLayout, words: Mapping[str, str], heads: Mapping[str, str]
) -> TableBlock:
    bifacial = any(m.bifaciality > 0.0 for m in layout.modules.values())
    points = [quantity(name) for name in ("i_sc", "v_oc", "i_mp", "v_mp")]
    columns = (
        Column(heads["module"], share=2.4, as_entered=True),
        Column(heads["technology"], share=1.2),
        *(Column(one.label, one.unit, 2) for one in points),
        *(Column(heads[name], "%/K", 3) for name in ("alpha", "beta", "gamma")),
        *((Column(heads["bifaciality"], "", 2),) if bifacial else ()),
    )
    rows = tuple(
        (
            m.library or m.key,
            m.technology,
            m.i_sc,
            m.v_oc,
            m.i_mp,
            m.v_mp,
            m.alpha_sc,
            m.beta_voc,
            m.gamma_pmp,
            *((m.bifaciality,) if bifacial else ()),
        )
        for m in layout.modules.values()
    )
    return TableBlock(words["datasheets"], columns, rows)


def traced_table(
    layout: SiteLayout,
    results: Sequence[TraceResult],
    words: Mapping[str, str],
    heads: Mapping[str, str],
) -> TableBlock:
    """What was traced and at which conditions, one row a trace."""
    rear = any(has_rear_light(r) for r in results)
    columns = (
        Column(heads["combiner"], share=1.2),
        Column(heads["string"], share=1.3),
        Column(heads["module"], share=1.5),
        Column(heads["in_series"], "", 0, 0.7),
        Column(heads["in_parallel"], "", 0, 0.7),
        Column(heads["measured_at"], share=1.5),
        Column(heads["sun"], "W/m²", 0, 0.9),
        *((Column(heads["sun_with_rear"], "W/m²", 0, 0.8),) if rear else ()),
        Column(heads["cell"], "°C", 1, 0.7),
    )
    rows: list[tuple[Value, ...]] = []
    for r in results:
        string = layout.string(r.trace.combiner, r.trace.string)
        rows.append(
            (
                r.trace.combiner or "–",
                r.trace.string or r.trace.source,
                string.module if string else "–",
                string.modules_in_series if string else None,
                string.strings_in_parallel if string else None,
                f"{r.trace.measured_at:%Y-%m-%d %H:%M}" if r.trace.measured_at else "–",
                r.conditions.poa_global,
                *((r.conditions.effective_irradiance,) if rear else ()),
                r.conditions.temperature_cell,
            )
        )
    return TableBlock(words["traced"], columns, tuple(rows))


def checks_table(
    results: Sequence[TraceResult], words: Mapping[str, str], heads: Mapping[str, str]
) -> TableBlock:
    """Every failed check, one row each; what passed is counted in the note."""
    rows = tuple(
        (r.trace.source, check.check, check.detail)
        for r in results
        for check in r.conditions.checks
        if not check.passed
    )
    total = sum(len(r.conditions.checks) for r in results)
    note = words["checks_note"].format(passed=total - len(rows), total=total)
    columns = (
        Column(heads["trace"], share=2.6, as_entered=True),
        Column(heads["check"], share=1.4),
        Column(heads["detail"], share=4),
    )
    return TableBlock(words["failed_checks"], columns, rows, note)


def _changed_limits(
    details: ReportDetails, words: Mapping[str, str], heads: Mapping[str, str]
) -> tuple[TableBlock, ...]:
    """What the checks were held against in place of the usual limits; nothing where nothing is."""
    if not details.changed_limits:
        return ()
    columns = (
        Column(heads["limit"], share=3),
        Column(heads["usual"], share=1.2),
        Column(heads["used"], share=1.2),
    )
    return (TableBlock(words["changed_limits"], columns, details.changed_limits),)


def _uncertainty_table(
    inputs: InputUncertainties,
    titles: Mapping[str, str],
    words: Mapping[str, str],
    heads: Mapping[str, str],
) -> TableBlock:
    columns = (
        Column(heads["input"], share=1.5),
        Column(heads["standard_uncertainty"], share=1.1),
        Column(heads["source"], share=4),
    )
    rows = tuple(
        (titles[name], _input_text(name, getattr(inputs, name)), _source_text(name, titles))
        for name in INPUT_NAMES
    )
    return TableBlock(words["uncertainty"], columns, rows, words["uncertainty_note"])


def _input_text(name: str, value: float) -> str:
    return f"{value:g} K" if name.startswith("temperature") else f"{100 * value:g} %"


def _source_text(name: str, titles: Mapping[str, str]) -> str:
    """Where the value comes from; other inputs are called as in their own rows."""
    said = SOURCES[name]
    for other, title in titles.items():
        if "_" in other:  # a name of the code, never a word of a sentence
            said = said.replace(other, f"“{title}”")
    return said
