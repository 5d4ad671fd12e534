"""The history of a deck whose fittings have grown long."""

from __future__ import annotations

import threading

import pytest
from pytestqt.qtbot import QtBot

from core.fitting import NoteWritten
from core.language import Numbers
from core.store import Library
from core.swap.past import Past, past_of
from desktop.history import history_loader
from desktop.history.history_loader import HistoryLoader
from tests.desktop.kit import HistoryBench
from tests.long_logs import long_fitting


def _loader(history: HistoryBench) -> HistoryLoader:
    for name in ("long", "longer"):
        history.library.log.add(
            long_fitting(
                300, name=name, deck_id=history.deck_id, cartridge_id=history.one, finished=True
            )
        )
    history.keep("2025-05-01")
    return HistoryLoader(history.library, history.deck_id, Numbers())


def test_long_fittings_are_computed_beside_the_window(
    history: HistoryBench, qtbot: QtBot, monkeypatch: pytest.MonkeyPatch
) -> None:
    in_window: dict[str, bool] = {}

    def watched(library: Library, fitting_id: str) -> Past:
        here = threading.current_thread() is threading.main_thread()
        in_window[fitting_id] = here
        return past_of(library, fitting_id)

    monkeypatch.setattr(history_loader, "past_of", watched)
    loader = _loader(history)
    loader.begin(history.library.fittings(deck_id=history.deck_id))
    qtbot.waitUntil(lambda: loader.is_done, timeout=60_000)
    assert [in_window.pop(name) for name in ("long", "longer")] == [False, False]
    assert list(in_window.values()) == [True]
    assert {past.fitting.id for past in loader.pasts} >= {"long", "longer"}


def test_what_was_added_meanwhile_is_computed_with_it(history: HistoryBench, qtbot: QtBot) -> None:
    loader = _loader(history)
    loader.begin(history.library.fittings(deck_id=history.deck_id))
    qtbot.waitUntil(lambda: loader._task is not None, timeout=60_000)
    for name in ("long", "longer"):
        history.library.append(name, NoteWritten(text="since"))
    loader.begin(history.library.fittings(deck_id=history.deck_id))
    qtbot.waitUntil(lambda: loader.is_done, timeout=60_000)
    bodies = [past.fitting.entries[-1].body for past in loader.pasts if "long" in past.fitting.id]
    assert bodies == [NoteWritten(text="since")] * 2


def test_what_cannot_be_read_is_told_and_the_rest_goes_on(
    history: HistoryBench, qtbot: QtBot
) -> None:
    loader = _loader(history)
    told: list[object] = []
    loader.troubled.connect(told.append)
    rows = history.library.fittings(deck_id=history.deck_id)
    backend = history.library._backend
    with backend.transaction():
        backend.update(  # type: ignore[attr-defined]  # a damage no method makes
            "entries", {"body": "{"}, {"id": "longn5"}
        )
    loader.begin(rows)
    qtbot.waitUntil(lambda: loader.is_done, timeout=60_000)
    assert len(told) == 1
    assert {past.fitting.id for past in loader.pasts} & {"long", "longer"} == {"longer"}
