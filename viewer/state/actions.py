"""What the program can be asked to do, as a table: menus, keys and the command search use it."""

from collections.abc import Callable
from dataclasses import dataclass

from viewer.state.session import Session


def always(_: Session) -> bool:
    return True


@dataclass(frozen=True)
class Action:
    """One thing to do. `menu` is its menu's title; `checked` makes it a tick or a choice.

    Keys that line edits use on some system (Ctrl with A, B, D, E, F, H, K, U) would not reach the
    menu while a line edit has the keyboard.
    """

    id: str
    title: str
    menu: str
    run: Callable[[Session], object]
    shortcut: str = ""
    tip: str = ""
    enabled: Callable[[Session], bool] = always
    checked: Callable[[Session], bool] | None = None
    named: Callable[[Session], str] | None = None
    """The title as things stand now, where it changes."""
    group: str = ""
    """Actions of one group stand together between separators."""


def has_traces(session: Session) -> bool:
    return any(True for _ in session.rows)


def has_selection(session: Session) -> bool:
    return bool(session.selection.ids)


def has_suspects(session: Session) -> bool:
    return session.has_suspects()


def is_busy(session: Session) -> bool:
    return session.jobs.current is not None


def step_suspect(session: Session, by: int) -> None:
    """Make the next (or previous) of the suspects the one selected string."""
    order = session.suspects()
    if not order:
        return
    current = session.selection.current
    if current in order:
        place = (order.index(current) + by) % len(order)
    else:
        place = 0 if by > 0 else len(order) - 1
    session.selection.choose([order[place]])


def select_combiner(session: Session) -> None:
    """Select all traces of the current trace's combiner in the shown visit."""
    current = session.current
    if current is None:
        return
    ids = session.shown_ids()
    combiner = current.trace.combiner or ""
    session.selection.choose(
        (
            row.trace_id
            for row in session.rows
            if row.combiner == combiner and (ids is None or row.trace_id in ids)
        ),
        current.trace.source,
    )


def select_all(session: Session) -> None:
    ids = session.shown_ids()
    session.selection.choose(
        row.trace_id for row in session.rows if ids is None or row.trace_id in ids
    )


def select_suspects(session: Session) -> None:
    session.selection.choose(session.suspects(), session.selection.current)


def keep_current_only(session: Session) -> None:
    if session.selection.current is not None:
        session.selection.choose([session.selection.current])


def toggle_pin(session: Session) -> None:
    current = session.selection.current
    if current is not None:
        session.selection.pin(current, current not in session.selection.pinned)


def is_pinned(session: Session) -> bool:
    return session.selection.current in session.selection.pinned


def choose_form(form: str) -> Callable[[Session], object]:
    def run(session: Session) -> None:
        session.choices.form.value = form

    return run


def form_is(form: str) -> Callable[[Session], bool]:
    return lambda session: session.choices.form.value == form


def swap_grid_reference(session: Session) -> None:
    reference = session.choices.grid_reference
    reference.value = "median" if reference.value == "prediction" else "prediction"


def undo_title(session: Session) -> str:
    return f"Undo: {session.undo_label}" if session.undo_label else "Undo"


def redo_title(session: Session) -> str:
    return f"Redo: {session.redo_label}" if session.redo_label else "Redo"


def cancel_jobs(session: Session) -> None:
    session.jobs.cancel_all()


SESSION_ACTIONS: tuple[Action, ...] = (
    Action(
        "next_suspect",
        "Next suspect",
        "Strings",
        lambda session: step_suspect(session, 1),
        "F8",
        "Select the next string that stands out, the worst first",
        has_suspects,
        group="step",
    ),
    Action(
        "previous_suspect",
        "Previous suspect",
        "Strings",
        lambda session: step_suspect(session, -1),
        "Shift+F8",
        "Select the string before it in the order of suspicion",
        has_suspects,
        group="step",
    ),
    Action(
        "select_combiner",
        "Select its combiner",
        "Strings",
        select_combiner,
        "Ctrl+G",
        "Select all strings of the current string's combiner",
        has_selection,
        group="select",
    ),
    Action(
        "select_suspects",
        "Select all suspects",
        "Strings",
        select_suspects,
        "Ctrl+Shift+U",
        "Select every string that stands out",
        has_suspects,
        group="select",
    ),
    Action(
        "select_all",
        "Select all of the visit",
        "Strings",
        select_all,
        "Ctrl+Shift+A",
        "Overlay every string of the shown visit",
        has_traces,
        group="select",
    ),
    Action(
        "keep_current",
        "Hide all but the current",
        "Strings",
        keep_current_only,
        "Ctrl+J",
        "Keep only the current string selected",
        has_selection,
        group="select",
    ),
    Action(
        "pin",
        "Pin its curve",
        "Strings",
        toggle_pin,
        "Ctrl+P",
        "Keep the current curve on the plot whatever is selected next",
        has_selection,
        is_pinned,
        group="pin",
    ),
    Action(
        "unpin_all",
        "Unpin all",
        "Strings",
        lambda session: session.selection.unpin_all(),
        "",
        "Take the pinned curves off the plot",
        lambda session: bool(session.selection.pinned),
        group="pin",
    ),
    Action(
        "form_measured",
        "Curves as measured",
        "Curves",
        choose_form("measured"),
        "Ctrl+1",
        "Volts, amperes and watts at the conditions of the day",
        always,
        form_is("measured"),
        group="form",
    ),
    Action(
        "form_stc",
        "Curves translated to STC",
        "Curves",
        choose_form("stc"),
        "Ctrl+2",
        "Moved to 1000 W/m² and 25 °C by IEC 60891",
        always,
        form_is("stc"),
        group="form",
    ),
    Action(
        "form_relative",
        "Curves relative to predicted",
        "Curves",
        choose_form("relative"),
        "Ctrl+3",
        "In parts of the predicted Voc, Isc and Pmp",
        always,
        form_is("relative"),
        group="form",
    ),
    Action(
        "swap_grid_reference",
        "Heat-grid against the combiner's median",
        "Curves",
        swap_grid_reference,
        "Ctrl+M",
        "Colour by the deviation from the combiner's median instead of the prediction",
        always,
        lambda session: session.choices.grid_reference.value == "median",
        group="grid",
    ),
    Action(
        "undo",
        "Undo",
        "File",
        lambda session: session.undo(),
        "Ctrl+Z",
        "Take back the last step kept with the site: a mark, a note, a finding, an import",
        lambda session: session.undo_label is not None,
        named=undo_title,
        group="undo",
    ),
    Action(
        "redo",
        "Redo",
        "File",
        lambda session: session.redo(),
        "Ctrl+Shift+Z",
        "Do again what was taken back",
        lambda session: session.redo_label is not None,
        named=redo_title,
        group="undo",
    ),
    Action(
        "cancel",
        "Cancel the work under way",
        "File",
        cancel_jobs,
        "Ctrl+.",
        "Stop what is being read or computed; what has arrived stays",
        is_busy,
        group="work",
    ),
)
