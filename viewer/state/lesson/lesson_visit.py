"""A scenario saved as a visit folder, so that it can be opened like a measured one."""

from pathlib import Path

from viewer.analysis.lesson.simulated_visit import VisitPlan, simulated_layout, simulated_traces
from viewer.physics.cell_string.scenario import Scenario
from viewer.reading.plain.trace_writing import write_traces
from viewer.site_data.site_toml import FILE_NAME, site_toml_text
from viewer.site_data.whole_file import write_whole


def write_visit(
    folder: Path, scenario: Scenario, severity: float, extent: float | None, plan: VisitPlan
) -> list[str]:
    """Write site.toml and the traces into a new or empty folder; returns the traces' paths.

    The same plan gives the same files. Raises ValueError for a folder that holds something or
    a datasheet that cannot be used, and OSError.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise ValueError(f"{folder} is there already and not empty: name a new folder")
    traces = list(simulated_traces(scenario, severity, extent, plan))
    folder.mkdir(parents=True, exist_ok=True)
    write_whole(folder / FILE_NAME, site_toml_text(simulated_layout(plan)))
    return write_traces(traces, folder)


def free_folder(parent: Path, name: str) -> Path:
    """A folder of that name under the parent, numbered when it is there already."""
    folder, number = parent / name, 1
    while folder.exists():
        number += 1
        folder = parent / f"{name}_{number}"
    return folder
