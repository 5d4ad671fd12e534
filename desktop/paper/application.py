"""The application object that drawing letters needs, where there is no window."""

from __future__ import annotations

import sys

from PySide6.QtCore import QCoreApplication
from PySide6.QtGui import QGuiApplication


def needed_application() -> QCoreApplication:
    """Return the application object there is, or a new one; keep it while drawing."""
    return QCoreApplication.instance() or QGuiApplication([sys.argv[0]])
