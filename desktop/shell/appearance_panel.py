"""Colours, size of type and decimal sign: a panel above whatever page is open."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Final

from PySide6.QtCore import QEvent, QObject, QPoint, QRect, QSize, Qt, Signal
from PySide6.QtGui import QKeyEvent
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QButtonGroup,
    QFrame,
    QHBoxLayout,
    QPushButton,
    QRadioButton,
    QSizePolicy,
    QStackedWidget,
    QVBoxLayout,
    QWidget,
)
from shiboken6 import isValid

from core.language import Message, message
from desktop.widgets import theme
from desktop.widgets.flow_row import PlacedWidgets
from desktop.widgets.keys import step_by_arrow
from desktop.widgets.language import said, tr
from desktop.widgets.page import Page
from desktop.widgets.panels import add_all, text_label
from desktop.widgets.plain_text import plain_label
from desktop.widgets.preferences import Preferences
from desktop.widgets.scheme import Scheme
from desktop.widgets.steady_label import activate_layouts

SCHEMES: Final[tuple[tuple[Scheme, Message], ...]] = (
    ("light", message("shell.appearance_panel.light")),
    ("dark", message("shell.appearance_panel.dark")),
    ("system", message("shell.appearance_panel.system")),
)
SCALES: Final = theme.SCALES
SIGNS: Final[tuple[tuple[str, Message], ...]] = (
    (".", message("shell.appearance_panel.point")),
    (",", message("shell.appearance_panel.comma")),
    ("", message("shell.appearance_panel.system")),
)


class AppearancePanel(QFrame):
    """Shown only when it is asked for. Escape or Done closes it.

    Colours and type change at once. The decimal sign changes once the page that is open is left, as
    half a page with a comma and half with a point would be worse; the panel says so beside the
    choice.
    """

    sign_chosen = Signal()
    """Another decimal sign was chosen, and is remembered."""

    def __init__(
        self, preferences: Preferences, pages: QStackedWidget, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self.setProperty("panel", "true")
        self._preferences = preferences
        self._pages = pages
        self._before: QWidget | None = None
        self.schemes = {key: QRadioButton(said(words)) for key, words in SCHEMES}
        self.scales = {scale: QRadioButton(f"{round(100 * scale)} %") for scale in SCALES}
        self.signs = {sign: QRadioButton(said(words)) for sign, words in SIGNS}
        self.later = text_label("", "muted")
        rows: list[list[QWidget]] = []
        for title, choices in (
            (tr("shell.appearance_panel.colours"), self.schemes),
            (tr("shell.appearance_panel.size_of_type"), self.scales),
            (tr("shell.appearance_panel.decimal_sign"), self.signs),
        ):
            group = QButtonGroup(self)
            for one in choices.values():
                one.setAccessibleName(f"{title}: {one.text()}")
                one.installEventFilter(self)
                group.addButton(one)
            group.buttonClicked.connect(self._on_choice)
            rows.append([plain_label(title), *choices.values()])
        self._rows = SteadyRows(rows)
        self.done_button = QPushButton(tr("shell.appearance_panel.done"))
        self.done_button.clicked.connect(self._close)
        across = add_all(QHBoxLayout(), (self._rows, 1))
        across.addWidget(self.done_button, 0, Qt.AlignmentFlag.AlignTop)
        add_all(QVBoxLayout(self), across, self.later)
        self.hide()
        pages.currentChanged.connect(self.say_when_sign_shows)
        pages.widgetRemoved.connect(self.say_when_sign_shows)
        self.say_when_sign_shows()

    def ask(self) -> None:
        """Show what holds now, and wait for a choice."""
        if self.isHidden():
            self._before = QApplication.focusWidget()
            self._keep_room()
        scheme = self.show_current()
        self.show()
        self.schemes[scheme].setFocus(Qt.FocusReason.OtherFocusReason)

    def say_when_sign_shows(self) -> None:
        """Say when another decimal sign shows: once the lowest page that keeps the old one is left.

        Help lies over a fitting, which stays as it is.
        """
        pages = (self._pages.widget(index) for index in range(self._pages.count()))
        told = [page.sign_shows for page in pages if isinstance(page, Page) and page.sign_shows]
        self.later.setText(
            said(told[0]) if told else tr("shell.appearance_panel.either_may_be_typed")
        )

    def show_current(self) -> Scheme:
        """Mark the colours and the size that hold now, and return the colours."""
        scheme, scale = theme.current_scheme(_app())
        self.schemes[scheme].setChecked(True)
        if scale in self.scales:
            self.scales[scale].setChecked(True)
        self.signs[self._preferences.decimal].setChecked(True)
        return scheme

    def keyPressEvent(self, event: QKeyEvent) -> None:
        """Close with Escape or Enter."""
        if event.key() in (Qt.Key.Key_Escape, Qt.Key.Key_Return, Qt.Key.Key_Enter):
            self._close()
        else:
            super().keyPressEvent(event)

    def eventFilter(self, watched: QObject, event: QEvent) -> bool:
        """Move within the choices of a row by the arrows up and down too."""
        if isinstance(watched, QRadioButton) and step_by_arrow(watched, event):
            return True
        return super().eventFilter(watched, event)

    def _keep_room(self) -> None:
        """Keep room for the largest type here and in the menus above."""
        _, scale = theme.current_scheme(_app())
        largest = max(1.0, SCALES[-1] / scale)
        above = self.mapTo(self.window(), QPoint()).y() if self.parentWidget() else 0
        self._rows.keep_room(largest, above=round(above * (largest - 1.0)))

    def _on_choice(self, pressed: QAbstractButton) -> None:
        """Take a choice, and keep what was pressed where it is."""

        def down() -> int:
            return pressed.mapTo(self.window(), pressed.rect().center()).y()

        before = down()

        def keep_in_place() -> None:
            if isValid(pressed):
                activate_layouts(self.window())
                self._rows.shift(down() - before)

        self._take_choice(keep_in_place, of_sign=pressed in self.signs.values())

    def _take_choice(self, then: Callable[[], None], *, of_sign: bool) -> None:
        scheme, scale = theme.current_scheme(_app())
        scheme = next((key for key, one in self.schemes.items() if one.isChecked()), scheme)
        scale = next((size for size, one in self.scales.items() if one.isChecked()), scale)
        sign = next((one for one, shown in self.signs.items() if shown.isChecked()), "")
        if of_sign:  # also the one that was chosen before: a locale may have come first
            self._preferences.remember_decimal(sign)
            self.sign_chosen.emit()
            then()
            return
        _take(self._preferences, scheme, scale, then)

    def _close(self) -> None:
        self.hide()
        before, self._before = self._before, None
        if before is not None and isValid(before) and self._pages.isAncestorOf(before):
            before.setFocus(Qt.FocusReason.OtherFocusReason)


class SteadyRows(PlacedWidgets):
    """Rows of choices, each in a place that no size of type moves while they are shown."""

    def __init__(self, rows: Sequence[Sequence[QWidget]], parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._rows = rows
        self._room: dict[QWidget, QSize] = {}
        self._above = 0
        for one in self._all():
            one.setParent(self)
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def keep_room(self, largest: float, *, above: int) -> None:
        """Keep room for type so many times as large, and ``above`` them for what grows there."""
        for one in self._all():
            one.ensurePolished()
            self._room[one] = one.sizeHint() * largest
        self._above = above
        self._arrange()

    def shift(self, down: int) -> None:
        """Move all up by what something above them has grown, as far as there is room."""
        self._above = max(0, self._above - down)
        self._arrange()

    def sizeHint(self) -> QSize:
        """Return the size with each row on one line."""
        wide = max(sum(self._room_of(one).width() for one in row) for row in self._rows)
        return QSize(wide, self.heightForWidth(wide))

    def minimumSizeHint(self) -> QSize:
        """Return the width of the widest choice and the height at the present width."""
        wide = max(self._room_of(one).width() for one in self._all())
        return QSize(wide, self.heightForWidth(max(wide, self.width())))

    def _all(self) -> list[QWidget]:
        return [one for row in self._rows for one in row]

    def _room_of(self, one: QWidget) -> QSize:
        return self._room.get(one) or one.sizeHint()

    def _arrange(self) -> None:
        for one, place in self._places(self.width()):
            hint = one.sizeHint().boundedTo(place.size())
            top = place.top() + (place.height() - hint.height()) // 2
            one.setGeometry(QRect(place.left(), top, hint.width(), hint.height()))
        self.updateGeometry()

    def _places(self, width: int) -> list[tuple[QWidget, QRect]]:
        """Return the room of each widget; a row that is too long goes on in a further line."""
        found: list[tuple[QWidget, QRect]] = []
        y = self._above
        first = max(self._room_of(row[0]).width() for row in self._rows)
        for row in self._rows:
            x, high = 0, max(self._room_of(one).height() for one in row)
            for one in row:
                wide = first if one is row[0] else self._room_of(one).width()
                if x and x + wide > width:
                    x, y = 0, y + high
                found.append((one, QRect(x, y, wide, high)))
                x += wide
            y += high
        return found


def change_scheme(preferences: Preferences, scheme: Scheme) -> None:
    """Change the colours at once, and for good."""
    _, scale = theme.current_scheme(_app())
    _take(preferences, scheme, scale)


def change_scale(preferences: Preferences, steps: int) -> None:
    """Make the type so many sizes larger or smaller, at once and for good."""
    scheme, scale = theme.current_scheme(_app())
    place = min(range(len(SCALES)), key=lambda one: abs(SCALES[one] - scale)) + steps
    _take(preferences, scheme, SCALES[max(0, min(place, len(SCALES) - 1))])


def _take(
    preferences: Preferences,
    scheme: Scheme,
    scale: float,
    then: Callable[[], None] | None = None,
) -> None:
    theme.apply(_app(), scheme, text_scale=scale, then=then)
    preferences.remember_appearance(scheme, scale)


def _app() -> QApplication:
    app = QApplication.instance()
    if not isinstance(app, QApplication):
        raise TypeError("a panel needs an application to dress")
    return app
