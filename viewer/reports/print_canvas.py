"""A figure drawn by matplotlib as lines and letters on a page of reportlab: no picture between.

matplotlib hands each path and text to the renderer, which keeps paths as operators of PDF
(ISO 32000-1, tables 59 and 60); the flowable then paints them as often as the page is laid out.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np
from matplotlib.backend_bases import GraphicsContextBase, RendererBase
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties
from matplotlib.path import Path
from matplotlib.transforms import Transform
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable

from viewer.reports.pdf_page import BOLD, FONT, register_fonts

POINTS_AN_INCH = 72
_OPERATORS = {Path.MOVETO: "m", Path.LINETO: "l", Path.CURVE4: "c"}


@dataclass(frozen=True)
class _Words:
    x: float
    y: float
    text: str
    font: str
    size: float
    angle: float
    colour: tuple[float, float, float]


class RecordingRenderer(RendererBase):
    """Keeps what matplotlib draws, in points from the lower left corner."""

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self._size = (width, height)
        self.drawn: list[str | _Words] = []

    def draw_path(
        self,
        gc: GraphicsContextBase,
        path: Path,
        transform: Transform,
        rgbFace: Any = None,  # noqa: N803 (matplotlib's name)
    ) -> None:
        steps = tuple(_steps(path, transform, rgbFace is None))
        if not steps:
            return
        stroke = gc.get_linewidth() > 0 and gc.get_rgb()[3] > 0
        fill = rgbFace is not None and len(rgbFace) > 0 and _seen(rgbFace)
        if not stroke and not fill:
            return
        dashes: Any = gc.get_dashes()[1]
        clip = gc.get_clip_rectangle()
        words = ["q"]
        if clip is not None:
            words.append(_numbers((clip.x0, clip.y0, clip.width, clip.height)) + " re W n")
        if stroke:
            words.append(_numbers(_rgb(gc.get_rgb())) + " RG 1 j")
            words.append(_numbers((gc.get_linewidth(),)) + " w")
        if fill:
            words.append(_numbers(_rgb(rgbFace)) + " rg")
        if dashes is not None and len(dashes):
            words.append(f"[{_numbers(dashes)}] 0 d")
        words += steps
        words.append({(True, True): "B", (True, False): "S"}.get((stroke, fill), "f"))
        words.append("Q")
        self._lines("\n".join(words))

    def _lines(self, code: str) -> None:
        """Operators of PDF; those that follow each other are kept as one text."""
        if self.drawn and isinstance(self.drawn[-1], str):
            code = f"{self.drawn.pop()}\n{code}"
        self.drawn.append(code)

    def draw_text(
        self,
        gc: GraphicsContextBase,
        x: float,
        y: float,
        s: str,
        prop: FontProperties,
        angle: float,
        ismath: bool | str = False,
        mtext: Any = None,
    ) -> None:
        font = BOLD if prop.get_weight() in ("bold", 700) else FONT
        text = s.replace(r"\$", "$")
        size = prop.get_size_in_points()
        self.drawn.append(_Words(x, y, text, font, size, angle, _rgb(gc.get_rgb())))

    def draw_image(self, *_: Any, **__: Any) -> None:
        raise ValueError("a figure for a page holds lines and letters only, not pictures")

    def flipy(self) -> bool:
        return False

    def get_canvas_width_height(self) -> tuple[float, float]:
        return self._size

    def points_to_pixels(self, points: Any) -> Any:
        return points


class DrawnFigure(Flowable):
    """A figure as a block on a page, as large as it was made."""

    def __init__(self, sheet: Figure) -> None:
        super().__init__()
        sheet.set_dpi(POINTS_AN_INCH)
        self.width, self.height = (POINTS_AN_INCH * side for side in sheet.get_size_inches())
        recorder = RecordingRenderer(self.width, self.height)
        sheet.draw(recorder)
        self._drawn = tuple(recorder.drawn)

    def wrap(self, *_: float) -> tuple[float, float]:
        return self.width, self.height

    def draw(self) -> None:
        register_fonts()
        for one in self._drawn:
            if isinstance(one, _Words):
                _write(self.canv, one)
            else:
                self.canv.addLiteral(one)


def _write(canvas: Canvas, words: _Words) -> None:
    canvas.saveState()
    canvas.translate(words.x, words.y)
    canvas.rotate(words.angle)
    canvas.setFillColorRGB(*words.colour)
    canvas.setFont(words.font, words.size)
    canvas.drawString(0, 0, words.text)
    canvas.restoreState()


def _steps(path: Path, transform: Transform, simplify: bool) -> Iterator[str]:
    """The path as operators of PDF: moves, lines and cubic curves."""
    last = np.zeros(2)
    for numbers, code in path.iter_segments(transform, simplify=simplify):
        if code == Path.CLOSEPOLY:
            yield "h"
            continue
        if code == Path.CURVE3:
            control, end = numbers[:2], numbers[2:]
            first = last + (control - last) * 2 / 3
            numbers = np.concatenate([first, end + (control - end) * 2 / 3, end])
            code = Path.CURVE4
        yield f"{_numbers(numbers)} {_OPERATORS[code]}"
        last = np.asarray(numbers[-2:])


def _numbers(values: Iterable[float]) -> str:
    return " ".join([f"{value:.2f}" for value in values])


def _rgb(colour: Any) -> tuple[float, float, float]:
    return float(colour[0]), float(colour[1]), float(colour[2])


def _seen(colour: Any) -> bool:
    return len(colour) < 4 or colour[3] > 0
