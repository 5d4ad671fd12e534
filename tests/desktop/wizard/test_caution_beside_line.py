"""A caution says nothing that the line above it says: what is read twice is soon read no more."""

from __future__ import annotations

import re
from collections.abc import Iterator

import pytest
from PySide6.QtWidgets import QApplication, QWidget

from core.language import WorkLine, step_text
from core.steps import STEP_NAMES
from desktop.forms.recipe import RecipeLine


def guarded(step: str) -> Iterator[WorkLine]:
    """Yield every line of a step that has a caution, of its ways and before its moves."""
    text = step_text(step)
    every = [*text.moving, *(line for way in text.ways.values() for line in way.lines)]
    yield from {(line.text, line.caution): line for line in every if line.caution}.values()


def words_in(text: str) -> list[str]:
    return re.findall(r"[a-z']+", text.lower())


def stems(text: str) -> set[str]:
    """Return the beginnings of the words that mean something, so that 'locked' is 'lock'."""
    small = {"the", "its", "and", "all", "that", "are", "for", "you", "with"}
    return {word[:4] for word in words_in(text) if len(word) > 2 and word not in small}


def runs(text: str, long: int = 4) -> set[tuple[str, ...]]:
    words = words_in(text)
    return {tuple(words[at : at + long]) for at in range(len(words) - long + 1)}


@pytest.mark.parametrize("step", STEP_NAMES)
def test_no_caution_says_again_what_its_line_says(qapp: QApplication, step: str) -> None:
    page = QWidget()
    for line in guarded(step):
        caution = RecipeLine(1, line, page).caution
        assert caution is not None
        closed = caution.text()
        assert stems(closed) - stems(line.text), (line.text, closed)
        caution.open(wide=True)
        opened = caution.text()
        for said in (closed, opened, caution.accessibleName(), caution.toolTip()):
            again = runs(line.text) & runs(said)
            assert not again, (line.text, said)
        assert len(runs(opened)) == len(words_in(opened)) - 3, "a caution that repeats itself"
    page.deleteLater()


@pytest.mark.parametrize("step", STEP_NAMES)
def test_a_caution_gives_the_order_where_the_words_of_its_line_are_folded_away(
    qapp: QApplication, step: str
) -> None:
    page = QWidget()
    for line in guarded(step):
        made = RecipeLine(1, line, page)
        assert made.caution is not None
        made.fold_to_caution(away=True)
        assert made.caution.text().startswith(made.caution.title())
    page.deleteLater()
