"""Where a person's documents lie: where a file dialog for one starts."""

from __future__ import annotations

import os
from pathlib import Path

from PySide6.QtCore import QStandardPaths

from desktop.widgets.preferences import Preferences


def documents_folder() -> Path:
    """Return the folder of the last document if it is there, else the person's own for them."""
    known = Preferences.of_program
    places = QStandardPaths.StandardLocation
    usual = QStandardPaths.writableLocation(places.DocumentsLocation)
    for folder in (known.documents_folder if known is not None else "", usual):
        if folder and os.path.isdir(folder):  # noqa: PTH112 - says no where Path.is_dir raises
            return Path(folder)
    return Path.home()


def remember_document(path: Path) -> None:
    """Let the next dialog start where this document lies."""
    if Preferences.of_program is not None:
        Preferences.of_program.remember_documents_folder(str(path.parent))
