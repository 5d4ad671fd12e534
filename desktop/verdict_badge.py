"""A verdict as a sign with its word, and the read-out seen from across a room."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent, QResizeEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from core.standing import StepState
from core.verdict import Assessment, Verdict
from core.wording import EXPECTED
from desktop import theme
from desktop.signs import Sign, paint_sign, sign_colour

_LARGEST_POINTS: Final = 30.0
_SMALLEST_POINTS: Final = 15.0
_MOST_LINES: Final = 3
_MOST_LINES_SHORT: Final = 2
_USUAL_LINE_PX: Final = 15.0


class Badge(QWidget):
    """One sign at a fixed size."""

    def __init__(self, sign: Sign, side_px: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._sign = sign
        self._side = side_px
        self.setFixedSize(side_px, side_px)
        self.setAccessibleName(sign.label)

    @property
    def sign(self) -> Sign:
        """What is shown."""
        return self._sign

    def show_sign(self, sign: Sign) -> None:
        """Show another sign."""
        if sign is not self._sign:
            self._sign = sign
            self.setAccessibleName(sign.label)
            self.update()

    def sizeHint(self) -> QSize:  # noqa: N802 - Qt's name
        """Return the fixed size."""
        return QSize(self._side, self._side)

    def paintEvent(self, event: QPaintEvent) -> None:  # noqa: N802, ARG002 - Qt's name and argument
        """Draw the sign."""
        look = theme.look_of(self)
        painter = QPainter(self)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        paint_sign(painter, box, self._sign, sign_colour(look, self._sign), QColor(look.base))
        painter.end()


class Headline(QLabel):
    """A sentence as large as fits: wraps, shrinks to a floor, is never cut."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setWordWrap(True)
        self.setTextFormat(Qt.TextFormat.PlainText)
        self.setSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Fixed)
        self.setMinimumWidth(1)
        self._most_lines = _MOST_LINES

    def be_short(self, *, short: bool) -> None:
        """Take fewer lines, in smaller type, where there is no room."""
        most = _MOST_LINES_SHORT if short else _MOST_LINES
        if most != self._most_lines:
            self._most_lines = most
            self._fit()

    def say(self, words: str) -> None:
        """Show a sentence."""
        if words != self.text():
            self.setText(words)
            self._fit()

    def resizeEvent(self, event: QResizeEvent) -> None:  # noqa: N802 - Qt's name
        """Fit the sentence to the new width."""
        super().resizeEvent(event)
        if event.size().width() != event.oldSize().width():
            self._fit()

    def _fit(self) -> None:
        # The text scale of the application moves both ends of the range.
        scale = theme.em(self.parentWidget() or self) / _USUAL_LINE_PX
        largest = _LARGEST_POINTS * min(max(scale, 1.0), 1.15)
        smallest = _SMALLEST_POINTS * max(scale, 1.0)
        width = max(40, self.width() - 2)
        points = largest
        most = self._most_lines
        height = _height(self.text(), self.font(), points, width, most)
        while height is None and points > smallest:
            points -= 1.0
            height = _height(self.text(), self.font(), points, width, most)
        font = _bold(self.font(), points)
        self.setFont(font)
        if height is None:  # at the floor it may take as many lines as it needs
            height = _wrapped_height(self.text(), font, width)
        self.setFixedHeight(round(height) + 2 if self.text() else 0)


class Readout(QFrame):
    """Verdict and what to do, large: sign and word, headline, and what is expected next."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.setProperty("panel", True)  # noqa: FBT003 - Qt's property
        line = theme.em(self)
        self._badge = Badge(Verdict.NO_READING, round(line * 3.4), self)
        self._word = QLabel(self)
        self._word.setFont(theme.scaled(self._word.font(), 1.15, bold=True))
        self._word.setTextFormat(Qt.TextFormat.PlainText)
        self._live = QLabel("while typing – not kept yet", self)
        self._live.setProperty("kind", "question")
        self._headline = Headline(self)
        self._more = QLabel(self)
        self._more.setWordWrap(True)
        self._more.setTextFormat(Qt.TextFormat.PlainText)
        words = QHBoxLayout()
        words.addWidget(self._word)
        words.addWidget(self._live)
        words.addStretch(1)
        column = QVBoxLayout()
        column.setSpacing(round(line * 0.2))
        column.addLayout(words)
        column.addWidget(self._headline)
        column.addWidget(self._more)
        row = QHBoxLayout(self)
        row.addWidget(self._badge, 0, Qt.AlignmentFlag.AlignTop)
        row.addLayout(column, 1)
        self._live.hide()

    def be_short(self, *, short: bool) -> None:
        """Take less height, where reading and move shall be in view too."""
        self._headline.be_short(short=short)

    def show_assessment(self, assessment: Assessment, *, live: bool = False) -> None:
        """Show an assessment; ``live`` marks one that stands on a reading still being typed."""
        move = assessment.next_move
        more = []
        if move is not None:
            further = move.sentence.removeprefix(assessment.headline).strip()
            if further:
                more.append(further)
            if move.predicted:
                more.append(f"{EXPECTED}: {_going_on(move.predicted.rstrip('.'))}.")
            if move.reason:
                more.append(move.reason)
        self._show(assessment.verdict, assessment.headline, more, live=live)

    def show_state(self, state: StepState, headline: str, more: str = "") -> None:
        """Show where a step stands in place of a verdict that does not hold just now."""
        self._show(state, headline, [more] if more else [], live=False)

    def _show(self, sign: Sign, headline: str, more: list[str], *, live: bool) -> None:
        self._badge.show_sign(sign)
        if self._word.text() != sign.label:
            self._word.setText(sign.label)
        self._live.setVisible(live)
        self._headline.say(headline)
        if self._more.text() != " ".join(more):
            self._more.setText(" ".join(more))
        self._more.setVisible(bool(more))
        spoken = " ".join([sign.label + ".", headline, *more])
        self.setAccessibleName(f"While typing: {spoken}" if live else spoken)

    @property
    def sign(self) -> Sign:
        """The verdict, or the state shown in its place."""
        return self._badge.sign

    def headline(self) -> str:
        """Return the sentence on show."""
        return self._headline.text()

    def is_live(self) -> bool:
        """Whether what is shown stands on a reading still being typed."""
        return not self._live.isHidden()


def _height(words: str, font: QFont, points: float, width: int, most: int) -> float | None:
    """Return the height of a sentence, or None if it takes too many lines or cuts a word."""
    trial = _bold(font, points)
    metrics = QFontMetricsF(trial)
    if any(metrics.horizontalAdvance(word) > width for word in words.split()):
        return None
    height = _wrapped_height(words, trial, width)
    return height if height <= metrics.lineSpacing() * most * 1.01 else None


def _wrapped_height(words: str, font: QFont, width: int) -> float:
    room = QRectF(0, 0, width, 1e6)
    return QFontMetricsF(font).boundingRect(room, int(Qt.TextFlag.TextWordWrap), words).height()


def _going_on(words: str) -> str:
    """Return words as they stand after a colon."""
    return words if words[:2].isupper() else f"{words[:1].lower()}{words[1:]}"


def _bold(font: QFont, points: float) -> QFont:
    other = QFont(font)
    other.setPointSizeF(points)
    other.setBold(True)
    return other
