"""What to tell a person when Qt itself cannot be loaded or cannot open a window. No Qt here."""

from __future__ import annotations

import re
from collections.abc import Mapping
from typing import Final

CANNOT_START: Final = 2
"""Exit code when no window can be opened."""

LOADING_PACKAGES: Final = (
    "libegl1 libgl1 libxkbcommon0 libdbus-1-3 libfontconfig1 libfreetype6 libglib2.0-0 libx11-6 "
    "fonts-dejavu-core"
)
"""Debian packages that Qt needs to be loaded at all."""

WINDOW_PACKAGES: Final = (
    "libxcb-icccm4 libxcb-keysyms1 libxcb-cursor0 libxcb-image0 libxcb-randr0 libxcb-render-util0 "
    "libxcb-shape0 libxcb-xkb1 libx11-xcb1 libxkbcommon-x11-0"
)
"""Debian packages that Qt needs for a window under X11."""

_LIBRARY: Final = re.compile(r"[\w.+-]+\.so(?:\.\d+)*|[\w.+-]+\.(?:dll|dylib)", re.IGNORECASE)
_TOOLKIT: Final = ("PySide6", "shiboken6")


def import_remedy(problem: ImportError) -> str | None:
    """Return one sentence for a failed import of Qt, or None if the failure is not Qt's."""
    from desktop.widgets.terminal import tr  # only a failure says something

    text = str(problem)
    if isinstance(problem, ModuleNotFoundError):
        missing = problem.name or ""
        if missing.split(".")[0] not in _TOOLKIT:
            return None
        return tr("command_line.qt.not_installed", missing=missing)
    library = _LIBRARY.search(text)
    if library is None:
        return None
    return tr("command_line.qt.not_loaded", library=library.group(), packages=LOADING_PACKAGES)


def window_remedy(environment: Mapping[str, str]) -> str:
    """Return one sentence for a Qt that was loaded but found no way to open a window."""
    from desktop.widgets.terminal import tr  # as above

    asked = environment.get("QT_QPA_PLATFORM", "")
    display = environment.get("DISPLAY", "") or environment.get("WAYLAND_DISPLAY", "")
    if asked and asked.split(":")[0] not in ("xcb", "wayland"):
        return tr("command_line.qt.no_platform", asked=asked)
    if not display:
        return tr("command_line.qt.no_display")
    return tr("command_line.qt.no_window", display=display, packages=WINDOW_PACKAGES)
