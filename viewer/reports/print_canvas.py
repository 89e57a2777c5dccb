"""A figure drawn by matplotlib as lines and letters on a page of reportlab: no picture between.

matplotlib hands each path and text to the renderer, which keeps them; the flowable then
paints them as often as the page is laid out.
"""

from collections.abc import Callable, Iterable
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


@dataclass(frozen=True)
class _Line:
    """A path as canvas calls, with its look."""

    steps: tuple[tuple[str, tuple[float, ...]], ...]
    stroke: tuple[float, float, float] | None
    fill: tuple[float, float, float] | None
    width: float
    dashes: tuple[float, ...]
    clip: tuple[float, float, float, float] | None


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
        self.drawn: list[_Line | _Words] = []

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
        dashes: Any = gc.get_dashes()[1]
        clip = gc.get_clip_rectangle()
        self.drawn.append(
            _Line(
                steps,
                _rgb(gc.get_rgb()) if gc.get_linewidth() > 0 and gc.get_rgb()[3] > 0 else None,
                _rgb(rgbFace) if rgbFace is not None and len(rgbFace) and _seen(rgbFace) else None,
                gc.get_linewidth(),
                () if dashes is None else tuple(float(one) for one in dashes),
                None if clip is None else (clip.x0, clip.y0, clip.width, clip.height),
            )
        )

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
                _paint(self.canv, one)


def _write(canvas: Canvas, words: _Words) -> None:
    canvas.saveState()
    canvas.translate(words.x, words.y)
    canvas.rotate(words.angle)
    canvas.setFillColorRGB(*words.colour)
    canvas.setFont(words.font, words.size)
    canvas.drawString(0, 0, words.text)
    canvas.restoreState()


def _paint(canvas: Canvas, line: _Line) -> None:
    canvas.saveState()
    if line.clip is not None:
        edge = canvas.beginPath()
        edge.rect(*line.clip)
        canvas.clipPath(edge, stroke=0, fill=0)
    if line.stroke is not None:
        canvas.setStrokeColorRGB(*line.stroke)
        canvas.setLineWidth(line.width)
        canvas.setLineJoin(1)
    if line.fill is not None:
        canvas.setFillColorRGB(*line.fill)
    if line.dashes:
        canvas.setDash(list(line.dashes))
    path = canvas.beginPath()
    calls: dict[str, Callable[..., object]] = {
        "move": path.moveTo,
        "line": path.lineTo,
        "curve": path.curveTo,
        "close": path.close,
    }
    for name, numbers in line.steps:
        calls[name](*numbers)
    canvas.drawPath(path, stroke=int(line.stroke is not None), fill=int(line.fill is not None))
    canvas.restoreState()


def _steps(
    path: Path, transform: Transform, simplify: bool
) -> Iterable[tuple[str, tuple[float, ...]]]:
    """The path as moves, lines and cubic curves, rounded to a thousandth of a point."""
    last = np.zeros(2)
    for numbers, code in path.iter_segments(transform, simplify=simplify):
        if not np.all(np.isfinite(numbers)):
            continue
        if code == Path.CLOSEPOLY:
            yield "close", ()
            continue
        if code == Path.CURVE3:
            control, end = numbers[:2], numbers[2:]
            first = last + (control - last) * 2 / 3
            numbers = np.concatenate([first, end + (control - end) * 2 / 3, end])
            code = Path.CURVE4
        name = {Path.MOVETO: "move", Path.LINETO: "line", Path.CURVE4: "curve"}[code]
        yield name, tuple(round(float(one), 3) for one in numbers)
        last = np.asarray(numbers[-2:])


def _rgb(colour: Any) -> tuple[float, float, float]:
    return float(colour[0]), float(colour[1]), float(colour[2])


def _seen(colour: Any) -> bool:
    return len(colour) < 4 or colour[3] > 0
