"""What would explain a measured curve: every scenario fitted to it, as a job, and the ranking."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass

from viewer.analysis.lesson.string_makeup import curve_of_one_string
from viewer.analysis.results.trace_result import TraceResult
from viewer.physics.cell_string.scenario import Scenario
from viewer.physics.cell_string.severity_fit import (
    MeasuredCurve,
    SeverityFit,
    fit_severity,
    ranked,
)
from viewer.site_data.site_layout import SiteLayout
from viewer.state.lesson.lesson_strings import LessonString, string_of
from viewer.state.program.jobs import Progress, Step

POOR_MISFIT = 0.02
"""A best fit further from the points than this share of the curve's size explains little."""

GRADES: tuple[tuple[float, str], ...] = (
    (2.0, "as good as the best"),
    (6.0, "a little worse"),
    (10.0, "clearly worse"),
    (float("inf"), "much worse"),
)
"""By how much the cost lies above the best one (R. Kass and A. Raftery, Journal of the American
Statistical Association 90 (1995) 773-795: their grades of twice the log of a Bayes factor, from
memory)."""


@dataclass(frozen=True, eq=False)
class Subject:
    """The measured curve to be explained, as of one string, and the string it was taken of."""

    trace_id: str
    string: LessonString
    measured: MeasuredCurve


def subject_of(result: TraceResult | None, layout: SiteLayout | None) -> Subject:
    """The current trace made ready. Raises ValueError in words where something is missing."""
    if result is None:
        raise ValueError("Open a site and select a string: its trace is what gets explained.")
    string = string_of(result, layout)
    assert string.layout is not None
    measured = curve_of_one_string(result, string.layout)
    return Subject(result.trace.source, string, measured)


def explain_steps(subject: Subject, candidates: Mapping[str, Scenario]) -> Iterator[Step]:
    """Fit one scenario after another; each step brings its `SeverityFit`.

    Raises ValueError in words for a datasheet or a curve that cannot be used.
    """
    makeup = subject.string.makeup
    total = len(candidates)
    for done, scenario in enumerate(candidates.values()):
        yield Step(Progress(done, total, scenario.name))
        fit = fit_severity(scenario, subject.measured, makeup)
        yield Step(Progress(done + 1, total, scenario.name), fit)


@dataclass(frozen=True, eq=False)
class Explained:
    """The fits so far, the likeliest first."""

    subject: Subject
    fits: tuple[SeverityFit, ...] = ()

    def with_more(self, fits: Sequence[SeverityFit]) -> "Explained":
        return Explained(self.subject, ranked((*self.fits, *fits)))

    def grade(self, fit: SeverityFit) -> str:
        """How a fit compares with the best one, in words."""
        if fit is self.fits[0]:
            return "best"
        beyond = fit.cost - self.fits[0].cost
        return next(words for limit, words in GRADES if beyond < limit)

    def summary(self) -> str:
        """What the fits say together."""
        if not self.fits:
            return ""
        best = self.fits[0]
        rivals = [one for one in self.fits[1:] if one.cost - best.cost < GRADES[0][0]]
        if best.misfit > POOR_MISFIT:
            return (
                f"No single scenario explains this curve well: the nearest, {best.scenario.name}, "
                f"stays {100 * best.misfit:.1f} % of its size away. Look for two faults together."
            )
        if best.scenario.cause == "none":
            text = "A healthy string explains this curve as well as any fault does"
        else:
            text = f"{best.scenario.name} explains this curve best"
        if rivals:
            names = ", ".join(one.scenario.name for one in rivals)
            return f"{text}; the curve alone cannot tell it from {names}. Use the checks below."
        return f"{text}; the other scenarios fit worse. Confirm it with the checks below."
