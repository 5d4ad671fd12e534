"""Colours and type: light, dark or the system's, at any text size.

The colours are based on the Okabe-Ito set (Okabe and Ito 2008, memory), darkened or lightened until
words reach a contrast of 4.5 and shapes of 3 against their ground (WCAG 2.1 AA); a test computes
both. Colour is never the only sign.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from importlib.resources import files
from typing import Final

from PySide6.QtCore import QEvent, QObject, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetrics, QFontMetricsF, QPalette, QPixmapCache
from PySide6.QtWidgets import QApplication, QWidget
from shiboken6 import isValid

from core.drawing.roles import MarkRole
from core.fitting import Verdict
from desktop.widgets.scheme import Scheme

SCALES: Final = (1.0, 1.25, 1.5, 1.75)
"""The offered sizes of type."""

TITLE_BAR_PX: Final = 40
"""What a title bar takes at most; Qt knows the frame only once the window is up."""
FRAME_PX: Final = 8
PARTS_KEPT_KB: Final = 2_048
"""What Qt may keep of drawn scroll bars; it draws each page's anew, and keeps 10 MB of the old."""
_NO_BOUND: Final = 16777215  # Qt's QWIDGETSIZE_MAX
_FONT_GIVEN_BACK: Final = "_q_styleSheetWidgetFont"
_OF_QT: Final = "qt_"
_EXACT: Final = "exact_px"
"""Least and most width and height of a widget, before they were rounded."""
_BOUNDLESS: Final = QSize(_NO_BOUND, _NO_BOUND)
# Looked up once: a change of colours asks for each some thousand times.
_OWN_TYPE: Final = Qt.WidgetAttribute.WA_SetFont
_STYLE_CHANGE: Final = QEvent.Type.StyleChange
_LAYOUT_REQUEST: Final = QEvent.Type.LayoutRequest.value


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
    roles: dict[MarkRole, str]

    def verdict(self, verdict: Verdict) -> QColor:
        """Return the fill of a verdict's shape."""
        return QColor(self.verdicts[verdict])

    def role(self, role: MarkRole) -> QColor:
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
        MarkRole.NOW: "#0072b2",
        MarkRole.BEFORE: "#82939d",
        MarkRole.PREDICTED: "#0072b2",
        MarkRole.TARGET: "#007a58",
        MarkRole.GOOD: "#009e73",
        MarkRole.ALLOWED: "#3b97cc",
        MarkRole.DANGER: "#d55e00",
        MarkRole.GUIDE: "#857f73",
        MarkRole.LEFT: "#936300",
        MarkRole.RIGHT: "#a04a78",
        MarkRole.OUTLINE: "#3b3934",
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
        MarkRole.NOW: "#56b4e9",
        MarkRole.BEFORE: "#66737c",
        MarkRole.PREDICTED: "#56b4e9",
        MarkRole.TARGET: "#2bc495",
        MarkRole.GOOD: "#009e73",
        MarkRole.ALLOWED: "#2f7fae",
        MarkRole.DANGER: "#ff7a33",
        MarkRole.GUIDE: "#858a92",
        MarkRole.LEFT: "#e69f00",
        MarkRole.RIGHT: "#d98fb7",
        MarkRole.OUTLINE: "#d6d3cb",
    },
)


