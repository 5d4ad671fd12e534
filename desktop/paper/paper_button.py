"""The button by which a page of the wizard opens the sheets that belong to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QPushButton, QWidget

from core.paper.sheet import PaperSize, Sheet
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.messages import Messages

if TYPE_CHECKING:
    from desktop.paper.dialog import PaperDialog

_TITLES: Final = {
    "alignment": ("Protractor", "Protractor for this deck and alignment, true to scale"),
    "speed": ("Strobe disc", "Strobe disc for this deck's speeds and your lamp"),
    "summary": ("Bench sheet", "What was found, done and left, for the deck's owner"),
}


class PaperButton(QPushButton):
    """Opens the sheets of one page."""

    def __init__(
        self,
        controller: FittingController,
        place: str,
        messages: Messages,
        parent: QWidget | None = None,
    ) -> None:
        title, tip = _TITLES[place]
        super().__init__(f"{title}…", parent)
        self._controller, self._messages = controller, messages
        self._place, self._title = place, title
        self.dialog: PaperDialog | None = None
        self.setToolTip(tip)
        self.setAccessibleDescription(tip)
        self.setAutoDefault(True)
        self.clicked.connect(self.open)

    def open(self) -> None:
        """Open the sheets as the fitting stands now."""
        # Imported here: printing and drawing are not needed to start.
        from core.paper.strobe_disc import CAUTIONS
        from desktop.paper.dialog import PaperDialog

        self.dialog = PaperDialog(
            f"{self._title}: {self._controller.journey.deck.name}",
            self._sheets,
            self._controller.library,
            numbers=self._controller.numbers,
            messages=self._messages,
            who=self._controller.who,
            caution_keys=CAUTIONS if self._place == "speed" else (),
            parent=self.window(),
        )
        self.dialog.finished.connect(self.dialog.deleteLater)
        self.dialog.open()

    def _sheets(self, size: PaperSize) -> tuple[Sheet, ...]:
        from core.paper.bench_sheet import bench_sheets
        from core.paper.fitting_sheets import protractor_of
        from core.paper.strobe_disc import disc_sheet
        from desktop.paper.painter import FontMeasure

        journey, numbers, measure = (
            self._controller.journey,
            self._controller.numbers,
            FontMeasure(),
        )
        if self._place == "alignment":
            return protractor_of(journey, size, numbers, measure)
        if self._place == "speed":
            return (disc_sheet(journey.deck, size, numbers, measure),)
        return bench_sheets(journey, size, numbers, measure)


def paper_button(
    controller: FittingController, place: str, messages: Messages
) -> PaperButton | None:
    """Return the button for a page of the wizard, None for one without sheets."""
    return PaperButton(controller, place, messages) if place in _TITLES else None
