"""The choice to keep the sound of a reading beside the library, with its size."""

from __future__ import annotations

from pathlib import Path

from PySide6.QtWidgets import QCheckBox, QWidget

from core.language import Name, Numbers
from desktop.widgets.language import tr
from desktop.widgets.panels import set_shown
from desktop.widgets.preferences import Preferences


class KeepSound(QCheckBox):
    """A tick box that keeps its last state; off at first."""

    def __init__(self, numbers: Numbers, parent: QWidget | None = None) -> None:
        super().__init__(tr("forms.keep_sound.keep"), parent)
        self._numbers = numbers
        self._path: Path | None = None
        self.setToolTip(tr("forms.keep_sound.tip"))
        if Preferences.of_program is not None:
            self.setChecked(Preferences.of_program.keeps_sound)
        self.clicked.connect(self._remember)
        self.hide()

    @property
    def path(self) -> Path | None:
        """The file to keep, or None."""
        return self._path if self.isChecked() else None

    def offer(self, path: Path | None) -> None:
        """Offer to keep a file, with its size; None offers nothing."""
        self._path = path
        size_mb = 0.0
        try:
            size_mb = path.stat().st_size / 1e6 if path is not None else 0.0
        except OSError:
            self._path = None
        self.setText(tr("forms.keep_sound.keep_of", size=Name(self._numbers.plain(size_mb, 1))))
        set_shown(self, shown=self._path is not None)

    def _remember(self) -> None:
        if Preferences.of_program is not None:
            Preferences.of_program.remember_keeping_sound(keeps=self.isChecked())
