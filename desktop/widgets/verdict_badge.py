"""A verdict as a sign, and the large display of an assessment."""

from __future__ import annotations

from math import ceil
from typing import Final

from PySide6.QtCore import QEvent, QRectF, QSize, Qt
from PySide6.QtGui import QColor, QFont, QFontMetricsF, QPainter, QPaintEvent
from PySide6.QtWidgets import QFrame, QHBoxLayout, QLabel, QSizePolicy, QVBoxLayout, QWidget

from core.fitting import Assessment, StepState, StepStatus, Verdict
from core.language import Message, Name, Numbers, Text, message
from core.workflow import outside_target
from desktop.widgets import theme
from desktop.widgets.language import local_label, tr
from desktop.widgets.panels import add_all, add_layout
from desktop.widgets.steady_label import SteadyLabel, activate_layouts
from desktop.widgets.verdict_signs import Sign, paint_sign, sign_colour

IN_PLACE_OF_VERDICT: Final = (StepState.CLOSED, StepState.CHECK_AGAIN)
"""States shown in place of a verdict."""

_LARGEST_POINTS: Final = 30.0
_SMALLEST_POINTS: Final = 15.0
_LARGEST_POINTS_COMPACT: Final = 21.0
_LEAST_POINTS: Final = 8.0
"""Where a window leaves too little height, a sentence shrinks to this rather than being cut."""
_MOST_LINES: Final = 2
_MOST_LINES_NARROW: Final = 3
"""Lines of room that are kept, so that nothing below moves when the sentence changes."""
_NARROW_LETTERS: Final = 44.0
"""In lines shorter than this many letters the longest headline takes one more line."""
_LARGE_TYPE: Final = 1.2
"""From this text scale on a sentence takes more lines before it shrinks."""
_MOST_LINES_LARGE_TYPE: Final = 4
_USUAL_LINE_PX: Final = 15.0
_REMEMBERED: Final = 32


