"""Where the modules and bypass groups of a string are painted in a given room."""

from dataclasses import dataclass
from functools import cached_property
from math import ceil

from PySide6.QtCore import QPointF, QRectF

WIDEST_MODULE = 150.0
SHAPE = 0.8
"""Height of a module over its width, at most."""
FLATTEST = 2.2
"""Width of a module over its height, at most, when the number in a line is chosen."""
GAP = 4.0


@dataclass(frozen=True)
class SchematicLayout:
    """Modules run from left to right, line by line, under a strip kept free at the top."""

    width: float
    height: float
    strip: float
    modules: int
    groups: int
    scale: float = 1.0

    @property
    def _widest(self) -> float:
        return WIDEST_MODULE * self.scale

    @cached_property
    def columns(self) -> int:
        """Modules side by side, so that the string fills the room it has."""
        high = max(self.height - self.strip, 1.0)
        best, area = 1, 0.0
        for columns in range(1, self.modules + 1):
            wide = min(self.width / columns, self._widest)
            tall = min(high / ceil(self.modules / columns), wide * SHAPE)
            covered = min(wide, tall * FLATTEST) * tall
            if covered > area * 1.0001:
                best, area = columns, covered
        return best

    @cached_property
    def module_boxes(self) -> tuple[QRectF, ...]:
        rows = ceil(self.modules / self.columns)
        wide = min(self.width / self.columns, self._widest)
        tall = min(max(self.height - self.strip, 1.0) / rows, wide * SHAPE)
        places = (divmod(module, self.columns) for module in range(self.modules))
        return tuple(
            QRectF(column * wide, self.strip + row * tall, wide, tall).adjusted(1, 1, -GAP, -GAP)
            for row, column in places
        )

    @cached_property
    def group_boxes(self) -> tuple[tuple[QRectF, ...], ...]:
        """For each module the places of its groups."""
        return tuple(
            tuple(
                QRectF(box.left() + group * wide, box.top(), wide, box.height())
                for group in range(self.groups)
            )
            for box in self.module_boxes
            for wide in (box.width() / self.groups,)
        )

    def group_at(self, place: QPointF) -> tuple[int, int] | None:
        """Module and group under a point."""
        for module, boxes in enumerate(self.group_boxes):
            if self.module_boxes[module].contains(place):
                group = sum(place.x() >= box.right() for box in boxes)
                return module, min(group, self.groups - 1)
        return None
