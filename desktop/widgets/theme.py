"""Colours and type: light, dark or as the system says, at any text size.

The colours stand on the Okabe-Ito set (Okabe and Ito 2008, memory), darkened or lightened until
words reach a contrast of 4.5 and shapes of 3 against their ground (WCAG 2.1 AA); a test computes
both. Nothing is ever told by colour alone.
"""

from __future__ import annotations

from dataclasses import dataclass
from importlib.resources import files
from typing import Final

from PySide6.QtCore import QObject, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPalette
from PySide6.QtWidgets import QApplication, QWidget

from core.drawing.roles import Role
from core.fitting import Verdict
from desktop.widgets.scheme import Scheme

_NO_BOUND: Final = 16777215  # Qt's QWIDGETSIZE_MAX
_BOUNDLESS: Final = QSize(_NO_BOUND, _NO_BOUND)


@dataclass(frozen=True, slots=True)
class Appearance:
    """Every colour of one scheme, as ``#rrggbb``."""

    is_dark: bool
    window: str
    base: str
    raised: str
    text: str
    muted: str
    line: str
    accent: str
    on_accent: str
    problem: str
    question: str
    verdicts: dict[Verdict, str]
    roles: dict[Role, str]

    def verdict(self, verdict: Verdict) -> QColor:
        """Return the fill of a verdict's shape."""
        return QColor(self.verdicts[verdict])

    def role(self, role: Role) -> QColor:
        """Return the colour of a thing in a chart."""
        return QColor(self.roles[role])


LIGHT: Final = Appearance(
    is_dark=False,
    window="#f3f1ec",
    base="#ffffff",
    raised="#e7e3da",
    text="#1c1b19",
    muted="#57544e",
    line="#857f73",
    accent="#005f95",
    on_accent="#ffffff",
    problem="#9c3a00",
    question="#7a5200",
    verdicts={
        Verdict.NO_READING: "#6b675f",
        Verdict.GOOD: "#007a58",
        Verdict.MOVE: "#0068a5",
        Verdict.READ_AGAIN: "#936300",
        Verdict.LEFT_AS_FOUND: "#a04a78",
        Verdict.NOTHING_TO_SET: "#6b675f",
        Verdict.STOP: "#b84300",
    },
    roles={
        Role.NOW: "#0072b2",
        Role.BEFORE: "#82939d",
        Role.PREDICTED: "#0072b2",
        Role.TARGET: "#007a58",
        Role.GOOD: "#009e73",
        Role.ALLOWED: "#3b97cc",
        Role.DANGER: "#d55e00",
        Role.GUIDE: "#857f73",
        Role.LEFT: "#936300",
        Role.RIGHT: "#a04a78",
        Role.OUTLINE: "#3b3934",
    },
)

DARK: Final = Appearance(
    is_dark=True,
    window="#1b1d20",
    base="#24272b",
    raised="#30343a",
    text="#eceae4",
    muted="#b7b3aa",
    line="#858a92",
    accent="#6cbfee",
    on_accent="#0c1a24",
    problem="#ff9a62",
    question="#f0b73a",
    verdicts={
        Verdict.NO_READING: "#a5a29a",
        Verdict.GOOD: "#2bc495",
        Verdict.MOVE: "#56b4e9",
        Verdict.READ_AGAIN: "#e69f00",
        Verdict.LEFT_AS_FOUND: "#d98fb7",
        Verdict.NOTHING_TO_SET: "#a5a29a",
        Verdict.STOP: "#ff7a33",
    },
    roles={
        Role.NOW: "#56b4e9",
        Role.BEFORE: "#66737c",
        Role.PREDICTED: "#56b4e9",
        Role.TARGET: "#2bc495",
        Role.GOOD: "#009e73",
        Role.ALLOWED: "#2f7fae",
        Role.DANGER: "#ff7a33",
        Role.GUIDE: "#858a92",
        Role.LEFT: "#e69f00",
        Role.RIGHT: "#d98fb7",
        Role.OUTLINE: "#d6d3cb",
    },
)


