"""The menu bar: what is rarely wanted, and Help."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial
from typing import Final

from PySide6.QtCore import Signal
from PySide6.QtGui import QAction, QActionGroup
from PySide6.QtWidgets import QMenu, QMenuBar, QWidget

from core.language import Message, message
from desktop.shell.appearance_panel import SCHEMES
from desktop.widgets.language import said, tr

_Entry = tuple[str, Message, str]

_FILE: Final[tuple[_Entry | None, ...]] = (
    ("library", message("shell.menu_bar.library"), ""),
    ("jobs", message("shell.menu_bar.jobs"), "Ctrl+J"),
    ("pictures", message("shell.menu_bar.pictures"), "Ctrl+I"),
    None,
    ("open", message("shell.menu_bar.open_another"), "Ctrl+O"),
    ("recent", message("shell.menu_bar.recent"), ""),
    None,
    ("import", message("shell.menu_bar.import"), ""),
    ("export", message("shell.menu_bar.export_everything"), ""),
    ("figures", message("shell.menu_bar.figures"), ""),
    ("backups", message("shell.menu_bar.backups"), ""),
    None,
    ("quit", message("shell.menu_bar.quit"), "Ctrl+Q"),
)
_VIEW: Final[tuple[_Entry | None, ...]] = (
    ("larger", message("shell.menu_bar.larger"), "Ctrl++"),
    ("smaller", message("shell.menu_bar.smaller"), "Ctrl+-"),
    ("appearance", message("shell.menu_bar.appearance"), "Ctrl+Shift+L"),
)
_HELP: Final[tuple[_Entry | None, ...]] = (
    ("words", message("shell.menu_bar.words"), "F1"),
    ("keys", message("shell.menu_bar.keys"), ""),
    ("without", message("shell.menu_bar.without"), ""),
    None,
    ("about", message("shell.menu_bar.about"), ""),
)
OF_A_LIBRARY: Final = frozenset(
    {"library", "jobs", "pictures", "import", "export", "figures", "backups"}
)
"""What needs an open library."""


class MenuBar(QMenuBar):
    """Three menus; what is chosen is told by its key."""

    chosen = Signal(str)
    recent_chosen = Signal(str)
    """The address of a library that was open before."""
    scheme_chosen = Signal(str)

    def __init__(self, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self.acts: dict[str, QAction] = {}
        self.file = QMenu(tr("shell.menu_bar.file"), self)
        self.view = QMenu(tr("shell.menu_bar.view"), self)
        self.help = QMenu(tr("shell.menu_bar.help"), self)
        self.recent = QMenu(tr("shell.menu_bar.recent"), self)
        self.schemes = QActionGroup(self)
        for key, words in SCHEMES:
            act = QAction(said(words), self, checkable=True)
            act.triggered.connect(partial(self.scheme_chosen.emit, key))
            act.setData(key)
            self.schemes.addAction(act)
            self.view.addAction(act)
        self.view.addSeparator()
        for menu, entries in ((self.file, _FILE), (self.view, _VIEW), (self.help, _HELP)):
            self._fill(menu, entries)
            self.addMenu(menu)

    def offer(self, *, has_library: bool, has_backups: bool, leads_to_library: bool) -> None:
        """Offer only what can be done with the library that is open, if one is.

        ``leads_to_library`` is False on the library's own page: there is no way to go.
        """
        for key in OF_A_LIBRARY:
            self.acts[key].setEnabled(has_library and (has_backups or key != "backups"))
        self.acts["library"].setEnabled(has_library and leads_to_library)

    def show_recent(self, addresses: Sequence[str]) -> None:
        """List the libraries that were open before."""
        self.recent.clear()
        self.recent.setEnabled(bool(addresses))
        for address in addresses:
            act = self.recent.addAction(address.replace("&", "&&"))
            act.triggered.connect(partial(self.recent_chosen.emit, address))

    def show_scheme(self, scheme: str) -> None:
        """Mark the colours that hold."""
        for act in self.schemes.actions():
            act.setChecked(act.data() == scheme)

    def _fill(self, menu: QMenu, entries: Sequence[_Entry | None]) -> None:
        for entry in entries:
            if entry is None:
                menu.addSeparator()
                continue
            key, words, keys = entry
            if key == "recent":
                menu.addMenu(self.recent)
                continue
            act = QAction(said(words), self)
            if keys:
                act.setShortcut(keys)
            act.triggered.connect(partial(self.chosen.emit, key))
            self.acts[key] = act
            menu.addAction(act)
