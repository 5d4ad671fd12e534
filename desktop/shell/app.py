"""Start-up and wiring, and nothing else."""

from __future__ import annotations

import gc
import os
import sys
from importlib.resources import files
from pathlib import Path
from typing import Final

from PySide6.QtCore import QMessageLogContext, Qt, QTimer, QtMsgType, qInstallMessageHandler
from PySide6.QtGui import QGuiApplication, QIcon, QPixmap
from PySide6.QtWidgets import QApplication

from core.store import default_library_path
from desktop.shell.command_line import Options
from desktop.shell.crash_log import CrashLog, CrashReporter
from desktop.shell.main_window import MainWindow
from desktop.tasks.garbage_collector import GarbageCollector
from desktop.tasks.preload import Preloader
from desktop.widgets import theme
from desktop.widgets.locale_numbers import numbers_of
from desktop.widgets.preferences import Preferences

PRELOADED: Final = (
    "desktop.tasks.fitting_controller",
    "desktop.wizard",
    "desktop.paper.paper_button",
    "desktop.wizard.side_pane",
    "desktop.wizard.bench_view",
)
"""What the first fitting that is opened needs; pyqtgraph, by far the most of it, comes last."""


def run_window(options: Options) -> int:
    """Open the window, stay until it is closed, and return the exit code."""
    own_folder = default_library_path().parent
    log = CrashLog(own_folder / "faults.log")
    words = _QtMessageHandler(log)
    qInstallMessageHandler(words)
    app = application()
    words.is_up = True
    window = main_window(options, own_folder)
    sys.excepthook = CrashReporter(log, window.messages.tell)
    window.open_library(options.library or default_library_path())
    window.show()
    if options.documents:
        QTimer.singleShot(0, lambda: window.given.take(options.documents, asks=True))
    gc.freeze()  # what was loaded stays: scanning it again and again would cause pauses
    Preloader(app, PRELOADED)
    return app.exec()


def application() -> QApplication:
    """Return the application object, without colours and type yet."""
    QGuiApplication.setHighDpiScaleFactorRoundingPolicy(
        Qt.HighDpiScaleFactorRoundingPolicy.PassThrough
    )
    # Only the program name: Qt would take its own arguments from sys.argv.
    app = QApplication([sys.argv[0]])
    app.setApplicationName("Setdown")
    app.setApplicationDisplayName("Setdown")
    app.setDesktopFileName("setdown")
    picture = QPixmap()
    picture.loadFromData(files("resources").joinpath("icon.svg").read_bytes(), "SVG")
    app.setWindowIcon(QIcon(picture))
    GarbageCollector(app)
    return app


def main_window(options: Options, own_folder: Path) -> MainWindow:
    """Return the window for these options, with no library open yet."""
    preferences = Preferences(own_folder / "remembered.ini")
    Preferences.of_program = preferences
    if options.who:
        preferences.be_for_now(options.who)
    apply_appearance(options, preferences)
    numbers = numbers_of(options.locale, preferences.decimal)
    return MainWindow(numbers=numbers, preferences=preferences)


def apply_appearance(options: Options, preferences: Preferences) -> None:
    """Apply the colours and the type asked for, else those remembered."""
    app = QApplication.instance()
    if isinstance(app, QApplication):
        scheme, scale = preferences.appearance
        theme.apply(app, options.scheme or scheme, text_scale=options.text_scale or scale)


class _QtMessageHandler:
    """Logs Qt's messages, and turns its failure to start into one sentence."""

    def __init__(self, log: CrashLog) -> None:
        self._log = log
        self.is_up = False

    def __call__(self, kind: QtMsgType, _context: QMessageLogContext, text: str) -> None:
        if kind not in (QtMsgType.QtDebugMsg, QtMsgType.QtInfoMsg):
            self._log.note(f"Qt: {text}")
        if kind == QtMsgType.QtFatalMsg and not self.is_up:
            from desktop.shell.qt_loading import CANNOT_START, window_remedy  # only then

            sys.stderr.write(f"{window_remedy(os.environ)}\n")
            sys.stderr.flush()
            os._exit(CANNOT_START)  # Qt aborts the process as soon as this returns
