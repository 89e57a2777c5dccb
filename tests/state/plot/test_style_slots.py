from hypothesis import given
from hypothesis import strategies as st

from viewer.state.plot.style_slots import StyleSlots


def test_a_curve_keeps_its_style_while_others_go():
    slots = StyleSlots()
    assert slots.assign(["a", "b", "c"], 3) == {"a": 0, "b": 1, "c": 2}
    assert slots.assign(["b", "c"], 3) == {"b": 1, "c": 2}
    assert slots.assign(["b", "c", "d"], 3) == {"b": 1, "c": 2, "d": 0}


def test_the_current_one_always_has_a_style():
    slots = StyleSlots()
    ids = [str(n) for n in range(20)]
    assert "19" in slots.assign(ids, 4, current="19")
    assert "7" in slots.assign(ids, 4, current="7")


@given(
    st.lists(st.lists(st.sampled_from("abcdefgh"), unique=True, max_size=8), max_size=6),
    st.integers(1, 6),
)
def test_styles_are_never_shared_nor_beyond_the_count(rounds, count):
    slots = StyleSlots()
    for ids in rounds:
        current = ids[-1] if ids else None
        styles = slots.assign(ids, count, current)
        assert len(set(styles.values())) == len(styles) == min(count, len(ids))
        assert all(0 <= slot < count for slot in styles.values())
        assert current is None or current in styles
