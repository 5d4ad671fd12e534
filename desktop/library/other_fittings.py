"""The fittings in progress beside the one to resume first, each as a card that a key opens."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from typing import Final

from PySide6.QtCore import QSize, Qt, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QHBoxLayout, QPushButton, QSizePolicy, QVBoxLayout, QWidget

from core.language import Name
from core.store import FittingRow
from desktop.library.tables import reached_words
from desktop.widgets import theme
from desktop.widgets.language import tr
from desktop.widgets.local_time import day
from desktop.widgets.panels import add_all, button
from desktop.widgets.plain_text import one_line, plain_label, plain_tip

MOST: Final = 8
"""So many cards at most: Alt and a figure opens each."""
_CARD_EM: Final = 18.0
_MORE_EM: Final = 8.0
_PICTURE_EM: Final = (5.1, 3.4)

Draw = Callable[[FittingRow, QWidget], None]
"""Draws the deck of a fitting, with the number of its step, into a widget."""


class FittingCard(QPushButton):
    """One fitting: its drawing, deck, cartridge, step, since when, and its job's number."""

    def __init__(self, row: FittingRow, job: str, number: int, parent: QWidget) -> None:
        super().__init__(parent)
        self.row = row
        self.setProperty("card", "true")
        self.setAutoDefault(True)
        self.setShortcut(f"Alt+{number}")
        self.setSizePolicy(QSizePolicy.Policy.Preferred, QSizePolicy.Policy.Fixed)
        line = theme.em(self)
        self.picture = QWidget(self)
        self.picture.setFixedSize(round(_PICTURE_EM[0] * line), round(_PICTURE_EM[1] * line))
        since = day(row.started_at)
        step = reached_words(row.reached)
        where = (
            tr("library.cards.step_since", step=Name(step), since=Name(since))
            if step
            else tr("library.cards.since", since=Name(since))
        )
        key = tr("library.cards.key", number=number)
        only = tr("library.cards.key_only", number=number)
        feet = [tr("library.cards.job_key", job=Name(job), key=Name(one)) for one in (key, only)]
        self._feet = (*feet, only) if job else (key, only)
        self._said = (row.deck_and_arm, row.cartridge_name, where, self._feet[0])
        self._lines = [plain_label() for _ in self._said]
        words = QVBoxLayout()
        words.setSpacing(0)
        add_all(words, *self._lines)
        inside = QHBoxLayout(self)
        gap = round(0.4 * line)
        inside.setContentsMargins(gap, gap, gap, gap)
        add_all(inside, self.picture, (words, 1))
        for at, label in enumerate(self._lines):
            label.setFont(theme.scaled(self.font(), 1.0, bold=at == 0))
            label.setMinimumWidth(1)
            if at > 1:
                label.setProperty("kind", "muted")
        for part in self.findChildren(QWidget):  # the card is one button
            part.setAttribute(Qt.WidgetAttribute.WA_TransparentForMouseEvents)
        name = tr(
            "library.cards.name",
            deck=Name(one_line(row.deck_and_arm)),
            cartridge=Name(one_line(row.cartridge_name)),
            where=Name(f"{where}. {job}" if job else where),
        )
        self.setAccessibleName(name)
        self.setToolTip(plain_tip(name))
        self._fit()

    def sizeHint(self) -> QSize:
        """Return room for the drawing and some words."""
        line = theme.em(self)
        inside = self.layout()
        high = inside.minimumSize().height() if inside is not None else 0
        return QSize(round(_CARD_EM * line), high)

    def minimumSizeHint(self) -> QSize:
        """Return the same: fewer cards are shown, not narrower ones."""
        return self.sizeHint()

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Cut the names to the room there is."""
        super().resizeEvent(event)
        self._fit()

    def show_picture(self, *, shown: bool) -> None:
        """Show the drawing and the line with the key; in a low window leave both out."""
        for part in (self.picture, self._lines[-1]):
            if part.isHidden() is shown:
                part.setVisible(shown)
        self.updateGeometry()
        self._fit()

    def _fit(self) -> None:
        beside = 0 if self.picture.isHidden() else self.picture.width()
        room = self.width() - beside - round(1.8 * theme.em(self))
        for label, text in zip(self._lines, self._said, strict=True):
            cut = label.fontMetrics().elidedText(one_line(text), Qt.TextElideMode.ElideRight, room)
            label.setText(cut)
        foot = self._lines[-1]  # a key that is cut opens nothing: fewer words stand around it
        wide = foot.fontMetrics().horizontalAdvance
        foot.setText(next((one for one in self._feet if wide(one) <= room), self._feet[-1]))


class OtherFittings(QWidget):
    """As many cards as fit side by side, and a way to the list for the rest."""

    wanted = Signal(str)
    """The fitting to resume."""
    list_wanted = Signal()
    """The person wants to see them all."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setAccessibleName(tr("library.cards.group"))
        self.cards: list[FittingCard] = []
        self._count = 0
        self._drawn: set[str] = set()
        self._draw: Draw | None = None
        self._shown: tuple[object, ...] = ()
        self._with_pictures = True
        self.more = button("", quiet=True)
        self.more.clicked.connect(self.list_wanted)
        self._row = QHBoxLayout(self)
        self._row.setContentsMargins(0, 0, 0, 0)
        self._row.addWidget(self.more)
        self.hide()

    def show_rows(self, rows: Sequence[FittingRow], count: int, jobs: Mapping[str, str]) -> None:
        """Show the first of ``count`` fittings; ``jobs`` are the numbers of jobs by their id."""
        shown = (tuple(rows), count, tuple(jobs.items()))
        if shown == self._shown:
            return
        self._shown = shown
        for old in self.cards:
            self._row.removeWidget(old)
            old.hide()
            old.deleteLater()
        self._count, self._drawn = count, set()
        self.cards = []
        for number, row in enumerate(rows[:MOST], start=2):  # Alt+1 would be the one above
            job = jobs.get(row.job_id, "")
            said = tr("library.cards.job", number=Name(job)) if job else ""
            card = FittingCard(row, said, number, self)
            card.clicked.connect(lambda _on=False, one=row.id: self.wanted.emit(one))
            card.show_picture(shown=self._with_pictures)
            self._row.insertWidget(len(self.cards), card, 1)
            self.cards.append(card)
        self.setVisible(bool(self.cards))
        self._fit()

    def draw(self, draw: Draw) -> None:
        """Draw the cards in sight that have no drawing yet, and from now on each that comes."""
        self._draw = draw
        for card in self.cards:
            if not card.isHidden() and card.row.id not in self._drawn:
                self._drawn.add(card.row.id)
                draw(card.row, card.picture)

    def show_pictures(self, *, shown: bool) -> None:
        """Show the cards with their drawings, or, in a low window, without."""
        self._with_pictures = shown
        for card in self.cards:
            card.show_picture(shown=shown)

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Show as many as there is room for."""
        super().resizeEvent(event)
        self._fit()

    def minimumSizeHint(self) -> QSize:
        """Return room for one card."""
        first = self.cards[0].sizeHint() if self.cards else QSize(0, 0)
        return QSize(first.width(), first.height())

    def _fit(self) -> None:
        line, gap = theme.em(self), self._row.spacing()
        wide = round(_CARD_EM * line) + gap
        fit = max(1, (self.width() + gap) // wide)
        if fit < self._count:
            fit = max(1, (self.width() - round(_MORE_EM * line)) // wide)
        for at, card in enumerate(self.cards):
            card.setVisible(at < fit)
        rest = self._count - min(fit, len(self.cards))
        self.more.setVisible(rest > 0)
        self.more.setText(tr("library.cards.more", count=rest))
        if self._draw is not None:
            self.draw(self._draw)