class _AppearanceKeeper(QObject):
    """Holds the scheme asked for, and follows changes of the system's."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._app = app
        self.scheme: Scheme = "system"
        self.text_scale = 1.0
        self.own_points = app.font().pointSizeF()
        if self.own_points <= 0:  # the platform gives its font in pixels
            self.own_points = 10.0
        app.setStyle("Fusion")  # once: setting it again frees the style that widgets still use
        app.styleHints().colorSchemeChanged.connect(self.dress)

    def dress(self) -> None:
        """Apply the colours and the type."""
        dark = self.scheme == "dark" or (
            self.scheme == "system" and self._app.styleHints().colorScheme() is Qt.ColorScheme.Dark
        )
        look = DARK if dark else LIGHT
        font = QFont(self._app.font())
        font.setPointSizeF(self.own_points * self.text_scale)
        self._app.setPalette(_palette(look))
        self._app.setFont(font)
        self._app.setStyleSheet(_sheet(look, QFontMetricsF(font).height()))


def apply(app: QApplication, scheme: Scheme = "system", *, text_scale: float = 1.0) -> None:
    """Apply a colour scheme and a text scale; ``system`` follows the system."""
    keeper = app.findChild(_AppearanceKeeper) or _AppearanceKeeper(app)
    ratio = text_scale / keeper.text_scale
    keeper.scheme = scheme
    keeper.text_scale = text_scale
    own_fonts = _own_fonts(app)  # a new style sheet would reset them
    keeper.dress()
    for widget, font in own_fonts:
        font.setPointSizeF(font.pointSizeF() * ratio)
        widget.setFont(font)
    if ratio != 1.0:
        _grow(app, ratio)


def current_scheme(app: QApplication) -> tuple[Scheme, float]:
    """Return the scheme and the size of type that were asked for last."""
    keeper = app.findChild(_AppearanceKeeper)
    return (keeper.scheme, keeper.text_scale) if keeper else ("system", 1.0)


def _own_fonts(app: QApplication) -> list[tuple[QWidget, QFont]]:
    """Return the widgets with a type of their own; the others follow the application."""
    return [
        (widget, QFont(widget.font()))
        for widget in app.allWidgets()
        if widget.testAttribute(Qt.WidgetAttribute.WA_SetFont) and widget.font().pointSizeF() > 0
    ]


def _grow(app: QApplication, ratio: float) -> None:
    """Scale fixed sizes, which were derived from the font, with the font."""
    for widget in app.allWidgets():
        if widget.isWindow():
            continue
        least, most = widget.minimumSize(), widget.maximumSize()
        if least.isNull() and most == _BOUNDLESS:
            continue
        widget.setMaximumSize(_BOUNDLESS)
        widget.setMinimumSize(round(least.width() * ratio), round(least.height() * ratio))
        widget.setMaximumSize(_bounded(most.width(), ratio), _bounded(most.height(), ratio))


def _bounded(most_px: int, ratio: float) -> int:
    return most_px if most_px >= _NO_BOUND else round(most_px * ratio)


def appearance_of(widget: QWidget) -> Appearance:
    """Return the appearance of a widget, read from its palette."""
    return DARK if widget.palette().color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT


def em(widget: QWidget) -> float:
    """Return the line height of the widget's text in pixels, the unit of all sizes."""
    return QFontMetricsF(widget.font()).height()


def scaled(font: QFont, factor: float, *, bold: bool = False) -> QFont:
    """Return the font larger or smaller, and bold if asked."""
    other = QFont(font)
    other.setPointSizeF(max(1.0, font.pointSizeF() * factor))
    other.setBold(bold)
    return other


def _palette(look: Appearance) -> QPalette:
    role = QPalette.ColorRole
    palette = QPalette()
    for where, colour in (
        (role.Window, look.window),
        (role.WindowText, look.text),
        (role.Base, look.base),
        (role.AlternateBase, look.window),
        (role.Text, look.text),
        (role.Button, look.raised),
        (role.ButtonText, look.text),
        (role.BrightText, look.problem),
        (role.ToolTipBase, look.base),
        (role.ToolTipText, look.text),
        (role.PlaceholderText, look.muted),
        (role.Highlight, look.accent),
        (role.HighlightedText, look.on_accent),
        (role.Link, look.accent),
        (role.Light, look.base),
        (role.Mid, look.line),
        (role.Dark, look.line),
    ):
        palette.setColor(where, QColor(colour))
    for where in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, where, QColor(look.muted))
    return palette


