"""Making a report from results, a step at a time: both faces of the program use it."""

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path

from viewer.analysis.causes.confirmation import Confirmation
from viewer.analysis.results.trace_result import TraceResult
from viewer.analysis.years.baseline_change import SinceBaseline
from viewer.analysis.years.observation import observe
from viewer.analysis.years.trend import trend
from viewer.analysis.years.warranty import check_warranty
from viewer.physics.uncertainty.uncertainty import InputUncertainties
from viewer.reports.annotation import PlacedAnnotation
from viewer.reports.document.content import Document, ReportDetails
from viewer.reports.document.pdf_document import never, write_document
from viewer.reports.document.picture_pages import sorted_pictures, with_pictures
from viewer.reports.document.recommendations import recommendations
from viewer.reports.document.troubleshooting import RepairedString, troubleshooting
from viewer.reports.document.warranty_claim import warranty_claim
from viewer.reports.document.xlsx_document import write_workbook
from viewer.reports.document.yearly import yearly_condition
from viewer.site_data.datasheet import Datasheet
from viewer.site_data.report_details_file import EnteredDetails
from viewer.site_data.site_file.annotations import Repair
from viewer.site_data.site_layout import SiteLayout
from viewer.site_data.text_catalogue import texts
from viewer.site_data.warranty_terms import WarrantyTerms
from viewer.state.keeping.picture_store import PictureStore
from viewer.state.program.chosen_settings import ChosenSettings
from viewer.state.program.jobs import Progress
from viewer.state.reporting.printed_pictures import PrintedPictures
from viewer.state.reporting.reported_repairs import (
    all_repairs,
    repair_days_of,
    repaired_strings,
    settled_days,
    settled_repairs,
)
from viewer.state.reporting.reported_visit import Baseline, ReportedVisit, reported_visit

KINDS: dict[str, str] = {
    "troubleshooting": "what failed, what was done, before and after",
    "yearly": "degradation against the last visit and the baseline",
    "recommendations": "findings and recommendations to the owner, ranked by lost power",
    "warranty": "measured against warranted power, with the evidence",
}


@dataclass(frozen=True)
class ReportOrder:
    """Which report, of which results, as entered by whom, and where it goes."""

    kind: str
    layout: SiteLayout
    results: tuple[TraceResult, ...]
    details: EnteredDetails
    printed_on: date
    inputs: InputUncertainties
    warranty_start: date | None = None
    repairs: tuple[Repair, ...] = ()
    """Kept in the site file; printed beside those entered with the details."""
    marks: tuple[PlacedAnnotation, ...] = ()
    """What people drew on the plots."""
    terms: Mapping[str, WarrantyTerms] = field(default_factory=dict)
    """Warranty terms entered by module key, in place of those of the datasheets."""
    pictures: PictureStore | None = None
    """Where pictures of faults are kept."""
    visit: str | None = None
    """Name of the visit it is about; None: the newest."""
    baseline: Baseline = field(default_factory=Baseline)
    settings: ChosenSettings = field(default_factory=ChosenSettings)
    """What the results were computed with."""
    settled: tuple[Confirmation, ...] = ()
    """Findings confirmed or corrected in the field."""


def report_details(entered: EnteredDetails) -> ReportDetails:
    """The record that documents print."""
    return ReportDetails(**entered.values)


def make_document(order: ReportOrder) -> Document:
    """The document as data. Raises ValueError for a kind or visit that there is not."""
    details = replace(
        report_details(order.details),
        marks=order.marks,
        settled={one.trace: one for one in order.settled},
        changed_limits=order.settings.changed_limits(),
    )
    visit = reported_visit(order.results, order.visit, order.baseline)
    pictures = order.pictures.read() if order.pictures else ()
    if order.pictures is None or not pictures:
        return _document(order, visit, details)
    printed = PrintedPictures(order.pictures, details.language)
    found = sorted_pictures(pictures, visit.results, visit.name)
    details = replace(details, pictures=printed.by_trace(found))
    made = _document(order, visit, details)
    return with_pictures(made, pictures, printed.of(found.of_site))


