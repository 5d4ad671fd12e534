"""What the checks of paper need: no display, and to be left out where there is no Qt to draw."""

from __future__ import annotations

import os
from importlib.util import find_spec

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")  # before any application object is made

_needs = ("PySide6", "pypdf", "pytestqt")
collect_ignore_glob = [] if all(find_spec(name) for name in _needs) else ["test_paper_*.py"]
