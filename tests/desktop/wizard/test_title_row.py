"""The title row of a page cuts no button, however many there are."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QPushButton, QVBoxLayout, QWidget

from desktop.wizard.title_row import TitleRow

Show = Callable[..., QWidget]


@pytest.mark.parametrize("share", [2.4, 3.6, 6.0])
def test_no_button_is_narrower_than_its_words(shown: Show, share: float) -> None:
    buttons = [QPushButton("Make it a whole fitting") for _ in range(4)]
    page = QWidget()
    row = TitleRow(QLabel("Summary"), QLabel(""), (), buttons, page)
    column = QVBoxLayout(page)
    column.addWidget(row)
    column.addStretch(1)
    shown(page, round(share * buttons[0].sizeHint().width()), 300)
    for _ in range(4):
        QApplication.processEvents()
    assert all(one.width() >= one.minimumSizeHint().width() for one in buttons)
    assert all(one.geometry().right() < row.width() for one in buttons)


@pytest.mark.parametrize("less", range(0, 60, 4))
def test_the_title_beside_a_sign_of_a_fixed_size_is_never_cut(shown: Show, less: int) -> None:
    sign = QWidget()
    sign.setFixedSize(27, 27)
    page = QWidget()
    title, buttons = QLabel("5 of 9: Alignment"), [QPushButton("Work on it again…")]
    row = TitleRow(title, QLabel("Overhang and offset set"), (sign, QLabel("Done")), buttons, page)
    column = QVBoxLayout(page)
    column.setContentsMargins(0, 0, 0, 0)
    column.addWidget(row)
    column.addStretch(1)
    whole = (title.sizeHint(), sign.sizeHint(), buttons[0].sizeHint(), QLabel("Done").sizeHint())
    room = sum(one.width() for one in whole) + 27 + 3 * row.fontMetrics().height()
    shown(page, room - less, 300)
    for _ in range(4):
        QApplication.processEvents()
    assert title.width() >= title.minimumSizeHint().width()


def test_the_word_of_a_state_goes_before_the_title_is_cut_and_comes_again(shown: Show) -> None:
    sign, page, title, word = QWidget(), QWidget(), QLabel("4 of 9: Arm height"), QLabel("To do")
    sign.setFixedSize(27, 27)
    row = TitleRow(title, QLabel("VTA"), (sign, word), (), page)
    column = QVBoxLayout(page)
    column.setContentsMargins(0, 0, 0, 0)
    column.addWidget(row)
    column.addStretch(1)
    gaps = 4 * row.fontMetrics().height()
    shown(page, title.sizeHint().width() + 27 + word.sizeHint().width() + gaps, 300)
    for words, is_shown in (("To do", True), ("In progress, to be checked", False), ("Done", True)):
        word.setText(words)
        row.fit()
        for _ in range(4):
            QApplication.processEvents()
        assert word.isVisible() is is_shown, words
        assert title.width() >= title.minimumSizeHint().width(), words
        assert row.minimumSizeHint().width() <= row.width()
