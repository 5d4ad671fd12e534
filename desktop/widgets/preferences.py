"""Settings kept between two starts; nothing of a fitting."""

from __future__ import annotations

from contextlib import suppress
from pathlib import Path
from typing import ClassVar, Final, get_args

from PySide6.QtCore import QByteArray, QSettings

from core.store.files import make_private, make_private_folder
from desktop.widgets.scheme import Scheme

_MOST_NAMES: Final = 8
_MOST_LIBRARIES: Final = 6
_LEAST_SCALE: Final = 1.0
_MOST_SCALE: Final = 2.0


class Preferences:
    """A few conveniences in an INI file, which may be missing or unreadable."""

    of_program: ClassVar[Preferences | None] = None
    """The running program's preferences, for forms that get none; set at start-up."""

    def __init__(self, path: Path) -> None:
        with suppress(OSError):  # then nothing is kept
            make_private_folder(path.parent)
            make_private(path)  # names stand in it; QSettings would let everybody read them
        self._settings = QSettings(str(path), QSettings.Format.IniFormat)
        # Another program on the same file may set another name: it must not sign for this one.
        self._who = self._text("who/now")

    @property
    def names(self) -> tuple[str, ...]:
        """The technicians so far, the latest first."""
        kept = self._settings.value("who/names", [])
        names = [kept] if isinstance(kept, str) else kept if isinstance(kept, list) else []
        return tuple(str(name) for name in names if str(name).strip())

    @property
    def who(self) -> str:
        """The technician of this run, or an empty string."""
        return self._who

    def be_for_now(self, name: str) -> None:
        """Set the technician for this run only; the next start does not know the name."""
        self._who = name.strip()

    def remember_who(self, name: str) -> None:
        """Set the technician, also for the next start; an empty name means nobody in particular."""
        self._who = name = name.strip()
        self._settings.setValue("who/now", name)
        if name:
            others = [other for other in self.names if other != name]
            self._settings.setValue("who/names", [name, *others][:_MOST_NAMES])

    @property
    def sound_input(self) -> tuple[str, int, int]:
        """The key of the last sound input, and its channels, counted from 0."""
        left, right = self._text("sound/left"), self._text("sound/right")
        channels = (int(left), int(right)) if left.isdigit() and right.isdigit() else (0, 1)
        return self._text("sound/input"), *channels

    def remember_sound_input(self, key: str, left: int, right: int) -> None:
        """Remember the sound input for the next time."""
        self._settings.setValue("sound/input", key)
        self._settings.setValue("sound/left", str(left))
        self._settings.setValue("sound/right", str(right))

    @property
    def keeps_sound(self) -> bool:
        """Whether to keep sound beside the library once it was read; off at first."""
        return self._text("sound/keeps") == "yes"

    def remember_keeping_sound(self, *, keeps: bool) -> None:
        """Remember whether to keep sound."""
        self._settings.setValue("sound/keeps", "yes" if keeps else "no")

    @property
    def pictures_folder(self) -> str:
        """The folder a picture was last taken from, or an empty string."""
        return self._text("pictures/folder")

    def remember_pictures_folder(self, folder: str) -> None:
        """Remember the folder a picture was taken from."""
        self._settings.setValue("pictures/folder", folder)

    @property
    def documents_folder(self) -> str:
        """The folder a document was last saved to or taken from, or an empty string."""
        return self._text("documents/folder")

    def remember_documents_folder(self, folder: str) -> None:
        """Remember the folder of a document."""
        self._settings.setValue("documents/folder", folder)

    @property
    def recent_libraries(self) -> tuple[str, ...]:
        """Addresses of the libraries opened, the latest first."""
        kept = self._settings.value("library/recent", [])
        found = [kept] if isinstance(kept, str) else kept if isinstance(kept, list) else []
        return tuple(str(address) for address in found if str(address).strip())

    def remember_library(self, address: str) -> None:
        """Remember a library as the one opened last."""
        others = [other for other in self.recent_libraries if other != address]
        self._settings.setValue("library/recent", [address, *others][:_MOST_LIBRARIES])

    @property
    def geometry(self) -> QByteArray | None:
        """The window's last position, or None."""
        kept = self._settings.value("window/geometry")
        return kept if isinstance(kept, QByteArray) else None

    def remember_geometry(self, geometry: QByteArray) -> None:
        """Remember the window's position."""
        self._settings.setValue("window/geometry", geometry)

    @property
    def appearance(self) -> tuple[Scheme, float]:
        """The colours and the type size chosen last; else the system's."""
        kept = self._text("look/scheme")
        schemes: tuple[Scheme, ...] = get_args(Scheme)
        scheme: Scheme = next((one for one in schemes if one == kept), "system")
        try:
            scale = float(self._text("look/text_scale") or 1.0)
        except ValueError:
            scale = 1.0
        return scheme, scale if _LEAST_SCALE <= scale <= _MOST_SCALE else 1.0

    def remember_appearance(self, scheme: str, text_scale: float) -> None:
        """Remember the appearance."""
        self._settings.setValue("look/scheme", scheme)
        self._settings.setValue("look/text_scale", str(text_scale))

    @property
    def decimal(self) -> str:
        """The decimal sign that was chosen, or an empty string for the system's."""
        kept = self._text("look/decimal")
        return kept if kept in (".", ",") else ""

    def remember_decimal(self, sign: str) -> None:
        """Remember the decimal sign; an empty string is the system's."""
        self._settings.setValue("look/decimal", sign)

    @property
    def folds_words(self) -> bool:
        """Whether the words of the work are folded away."""
        return self._text("look/folds_words") == "yes"

    def remember_folded_words(self, *, away: bool) -> None:
        """Remember whether the words of the work are folded away."""
        self._settings.setValue("look/folds_words", "yes" if away else "")

    def turned_columns(self, table: str) -> tuple[str, ...]:
        """Return the columns of a list whose visibility differs from the default."""
        kept = self._settings.value(f"columns/{table}", [])
        found = [kept] if isinstance(kept, str) else kept if isinstance(kept, list) else []
        return tuple(str(name) for name in found)

    def remember_turned_columns(self, table: str, names: list[str]) -> None:
        """Remember the columns of a list whose visibility differs from the default."""
        self._settings.setValue(f"columns/{table}", names)

    def save(self) -> None:
        """Write the file now."""
        self._settings.sync()

    def _text(self, key: str) -> str:
        kept = self._settings.value(key, "")
        return kept if isinstance(kept, str) else ""