class Badge(QWidget):
    """One sign at a fixed size."""

    def __init__(self, sign: Sign, side_px: int, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.sign = sign
        self._side = side_px
        self.setFixedSize(side_px, side_px)
        self.setAccessibleName(local_label(sign.label))

    def show_sign(self, sign: Sign) -> None:
        """Show another sign."""
        if sign is not self.sign:
            self.sign = sign
            self.setAccessibleName(local_label(sign.label))
            self.update()

    def sizeHint(self) -> QSize:
        """Return the fixed size."""
        return QSize(self._side, self._side)

    def paintEvent(self, _event: QPaintEvent) -> None:
        """Draw the sign."""
        look = theme.appearance_of(self)
        painter = QPainter(self)
        box = QRectF(self.rect()).adjusted(1, 1, -1, -1)
        paint_sign(painter, box, self.sign, sign_colour(look, self.sign), QColor(look.base))
        painter.end()


class Headline(SteadyLabel):
    """A sentence in the largest font that fits: it wraps and shrinks, and is never cut."""

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent=parent)
        self._types: dict[tuple[int, str], QFont] = {}
        self._drawn: tuple[tuple[int, int, str], QFont] | None = None
        self._kept: dict[int, int] = {}
        """The height kept for each width: a layout asks for one some hundred times."""
        self._largest = _LARGEST_POINTS
        # With a fixed height a layout would give it no more than at its preferred width.
        policy = QSizePolicy(QSizePolicy.Policy.Expanding, QSizePolicy.Policy.Minimum)
        policy.setHeightForWidth(True)
        self.setSizePolicy(policy)

    def set_compact(self, *, compact: bool) -> None:
        """Use smaller type where there is little room."""
        largest = _LARGEST_POINTS_COMPACT if compact else _LARGEST_POINTS
        if largest != self._largest:
            self._largest = largest
            self._forget_types()
            self._forget_sizes()
            self.updateGeometry()

    def heightForWidth(self, width: int) -> int:
        """Return the height of the sentence, at least that of the lines kept for it."""
        kept = self._kept.get(width)
        if kept is None:
            if len(self._kept) >= _REMEMBERED:
                self._kept.clear()
            lines = self._most_lines(width)
            kept = self._kept[width] = ceil(self._largest_metrics().lineSpacing() * lines)
        return max(super().heightForWidth(width), kept)

    def font_at(self, width: int) -> QFont:
        """Return the largest font in which the sentence takes few lines and no word is cut."""
        key = (width, self.text())
        found = self._types.get(key)
        if found is None:
            if len(self._types) >= _REMEMBERED:
                self._types.clear()
            found = self._types[key] = self._fitted(width)
        return found

    def font_drawn(self) -> QFont:
        """Return the font of the sentence, smaller where the window leaves it too little height."""
        key = (self.width(), self.height(), self.text())
        if self._drawn is None or self._drawn[0] != key:
            self._drawn = (key, self._squeezed())
        return self._drawn[1]

    def minimumSizeHint(self) -> QSize:
        """Return almost no width: it shrinks before it widens the page."""
        return QSize(1, self.heightForWidth(max(self.width(), 40)))

    def changeEvent(self, event: QEvent) -> None:
        """Fit the sentence again after a change of font."""
        if event.type() in (QEvent.Type.FontChange, QEvent.Type.StyleChange):
            self._forget_types()
        super().changeEvent(event)

    def _forget_types(self) -> None:
        self._types.clear()
        self._kept.clear()
        self._drawn = None

    def _scale(self) -> float:
        """Return the text scale of the application, which moves both ends of the range."""
        return theme.em(self.parentWidget() or self) / _USUAL_LINE_PX

    def _scaled_largest(self) -> float:
        points = self._largest * min(max(self._scale(), 1.0), 1.15)
        return max(points, _LARGEST_POINTS) if self._scale() >= _LARGE_TYPE else points

    def _largest_metrics(self) -> QFontMetricsF:
        return QFontMetricsF(_bold(self.font(), self._scaled_largest()))

    def _most_lines(self, width: int) -> int:
        letters = width / self._largest_metrics().averageCharWidth()
        is_narrow = self._largest == _LARGEST_POINTS and letters < _NARROW_LETTERS
        return _MOST_LINES_NARROW if is_narrow else _MOST_LINES

    def _fitted(self, width: int) -> QFont:
        points = self._scaled_largest()
        smallest = _SMALLEST_POINTS * max(self._scale(), 1.0)
        room = max(40, width - 2)
        # With this many lines it is never smaller in large type than in normal type.
        most = _MOST_LINES_LARGE_TYPE if self._scale() >= _LARGE_TYPE else self._most_lines(width)
        while not _fits(self.text(), self.font(), points, room, most) and points > smallest:
            points -= 1.0
        return _bold(self.font(), points)  # at the smallest size it takes as many lines as it needs

    def _squeezed(self) -> QFont:
        font = self.font_at(self.width())
        points, size = font.pointSizeF(), self.size()
        while points > _LEAST_POINTS and not _is_whole(self.text(), font, size):
            points = max(points - 1.0, _LEAST_POINTS)
            font = _bold(self.font(), points)
        return font


class WholeSentences(SteadyLabel):
    """Sentences in a row; in too little room the last ones are left out whole."""

    def __init__(self, parent: QWidget | None = None) -> None:
        self._sentences: list[str] = []
        super().__init__(parent=parent)

    def say_all(self, sentences: list[str], *, keep_size: bool) -> None:
        """Show these."""
        self._sentences = sentences
        self.say(" ".join(sentences), keep_size=keep_size)

    def words_drawn(self) -> str:
        """Return as many of the sentences as the height has room for."""
        metrics, room = QFontMetricsF(self.font()), QRectF(0, 0, max(self.width(), 1), 1e6)
        for count in range(len(self._sentences), 1, -1):
            words = " ".join(self._sentences[:count])
            if metrics.boundingRect(room, self._flags(), words).height() <= self.height():
                return words
        return next(iter(self._sentences), "")


