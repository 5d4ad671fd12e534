"""The choice whether the pictures of a fitting and its job stand on a sheet."""

from __future__ import annotations

from PySide6.QtWidgets import QCheckBox, QWidget

from core.fitting import Fitting
from core.paper.picture_pages import PaperPicture
from core.store import Library, LibraryProblem
from desktop.widgets.language import tr


class PicturesBox(QCheckBox):
    """Not ticked at first, and not seen where there is no picture."""

    def __init__(self, library: Library, fitting: Fitting, parent: QWidget | None = None) -> None:
        super().__init__(parent)
        self._library, self._owners = library, [("fitting", fitting.id)]
        if fitting.job_id:
            self._owners.append(("job", fitting.job_id))
        try:
            count = sum(library.pictures.count_of(*owner) for owner in self._owners)
        except LibraryProblem:
            count = 0  # a sheet without them is whole
        self.setText(tr("paper.pictures.choice", n=count))
        if not count:
            self.hide()

    def chosen(self) -> tuple[PaperPicture, ...]:
        """Return the pictures, none unless they are wanted; what can't be read is left out."""
        if not self.isChecked():
            return ()
        pictures, found = self._library.pictures, []
        try:
            for owner in self._owners:
                for row in pictures.of(*owner):
                    content = pictures.content(row.thing.content)
                    if content is not None:
                        size = content.width, content.height
                        said = row.thing.caption, row.thing.day
                        found.append(PaperPicture(content.image, *size, *said))
        except LibraryProblem:
            return ()
        return tuple(found)
