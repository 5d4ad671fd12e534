"""The button by which a page of the wizard opens the sheets that belong to it."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from PySide6.QtWidgets import QPushButton, QWidget

from core.language import message
from core.paper.sheet import PaperSize, Sheet
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.speed import NAME as SPEED
from desktop.tasks.fitting_controller import FittingController
from desktop.widgets.language import said, tr
from desktop.widgets.messages import Messages

if TYPE_CHECKING:
    from desktop.paper.dialog import PaperDialog
    from desktop.paper.kept_pictures import PicturesBox

_TITLES: Final = {
    ALIGNMENT: (
        message("paper.paper_button.protractor"),
        message("paper.paper_button.protractor_for_this_deck_and"),
    ),
    SPEED: (
        message("paper.paper_button.strobe_disc"),
        message("paper.paper_button.strobe_disc_for_this_decks"),
    ),
    "owner": (
        message("paper.paper_button.owners_sheet"),
        message("paper.paper_button.one_page_in_plain_words"),
    ),
    "summary": (
        message("paper.paper_button.bench_sheet"),
        message("paper.paper_button.what_was_found_done_and"),
    ),
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
        super().__init__(tr("paper.paper_button.opens", title=title), parent)
        self._controller, self._messages = controller, messages
        self._place, self._title = place, said(title)
        self.dialog: PaperDialog | None = None
        self._pictures: PicturesBox | None = None
        self.setToolTip(said(tip))
        self.setAccessibleDescription(said(tip))
        self.setAutoDefault(True)
        self.clicked.connect(self.open)

    def open(self) -> None:
        """Open the sheets as the fitting stands now."""
        # Imported here: printing and drawing are not needed to start.
        self._pictures = None
        if self._place == "owner":
            from desktop.paper.leaving import LeavingPaper

            own = self._controller
            paper = LeavingPaper(own.library, own.numbers, self._messages, own.who)
            self.dialog = paper.owner(lambda: own.journey, self.window())
            return
        from core.paper.strobe_disc import CAUTIONS
        from desktop.paper.dialog import PaperDialog
        from desktop.paper.leaving import of_job

        title = f"{self._title}: {self._controller.journey.deck.name}"
        self.dialog = PaperDialog(
            of_job(title, self._controller.journey) if self._place == "summary" else title,
            self._sheets,
            self._controller.library,
            numbers=self._controller.numbers,
            messages=self._messages,
            who=self._controller.who,
            caution_keys=CAUTIONS if self._place == SPEED else (),
            parent=self.window(),
        )
        if self._place == "summary":
            self._offer_pictures(self.dialog)
        self.dialog.finished.connect(self.dialog.deleteLater)
        self.dialog.open()

    def _offer_pictures(self, dialog: PaperDialog) -> None:
        from desktop.paper.kept_pictures import PicturesBox  # as above

        own = self._controller
        self._pictures = PicturesBox(own.library, own.journey.fitting)
        self._pictures.toggled.connect(lambda _on: dialog.remake())
        dialog.put_options(self._pictures)

    def _sheets(self, size: PaperSize) -> tuple[Sheet, ...]:
        from core.maintenance.gathering import check_kept
        from core.paper.bench_sheet import bench_sheets
        from core.paper.fitting_sheets import protractor_of
        from core.paper.strobe_disc import disc_sheet
        from core.store import LibraryProblem
        from desktop.paper.painter import FontMeasure

        journey, numbers, measure = (
            self._controller.journey,
            self._controller.numbers,
            FontMeasure(),
        )
        if self._place == ALIGNMENT:
            return protractor_of(journey, size, numbers, measure)
        if self._place == SPEED:
            return (disc_sheet(journey.deck, size, numbers, measure),)
        pictures = () if self._pictures is None else self._pictures.chosen()
        try:
            check = check_kept(self._controller.library, journey.fitting)
        except LibraryProblem:
            check = ""  # the line is left to be filled in by hand
        return bench_sheets(journey, size, numbers, measure, next_check=check, pictures=pictures)


def paper_button(
    controller: FittingController, place: str, messages: Messages
) -> PaperButton | None:
    """Return the button for a page of the wizard, None for one without sheets."""
    return PaperButton(controller, place, messages) if place in _TITLES else None
