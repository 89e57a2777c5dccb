"""Colour roles for light and dark, one spacing scale, and who decides which theme holds."""

from dataclasses import dataclass

from PySide6.QtCore import QObject, Qt
from PySide6.QtGui import QColor, QFont, QFontDatabase, QGuiApplication, QPalette

from viewer.state.program.notifier import Value
from viewer.state.program.settings import Settings

TIGHT, SMALL, MEDIUM, LARGE = 2, 4, 8, 16
"""The spacing scale, in device-independent pixels."""


@dataclass(frozen=True)
class Theme:
    """Colours by role. Text roles keep 4.5:1 on `window` and `base`, marks 3:1."""

    dark: bool
    window: str
    base: str
    raised: str
    text: str
    subtle: str
    line: str
    frame: str
    accent: str
    on_accent: str
    selected: str
    grid_line: str
    axis: str
    level_short: str
    level_watch: str
    level_unsure: str
    level_expected: str
    level_unknown: str
    below: str
    level_with: str
    above: str
    """`frame` is about fields and boxes that people fill in.

    `below`, `level_with`, `above`: ends and middle of the diverging map of the heat-grid.
    """

    def level(self, level: str) -> str:
        """Colour of a standing's level."""
        return str(getattr(self, f"level_{level}"))


LIGHT = Theme(
    dark=False,
    window="#F4F5F7",
    base="#FFFFFF",
    raised="#E9EBEF",
    text="#1B1F26",
    subtle="#565D69",
    line="#CDD1D8",
    frame="#838A95",
    accent="#0B5FA5",
    on_accent="#FFFFFF",
    selected="#CFE3F5",
    grid_line="#E3E6EB",
    axis="#4A505A",
    level_short="#B23A00",
    level_watch="#7A5A00",
    level_unsure="#6A4C93",
    level_expected="#00694D",
    level_unknown="#5E6570",
    below="#E58A4E",
    level_with="#FFFFFF",
    above="#6BA6DB",
)
DARK = Theme(
    dark=True,
    window="#1E2126",
    base="#16181C",
    raised="#2A2E35",
    text="#E7E9ED",
    subtle="#A5ACB8",
    line="#3B4049",
    frame="#727A88",
    accent="#6CB4F0",
    on_accent="#0E1116",
    selected="#274460",
    grid_line="#2B2F36",
    axis="#B4BAC4",
    level_short="#FF9D66",
    level_watch="#E8C13A",
    level_unsure="#C9A7F0",
    level_expected="#4FD1A5",
    level_unknown="#A5ACB8",
    below="#9C4A12",
    level_with="#16181C",
    above="#1F5F96",
)


class Look(QObject):
    """Which theme holds, after the settings and the system; panes follow `theme.changed`."""

    def __init__(self, settings: Value[Settings]) -> None:
        super().__init__()
        self._settings = settings
        self.theme: Value[Theme] = Value(self._wanted())
        settings.changed.connect(self._choose)
        QGuiApplication.styleHints().colorSchemeChanged.connect(self._choose)

    def _wanted(self) -> Theme:
        choice = self._settings.value.theme
        if choice == "system":
            scheme = QGuiApplication.styleHints().colorScheme()
            return DARK if scheme == Qt.ColorScheme.Dark else LIGHT
        return DARK if choice == "dark" else LIGHT

    def _choose(self, _: object = None) -> None:
        self.theme.value = self._wanted()


def palette(theme: Theme) -> QPalette:
    """The theme as Qt's palette."""
    roles = QPalette.ColorRole
    made = QPalette(QColor(theme.raised), QColor(theme.window))
    return _coloured(
        made,
        {
            roles.Window: theme.window,
            roles.WindowText: theme.text,
            roles.Base: theme.base,
            roles.AlternateBase: theme.window,
            roles.Text: theme.text,
            roles.PlaceholderText: theme.subtle,
            roles.Button: theme.raised,
            roles.ButtonText: theme.text,
            roles.ToolTipBase: theme.raised,
            roles.ToolTipText: theme.text,
            roles.Highlight: theme.accent,
            roles.HighlightedText: theme.on_accent,
            roles.Accent: theme.accent,
            roles.Link: theme.accent,
            roles.LinkVisited: theme.accent,
            roles.Mid: theme.line,
        },
    )


def rows_palette(theme: Theme) -> QPalette:
    """For lists and tables: what is selected keeps the colours of its text and its marks."""
    roles = QPalette.ColorRole
    return _coloured(
        palette(theme), {roles.Highlight: theme.selected, roles.HighlightedText: theme.text}
    )


def grid_palette(theme: Theme) -> QPalette:
    """For tables: Fusion rules them with the window's colour darkened to 100/120 of its value."""
    return _coloured(
        rows_palette(theme),
        {QPalette.ColorRole.Window: QColor(theme.grid_line).lighter(120).name()},
    )


def field_palette(theme: Theme) -> QPalette:
    """For what people fill in: Fusion frames it with the window's colour darkened to 100/140."""
    return _coloured(
        palette(theme),
        {QPalette.ColorRole.Window: QColor(theme.frame).lighter(140).name()},
    )


def _coloured(made: QPalette, colours: dict[QPalette.ColorRole, str]) -> QPalette:
    roles = QPalette.ColorRole
    for role, colour in colours.items():
        made.setColor(role, QColor(colour))
    subtle = made.color(roles.PlaceholderText)
    for role in (roles.Text, roles.ButtonText, roles.WindowText):
        made.setColor(QPalette.ColorGroup.Disabled, role, subtle)
    return made


def figures_font() -> QFont:
    """The general font, asked for digits of equal width so that columns of numbers align."""
    font = QFontDatabase.systemFont(QFontDatabase.SystemFont.GeneralFont)
    font.setFeature(QFont.Tag.fromString("tnum"), 1)
    return font


def mixed(first: str, second: str, share: float) -> QColor:
    """A colour `share` of the way from the first to the second."""
    one, two = QColor(first), QColor(second)
    return QColor.fromRgbF(
        one.redF() + (two.redF() - one.redF()) * share,
        one.greenF() + (two.greenF() - one.greenF()) * share,
        one.blueF() + (two.blueF() - one.blueF()) * share,
    )
