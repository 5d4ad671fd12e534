"""Every page in a language with longer words: no sentence of the catalogue is shown in English."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from PySide6.QtWidgets import (
    QAbstractButton,
    QApplication,
    QComboBox,
    QGroupBox,
    QLabel,
    QLineEdit,
    QWidget,
)

from core.fitting import Work
from core.language import Numbers
from core.language.catalogue import LONGER, rooms, templates, worded_data
from core.practice.invented_decks import starter_cartridges, starter_decks
from core.records import Customer, Headshell, Job
from core.workflow.work import work_asked
from desktop.history.history_page import HistoryPage
from desktop.library.editor import RecordEditor
from desktop.library.jobs_page import JobsPage
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.paper.paper_button import PaperButton
from desktop.rehearsal.rehearsal_page import RehearsalPage
from desktop.shell.main_window import MainWindow
from desktop.swap.swap_page import SwapPage
from desktop.tasks.deferred_build import DeferredBuild
from desktop.widgets.preferences import Preferences
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import RecordingMessages, make_every_field, one_of_everything
from tests.examples import deck

_PLACES = re.compile(r"\{\w+\}|&(?=\w)")
_SHORTEST = 12
"""Letters of a phrase that is looked for: shorter ones stand in names as well."""


@cache
def english_phrases() -> frozenset[str]:
    """Return what stands between the places of every template, where it is two words or more."""
    found: set[str] = set()

    def collect(data: Any) -> None:
        if isinstance(data, str):
            pieces = re.split(r"\{\w+\}", data.replace("&", ""))
            found.update(piece.strip() for piece in pieces)
        elif isinstance(data, dict):
            for name, one in data.items():
                if name not in ("by", "cautions"):
                    collect(one)
        elif isinstance(data, list | tuple):
            for one in data:
                collect(one)

    for room in rooms():
        collect(templates(room))
    collect(worded_data("cautions.toml"))
    return frozenset(
        phrase for phrase in found if len(phrase) >= _SHORTEST and re.search(r"[a-z] [a-z]", phrase)
    )


def shown_words(window: QWidget) -> Iterator[str]:
    """Yield every text of a window, and what it says to a screen reader."""
    yield window.windowTitle()
    for one in (window, *window.findChildren(QWidget)):
        yield one.toolTip()
        yield one.accessibleName()
        yield one.accessibleDescription()
        match one:
            case QLabel() | QAbstractButton():
                yield one.text()
            case QLineEdit():
                yield one.placeholderText()
            case QGroupBox():
                yield one.title()
            case QComboBox():
                yield from (one.itemText(place) for place in range(one.count()))


def left_in_english(window: QWidget) -> list[str]:
    """Return the texts of a window that hold a phrase of the English catalogue."""
    texts = {re.sub(r"&(?=\w)", "", text) for text in shown_words(window)}
    texts -= {one.name for one in (*starter_decks(), *starter_cartridges())}  # names are no words
    return sorted(
        text for text in texts if text and any(phrase in text for phrase in english_phrases())
    )


Open = Callable[[MainWindow, str, str], QWidget]


def wizard_at(place: str) -> Open:
    def show(window: MainWindow, fitting_id: str, _deck_id: str) -> QWidget:
        window.open_fitting(fitting_id)
        page = window.pages.currentWidget()
        assert isinstance(page, Wizard)
        page.go(place)
        return window

    return show


def _paper(window: MainWindow, fitting_id: str, _deck_id: str) -> QWidget:
    wizard_at("alignment")(window, fitting_id, "")
    settle(window)
    button = next(one for one in window.findChildren(PaperButton) if one.isVisible())
    button.open()
    assert button.dialog is not None
    return button.dialog


def _page(show: Callable[[MainWindow, str, str], object]) -> Open:
    def opened(window: MainWindow, fitting_id: str, deck_id: str) -> QWidget:
        show(window, fitting_id, deck_id)
        return window

    return opened


def _plan(window: MainWindow, fitting_id: str, _deck_id: str) -> QWidget:
    window.show_swap(fitting_id)
    page = window.pages.currentWidget()
    assert isinstance(page, SwapPage)
    return window


def _rehearsal(window: MainWindow, _fitting_id: str, _deck_id: str) -> QWidget:
    window.show_rehearsal()
    assert isinstance(window.pages.currentWidget(), RehearsalPage)
    return window


def _two_versions(window: MainWindow, _fitting_id: str, deck_id: str) -> QWidget:
    window.show_editor("deck", deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, RecordEditor)
    assert window.library is not None
    begun = window.library.deck(deck_id).thing
    window.library.keep_deck(begun.model_copy(update={"notes": "b"}), id=deck_id, who="B")
    page.form.put(begun.model_copy(update={"notes": "a"}))
    page.show_both()
    assert page.comparison is not None
    return window


def job_of(window: MainWindow, fitting_id: str) -> str:
    """Make a job with a customer and give it the fitting."""
    library = window.library
    assert library is not None
    person = library.keep_customer(Customer(name="B", contact="C"))
    job_id = library.keep_job(Job(customer=person.id, promised="2020-01-01")).id
    library.give_job(fitting_id, job_id)
    return job_id


def _service(window: MainWindow, _fitting_id: str, deck_id: str) -> QWidget:
    window.show_history(deck_id)
    page = window.pages.currentWidget()
    assert isinstance(page, HistoryPage)
    page.loader.finish()
    page.service.ask()
    return window


def _headshells(window: MainWindow, _fitting_id: str, _deck_id: str) -> QWidget:
    library = window.library
    assert library is not None
    library.keep_headshell(Headshell(name="B", mass_g=8.0))
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.refresh()
    screen.tabs.setCurrentWidget(screen.headshells)
    return window


def _for_customer(window: MainWindow, _fitting_id: str, _deck_id: str) -> QWidget:
    library = window.library
    assert library is not None
    library.keep_headshell(Headshell(name="B", mass_g=8.0))
    made = deck()
    arm = made.arm.model_copy(update={"headshell_mass_g": 8.0})
    window.show_start(library.keep_deck(made.model_copy(update={"arm": arm})).id)
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    page.for_customer.box.setChecked(True)
    return window


def _undo(window: MainWindow, _fitting_id: str, deck_id: str) -> QWidget:
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    screen.tabs.setCurrentWidget(screen.decks)
    screen.acts.archive("deck", [deck_id], archived=True)
    return window


def _short_job(place: str) -> Open:
    def show(window: MainWindow, _fitting_id: str, deck_id: str) -> QWidget:
        library = window.library
        assert library is not None
        (cartridge_id,) = {row.cartridge_id for row in library.fittings()}
        begun = library.start_fitting(deck_id, cartridge_id, work=work_asked(Work.SPEED))
        return wizard_at(place)(window, begun.id, deck_id)

    return show


def _handed_over(window: MainWindow, _fitting_id: str, _deck_id: str) -> QWidget:
    assert window.library is not None
    person = window.library.keep_customer(Customer(name="Bb", contact="C"))
    gone = Job(customer=person.id, received="2020-01-01", handed_over="2020-01-02")
    window.library.keep_job(gone)
    window.show_jobs()
    page = window.pages.currentWidget()
    assert isinstance(page, JobsPage)
    page.tabs.setCurrentWidget(page.gone)
    page.customer.setText("bb")
    return window


def _recording(step: str, way: str) -> Open:
    def show(window: MainWindow, fitting_id: str, _deck_id: str) -> QWidget:
        wizard_at(step)(window, fitting_id, "")
        settle(window)
        wizard = window.pages.currentWidget()
        assert isinstance(wizard, Wizard)
        assert isinstance(wizard.page, StepPage)
        wizard.page.reading.choose(way)
        return window

    return show


PAGES: dict[str, Open] = {
    "first screen": _page(lambda window, _fitting, _deck: window.show_library()),
    "start of a fitting": _page(lambda window, _fitting, _deck: window.show_start()),
    "form of a deck": _page(lambda window, _fitting, deck: window.show_editor("deck", deck)),
    "form of a cartridge": _page(lambda window, _fitting, _deck: window.show_editor("cartridge")),
    "level": wizard_at("level"),
    "mount": wizard_at("mount"),
    "rough downforce": wizard_at("rough_downforce"),
    "arm height": wizard_at("arm_height"),
    "alignment": wizard_at("alignment"),
    "tilt": wizard_at("tilt"),
    "skating": wizard_at("skating"),
    "final downforce": wizard_at("final_downforce"),
    "speed": wizard_at("speed"),
    "summary": wizard_at("summary"),
    "swap": _plan,
    "history": _page(lambda window, _fitting, deck: window.show_history(deck)),
    "due decks": _page(lambda window, _fitting, _deck: window.show_due()),
    "jobs": _page(lambda window, _fitting, _deck: window.show_jobs()),
    "job": _page(lambda window, fitting, _deck: window.show_job(job_of(window, fitting))),
    "rehearsal": _rehearsal,
    "backups": _page(lambda window, _fitting, _deck: window.show_backups()),
    "appearance": _page(lambda window, _fitting, _deck: window.show_appearance()),
    "paper": _paper,
    "two versions": _two_versions,
    "headshells": _headshells,
    "form of a headshell": _page(lambda window, _fitting, _deck: window.show_editor("headshell")),
    "start for a customer": _for_customer,
    "service record": _service,
    "undo bar": _undo,
    "short job": _short_job("speed"),
    "summary of a short job": _short_job("summary"),
    "jobs handed over": _handed_over,
    "speed by recording": _recording("speed", "tone"),
    "tilt by recording": _recording("tilt", "leak by tone"),
    "skating by recording": _recording("skating", "bands by tone"),
    "resonance by recording": _recording("mount", "resonance by record"),
}


def settle(window: QWidget) -> None:
    pages = [later for later in window.findChildren(DeferredBuild) if later.page.isVisible()]
    while not all(later.is_done for later in pages):
        QApplication.processEvents()
    for _ in range(3):
        QApplication.processEvents()


@pytest.mark.parametrize("name", PAGES)
def test_no_sentence_of_the_catalogue_is_shown_in_english(
    name: str,
    in_another_language: None,
    tmp_path: Path,
    shown: Callable[[QWidget], QWidget],
    messages: RecordingMessages,
) -> None:
    path = tmp_path / "bench.library"
    fitting_id, deck_id = one_of_everything(path, finish=name == "swap")
    window = MainWindow(
        numbers=Numbers(language=LONGER),
        preferences=Preferences(tmp_path / "own.ini"),
        messages=messages,
    )
    window.open_library(path)
    shown(window)
    page = PAGES[name](window, fitting_id, deck_id)
    make_every_field(page)
    settle(window)
    messages.answers = [1]  # a form that holds what is not saved is left without it
    assert left_in_english(page) == []


def test_a_text_left_in_english_is_found(qapp: QApplication) -> None:
    label = QLabel("You can go on. If it happens again, close Setdown and start it again.")
    assert left_in_english(label) == [label.text()]
    label.deleteLater()