class _AppearanceKeeper(QObject):
    """Holds the chosen scheme, and follows changes of the system's."""

    def __init__(self, app: QApplication) -> None:
        super().__init__(app)
        self._app = app
        self.scheme: Scheme = "system"
        self.text_scale = 1.0
        self.is_dark = False
        self.own_points = app.font().pointSizeF()
        if self.own_points <= 0:  # the platform gives its font in pixels
            self.own_points = 10.0
        QPixmapCache.setCacheLimit(PARTS_KEPT_KB)
        app.setStyle("Fusion")  # once: setting it again frees the style that widgets still use
        app.styleHints().colorSchemeChanged.connect(self.dress)

    def dress(self) -> None:
        """Apply colours and type.

        The style sheet is set once. Setting it again makes Qt restyle every widget once for each of
        its ancestors, hidden or not, from a list that may name deleted widgets.
        """
        dark = self.scheme == "dark" or (
            self.scheme == "system" and self._app.styleHints().colorScheme() is Qt.ColorScheme.Dark
        )
        self.is_dark = dark
        font = QFont(self._app.font())
        font.setPointSizeF(self.own_points * self.text_scale)
        is_first = not self._app.styleSheet()
        moves_type = is_first or font != self._app.font()
        self._app.setPalette(_palette(DARK if dark else LIGHT))
        self._app.setFont(font)
        if is_first:
            self._app.setStyleSheet(_sheet([self._line_px(scale) for scale in SCALES]))
        for window in self._app.topLevelWidgets():
            self.mark(window)
            self._dress_again(window, moves_type=moves_type)

    def mark(self, window: QWidget) -> None:
        """Set what a window's style sheet cannot know: the icons' colour, the marks' size."""
        window.setProperty("dark", self.is_dark)
        window.setProperty("line", self._line_px(self.text_scale))

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Restyle a widget that was hidden at the last change, now that it is shown."""
        if event.type() == QEvent.Type.Show and isinstance(watched, QWidget):
            watched.removeEventFilter(self)
            self._dress_again(watched, moves_type=True)
        return False

    def _dress_again(self, top: QWidget, *, moves_type: bool) -> None:
        """Restyle visible widgets, parents first; hidden ones wait until they are shown.

        Other colours alone only paint them anew: Qt would lay out all that is told of another
        style. Restyling one widget may delete another, so each is looked up again.
        """
        waiting = [top]
        while waiting:
            widget = waiting.pop()
            if not isValid(widget):
                continue
            if not widget.isVisible():
                widget.removeEventFilter(self)  # one is enough
                widget.installEventFilter(self)
                continue
            has_own_type = widget.testAttribute(_OWN_TYPE)
            own_type = QFont(widget.font())
            widget.style().polish(widget)
            if has_own_type:
                _set_own_font(widget, own_type)
            if moves_type:
                QApplication.sendEvent(widget, QEvent(_STYLE_CHANGE))
            else:
                widget.update()
            if isValid(widget):
                waiting.extend(one for one in widget.children() if isinstance(one, QWidget))

    def _line_px(self, scale: float) -> int:
        """Return the height of a line as style sheets count it."""
        font = QFont(self._app.font())
        font.setPointSizeF(self.own_points * scale)
        return QFontMetrics(font).height()


def apply(
    app: QApplication,
    scheme: Scheme = "system",
    *,
    text_scale: float = 1.0,
    then: Callable[[], None] | None = None,
) -> None:
    """Apply a colour scheme and a text scale; ``system`` follows the system.

    ``then`` is called when all is laid out, before it is painted.
    """
    keeper = app.findChild(_AppearanceKeeper) or _AppearanceKeeper(app)
    ratio = text_scale / keeper.text_scale
    keeper.scheme = scheme
    keeper.text_scale = text_scale
    if ratio == 1.0 and app.styleSheet():  # other colours move no type
        keeper.dress()
        if then is not None:
            then()
        return
    own_fonts = _own_fonts(app)  # a new style sheet would reset them
    keeper.dress()
    for widget, font in own_fonts:
        font.setPointSizeF(font.pointSizeF() * ratio)
        _set_own_font(widget, font)
    if ratio != 1.0:
        _grow(app, ratio)
        _lay_out(app)
    if then is not None:
        then()


def mark(window: QWidget) -> None:
    """Let icons and marks in a new window follow colours and type."""
    app = QApplication.instance()
    keeper = app.findChild(_AppearanceKeeper) if app is not None else None
    if keeper is not None:
        keeper.mark(window)


def current_scheme(app: QApplication) -> tuple[Scheme, float]:
    """Return the scheme and the size of type that were chosen last."""
    keeper = app.findChild(_AppearanceKeeper)
    return (keeper.scheme, keeper.text_scale) if keeper else ("system", 1.0)


def _own_fonts(app: QApplication) -> list[tuple[QWidget, QFont]]:
    """Return the widgets with a font of their own; the others follow the application."""
    return [
        (widget, QFont(widget.font()))
        for widget in app.allWidgets()
        if widget.testAttribute(_OWN_TYPE) and widget.font().pointSizeF() > 0
    ]


def _set_own_font(widget: QWidget, font: QFont) -> None:
    """Set a font, and let Qt give this one back when the widget moves to another parent.

    Qt keeps for that the font from before the style sheet, and does not follow later ones.
    """
    widget.setFont(font)
    if widget.property(_FONT_GIVEN_BACK) is not None:
        widget.setProperty(_FONT_GIVEN_BACK, font)


def _grow(app: QApplication, ratio: float) -> None:
    """Scale fixed sizes that were derived from the font, but not those of Qt's own parts.

    A size is worked out from what it was before it was rounded, so that after other sizes of type
    and back it is the same to the pixel.
    """
    for widget in app.allWidgets():
        least, most = widget.minimumSize(), widget.maximumSize()
        if (least.isNull() and most == _BOUNDLESS) or widget.isWindow():
            continue
        if widget.objectName().startswith(_OF_QT):
            continue
        sides = [least.width(), least.height(), most.width(), most.height()]
        exact = widget.property(_EXACT)
        if exact is None or [_whole(side) for side in exact] != sides:
            exact = sides
        exact = [side if side >= _NO_BOUND else side * ratio for side in exact]
        widget.setProperty(_EXACT, exact)
        across, down, most_across, most_down = (_whole(side) for side in exact)
        widget.setMaximumSize(_BOUNDLESS)
        widget.setMinimumSize(across, down)
        widget.setMaximumSize(most_across, most_down)


def _lay_out(app: QApplication) -> None:
    """Lay out what is on show now, so that it is laid out and painted once.

    Qt goes from the outside in, and asks the outer parts again after each level. From the inside
    out each part knows what it needs before it is asked; then comes what other widths change.
    """
    waiting = [window for window in app.topLevelWidgets() if window.isVisible()]
    found = list[QWidget]()
    while waiting:
        widget = waiting.pop()
        found.append(widget)
        waiting.extend(
            one for one in widget.children() if isinstance(one, QWidget) and one.isVisible()
        )
    for widget in reversed(found):
        if isValid(widget):
            QApplication.sendPostedEvents(widget, _LAYOUT_REQUEST)
    QApplication.sendPostedEvents(None, _LAYOUT_REQUEST)


def _whole(side_px: float) -> int:
    return _NO_BOUND if side_px >= _NO_BOUND else round(side_px)


def appearance_of(widget: QWidget) -> Appearance:
    """Return the appearance of a widget, read from its palette."""
    return DARK if widget.palette().color(QPalette.ColorRole.Window).lightness() < 128 else LIGHT


def em(widget: QWidget) -> float:
    """Return the line height of the widget's text in pixels, the unit of all sizes."""
    return QFontMetricsF(widget.font()).height()