class VerdictDisplay(QFrame):
    """A large verdict: sign and word, headline, and the expected next reading."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._numbers = numbers
        self.setProperty("panel", "true")
        line = theme.em(self)
        self._badge = Badge(Verdict.NO_READING, round(line * 3.4), self)
        self._word = SteadyLabel(wraps=False, parent=self)
        self._word.setFont(theme.scaled(self._word.font(), 1.15, bold=True))
        self._live = QLabel(tr("widgets.verdict_badge.while_typing_not_kept_yet"), self)
        self._live.setProperty("kind", "question")
        self._headline = Headline(self)
        self._more = WholeSentences(self)
        words = add_all(QHBoxLayout(), self._word, self._live, 1)
        column = QVBoxLayout()
        column.setSpacing(round(line * 0.2))
        add_all(column, words, self._headline, self._more)
        row = QHBoxLayout(self)
        row.addWidget(self._badge, 0, Qt.AlignmentFlag.AlignTop)
        add_layout(row, column, 1)
        self._live.hide()

    def set_compact(self, *, compact: bool) -> None:
        """Take less height, so that reading and move are in view too."""
        self._headline.set_compact(compact=compact)

    def show_standing(
        self,
        status: StepStatus,
        assessment: Assessment,
        *,
        live: bool,
        shut: Message | None = None,
    ) -> None:
        """Show an assessment, or the step's state if the verdict does not hold now.

        ``shut`` says why the reading that is asked for can't be taken: it takes the headline.
        """
        # While typing nothing shrinks: everything below would jump.
        self.setMinimumHeight(self.height() if live and self.isVisible() else 0)
        state = status.state
        if shut is not None:
            sign = state if state in IN_PLACE_OF_VERDICT else assessment.shown_verdict
            self.show_state(sign, shut)
        elif live or state not in IN_PLACE_OF_VERDICT:
            self.show_assessment(assessment, live=live)
        elif state is StepState.CLOSED:
            self.show_state(state, status.reason)
        else:
            # The verdict rests on readings that later moves have made doubtful.
            self.show_state(state, tr("widgets.verdict_badge.read_this_once_more"), status.reason)

    def show_assessment(self, assessment: Assessment, *, live: bool = False) -> None:
        """Show an assessment; ``live`` marks one that includes an unsaved reading."""
        move, say = assessment.next_move, self._numbers.text
        headline = say(assessment.headline)
        more = [say(outside_target(figure)) for figure in assessment.outside]
        if move is not None:
            order = say(move.rest or move.sentence)
            if not move.in_headline and order != headline:
                if assessment.verdict is Verdict.STOP:  # the order is as urgent as the reason
                    headline = f"{headline} {order}"
                else:
                    more.append(order)
            if move.reason:  # first: in a small window the last words may be cut
                more.append(say(move.reason))
            if move.predicted:
                more.append(say(message("common.expected_then", what=move.predicted)))
        self._show(assessment.shown_verdict, headline, more, live=live)

    def show_state(self, state: Sign, headline: Text, more: Text = "") -> None:
        """Show the state of a step in place of a verdict that does not hold now."""
        say = self._numbers.text
        self._show(state, say(headline), [say(more)] if more else [], live=False)

    def _show(self, sign: Sign, headline: str, more: list[str], *, live: bool) -> None:
        self._badge.show_sign(sign)
        self._word.say(local_label(sign.label), keep_size=live)
        self._live.setVisible(live)
        self._headline.say(headline, keep_size=live)
        self._more.say_all(more, keep_size=live)
        self._more.setVisible(bool(more) or (live and not self._more.isHidden()))
        if self.isVisible():
            activate_layouts(
                self
            )  # otherwise a longer headline is cut for two turns of the event loop
        spoken = " ".join([local_label(sign.label) + ".", headline, *more])
        self.setAccessibleName(
            tr("widgets.verdict_badge.while_typing_spoken", spoken=Name(spoken)) if live else spoken
        )

    @property
    def is_squeezed(self) -> bool:
        """Whether it has less height than its words ask for."""
        usual = self._headline.font_at(self._headline.width())
        return self._headline.font_drawn() != usual or (
            self._more.isVisible()
            and self._more.height() < self._more.heightForWidth(self._more.width())
        )

    @property
    def sign(self) -> Sign:
        """The verdict, or the state shown in its place."""
        return self._badge.sign

    def headline(self) -> str:
        """Return the sentence on show."""
        return self._headline.text()


def _fits(words: str, font: QFont, points: float, width: int, most_lines: int) -> bool:
    """Return whether a sentence fits into this many lines without cutting a word."""
    trial = _bold(font, points)
    metrics = QFontMetricsF(trial)
    if any(metrics.horizontalAdvance(word) > width for word in words.split()):
        return False
    room = QRectF(0, 0, width, 1e6)
    height = metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), words).height()
    return height <= metrics.lineSpacing() * most_lines * 1.01


def _is_whole(words: str, font: QFont, size: QSize) -> bool:
    """Return whether a sentence is drawn whole in a room of this size."""
    metrics = QFontMetricsF(font)
    room = QRectF(0, 0, size.width(), 1e6)
    box = metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), words)
    return box.height() <= size.height() and box.width() <= size.width()


def _bold(font: QFont, points: float) -> QFont:
    other = QFont(font)
    other.setPointSizeF(points)
    other.setBold(True)
    return other
