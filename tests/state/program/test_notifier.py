import gc
import weakref

import pytest

from viewer.state.program.notifier import Notifier, Value


class Listener:
    def __init__(self) -> None:
        self.heard: list[tuple[object, ...]] = []

    def hear(self, *news: object) -> None:
        self.heard.append(news)


def test_a_listener_hears_every_notice_until_it_is_disconnected():
    notifier, listener = Notifier(), Listener()
    disconnect = notifier.connect(listener.hear)
    notifier.notify(1)
    disconnect()
    notifier.notify(2)
    assert listener.heard == [(1,)]


def test_listeners_are_not_kept_alive():
    notifier, listener = Notifier(), Listener()
    notifier.connect(listener.hear)
    alive = weakref.ref(listener)
    del listener
    gc.collect()
    assert alive() is None
    assert len(notifier) == 0
    notifier.notify()


def test_a_plain_function_is_refused_because_it_could_not_be_held_weakly():
    with pytest.raises(TypeError):
        Notifier().connect(lambda: None)


def test_notices_inside_held_are_dropped():
    notifier, listener = Notifier(), Listener()
    notifier.connect(listener.hear)
    with notifier.held():
        notifier.notify("dropped")
    notifier.notify("kept")
    assert listener.heard == [("kept",)]


def test_one_who_disconnects_another_during_a_notice_silences_it_at_once():
    notifier = Notifier()
    second = Listener()

    class First:
        def hear(self) -> None:
            disconnect_second()

    first = First()
    notifier.connect(first.hear)
    disconnect_second = notifier.connect(second.hear)
    notifier.notify()
    assert second.heard == []


def test_a_value_speaks_only_when_it_becomes_another():
    value, listener = Value("a"), Listener()
    value.changed.connect(listener.hear)
    value.value = "a"
    value.value = "b"
    value.value = "b"
    assert listener.heard == [("b",)]


def test_telling_many_does_not_compare_each_with_all(monkeypatch):
    def compare(*_):
        raise AssertionError("listeners were compared")

    notifier, listeners = Notifier(), [Listener() for _ in range(5)]
    ends = [notifier.connect(one.hear) for one in listeners]
    monkeypatch.setattr(weakref.WeakMethod, "__eq__", compare)
    notifier.notify("news")
    ends[3]()
    notifier.notify("more")
    assert [len(one.heard) for one in listeners] == [2, 2, 2, 1, 2]
