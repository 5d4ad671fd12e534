"""Paper straight from a deck's row: protractor, strobe disc or bench sheet, with every choice."""

from __future__ import annotations

from typing import Annotated, Final

from pydantic import Field
from PySide6.QtCore import QSignalBlocker, QTimer, Signal
from PySide6.QtGui import QResizeEvent
from PySide6.QtWidgets import QLineEdit, QWidget

from core.language import Name, Numbers, message
from core.maintenance.gathering import check_kept
from core.paper.bench_sheet import bench_sheets
from core.paper.fitting_sheets import ProtractorKind, protractor_sheets
from core.paper.sheet import PaperProblem, PaperSize, Sheet
from core.paper.strobe_disc import CAUTIONS, disc_sheet
from core.records import (
    FIRST_ARM,
    Deck,
    FrozenModel,
    Hertz,
    Limits,
    Millimetres,
    RevolutionsPerMinute,
    arm_of,
    arms_of,
    seen_with_arm,
)
from core.steps import alignment
from core.store import Library, Stored
from core.swap import past_of
from desktop.forms.form import Form
from desktop.paper.command import last_chosen
from desktop.paper.dialog import PaperDialog
from desktop.paper.kept_pictures import PicturesBox
from desktop.paper.painter import FontMeasure
from desktop.widgets.elided_combo import ElidedCombo
from desktop.widgets.language import said, tr
from desktop.widgets.local_time import day
from desktop.widgets.messages import Messages
from desktop.widgets.panels import add_all, column_in, may_be_narrow, text_label
from desktop.widgets.plain_text import one_line

_AFTER_TYPING_MS: Final = 400
_NO_PIVOT_MM: Final = 222.0
"""Stands in the form of an arm that has no pivot, whose sheet does not need it."""
_SHEETS: Final = (
    ("protractor", message("paper.of_deck.protractor")),
    ("strobe", message("paper.of_deck.strobe")),
    ("sheet", message("paper.of_deck.sheet")),
)


class ProtractorWish(alignment.AlignmentChoices):
    """What a protractor is drawn for."""

    kind: ProtractorKind = Field(
        ProtractorKind.BOTH,
        title="Protractor",
        description="A parallel-tracking arm gets its radius line, whatever is chosen.",
    )
    tiled: bool = Field(
        default=True,
        title="Further sheets",
        description="Where the pivot lies beyond the sheet: more sheets to join; else it is cut.",
    )
    pivot_to_spindle_mm: Annotated[Millimetres, Limits(100, 500)] = Field(
        222.0, title="Pivot to spindle", description="As measured on this deck."
    )


class StrobeWish(FrozenModel):
    """What a strobe disc is drawn for."""

    flashes_hz: tuple[Annotated[Hertz, Limits(20, 1000)], ...] = Field(
        (100.0,),
        title="Lamp: flashes",
        description="Flashes per second of each lamp. A mains lamp flashes twice a cycle: 100 at "
        "50 Hz, 120 at 60 Hz.",
    )
    speeds_rpm: tuple[Annotated[RevolutionsPerMinute, Limits(10, 100, usual=(16, 80))], ...] = (
        Field((33.333333, 45.0), title="Speeds", description="Every speed that gets a ring.")
    )


