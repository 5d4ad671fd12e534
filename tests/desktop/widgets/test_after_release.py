"""A choice half out of sight is chosen by the first click: no page scrolls under a press."""

from __future__ import annotations

from collections.abc import Callable, Iterator

import pytest
from PySide6.QtCore import QPoint, QRect, Qt
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QApplication, QLineEdit, QRadioButton, QVBoxLayout, QWidget

from desktop.widgets import theme
from desktop.widgets.following_area import FollowingArea
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import FittingBench, Opener, settle, step_page

LEFT, NONE = Qt.MouseButton.LeftButton, Qt.KeyboardModifier.NoModifier


@pytest.fixture(autouse=True)
def usual_look(qapp: QApplication) -> Iterator[None]:
    yield
    theme.apply(qapp, "light", text_scale=1.0)


def seen_of(widget: QWidget) -> QRect:
    return widget.visibleRegion().boundingRect()


def click_as_a_person(widget: QWidget) -> None:
    """Press what is seen of a widget, and release it there once the program had its turns."""
    window = widget.window()
    place = widget.mapTo(window, seen_of(widget).center())
    handle = window.windowHandle()
    QTest.mousePress(handle, LEFT, NONE, place)
    for _ in range(4):
        settle()
    QTest.mouseRelease(handle, LEFT, NONE, place)
    settle()


def hide_half_of(widget: QWidget, page: StepPage) -> None:
    """Scroll a widget half out of sight, at the lower end of its column."""
    area = next(one for one in page._columns._areas if one.isAncestorOf(widget))
    inside = area.widget()
    assert inside is not None
    middle = widget.mapTo(inside, widget.rect().center()).y()
    area.verticalScrollBar().setValue(middle - area.viewport().height())
    settle()


def test_a_choice_half_out_of_sight_is_made_by_the_first_click(
    bench: FittingBench, open_wizard: Opener, qapp: QApplication
) -> None:
    theme.apply(qapp, "light", text_scale=1.5)
    wizard = open_wizard()
    wizard.resize(900, 600)
    settle()
    page = step_page(wizard)
    page.deferred.finish()
    settle()
    form = page.reading.form
    assert form is not None
    radios = [one for one in form.findChildren(QRadioButton) if one.isVisible()]
    for radio in radios[-2:]:
        page.reading.start()
        settle()
        hide_half_of(radio, page)
        assert 0 < seen_of(radio).height() < radio.height()
        click_as_a_person(radio)
        assert radio.isChecked()
        assert seen_of(radio).height() == radio.height(), "after the release it is in sight"


def test_an_area_that_follows_the_focus_waits_for_the_release(
    shown: Callable[..., QWidget],
) -> None:
    held = QWidget()
    column = QVBoxLayout(held)
    line, choice = QLineEdit(), QRadioButton("One of two")
    column.addWidget(line)
    column.addSpacing(600)
    column.addWidget(choice)
    area = FollowingArea(held)
    shown(area, 300, 300)
    line.setFocus()
    settle()
    bottom = choice.mapTo(held, QPoint(0, choice.height() // 2)).y()
    area.verticalScrollBar().setValue(bottom - area.viewport().height())
    settle()
    assert 0 < seen_of(choice).height() < choice.height()
    click_as_a_person(choice)
    assert choice.isChecked()
    assert seen_of(choice).height() == choice.height()
