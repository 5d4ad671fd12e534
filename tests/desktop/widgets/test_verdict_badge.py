"""The read-out: large, whole, and never by colour alone."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtCore import QRectF, Qt
from PySide6.QtGui import QFontMetricsF
from PySide6.QtWidgets import QApplication, QVBoxLayout, QWidget

from core.drawing.chart import Axis, Picture
from core.fitting import Assessment, Control, Move, MovePart, Verdict
from core.language import Message, Name, Numbers, message
from core.records import UNITS
from desktop.widgets import theme
from desktop.widgets.verdict_badge import Headline, VerdictDisplay, WholeSentences

Shown = Callable[..., QWidget]
EMPTY = Picture("t", "s", Axis("x", "mm", 0, 1), Axis("y", "mm", 0, 1))
LONGEST = "Turn the front left foot 1 ⅜ turns longer and the rear foot ¾ turn longer now"


def told(words: str) -> Message:
    return message("common.value", value=Name(words))


def assessment(verdict: Verdict, headline: str, move: Move | None = None) -> Assessment:
    return Assessment(verdict, told(headline), EMPTY, move)


@pytest.fixture
def readout(shown: Shown) -> VerdictDisplay:
    page = QWidget()
    column = QVBoxLayout(page)
    made = VerdictDisplay(Numbers())
    column.addWidget(made)
    column.addStretch(1)
    shown(page, 824, 600)
    return made


def headline_of(readout: VerdictDisplay) -> Headline:
    found = readout.findChild(Headline)
    assert isinstance(found, Headline)
    return found


def is_whole(label: Headline) -> bool:
    metrics = QFontMetricsF(label.font_at(label.width()))
    room = QRectF(0, 0, label.width(), 1e6)
    needed = metrics.boundingRect(room, int(Qt.TextFlag.TextWordWrap), label.text())
    return needed.height() <= label.height() + 1 and needed.width() <= label.width() + 1


@pytest.mark.parametrize("words", ["Good.", LONGEST, LONGEST[:40]])
def test_a_headline_is_at_least_28_points_and_whole_at_the_width_of_a_small_window(
    readout: VerdictDisplay, words: str
) -> None:
    readout.show_assessment(assessment(Verdict.MOVE, words))
    QApplication.processEvents()
    headline = headline_of(readout)
    assert headline.font_at(headline.width()).pointSizeF() >= 28.0
    assert is_whole(headline)


@pytest.mark.parametrize("width", [300, 420, 700, 1600])
@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_a_headline_is_never_cut_at_any_width_or_text_size(
    shown: Shown, qapp: QApplication, width: int, scale: float
) -> None:
    try:
        theme.apply(qapp, "light", text_scale=scale)
        page = QWidget()
        column = QVBoxLayout(page)
        readout = VerdictDisplay(Numbers())
        column.addWidget(readout)
        column.addStretch(1)
        shown(page, width, 700)
        readout.show_assessment(assessment(Verdict.READ_AGAIN, LONGEST))
        qapp.processEvents()
        assert is_whole(headline_of(readout))
    finally:
        theme.apply(qapp, "light")


@pytest.mark.parametrize("is_compact", [False, True])
def test_large_type_never_makes_the_headline_smaller(
    readout: VerdictDisplay, qapp: QApplication, *, is_compact: bool
) -> None:
    readout.show_assessment(assessment(Verdict.MOVE, LONGEST))
    headline = headline_of(readout)
    usual = headline.font_at(760).pointSizeF()
    try:
        theme.apply(qapp, "light", text_scale=1.5)
        readout.set_compact(compact=is_compact)
        qapp.processEvents()
        assert headline.font_at(630).pointSizeF() >= usual
    finally:
        theme.apply(qapp, "light")


@pytest.mark.parametrize("verdict", list(Verdict))
def test_every_verdict_has_its_word_and_is_read_out_whole(
    readout: VerdictDisplay, verdict: Verdict
) -> None:
    part = MovePart(control=Control.PILLAR, amount=4.0, unit="mm")
    move = Move(
        told("Raise the pillar by 4.0 mm."),
        (part,),
        told("parallel within 0.5 mm"),
        told("It is low."),
    )
    readout.show_assessment(assessment(verdict, "The arm is low.", move))
    said = readout.accessibleName()
    for words in (
        verdict.label,
        "The arm is low.",
        "Raise the pillar by 4.0 mm.",
        "Expected after the move: parallel within 0.5 mm.",
        "It is low.",
    ):
        assert words in said
    assert readout.sign is verdict
    assert part.unit in UNITS


@pytest.mark.parametrize(
    ("headline", "move", "left"),
    [
        ("Rear 5 mm high: lower the pillar.", {"in_headline": True}, ""),
        ("Slide 1 mm.", {"rest": told("Known to ±0.4 mm.")}, "Known to ±0.4 mm."),
        ("Stylus up! 4 gf.", {}, "Turn the weight."),
        ("Turn the weight.", {}, ""),
    ],
)
def test_an_order_in_the_headline_is_not_said_again_in_small_print(
    readout: VerdictDisplay, headline: str, move: dict[str, Any], left: str
) -> None:
    part = MovePart(control=Control.PILLAR, amount=4.0, unit="mm")
    order = Move(told("Turn the weight."), (part,), **move)
    readout.show_assessment(assessment(Verdict.MOVE, headline, order))
    assert readout.accessibleName() == f"Move. {headline} {left}".strip()


def test_what_stands_on_a_reading_being_typed_says_so(readout: VerdictDisplay) -> None:
    readout.show_assessment(assessment(Verdict.GOOD, "Level."), live=True)
    assert readout.accessibleName().startswith("While typing:")
    readout.show_assessment(assessment(Verdict.GOOD, "Level."))
    assert not readout.accessibleName().startswith("While typing:")


def test_a_headline_measures_its_type_once_and_anew_when_the_type_changes(
    readout: VerdictDisplay, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A layout asks for the height some hundred times while the type is changed."""
    label = headline_of(readout)
    label.say("Good.")
    asked: list[float] = []
    measure = Headline._largest_metrics

    def counted(of: Headline) -> QFontMetricsF:
        asked.append(of.font().pointSizeF())
        return measure(of)

    monkeypatch.setattr(Headline, "_largest_metrics", counted)
    label._forget_types()
    before = [label.heightForWidth(width) for width in (500, 300, 500, 300)]
    once = len(asked)
    assert before[:2] == before[2:]
    assert [label.heightForWidth(width) for width in (500, 300)] == before[:2]
    assert len(asked) == once
    readout.setStyleSheet("QWidget { font-size: 30pt; }")
    QApplication.processEvents()
    assert label.heightForWidth(500) > before[0]
    readout.setStyleSheet("")
    QApplication.processEvents()
    label.set_compact(compact=True)
    assert label.heightForWidth(500) < before[0]


def test_in_too_little_room_the_last_sentences_are_left_out_whole(
    shown: Shown,
) -> None:
    said = ["Turn it clockwise.", "The highest foot stays.", "Expected after the move: level."]
    label = WholeSentences()
    shown(label, 200, 100)
    label.say_all(said, keep_size=False)
    line = label.fontMetrics().lineSpacing()
    for lines, whole in ((9, 3), (2, 2), (1, 1), (0.5, 1)):
        label.resize(200, round(line * lines) + 1)
        assert label.words_drawn() == " ".join(said[:whole]), lines
    assert label.accessibleName() == " ".join(said)
