"""A list of choices in a narrow column: its words stand whole somewhere."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QComboBox, QLabel, QWidget

from core.records import fields_of
from core.steps import alignment
from core.steps.alignment.readings import Criterion
from desktop.forms.choice_editor import ChoiceEditor
from desktop.widgets.elided_combo import ElidedCombo


@pytest.mark.parametrize("wide", [200, 260, 320, 600])
def test_words_that_do_not_fit_the_list_stand_whole_below_it(
    shown: Callable[..., QWidget], wide: int
) -> None:
    (spec,) = [one for one in fields_of(alignment.Chosen) if one.name == "criterion"]
    editor = ChoiceEditor(spec)
    editor.put(Criterion.LOFGREN_B)
    assert not any(one.isVisible() for one in QApplication.topLevelWidgets()), "no window yet"
    shown(editor, wide, 120)
    (box,) = editor.findChildren(QComboBox)
    seen_below = set()
    for one in Criterion:
        editor.put(one)
        QApplication.processEvents()
        needed = box.fontMetrics().horizontalAdvance(one.label)
        told = [label.text() for label in editor.findChildren(QLabel) if label.isVisible()]
        fits = needed < box.width() - 34  # frame and arrow
        assert fits or one.label in told, (wide, one)
        seen_below.add(one.label in told)
    assert (True in seen_below) is (wide < 400), "nothing is said twice where there is room"


def test_words_that_are_cut_end_in_an_ellipsis(shown: Callable[..., QWidget]) -> None:
    box, short = ElidedCombo(), ElidedCombo()
    for one, words in ((box, "Example deck, 9-inch arm, three feet"), (short, "")):
        one.addItem(words)
        shown(one, 160, 30)
    metrics = box.fontMetrics()
    fits = metrics.elidedText(box.currentText(), Qt.TextElideMode.ElideRight, box.room())
    assert fits.endswith("…")
    short.setItemText(0, fits)
    QApplication.processEvents()
    assert box.grab().toImage() == short.grab().toImage()
