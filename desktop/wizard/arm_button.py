"""The button with the fitting's arm, above the steps; it lets the person change the arm."""

from __future__ import annotations

from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtWidgets import QPushButton, QSizePolicy, QWidget

from core.language import Name
from core.records import Deck, MountedArm, arm_of, arms_of, has_several_arms
from core.store import LibraryProblem, Stored
from core.workflow import changes_of_arm, set_aside_by
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages, tell_problem
from desktop.widgets.plain_text import one_line, plain_tip

_LONGEST: Final = 24
"""Letters of a name on the button; the tooltip has all of it."""


class ArmButton(QPushButton):
    """Shows the arm; hidden for a deck with one arm."""

    blocked = Signal()
    """Another arm was chosen while there is unsaved input."""

    def __init__(
        self, controller: FittingController, messages: Messages, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._controller, self._messages = controller, messages
        self._on_file: Stored[Deck] | None = None
        self.setObjectName("armButton")
        self.setAutoDefault(True)
        self.setSizePolicy(QSizePolicy.Policy.Ignored, QSizePolicy.Policy.Fixed)
        self.look_again()

    def look_again(self) -> None:
        """Read the deck's record again: another window may have changed it."""
        try:
            self._on_file = self._controller.library.deck(self._controller.fitting.deck_id)
        except LibraryProblem:
            self._on_file = None  # then no other arm can be offered
        self.refresh()

    def refresh(self) -> None:
        """Show the present arm."""
        journey = self._controller.journey
        name = journey.arm.name if journey.arm is not None else self._name_on_file()
        self.setVisible(journey.arm is not None or bool(self._others()))
        words = one_line(name) or tr("arms.first")
        short = words if len(words) <= _LONGEST else f"{words[: _LONGEST - 1]}…"
        self.setText(tr("wizard.arm_button.name", arm=Name(short)).replace("&", "&&"))
        self.setAccessibleName(tr("wizard.arm_button.name", arm=Name(words)))
        self.setToolTip(plain_tip(tr("wizard.arm_button.tip", arm=Name(words))))
        self.setEnabled(bool(self._others()) and not journey.fitting.is_finished)

    def ask(self, *, is_typed: bool) -> None:
        """Ask for another arm, and say what will no longer count."""
        others = self._others()
        if not others or self._controller.fitting.is_finished:
            return
        if is_typed:
            self._messages.tell(tr("wizard.arm_button.title"), tr("wizard.arm_button.typed"), "")
            self.blocked.emit()
            return
        count = set_aside_by(self._controller.fitting, others[0])
        answer = self._messages.ask(
            tr("wizard.arm_button.title"),
            tr("wizard.arm_button.ask", arm=Name(self._name()), count=count)
            if count
            else tr("wizard.arm_button.nothing", arm=Name(self._name())),
            [tr("wizard.arm_button.to", arm=Name(one_line(arm.name))) for arm in others],
        )
        if answer is not None:
            self._change(others[answer])

    def _change(self, arm: MountedArm) -> None:
        if self._on_file is None:
            return
        try:
            changes = changes_of_arm(
                self._controller.fitting,
                arm,
                self._on_file.revision,
                is_known=self._knows(arm),
            )
        except LibraryProblem as problem:
            tell_problem(self._messages, problem)
            return
        for body in changes:
            sentence = self._controller.record(body)
            if sentence is not None:
                self._messages.tell(tr("wizard.step_page.not_in_the_record_yet"), sentence)
                return

    def _knows(self, arm: MountedArm) -> bool:
        """Whether the deck's revision in use has this arm."""
        fitting = self._controller.fitting
        deck = self._controller.library.deck(fitting.deck_id, fitting.revisions[0]).thing
        return arm_of(deck, arm.key) is not None

    def _others(self) -> tuple[MountedArm, ...]:
        deck = self._on_file.thing if self._on_file is not None else None
        if deck is None or self._controller.library.read_only:
            return ()
        key = self._controller.fitting.arm_key
        found = tuple(arm for arm in arms_of(deck) if arm.key != key)
        return found if has_several_arms(deck) or arm_of(deck, key) is None else ()

    def _name(self) -> str:
        arm = self._controller.journey.arm
        return one_line(arm.name if arm is not None else self._name_on_file()) or tr("arms.first")

    def _name_on_file(self) -> str:
        return self._on_file.thing.first_arm_name if self._on_file is not None else ""