def _document(order: ReportOrder, visit: ReportedVisit, details: ReportDetails) -> Document:
    common = (details, order.printed_on, order.inputs)
    if order.kind == "troubleshooting":
        repairs = all_repairs(order.details.repairs, order.repairs, order.settled)
        mended = [*repaired_strings(order.results, repairs), *_settled_repairs(order)]
        return troubleshooting(order.layout, visit.results, mended, *common)
    if order.kind == "recommendations":
        return recommendations(order.layout, visit.results, *common)
    layout = with_terms(order.layout, order.terms, order.warranty_start)
    if order.kind == "warranty":
        return _warranty(order, layout, visit, *common)
    observed = visit.known_then(observe(visit.until, layout, order.inputs))
    if order.kind == "yearly":
        rates = trend(observed, layout, _repair_days(order))
        return yearly_condition(layout, visit.results, observed, visit.baseline, rates, *common)
    raise ValueError(f"there is no report {order.kind!r}; there are {', '.join(KINDS)}")


def _warranty(
    order: ReportOrder,
    layout: SiteLayout,
    visit: ReportedVisit,
    details: ReportDetails,
    printed_on: date,
    inputs: InputUncertainties,
) -> Document:
    """Of the visit's traces and of the earlier ones that a check rests upon."""
    observed = observe(visit.until, layout, order.inputs)
    findings = check_warranty(observed.observations, layout)
    judged = {one.source for one in findings.checks}
    shown = judged | {r.trace.source for r in visit.results}
    results = [r for r in visit.until if r.trace.source in shown]
    since = None
    if visit.baseline is not None and visit.baseline < len(observed.visits):
        rates = trend(observed, layout, _repair_days(order))
        since = SinceBaseline(observed, visit.baseline, rates)
    return warranty_claim(
        layout, results, findings, observed.notes, details, printed_on, inputs, since
    )


def _settled_repairs(order: ReportOrder) -> list[RepairedString]:
    language = report_details(order.details).language
    before_day = texts(language)["troubleshooting"]["done_before"]
    return settled_repairs(order.results, order.settled, before_day, order.details.repairs)


def _repair_days(order: ReportOrder) -> Mapping[tuple[str, str], Sequence[date]]:
    """The days on which each string was mended, entered, kept or settled."""
    repairs = all_repairs(order.details.repairs, order.repairs, order.settled)
    days = dict(repair_days_of(repairs))
    for place, more in settled_days(_settled_repairs(order)).items():
        days[place] = [*days.get(place, ()), *more]
    return days


def with_terms(
    layout: SiteLayout, terms: Mapping[str, WarrantyTerms], start: date | None
) -> SiteLayout:
    """The layout with the warranty terms in force; `start` where terms give none."""

    def in_force(key: str, sheet: Datasheet) -> Datasheet:
        own = terms.get(key) or sheet.warranty
        if own is not None and own.start is None:
            own = replace(own, start=start)
        return replace(sheet, warranty=own)

    modules = {key: in_force(key, sheet) for key, sheet in layout.modules.items()}
    return replace(layout, modules=modules)


def write_report(
    order: ReportOrder, files: Iterable[Path], stopped: Callable[[], bool] = never
) -> Iterator[Progress]:
    """Writes the document to each file, PDF or XLSX by its suffix.

    `stopped` is asked at every page; once it says yes nothing more is written.

    Raises ValueError for another suffix, OSError when a file cannot be written.
    """
    wanted = list(files)
    wrong = next((file for file in wanted if file.suffix.lower() not in (".pdf", ".xlsx")), None)
    if wrong is not None:
        raise ValueError(f"{wrong.name}: a report is a .pdf or an .xlsx file")
    document = make_document(order)
    for file in wanted:
        if file.suffix.lower() == ".xlsx":
            write_workbook(document, file)
            yield Progress(1, 1, f"writing {file.name}")
        else:
            for step in write_document(document, file, stopped):
                yield Progress(step.done, step.total, f"writing {file.name}")
