"""Every page wears other colours and another size of type, on show or shown later."""

from __future__ import annotations

from functools import partial

import pytest
from PySide6.QtTest import QTest
from PySide6.QtWidgets import QAbstractButton, QApplication, QLabel, QLineEdit, QWidget

from core.steps import STEP_NAMES
from core.store import Library
from desktop.shell.main_window import MainWindow
from desktop.widgets import theme
from desktop.wizard import Wizard
from desktop.wizard.rail import SUMMARY
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import finished
from tests.examples import cartridge, deck

LOOKS = [("dark", 1.0), ("dark", 1.5)]
MANY = 20

PLACES = (*STEP_NAMES, SUMMARY)

pytestmark = pytest.mark.usefixtures("usual_look")


@pytest.fixture
def fitting(library: Library) -> str:
    deck_id, cartridge_id = library.keep_deck(deck()).id, library.keep_cartridge(cartridge()).id
    return finished(library, deck_id, cartridge_id, finish=False)


@pytest.fixture
def opened(window: MainWindow, library: Library, fitting: str) -> MainWindow:
    """Return the window with the library open, where the fitting was looked at before."""
    window.resize(1280, 800)
    window.open_library(library.address.path)
    window.open_fitting(fitting)
    window.show_library()
    return window


def on_show(window: MainWindow) -> list[QWidget]:
    return [one for one in window.findChildren(QWidget) if one.isVisible()]


def points(window: MainWindow) -> dict[QWidget, float]:
    return {one: one.font().pointSizeF() for one in on_show(window)}


def check(window: MainWindow, look: theme.Appearance, sizes: dict[QWidget, float]) -> None:
    """Check that all on show has a colour of this look, and type of the size it should have."""
    words = {look.text, look.muted, look.accent, look.on_accent, look.problem, look.question}
    grounds = {look.window, look.base, look.raised, look.accent}
    seen = on_show(window)
    assert len(seen) > MANY
    for one in seen:
        palette = one.palette()
        assert palette.color(one.foregroundRole()).name() in words, one
        ground = palette.color(one.backgroundRole())
        if isinstance(one, QLabel | QAbstractButton | QLineEdit):  # the others may paint none
            assert ground.alpha() == 0 or ground.name() in grounds, one
        if one in sizes:
            assert one.font().pointSizeF() == pytest.approx(sizes[one], rel=0.01), one


def go(window: MainWindow, place: str) -> None:
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    wizard.go(place)
    if isinstance(wizard.page, StepPage):
        wizard.page.deferred.finish()
    QTest.qWait(20)


def test_every_page_of_a_fitting_wears_the_new_look_on_show_or_shown_later(
    qapp: QApplication, opened: MainWindow, fitting: str
) -> None:
    opened.open_fitting(fitting)
    usual = dict[QWidget, float]()
    for place in PLACES:
        go(opened, place)
        usual.update(points(opened))
    larger = {one: 1.5 * size for one, size in usual.items()}
    theme.apply(qapp, "dark", text_scale=1.5)
    check(opened, theme.DARK, larger)
    for place in PLACES:  # all but the last were hidden meanwhile
        go(opened, place)
        check(opened, theme.DARK, larger)
        theme.apply(qapp, "light", text_scale=1.5)
        check(opened, theme.LIGHT, larger)
        theme.apply(qapp, "light", text_scale=1.0)
        check(opened, theme.LIGHT, usual)
        theme.apply(qapp, "dark", text_scale=1.5)


@pytest.mark.parametrize(("scheme", "scale"), LOOKS)
def test_every_other_page_wears_the_new_look(
    qapp: QApplication, opened: MainWindow, library: Library, scheme: theme.Scheme, scale: float
) -> None:
    look = theme.DARK if scheme == "dark" else theme.LIGHT
    deck_id = library.decks()[0].id
    for show in (
        opened.show_library,
        opened.show_start,
        opened.show_jobs,
        partial(opened.show_editor, "deck"),
        partial(opened.show_editor, "cartridge"),
        partial(opened.show_history, deck_id),
    ):
        show()
        QTest.qWait(50)
        larger = {one: scale * size for one, size in points(opened).items()}
        theme.apply(qapp, scheme, text_scale=scale)
        QTest.qWait(20)
        check(opened, look, larger)
        opened.show_library()
        check(opened, look, {})
        theme.apply(qapp, "light", text_scale=1.0)
