"""The lines that go before a move are those of the control that is moved."""

from __future__ import annotations

from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication, QLabel

from core.fitting import Assessment, Control, Move, MovePart, Verdict
from core.language import Numbers, message, step_text
from desktop.forms.move_panel import MovePanel
from desktop.forms.recipe import RecipeLine
from tests.kit import assessed, context


def ordered(*parts: MovePart) -> Assessment:
    said = message("alignment.tighten", grids="both")
    move = Move(said, parts)
    return replace(assessed(context("alignment")), verdict=Verdict.MOVE, next_move=move)


def words_of(panel: MovePanel) -> list[str]:
    lines = [one for one in panel.findChildren(RecipeLine) if one.line.text]
    return [one.line.text for one in lines]


@pytest.fixture
def panel(qapp: QApplication) -> MovePanel:
    del qapp
    return MovePanel(Numbers(), lines=step_text("alignment").moving)


def test_tightening_after_sliding_takes_the_lines_of_sliding_away(panel: MovePanel) -> None:
    panel.show_move(ordered(MovePart(control=Control.SLIDE, amount=-1.2, unit="mm")))
    assert any("Loosen the screws" in one for one in words_of(panel))
    panel.show_move(ordered(MovePart(control=Control.SCREWS, amount=1.0, unit="")))
    QApplication.sendPostedEvents(None, 52)  # deferred deletion
    told = words_of(panel)
    assert any("Tighten the screws" in one for one in told)
    assert not [one for one in told if "Loosen" in one or "move the cartridge" in one]


def test_the_numbers_follow_on(panel: MovePanel) -> None:
    panel.show_move(ordered(MovePart(control=Control.ARM_BASE, amount=1.0, unit="mm")))
    lines = panel.findChildren(RecipeLine)
    assert sorted(one.sign for one in lines) == [str(n) for n in range(1, len(lines) + 1)]


def test_an_amount_is_asked_for_only_where_there_is_a_field_for_it(panel: MovePanel) -> None:
    def told() -> bool:
        return any(
            "Enter how far" in one.text()
            for one in panel.findChildren(QLabel)
            if not one.isHidden()
        )

    panel.show_move(ordered(MovePart(control=Control.SLIDE, amount=-1.2, unit="mm")))
    assert told()
    panel.show_move(ordered(MovePart(control=Control.SCREWS, amount=1.0, unit="")))
    assert not told()
