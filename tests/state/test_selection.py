from hypothesis import given
from hypothesis import strategies as st

from viewer.state.selection import Selection


class Counter:
    def __init__(self, selection: Selection) -> None:
        self.count = 0
        selection.changed.connect(self.add)

    def add(self) -> None:
        self.count += 1


def test_the_last_chosen_is_current_unless_the_former_one_stays():
    selection = Selection()
    selection.choose(["a", "b"])
    assert selection.current == "b"
    selection.choose(["b", "c"])
    assert selection.current == "b"
    selection.choose(["c", "d"], current="c")
    assert selection.current == "c"


def test_choosing_the_same_again_is_silent():
    selection = Selection()
    counter = Counter(selection)
    selection.choose(["a"])
    selection.choose(["a"])
    assert counter.count == 1


def test_toggle_adds_as_current_and_takes_out():
    selection = Selection()
    selection.choose(["a"])
    selection.toggle("b")
    assert (selection.ids, selection.current) == (("a", "b"), "b")
    selection.toggle("b")
    assert (selection.ids, selection.current) == (("a",), "a")


def test_pinned_traces_are_shown_first_and_survive_another_selection():
    selection = Selection()
    selection.choose(["a"])
    selection.pin("a")
    selection.choose(["b"])
    assert selection.shown == ("a", "b")
    selection.unpin_all()
    assert selection.shown == ("b",)


STEPS = st.lists(
    st.tuples(
        st.sampled_from(["choose", "toggle", "clear", "pin", "unpin", "forget"]),
        st.lists(st.sampled_from("abcde"), max_size=4),
    ),
    max_size=30,
)


@given(STEPS)
def test_the_current_one_is_always_selected_and_nothing_twice(steps):
    selection = Selection()
    for kind, ids in steps:
        if kind == "choose":
            selection.choose(ids, ids[0] if ids else None)
        elif kind == "toggle" and ids:
            selection.toggle(ids[0])
        elif kind == "pin" and ids:
            selection.pin(ids[0])
        elif kind == "unpin" and ids:
            selection.pin(ids[0], pinned=False)
        elif kind == "clear":
            selection.clear()
        elif kind == "forget":
            selection.forget()
        assert (selection.current is None) == (not selection.ids)
        assert selection.current is None or selection.current in selection.ids
        assert len(set(selection.ids)) == len(selection.ids)
        assert len(set(selection.shown)) == len(selection.shown)
