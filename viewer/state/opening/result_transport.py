"""Results on their way from one process to another: every curve's points in one block.

A pickled array costs more than its points; a thousand small ones are quicker as parts of one.
"""

import gc
import io
import pickle
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
from numpy.typing import NDArray


def packed(outcomes: object) -> bytes:
    """Anything that can be pickled, as bytes for `unpacked`."""
    stream = io.BytesIO()
    packer = _Packer(stream)
    packer.dump(outcomes)
    block = np.concatenate(packer.arrays) if packer.arrays else np.empty(0)
    return pickle.dumps((block, stream.getbuffer().tobytes()), pickle.HIGHEST_PROTOCOL)


def unpacked(data: bytes) -> Any:
    """What was packed by another process of this program; arrays are parts of one block."""
    with collection_paused():
        block, content = pickle.loads(data)
        return _Unpacker(io.BytesIO(content), block).load()


@contextmanager
def collection_paused() -> Iterator[None]:
    """Thousands of new objects that all stay: looking for unused ones among them is in vain."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()


class _Packer(pickle.Pickler):
    """Puts rows of numbers aside, in order; what it writes says how many each has."""

    def __init__(self, stream: io.BytesIO) -> None:
        super().__init__(stream, pickle.HIGHEST_PROTOCOL)
        self.arrays: list[NDArray[np.float64]] = []

    def reducer_override(self, value: Any) -> Any:
        if type(value) is not np.ndarray or value.ndim != 1 or value.dtype != np.float64:
            return NotImplemented
        self.arrays.append(value)
        return _next_part, (value.size,)


def _next_part(count: int) -> NDArray[np.float64]:
    """Stands in the pickled bytes for the method of an `_Unpacker`."""
    raise RuntimeError(f"{count} numbers can only be taken from an unpacker's block")


class _Unpacker(pickle.Unpickler):
    def __init__(self, stream: io.BytesIO, block: NDArray[np.float64]) -> None:
        super().__init__(stream)
        self._block = block
        self._taken = 0

    def find_class(self, module: str, name: str) -> Any:
        if module == __name__ and name == _next_part.__name__:
            return self._take
        return super().find_class(module, name)

    def _take(self, count: int) -> NDArray[np.float64]:
        begin, self._taken = self._taken, self._taken + count
        return self._block[begin : self._taken]
