"""An invented site with a few traces, for the tests of the site file."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from viewer.site_data.datasheet import Datasheet
from viewer.site_data.iv_trace import MeasuredConditions, Trace
from viewer.site_data.site_file.importing import ImportedFile
from viewer.site_data.site_layout import Combiner, Location, Mounting, SiteLayout, StringLayout
from viewer.site_data.warranty_terms import WarrantyTerms

SHEET = Datasheet("A", "mono-Si", 9.5, 45.5, 9.0, 37.5, 0.05, -0.29, -0.37, 72, library="Some_Name")
LINEAR = WarrantyTerms(2.0, 0.5, 25.0, start=date(2022, 5, 1), rated_power=340.0)
THIN_FILM = Datasheet(
    "B",
    "CdTe",
    2.5,
    220,
    2.3,
    180,
    0.04,
    -0.28,
    -0.32,
    264,
    warranty=WarrantyTerms(steps=((10.0, 90.0), (25.0, 80.0))),
)
LAYOUT = SiteLayout(
    name="Invented field",
    modules={"A": replace(SHEET, warranty=LINEAR), "B": THIN_FILM, "C": replace(SHEET, key="C")},
    combiners=(
        Combiner(
            "CB2",
            (StringLayout("S2", "A", 24), StringLayout("S1", "A", 24, 2, 80.0, 6.0, "aluminium")),
        ),
        Combiner("CB1", (StringLayout("S1", "B", 6),)),
    ),
    location=Location(48.1, 11.5, 520.0, "Europe/Berlin"),
    mounting=Mounting(0.0, 180.0, tracking=True, max_angle=55.0),
)


def invented_trace(number: int, day: datetime, folder: str = "first", points: int = 40) -> Trace:
    """A trace with every field filled, different for every number."""
    random = np.random.default_rng(number)
    return Trace(
        source=f"{folder}/trace_{number:05}.csv",
        voltage=random.uniform(0, 900, points),
        current=random.uniform(0, 10, points),
        combiner="CB2" if number % 3 else "CB1",
        string="S1" if number % 2 else "S2",
        measured_at=day + timedelta(minutes=number),
        conditions=MeasuredConditions(poa_global=800.25 + number, temperature_module=41.7),
        serial=f"SN{number}",
        note="after cleaning" if number % 2 else None,
        sha256=f"{number:064x}",
        remarks=("Points sorted.", "Ünits in mV were taken as mV.") if number % 5 == 0 else (),
    )


FIRST_DAY = datetime(2022, 6, 1, 11, 0, tzinfo=timezone(timedelta(hours=2)))


def imported(traces: list[Trace]) -> list[ImportedFile]:
    """One file a trace, its bytes invented."""
    return [ImportedFile(one.source, f"bytes of {one.source}".encode(), (one,)) for one in traces]


def some_traces(count: int, first: int = 0, folder: str = "first") -> list[Trace]:
    return [invented_trace(first + n, FIRST_DAY, folder) for n in range(count)]


def new_file(folder: Path) -> Path:
    return folder / "field.curvewright"