def forget_with(part: QWidget) -> None:
    """Let Qt forget the style rules of a part with the part, also where it doesn't style it.

    Qt looks up the rules of a list's frame in a combo box, and of the field in an editable one or
    a spin box, while it makes them, and later forgets only those of widgets that it styles: 0.3 kB
    each stayed for good. A style sheet of the part's own, taken off at once, puts it among these.
    """
    part.setStyleSheet(" ")
    part.setStyleSheet("")


def take_room(dialog: QWidget, across_em: float, down_em: float) -> None:
    """Give a dialog its size in line heights, or what the screen leaves inside a frame."""
    free, line = dialog.screen().availableSize(), em(dialog)
    across, down = round(across_em * line), round(down_em * line)
    dialog.resize(
        min(across, free.width() - 2 * FRAME_PX),
        min(down, free.height() - TITLE_BAR_PX - FRAME_PX),
    )


def scaled(font: QFont, factor: float, *, bold: bool = False) -> QFont:
    """Return the font at another size, bold if asked."""
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
        (role.LinkVisited, look.question),
        (role.Midlight, look.raised),
        (role.Shadow, look.text),
        (role.Light, look.base),
        (role.Mid, look.line),
        (role.Dark, look.muted),
    ):
        palette.setColor(where, QColor(colour))
    for where in (role.WindowText, role.Text, role.ButtonText):
        palette.setColor(QPalette.ColorGroup.Disabled, where, QColor(look.muted))
    return palette