def _sheet(look: Appearance, line_px: float) -> str:
    """Write the style sheet; ``line_px`` is the height of a line of text."""
    pad, round_, gap = round(line_px * 0.3), round(line_px * 0.3), round(line_px * 0.6)
    mark = 2 * round(line_px * 0.36)
    tick = _icon("tick-ink.svg" if look.is_dark else "tick-pale.svg")
    down = _icon("down-pale.svg" if look.is_dark else "down-ink.svg")
    return f"""
QToolTip {{ color: {look.text}; background: {look.base}; border: 1px solid {look.line}; }}
QLineEdit, QPlainTextEdit, QComboBox {{
    background: {look.base}; color: {look.text}; border: 1px solid {look.line};
    border-radius: {round_}px; padding: {pad}px;
    selection-background-color: {look.accent}; selection-color: {look.on_accent};
}}
QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus {{
    border: 2px solid {look.accent}; padding: {max(0, pad - 1)}px;
}}
QLineEdit[refused="true"] {{ border: 2px solid {look.problem}; padding: {max(0, pad - 1)}px; }}
QLineEdit:disabled, QPlainTextEdit:disabled, QComboBox:disabled {{
    color: {look.muted}; background: {look.window};
}}
QComboBox::drop-down {{ border: none; width: {mark + gap}px; }}
QComboBox::down-arrow {{ image: url("{down}"); width: {mark}px; height: {mark}px; }}
QComboBox QAbstractItemView {{
    background: {look.base}; color: {look.text};
    selection-background-color: {look.accent}; selection-color: {look.on_accent};
}}
QPushButton {{
    background: {look.raised}; color: {look.text}; border: 1px solid {look.line};
    border-radius: {round_}px; padding: {pad}px {gap}px;
}}
QPushButton:hover {{ border-color: {look.accent}; }}
QPushButton:focus {{ border: 2px solid {look.accent}; padding: {max(0, pad - 1)}px {gap - 1}px; }}
QPushButton:disabled {{ color: {look.muted}; background: {look.window}; }}
QPushButton[primary="true"] {{ background: {look.accent}; color: {look.on_accent}; }}
QPushButton[primary="true"]:focus {{ border: 2px solid {look.text}; }}
QPushButton[primary="true"]:disabled {{ background: {look.raised}; color: {look.muted}; }}
QPushButton[quiet="true"] {{
    background: transparent; border: 1px solid transparent; color: {look.accent};
    text-align: left;
}}
QPushButton[quiet="true"]:focus {{ border: 2px solid {look.accent}; }}
QRadioButton::indicator, QCheckBox::indicator {{
    width: {mark}px; height: {mark}px; border: 2px solid {look.line}; background: {look.base};
}}
QRadioButton::indicator {{ border-radius: {mark // 2 + 2}px; }}
QCheckBox::indicator {{ border-radius: 3px; }}
QRadioButton::indicator:checked {{
    border-color: {look.accent};
    background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5,
        stop:0 {look.accent}, stop:0.55 {look.accent}, stop:0.62 {look.base}, stop:1 {look.base});
}}
QCheckBox::indicator:checked {{
    border-color: {look.accent}; background: {look.accent}; image: url("{tick}");
}}
QRadioButton::indicator:disabled, QCheckBox::indicator:disabled {{ background: {look.raised}; }}
QRadioButton, QCheckBox {{ padding: {max(1, pad // 2)}px; border: 2px solid transparent; }}
QRadioButton:focus, QCheckBox:focus {{
    border: 2px solid {look.accent}; border-radius: {round_}px;
}}
QLabel[kind="muted"] {{ color: {look.muted}; }}
QLabel[kind="problem"] {{ color: {look.problem}; font-weight: 600; }}
QLabel[kind="question"] {{ color: {look.question}; }}
QFrame[panel="true"] {{
    background: {look.base}; border: 1px solid {look.line}; border-radius: {round_}px;
}}
QScrollArea {{ border: none; background: transparent; }}
"""


def _icon(name: str) -> str:
    """Return where an icon lies, as a style sheet writes paths."""
    return str(files("resources").joinpath("icons", name)).replace("\\", "/")
