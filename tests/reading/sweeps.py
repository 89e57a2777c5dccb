"""An invented sweep to write into files of many layouts, and a check that it came back."""

import numpy as np

from viewer.reading.file_reading import FileReading, read_data
from viewer.reading.recipes.recipe import Recipe
from viewer.site_data.iv_trace import Trace

VOLTAGE = np.linspace(0.0, 708.0, 60)
CURRENT = np.round(9.0 * (1.0 - np.exp((VOLTAGE - 708.0) / 40.0)), 4)
POINTS = list(zip(VOLTAGE.tolist(), CURRENT.tolist(), strict=True))


def read(content: str | bytes, name: str = "a.csv", recipe: Recipe | None = None) -> FileReading:
    return read_data(content.encode() if isinstance(content, str) else content, name, recipe)


def lines(form: str, scale: tuple[float, float] = (1.0, 1.0), points: list = POINTS) -> str:
    """A line for each point; `form` uses v and i, as in "{v:.2f};{i:.4f}"."""
    return "".join(form.format(v=v * scale[0], i=i * scale[1]) + "\n" for v, i in points)


def comma(text: str) -> str:
    """Decimal points to decimal commas."""
    return text.replace(".", ",")


def assert_is_sweep(trace: Trace) -> None:
    np.testing.assert_allclose(trace.voltage, VOLTAGE, atol=1e-3)
    np.testing.assert_allclose(trace.current, CURRENT, atol=1e-4)


def only_trace(reading: FileReading) -> Trace:
    assert reading.failures == ()
    (trace,) = reading.traces
    assert_is_sweep(trace)
    return trace
