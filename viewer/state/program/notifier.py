"""The one small signal of the program: weak, guarded by equality, and it can be held still."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Generic, TypeVar
from weakref import WeakMethod

T = TypeVar("T")


class Notifier:
    """Calls the methods connected to it, in the order they were connected.

    Only bound methods are taken and they are held weakly, so that whoever listens can
    vanish without saying so; a plain function or a lambda raises TypeError, since a weak
    reference to it would die at once and a strong one would keep what it closes over alive.
    """

    def __init__(self) -> None:
        self._listeners: dict[int, WeakMethod[Callable[..., object]]] = {}
        """By a number of their own: to be found without comparing them with all the others."""
        self._next = 0
        self._held = 0

    def connect(self, listener: Callable[..., object]) -> Callable[[], None]:
        """Call `listener` at every notice; returns a function that ends that."""
        number, self._next = self._next, self._next + 1
        self._listeners[number] = WeakMethod(listener)

        def disconnect(*_: object) -> None:
            self._listeners.pop(number, None)

        return disconnect

    def notify(self, *news: object) -> None:
        if self._held:
            return
        for number, reference in tuple(self._listeners.items()):
            listener = reference()
            if listener is None:
                self._listeners.pop(number, None)
            elif number in self._listeners:
                listener(*news)

    @contextmanager
    def held(self) -> Iterator[None]:
        """Notices given inside are dropped."""
        self._held += 1
        try:
            yield
        finally:
            self._held -= 1

    def __len__(self) -> int:
        return sum(reference() is not None for reference in self._listeners.values())


class Value(Generic[T]):
    """One value with a notifier that speaks only when the value really became another."""

    def __init__(self, value: T) -> None:
        self._value = value
        self.changed = Notifier()

    @property
    def value(self) -> T:
        return self._value

    @value.setter
    def value(self, value: T) -> None:
        if value is self._value or value == self._value:
            return
        self._value = value
        self.changed.notify(value)
