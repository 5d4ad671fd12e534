"""A fitting on the bench, and hands to work it with."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Any

import pytest
from PySide6.QtWidgets import QWidget

from core.fitting import Body, MoveMade, MovePart, ReadingTaken, StepAccepted
from core.language import Numbers
from core.store import Library
from desktop.tasks.fitting_controller import FittingController
from desktop.wizard import Wizard
from tests.desktop.fakes import RecordingMessages
from tests.examples import cartridge, deck

MOUNTED: dict[str, Any] = {
    "way": "checklist",
    **dict.fromkeys(
        (
            "amplifier_off", "guard_on", "arm_locked", "screws_snug", "white_lead", "blue_lead",
            "red_lead", "green_lead",
        ),
        True,
    ),
}  # fmt: skip # rows of a table


class Bench:
    """A desk with short ways to bring a fitting to where a test begins."""

    def __init__(self, library: Library) -> None:
        self.library = library
        kept_deck, kept_cartridge = library.keep_deck(deck()), library.keep_cartridge(cartridge())
        self.fitting = library.start_fitting(kept_deck.id, kept_cartridge.id, who="A. Tester")
        self.controller = self.another()

    def another(self) -> FittingController:
        """Return a fresh desk for the same fitting, as after a restart."""
        return FittingController(
            self.library, self.fitting.id, who="A. Tester", numbers=Numbers(",")
        )

    def keep(self, body: Body) -> None:
        assert self.controller.record(body) is None

    def read(self, step: str, **values: Any) -> None:
        self.keep(ReadingTaken(step=step, reading=values))

    def move(self, step: str, *parts: MovePart) -> None:
        self.keep(MoveMade(step=step, parts=parts))

    def accept(self, step: str, reason: str = "") -> None:
        now = self.controller.journey.status(step).assessment
        self.keep(
            StepAccepted(step=step, verdict=now.verdict, headline=now.headline, reason=reason)
        )

    def level(self) -> None:
        for direction in ("front-back", "left-right"):
            for turned in (False, True):
                self.read("level", way="bubble", direction=direction, turned=turned, divisions=0.0)
        self.accept("level")

    def mount(self) -> None:
        self.level()
        self.read("mount", **MOUNTED)
        self.accept("mount")

    def rough(self, downforce_gf: float = 2.0) -> None:
        self.mount()
        for _ in range(3):
            self.read("rough_downforce", way="scale", downforce_gf=downforce_gf)
        self.accept("rough_downforce")


@pytest.fixture
def bench(library: Library) -> Bench:
    return Bench(library)


@pytest.fixture
def open_wizard(
    bench: Bench, messages: RecordingMessages, shown: Callable[..., QWidget]
) -> Iterator[Callable[[], Wizard]]:
    """Return a function that shows the wizard for the bench's fitting."""

    def show() -> Wizard:
        wizard = Wizard(bench.controller, messages)
        shown(wizard)
        wizard.begin()
        return wizard

    yield show
    bench.controller.deleteLater()