class DeckPaperOptions(QWidget):
    """Which sheet of a deck, and what may be chosen for it."""

    changed = Signal()

    def __init__(
        self, library: Library, deck: Stored[Deck], numbers: Numbers, parent: QWidget | None = None
    ) -> None:
        super().__init__(parent)
        self._library, self._deck, self._numbers = library, deck.thing, numbers
        self._deck_id = deck.id
        self.arm = ElidedCombo()
        self.arm.setObjectName("paperArm")
        self.arm.setAccessibleName(tr("paper.of_deck.arm"))
        may_be_narrow(self.arm)
        arms = arms_of(deck.thing)
        for one in arms:
            self.arm.addItem(one_line(one.name), one.key)
        self._of_arm = QWidget()
        add_all(column_in(self._of_arm), text_label(tr("paper.of_deck.arm")), self.arm)
        self._has_arms = len(arms) > 1
        self.what = ElidedCombo()
        self.what.setAccessibleName(tr("paper.of_deck.which"))
        for key, words in _SHEETS:
            self.what.addItem(said(words), key)
        self.protractor = Form(ProtractorWish, numbers, self._usual_protractor())
        flashes = (deck.thing.bench.lamp_flashes_per_s,)
        self.strobe = Form(
            StrobeWish,
            numbers,
            StrobeWish(flashes_hz=flashes, speeds_rpm=deck.thing.platter.speeds_rpm),
        )
        self.fitting = ElidedCombo()
        self.fitting.setAccessibleName(tr("paper.of_deck.fitting"))
        may_be_narrow(self.fitting)
        self._list_fittings()
        self.next_check = QLineEdit(maxLength=120)
        self.next_check.setAccessibleName(tr("paper.of_deck.next_check"))
        self.sheet = QWidget()
        of_sheet = column_in(self.sheet)
        of_sheet.addWidget(text_label(tr("paper.of_deck.fitting")))
        of_sheet.addWidget(self.fitting)
        of_sheet.addWidget(text_label(tr("paper.of_deck.next_check")))
        of_sheet.addWidget(self.next_check)
        self.pictures = PicturesBox(library)
        of_sheet.addWidget(self.pictures)
        column = column_in(self)
        self._parts = {"protractor": self.protractor, "strobe": self.strobe, "sheet": self.sheet}
        for part in (self.what, self._of_arm, *self._parts.values()):
            column.addWidget(part)
        self._timer = QTimer(self, singleShot=True, interval=_AFTER_TYPING_MS)
        self._timer.timeout.connect(self._fit_height)
        self._timer.timeout.connect(self.changed)
        self._again = QTimer(self, singleShot=True, interval=0)
        self._again.timeout.connect(self._fit_height)
        self.what.currentIndexChanged.connect(self._turn)
        self.arm.currentIndexChanged.connect(self._take_arm)
        self.fitting.currentIndexChanged.connect(self._offer_pictures)
        self.fitting.currentIndexChanged.connect(self.changed)
        self.pictures.toggled.connect(self.changed)
        self.next_check.textEdited.connect(lambda _text: self._timer.start())
        for form in (self.protractor, self.strobe):
            form.draft_changed.connect(self._timer.start)
        self._offer_pictures()
        self._turn()

    def _offer_pictures(self) -> None:
        """Offer the pictures of the fitting that is picked."""
        picked = self.fitting.currentData()
        self.pictures.show_fitting(self._library.fitting(picked) if picked else None)

    def sheets(self, size: PaperSize) -> tuple[Sheet, ...]:
        """Return the sheets chosen; PaperProblem says what is wrong with a choice."""
        measure = FontMeasure()
        what = self.what.currentData()
        if what == "sheet":
            if not self.fitting.count():
                raise PaperProblem(message("paper.of_deck.no_fitting", deck=Name(self._deck.name)))
            journey = past_of(self._library, self.fitting.currentData()).journey
            kept = check_kept(self._library, journey.fitting)
            words = self.next_check.text().strip() or kept
            pictures = self.pictures.chosen()
            return bench_sheets(
                journey, size, self._numbers, measure, next_check=words, pictures=pictures
            )
        form = self.protractor if what == "protractor" else self.strobe
        wish = form.draft()
        if isinstance(wish, ProtractorWish):
            return protractor_sheets(
                self._seen(),
                wish,
                size,
                self._numbers,
                measure,
                kind=wish.kind,
                tiled=wish.tiled,
                pivot_mm=wish.pivot_to_spindle_mm,
            )
        if isinstance(wish, StrobeWish):
            return (
                disc_sheet(
                    self._deck,
                    size,
                    self._numbers,
                    measure,
                    flashes_hz=wish.flashes_hz,
                    speeds_rpm=wish.speeds_rpm,
                ),
            )
        problems = form.problems()
        raise PaperProblem(problems[0][1] if problems else "")

    def resizeEvent(self, event: QResizeEvent) -> None:
        """Take the height that the words need at this width: a scrolled page would squeeze them."""
        super().resizeEvent(event)
        self._fit_height()
        self._again.start()  # words have broken at their new width by then

    def _fit_height(self) -> None:
        for part in reversed(self.findChildren(QWidget)):  # from the innermost outward
            inner = part.layout()
            if inner is not None:  # it may hold what its parts needed at another width
                inner.invalidate()
                inner.activate()
        layout = self.layout()
        if layout is not None:
            layout.invalidate()
            layout.activate()
            wanted = layout.heightForWidth(self.width()) if layout.hasHeightForWidth() else 0
            self.setMinimumHeight(max(wanted, layout.minimumSize().height()))

    def _seen(self) -> Deck:
        """Return the deck with the arm that is chosen."""
        arm = arm_of(self._deck, self._arm_key())
        return self._deck if arm is None else seen_with_arm(self._deck, arm)

    def _arm_key(self) -> str:
        return str(self.arm.currentData() or FIRST_ARM)

    def _usual_protractor(self) -> ProtractorWish:
        chosen = last_chosen(self._library, self._deck_id, self._arm_key())
        known = chosen or alignment.AlignmentChoices()
        pivot = self._seen().arm.pivot_to_spindle_mm or _NO_PIVOT_MM
        return ProtractorWish(**known.model_dump(), pivot_to_spindle_mm=pivot)

    def _list_fittings(self) -> None:
        key = self._arm_key() if self._has_arms else None
        with QSignalBlocker(self.fitting):
            self.fitting.clear()
            for row in self._library.fittings(deck_id=self._deck_id, arm_key=key, archived=False):
                self.fitting.addItem(f"{day(row.started_at)}  {row.cartridge_name}", row.id)

    def _take_arm(self) -> None:
        """Go by another arm: its geometry, and what was fitted to it."""
        self.protractor.put(self._usual_protractor())
        self._list_fittings()
        self._fit_height()
        self.changed.emit()

    def _turn(self) -> None:
        self._of_arm.setVisible(self._has_arms and self.what.currentData() != "strobe")
        for key, part in self._parts.items():
            part.setVisible(key == self.what.currentData())
        self._fit_height()
        self._again.start()
        self.changed.emit()


def open_paper_of_deck(
    library: Library,
    deck_id: str,
    parent: QWidget,
    *,
    numbers: Numbers,
    messages: Messages,
    who: str = "",
) -> PaperDialog:
    """Show the paper of a deck; LibraryProblem if it can't be read."""
    deck = library.deck(deck_id)
    options = DeckPaperOptions(library, deck, numbers)
    dialog = PaperDialog(
        tr("paper.of_deck.title", deck=Name(deck.thing.name)),
        options.sheets,
        library,
        numbers=numbers,
        messages=messages,
        who=who,
        caution_keys=CAUTIONS,
        parent=parent,
    )
    dialog.put_options(options)

    def follow() -> None:
        dialog.show_cautions(shown=options.what.currentData() == "strobe")
        dialog.remake()

    options.changed.connect(follow)
    follow()
    dialog.finished.connect(dialog.deleteLater)
    dialog.open()
    return dialog
