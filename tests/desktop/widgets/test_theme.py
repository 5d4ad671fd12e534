"""Colours that can be read, in light and in dark."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import pytest
from PySide6.QtCore import QRectF
from PySide6.QtGui import QColor, QImage, QPainter
from PySide6.QtWidgets import (
    QApplication,
    QComboBox,
    QLabel,
    QRadioButton,
    QVBoxLayout,
    QWidget,
)

from core.drawing.chart import MarkRole
from core.fitting import StepState, Verdict
from desktop.widgets import theme
from desktop.widgets.verdict_signs import Sign, paint_sign


def _luminance(colour: str) -> float:
    """Relative luminance as WCAG 2.1 defines it (memory; checked against black on white, 21:1)."""

    def linear(part: float) -> float:
        return part / 12.92 if part <= 0.03928 else ((part + 0.055) / 1.055) ** 2.4

    red, green, blue = (int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
    return 0.2126 * linear(red) + 0.7152 * linear(green) + 0.0722 * linear(blue)


def contrast(one: str, other: str) -> float:
    light, dark = sorted((_luminance(one), _luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


LOOKS = pytest.mark.parametrize("look", [theme.LIGHT, theme.DARK], ids=["light", "dark"])


def test_the_contrast_formula_gives_21_for_black_on_white() -> None:
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)


@LOOKS
def test_words_have_a_contrast_of_four_and_a_half_on_every_ground(look: theme.Appearance) -> None:
    grounds = (look.window, look.base)
    for words in (look.text, look.muted, look.problem, look.question, look.accent):
        for ground in grounds:
            assert contrast(words, ground) >= 4.5, (words, ground)
    assert contrast(look.text, look.raised) >= 4.5
    assert contrast(look.muted, look.raised) >= 4.5
    assert contrast(look.on_accent, look.accent) >= 4.5


@LOOKS
def test_shapes_and_frames_have_a_contrast_of_three(look: theme.Appearance) -> None:
    for ground in (look.window, look.base):
        assert contrast(look.line, ground) >= 3.0
        for verdict, colour in look.verdicts.items():
            assert contrast(colour, ground) >= 3.0, (verdict, ground)
    for role, colour in look.roles.items():  # charts and drawings stand on the base
        assert contrast(colour, look.base) >= 3.0, role


@LOOKS
def test_every_verdict_and_role_has_a_colour(look: theme.Appearance) -> None:
    assert set(look.verdicts) == set(Verdict)
    assert set(look.roles) == set(MarkRole)


def _drawn(sign: Sign, qapp: QApplication) -> QImage:
    assert qapp is not None
    image = QImage(48, 48, QImage.Format.Format_Grayscale8)
    image.fill(QColor("white"))
    painter = QPainter(image)
    paint_sign(painter, QRectF(0, 0, 48, 48), sign, QColor("black"), QColor("white"))
    painter.end()
    return image


def _difference(one: QImage, other: QImage) -> float:
    a, b = bytes(one.constBits()), bytes(other.constBits())
    return sum(abs(x - y) for x, y in zip(a, b, strict=True)) / (255 * len(a))


def test_signs_differ_by_shape_alone(qapp: QApplication) -> None:
    verdicts = {sign: _drawn(sign, qapp) for sign in Verdict}
    states = {sign: _drawn(sign, qapp) for sign in StepState}
    for drawn in (verdicts, states):
        for (one, first), (other, second) in combinations(drawn.items(), 2):
            assert _difference(first, second) > 0.04, (one, other)
    for image in (*verdicts.values(), *states.values()):
        assert _difference(image, _blank()) > 0.02


def _blank() -> QImage:
    image = QImage(48, 48, QImage.Format.Format_Grayscale8)
    image.fill(QColor("white"))
    return image


def test_the_scheme_and_the_text_size_can_be_changed_and_changed_back(qapp: QApplication) -> None:
    own = qapp.font().pointSizeF()
    try:
        theme.apply(qapp, "dark", text_scale=1.5)
        label = QLabel("word")
        assert theme.appearance_of(label).is_dark
        assert qapp.font().pointSizeF() == pytest.approx(1.5 * own)
        theme.apply(qapp, "light", text_scale=1.0)
        assert not theme.appearance_of(QLabel("word")).is_dark
        assert qapp.font().pointSizeF() == pytest.approx(own)
    finally:
        theme.apply(qapp, "light")


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("scale", [1.0, 1.5])
def test_a_list_that_drops_down_has_an_arrow_that_can_be_seen(
    qapp: QApplication, shown: Callable[..., QWidget], scheme: theme.Scheme, scale: float
) -> None:
    theme.apply(qapp, scheme, text_scale=scale)
    try:
        window = QWidget()
        theme.mark(window)
        box = QComboBox(window)
        box.addItem("")
        box.resize(300, round(theme.em(box) * 2))
        shown(window, 300, round(theme.em(box) * 2))
        image = box.grab().toImage()
        look = theme.appearance_of(box)
        line = round(theme.em(box))
        right = range(image.width() - 2 * line, image.width() - 4)
        middle = range(image.height() // 2 - line // 3, image.height() // 2 + line // 3)
        seen = sum(
            contrast(image.pixelColor(x, y).name(), look.base) >= 3.0 for x in right for y in middle
        )
        assert seen >= line
    finally:
        theme.apply(qapp, "light")


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_a_choice_that_has_the_focus_does_not_look_chosen(
    qapp: QApplication, shown: Callable[..., QWidget], scheme: theme.Scheme
) -> None:
    """The frame of the focus is broken around a choice that nobody made yet."""
    theme.apply(qapp, scheme)
    page = QWidget()
    theme.mark(page)
    column = QVBoxLayout(page)
    radio = QRadioButton("Stood still")
    column.addWidget(radio)
    shown(page, 300, 100)
    radio.setFocus()
    qapp.processEvents()

    def colours_of_the_edge() -> set[int]:
        image = radio.grab().toImage()
        return {image.pixel(x, 1) for x in range(20, image.width() - 20)}

    waiting = colours_of_the_edge()
    radio.setChecked(True)
    qapp.processEvents()
    assert len(colours_of_the_edge()) == 1, "a whole line"
    assert len(waiting) > 1, "a broken one"
    theme.apply(qapp, "light")
