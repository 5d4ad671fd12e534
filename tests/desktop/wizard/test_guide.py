"""The guide tells what to have at hand only where something can be done on the deck."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QWidget

from core.language import Numbers
from core.store import Library
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from desktop.wizard.step_page import StepPage
from tests.desktop.kit import RecordingMessages
from tests.examples import cartridge, deck


@pytest.mark.parametrize(
    ("changes", "has_something_to_do"),
    [
        ({}, True),
        ({"skating": {"control": "none"}}, False),
        ({"skating": {"control": "fluid"}}, False),
    ],
)
def test_steps_to_do_are_told_only_where_there_is_something_to_set(
    library: Library,
    messages: RecordingMessages,
    shown: Callable[[QWidget], QWidget],
    changes: dict[str, Any],
    has_something_to_do: bool,
) -> None:
    kept, head = library.keep_deck(deck(**changes)), library.keep_cartridge(cartridge())
    fitting = library.start_fitting(kept.id, head.id)
    wizard = Wizard(FittingController(library, fitting.id, who="", numbers=Numbers()), messages)
    shown(wizard)
    wizard.go("skating")
    page = wizard.page
    assert isinstance(page, StepPage)
    page.deferred.finish()
    for _ in range(2):  # what is added to a page on show is shown a round of events later
        QApplication.processEvents()
    said = [label.text() for label in page.guide.findChildren(QLabel) if label.isVisible()]
    assert ("Have ready" in said) is has_something_to_do
    assert any("Friction in the groove" in words for words in said)
