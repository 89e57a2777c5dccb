"""What the panes for the day before and for the moment at the string ask of the open site."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date

from viewer.analysis.before_visit.at_the_string import (
    Expectation,
    VoltageDeficit,
    expect_string,
    read_voltage_deficit,
)
from viewer.analysis.before_visit.good_hours import (
    DayWindow,
    HourNeeds,
    SunHours,
    TypicalWeather,
    day_windows,
    sun_hours,
)
from viewer.site_data.site_layout import Location, Mounting, SiteLayout
from viewer.state.opening.module_fits import ModuleFits
from viewer.state.program.jobs import Progress, Step

DAYS_AT_ONCE = 31


class SiteExpectations:
    """Expected readings of the site's strings; a module type is fitted when first asked for."""

    def __init__(self) -> None:
        self._fits = ModuleFits()

    def expect(
        self,
        layout: SiteLayout,
        combiner: str,
        string: str,
        poa_global: float,
        temperature_module: float,
        measured_v_oc: float | None = None,
    ) -> tuple[Expectation, VoltageDeficit | None]:
        """What that string should read, and what a measured Voc [V] says.

        Raises ValueError with one sentence when the string has no usable datasheet.
        """
        place = layout.string(combiner, string)
        if place is None:
            raise ValueError(f"The site lists no string {string} in {combiner}.")
        fit = self._fits.of(layout, place.module)
        if fit is None or fit.model is None:
            why = " ".join(fit.problems if fit is not None else ("it is not in site.toml.",))
            raise ValueError(f"There is no model of module {place.module}: {why}")
        expectation = expect_string(fit.model, place, poa_global, temperature_module)
        if not measured_v_oc:
            return expectation, None
        datasheet = layout.modules[place.module]
        return expectation, read_voltage_deficit(measured_v_oc, expectation, datasheet, place)


@dataclass(frozen=True, eq=False)
class SunPart:
    """A stretch of days of the sun's course and their windows."""

    course: SunHours
    windows: tuple[DayWindow, ...]


def sun_steps(
    location: Location,
    mounting: Mounting,
    first_day: date,
    last_day: date,
    needs: HourNeeds,
    weather: TypicalWeather,
) -> Iterator[Step]:
    """A job: the course month by month, so that it can be shown and cancelled on the way."""
    total = (last_day - first_day).days + 1
    for start in range(0, total, DAYS_AT_ONCE):
        first = date.fromordinal(first_day.toordinal() + start)
        last = min(last_day, date.fromordinal(first.toordinal() + DAYS_AT_ONCE - 1))
        course = sun_hours(location, mounting, first, last, needs, weather)
        done = (last - first_day).days + 1
        yield Step(Progress(done, total, "days of sun"), SunPart(course, day_windows(course)))
