"""The choice whether the pictures of a fitting and its job stand on a sheet."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QWidget

from core.fitting import Fitting
from core.paper.kept_pictures import owners_of, pictures_of
from core.paper.picture_pages import PaperPicture
from core.store import Library, LibraryProblem
from desktop.widgets.language import tr


class PicturesBox(QCheckBox):
    """Not ticked at first, and not seen where there is no picture."""

    def __init__(
        self, library: Library, fitting: Fitting | None = None, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._library = library
        self._fitting: Fitting | None = None
        self.show_fitting(fitting)

    def show_fitting(self, fitting: Fitting | None) -> None:
        """Offer the pictures of another fitting, or of none."""
        self._fitting = fitting
        try:
            count = sum(
                self._library.pictures.count_of(*owner)
                for owner in (owners_of(fitting) if fitting is not None else ())
            )
        except LibraryProblem:
            count = 0  # a sheet without them is whole
        self.setText(tr("paper.pictures.choice", n=count))
        if not count:
            self.setChecked(False)
            self.hide()
        elif self.parentWidget() is not None:  # without one it would be a window of its own
            self.show()

    def chosen(self) -> tuple[PaperPicture, ...]:
        """Return the pictures, none unless they are wanted; what can't be read is left out."""
        if not self.isChecked() or self._fitting is None:
            return ()
        try:
            return pictures_of(self._library, self._fitting)
        except LibraryProblem:
            return ()
