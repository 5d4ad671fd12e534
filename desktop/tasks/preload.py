"""Imports modules ahead of their use while the user is idle."""

from __future__ import annotations

import gc
from collections import deque
from collections.abc import Iterable
from importlib import import_module
from typing import Final

from PySide6.QtCore import QCoreApplication, QEvent, QObject, QTimer

from core.records import build_models

_REST_MS: Final = 1200
_BY_HAND: Final = (
    QEvent.Type.KeyPress,
    QEvent.Type.MouseButtonPress,
    QEvent.Type.MouseMove,
    QEvent.Type.Wheel,
)


class Preloader(QObject):
    """Imports modules one by one, each after some time without input.

    The first screen does not need them, and opening a fitting should not wait for them.
    """

    def __init__(
        self, app: QCoreApplication, modules: Iterable[str], *, rest_ms: int = _REST_MS
    ) -> None:
        super().__init__(app)
        self._app = app
        self._modules = deque(modules)
        self._rest = QTimer(self, singleShot=True, interval=rest_ms)
        self._rest.timeout.connect(self._load_one)
        self._rest.start()
        app.installEventFilter(self)

    def eventFilter(self, _watched: QObject, event: QEvent) -> bool:
        """Start waiting again after any input."""
        if event.type() in _BY_HAND:
            self._rest.start()
        return False

    def _load_one(self) -> None:
        import_module(self._modules.popleft())
        if self._modules:
            self._rest.start()
            return
        build_models()
        self._app.removeEventFilter(self)
        gc.freeze()  # as at start-up
