"""What a lost watt is worth: price, yield and typical year, and the year of light they give."""

from dataclasses import dataclass
from pathlib import Path

from viewer.analysis.losses.energy_cost import (
    PERFORMANCE_RATIO,
    YearOfLight,
    clear_year,
    year_from_data,
    year_from_sky,
)
from viewer.reading.typical_year_file import read_typical_year
from viewer.site_data.site_layout import SiteLayout


@dataclass(frozen=True)
class CostTerms:
    """price of one kWh in `currency`; stated_yield in kWh a year per kW; all may be unknown."""

    price: float | None = None
    currency: str = ""
    stated_yield: float | None = None
    year_file: Path | None = None
    performance_ratio: float = PERFORMANCE_RATIO


def year_for(layout: SiteLayout | None, terms: CostTerms) -> YearOfLight | None:
    """The year of light; None without a typical year where the location is not known.

    Raises ValueError with one sentence for a file or a yield that cannot be used.
    """
    location = layout.location if layout else None
    mounting = layout.mounting if layout else None
    if terms.year_file is not None:
        year = read_typical_year(terms.year_file)
        if year.poa_global is not None:
            return year_from_data(year.poa_global, year.source)
        if location is None:
            raise ValueError(
                f"{year.source} holds the sky's components; to bring them into the module plane, "
                "add [location] to site.toml."
            )
        return year_from_sky(year.times, year.sky, location, mounting, year.source)
    if location is None:
        return None
    return clear_year(location, mounting, terms.stated_yield, terms.performance_ratio)
