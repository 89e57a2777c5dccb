"""Finding an action by some letters of its words."""

from collections.abc import Iterable

from viewer.state.actions import Action


def matching(actions: Iterable[Action], words: str) -> tuple[Action, ...]:
    """Actions whose menu, title and tip hold every word; those whose title begins so first."""
    wanted = words.lower().split()
    found = [
        one
        for one in actions
        if all(word in f"{one.menu} {one.title} {one.tip}".lower() for word in wanted)
    ]
    return tuple(sorted(found, key=lambda one: _place(one, wanted)))


def _place(action: Action, wanted: list[str]) -> tuple[bool, bool]:
    title = action.title.lower()
    begins = bool(wanted) and title.startswith(wanted[0])
    return not begins, not all(word in title for word in wanted)
