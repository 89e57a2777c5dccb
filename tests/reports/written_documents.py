"""Documents on disk and what stands in them, for the tests of documents."""

import subprocess
from pathlib import Path

from viewer.analysis.results.trace_uncertainty import TraceUncertainty
from viewer.physics.measured_sweep.key_points import KeyPoints
from viewer.state.reporting.report_making import write_report


def written(made, path: Path) -> Path:
    for _ in write_report(made, [path]):
        pass
    return path


def pdf_text(path: Path) -> str:
    """What a reader of the PDF sees, by poppler."""
    run = ["pdftotext", "-layout", str(path), "-"]
    return subprocess.run(run, capture_output=True, check=True, text=True).stdout


def pages(path: Path) -> list[str]:
    return pdf_text(path).split("\f")[:-1]


def broad(result):
    """Uncertainties so large that nothing can be decided."""
    half = KeyPoints(*(value / 2 for value in result.translated.as_dict().values()))
    return TraceUncertainty(half, half, half)