def _sheet(lines_px: Sequence[int]) -> str:
    """Return the style sheet, valid for all colours and sizes of type.

    ``lines_px`` are the line heights at the offered sizes. Colours are named by palette roles that
    a style sheet never sets on a widget; other roles would return what another rule has set.
    """

    def length(px_of: Callable[[int], int]) -> str:
        return f"{_share(lines_px, [px_of(line) for line in lines_px]):.4f}em"

    pad = length(_pad)
    less_pad = length(lambda line_px: _pad(line_px) - 1)
    half_pad = length(lambda line_px: max(1, _pad(line_px) // 2))
    gap = length(_gap)
    less_gap = length(lambda line_px: _gap(line_px) - 1)
    mark, circle = "0.72em", "0.4em"
    drop = length(lambda line_px: _mark(line_px) + _gap(line_px))
    marks = "".join(_marks(line_px) for line_px in dict.fromkeys(lines_px))
    tick_ink, tick_pale = _icon("tick-ink.svg"), _icon("tick-pale.svg")
    down_ink, down_pale = _icon("down-ink.svg"), _icon("down-pale.svg")
    text, base = "palette(shadow)", "palette(light)"
    window, raised = "palette(alternate-base)", "palette(midlight)"
    muted, line = "palette(dark)", "palette(mid)"
    accent, on_accent = "palette(link)", "palette(highlighted-text)"
    problem, question = "palette(bright-text)", "palette(link-visited)"
    return f"""
QToolTip {{ color: {text}; background: {base}; border: 1px solid {line}; }}
QLineEdit, QPlainTextEdit, QComboBox {{
    background: {base}; color: {text}; border: 1px solid {line};
    border-radius: {pad}; padding: {pad};
    selection-background-color: {accent}; selection-color: {on_accent};
}}
QLineEdit:focus, QPlainTextEdit:focus, QComboBox:focus {{
    border: 2px solid {accent}; padding: {less_pad};
}}
QLineEdit[refused="true"] {{ border: 2px solid {problem}; padding: {less_pad}; }}
QLineEdit:disabled, QPlainTextEdit:disabled, QComboBox:disabled {{
    color: {muted}; background: {window};
}}
QComboBox::drop-down {{ border: none; width: {drop}; }}
QComboBox::down-arrow {{ image: url("{down_ink}"); width: {mark}; height: {mark}; }}
QComboBox QAbstractItemView {{
    background: {base}; color: {text};
    selection-background-color: {accent}; selection-color: {on_accent};
}}
QPushButton {{
    background: {raised}; color: {text}; border: 1px solid {line};
    border-radius: {pad}; padding: {pad} {gap};
}}
QPushButton:hover {{ border-color: {accent}; }}
QPushButton:focus {{ border: 2px solid {accent}; padding: {less_pad} {less_gap}; }}
QPushButton:disabled {{ color: {muted}; background: {window}; }}
QPushButton[primary="true"] {{ background: {accent}; color: {on_accent}; }}
QPushButton[primary="true"]:focus {{ border: 2px solid {text}; }}
QPushButton[primary="true"]:disabled {{ background: {raised}; color: {muted}; }}
QPushButton[quiet="true"] {{
    background: transparent; border: 1px solid transparent; color: {accent};
    text-align: left;
}}
QPushButton[quiet="true"]:focus {{ border: 2px solid {accent}; }}
QPushButton[quiet="true"]:disabled {{ color: {muted}; }}
QPushButton[chip="true"] {{ padding: {half_pad} {gap}; }}
QPushButton[chip="true"]:checked {{
    background: {accent}; color: {on_accent}; border-color: {accent};
}}
QPushButton[chip="true"]:focus {{ border: 2px solid {accent}; padding: {half_pad} {less_gap}; }}
QPushButton[chip="true"]:checked:focus {{ border: 2px solid {text}; }}
QRadioButton::indicator, QCheckBox::indicator {{
    width: {mark}; height: {mark}; border: 2px solid {line}; background: {base};
}}
QRadioButton::indicator {{ border-radius: {circle}; }}
QCheckBox::indicator {{ border-radius: 3px; }}
QRadioButton::indicator:checked {{
    border-color: {accent};
    background: qradialgradient(cx:0.5, cy:0.5, radius:0.5, fx:0.5, fy:0.5,
        stop:0 {accent}, stop:0.55 {accent}, stop:0.62 {base}, stop:1 {base});
}}
QCheckBox::indicator:checked {{
    border-color: {accent}; background: {accent}; image: url("{tick_pale}");
}}
{marks}
QWidget[dark="true"] QComboBox::down-arrow {{ image: url("{down_pale}"); }}
QWidget[dark="true"] QCheckBox::indicator:checked {{ image: url("{tick_ink}"); }}
QRadioButton::indicator:disabled, QCheckBox::indicator:disabled {{ background: {raised}; }}
QRadioButton, QCheckBox {{ padding: {half_pad}; border: 2px solid transparent; }}
QRadioButton:focus, QCheckBox:focus {{
    border: 2px dashed {text}; border-radius: {pad};
}}
QRadioButton:checked:focus, QCheckBox:checked:focus {{ border: 2px solid {accent}; }}
QLabel[kind="muted"] {{ color: {muted}; }}
QLabel[kind="problem"] {{ color: {problem}; font-weight: 600; }}
QLabel[kind="question"] {{ color: {question}; }}
QFrame[panel="true"] {{
    background: {base}; border: 1px solid {line}; border-radius: {pad};
}}
QScrollArea {{ border: none; background: transparent; }}
"""


def _marks(line_px: int) -> str:
    """Return the size of tick marks at which a radio button's circle is round."""
    scope, mark = f'QWidget[line="{line_px}"]', _mark(line_px)
    return f"""
{scope} QRadioButton::indicator, {scope} QCheckBox::indicator {{
    width: {mark}px; height: {mark}px;
}}
{scope} QRadioButton::indicator {{ border-radius: {mark // 2 + 2}px; }}
{scope} QComboBox::down-arrow {{ width: {mark}px; height: {mark}px; }}
"""


def _pad(line_px: int) -> int:
    return round(line_px * 0.3)


def _gap(line_px: int) -> int:
    return round(line_px * 0.6)


def _mark(line_px: int) -> int:
    return 2 * round(line_px * 0.36)


def _share(lines_px: Sequence[int], wanted_px: Sequence[int]) -> float:
    """Return the share of a line that Qt rounds to these lengths, or the closest."""
    pairs = list(zip(lines_px, wanted_px, strict=True))
    least = max((px - 0.5) / line for line, px in pairs)
    most = min((px + 0.5) / line for line, px in pairs)
    return (least + most) / 2


def _icon(name: str) -> str:
    """Return the path of an icon in style-sheet syntax."""
    return str(files("resources").joinpath("icons", name)).replace("\\", "/")
