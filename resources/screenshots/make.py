"""Makes the README's pictures: ``python resources/screenshots/make.py [FOLDER]``.

Run by hand after a change of the screen; the program never imports it and no wheel carries it. A
library in a temporary folder gets one example fitting, entry by entry as a person would keep it;
on the way the real window is drawn without a display and saved as PNG beside this file, or in
FOLDER. All readings are invented.
"""

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Callable, Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

from core.workflow.refusals import why_refused

os.environ["QT_QPA_PLATFORM"] = "offscreen"  # before any application object is made

import numpy as np
import soundfile
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea

from core.fitting import (
    Body,
    Entry,
    Finished,
    Fitting,
    HoursRead,
    Journey,
    MoveMade,
    ReadingTaken,
    StepAccepted,
    StepStatus,
    Verdict,
    new_id,
)
from core.language import Numbers
from core.paper.customer_sheet import Addressed, customer_sheets
from core.paper.sheet import PaperSize
from core.practice.saved_rehearsals import Wish
from core.records import Job
from core.steps import STEP_NAMES
from core.steps.speed import Tone
from core.steps.speed.tone import RecordedTone
from core.store import Library
from core.workflow.replay import journey_of
from desktop.paper.painter import FontMeasure
from desktop.paper.pictures import picture_of
from desktop.shell.app import application
from desktop.shell.main_window import MainWindow
from desktop.tasks.deferred_build import DeferredBuild
from desktop.widgets import theme
from desktop.widgets.preferences import Preferences
from desktop.widgets.scheme import Scheme
from resources.screenshots.example_readings import READINGS, Read, protractor

DECK: Final = "Example deck, 9-inch arm, three feet"
CARTRIDGE: Final = "Example cartridge, elliptical, all-round"
NEXT_CARTRIDGE: Final = "Example cartridge, line contact, moving coil"
SIZE_PX: Final = (1280, 800)
BEGAN: Final = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)
PROMISED_IN_DAYS: Final = (-2, 0, 0, 1, 3, 3, 6, 10)
PAPER_PX: Final = 820
MOST_TURNS: Final = 14
MOST_COLOURS: Final = 256


class Bench:
    """Works one fitting through, as a person does who follows every move.

    Parameters
    ----------
    library
        Where it is kept.
    deck, cartridge
        Their names in the library.
    """

    def __init__(self, library: Library, deck: str = DECK, cartridge: str = CARTRIDGE) -> None:
        self._library = library
        (deck_row,) = (row for row in library.decks() if row.name == deck)
        (cartridge_row,) = (row for row in library.cartridges() if row.name == cartridge)
        self.fitting_id = library.start_fitting(deck_row.id, cartridge_row.id, at=BEGAN).id
        self._kept = 0

    @property
    def journey(self) -> Journey:
        """Where every step stands."""
        fitting = self._library.fitting(self.fitting_id)
        deck = self._library.deck(fitting.deck_id, fitting.deck_revision)
        cartridge = self._library.cartridge(fitting.cartridge_id, fitting.cartridge_revision)
        return journey_of(deck.thing, cartridge.thing, fitting)

    def keep(self, body: Body) -> None:
        """Keep an entry, three minutes after the last."""
        refusal = why_refused(self.journey, body)
        if refusal is not None:
            raise RuntimeError(refusal)
        self._kept += 1
        self._library.append(
            self.fitting_id, body, at=BEGAN + timedelta(minutes=3 * self._kept), who="Example"
        )

    def read(self, step: str, *readings: Read) -> StepStatus:
        """Save readings and return where the step stands then."""
        for reading in readings:
            self.keep(ReadingTaken(step=step, reading=reading))
        return self.journey.status(step)

    def finish(self, step: str, readings: Sequence[Read]) -> None:
        """Move as told and read until the step passes, then accept it.

        The last reading is taken as often as it is asked for.
        """
        waiting = list(readings)
        for _ in range(MOST_TURNS):
            status = self.journey.status(step)
            said = status.assessment
            if said.verdict.passes and len(waiting) <= 1:
                self.keep(StepAccepted(step=step, verdict=said.verdict))
                return
            has_read = bool(status.trials) and not status.trials[-1].moves
            move = said.next_move
            if has_read and said.verdict in (Verdict.MOVE, Verdict.STOP) and move and move.parts:
                self.keep(MoveMade(step=step, parts=move.parts))
            else:
                self.read(step, waiting.pop(0) if len(waiting) > 1 else waiting[0])
        raise RuntimeError(f"the step {step} does not come to an end with these readings")


class Camera:
    """The real window, drawn without a display and saved.

    Parameters
    ----------
    app
        The application.
    folder
        Where the pictures go.
    place
        The library.
    """

    def __init__(self, app: QApplication, folder: Path, place: Path) -> None:
        self._app = app
        self._folder = folder
        self._place = place

    def shoot(
        self,
        name: str,
        show: Callable[[Any], object],
        *,
        scheme: Scheme = "light",
        decimal: str = ".",
        place: Path | None = None,
    ) -> None:
        """Save what the window shows once ``show`` has led it there."""
        library = place or self._place
        theme.apply(self._app, scheme)
        window = MainWindow(
            numbers=Numbers(decimal=decimal),
            preferences=Preferences(library.with_suffix(".ini")),
        )
        window.open_library(library)
        window.resize(*SIZE_PX)
        window.show()
        show(window)
        pages = [later for later in window.findChildren(DeferredBuild) if later.page.isVisible()]
        while not all(later.is_done for later in pages):
            self._app.processEvents()
        for _ in range(5):  # wrapped words and columns settle one after the other
            self._app.processEvents()
        for label in window.findChildren(QLabel):  # this machine's folder is nobody's business
            if str(library.parent) in label.text():
                label.setText(label.text().replace(str(library.parent), "…"))
        save(window.grab().toImage(), self._folder / f"{name}.png")
        window.close()
        window.deleteLater()
        self._app.sendPostedEvents(None, QEvent.Type.DeferredDelete)


# Ways through the window. It is Any to them: which page is shown depends on what was done before.


def at_step(fitting_id: str, step: str) -> Callable[[Any], object]:
    """Return a way to a place of a fitting."""

    def show(window: Any) -> None:
        window.open_fitting(fitting_id)
        QApplication.processEvents()
        window.pages.currentWidget().go(step)

    return show


def at_tone(fitting_id: str) -> Callable[[Any], object]:
    """Return a way to a reading by tone and the picture of its turn."""

    def show(window: Any) -> None:
        at_step(fitting_id, "speed")(window)
        page = window.pages.currentWidget().page
        page.reading.choose("tone")
        for _ in range(5):
            QApplication.processEvents()
        pane = page.side_pane
        pane.picture_box.setCurrentIndex(1)
        for _ in range(5):
            QApplication.processEvents()
        around = pane.parentWidget()
        while not isinstance(around, QScrollArea):
            around = around.parentWidget()
        around.ensureWidgetVisible(pane.chart, 0, 40)

    return show


def at_first_screen(window: Any) -> None:
    """Show the library as it is a moment after the start."""
    window.pages.currentWidget().say_where_the_latest_stands()


def at_finished(words: str) -> Callable[[Any], object]:
    """Return a way to the finished fittings that hold some words."""

    def show(window: Any) -> None:
        screen = window.pages.currentWidget()
        screen.say_where_the_latest_stands()
        screen.tabs.setCurrentWidget(screen.finished)
        screen.finished.look_for(words)

    return show


def at_plan(fitting_id: str, cartridge: str) -> Callable[[Any], object]:
    """Return a way to the plan for another cartridge."""

    def show(window: Any) -> None:
        window.show_swap(fitting_id)
        (row,) = (row for row in window.library.cartridges() if row.name == cartridge)
        window.pages.currentWidget().show_plan(row.id)

    return show


def at_jobs(window: Any) -> None:
    """Show the jobs that are here."""
    window.show_jobs()


def at_history(deck_id: str) -> Callable[[Any], object]:
    """Return a way to the history of a deck."""

    def show(window: Any) -> None:
        window.show_history(deck_id)
        window.pages.currentWidget().loader.finish()

    return show


def at_rehearsal(window: Any) -> None:
    """Show a practice deck with a level on it."""
    window.show_rehearsal()
    window.pages.currentWidget().begin_rehearsal(Wish(number=7))


def save(picture: QImage, path: Path) -> None:
    """Save a picture as a small PNG."""
    if not _with_palette(picture).save(str(path), "PNG", 0):  # type: ignore[call-overload] # str is taken too
        raise RuntimeError(f"{path} can't be written: look whether its folder is there.")


def _with_palette(picture: QImage) -> QImage:
    """Return the picture in its commonest colours: a third of the bytes, and looks no different."""
    plain = picture.convertToFormat(QImage.Format.Format_RGB32)
    pixels = np.frombuffer(plain.constBits(), dtype=np.uint32)
    colours, counts = np.unique(pixels, return_counts=True)
    commonest = colours[np.argsort(counts)[::-1][:MOST_COLOURS]]
    return plain.convertToFormat(
        QImage.Format.Format_Indexed8,
        [int(colour) for colour in commonest],
        Qt.ImageConversionFlag.ThresholdDither,
    )


def keep_earlier(library: Library, fitting: Fitting, years: int, off: float) -> None:
    """Keep a fitting that went as this one did, years before, its readings off by so much."""
    earlier = timedelta(days=365 * years + 20)
    entries = []
    for entry in fitting.entries:
        body = entry.body
        if isinstance(body, ReadingTaken) and body.reading.get("downforce_gf") == 2.0:
            reading = {**body.reading, "downforce_gf": round(2.0 + 0.1 * off, 2)}
            body = body.model_copy(update={"reading": reading})
        if isinstance(body, ReadingTaken) and body.reading.get("landing_mm") == 0.0:
            body = body.model_copy(update={"reading": protractor(off, 0.0)})
        entries.append(Entry(at=entry.at - earlier, who=entry.who, body=body))
    last = entries[-1].at
    entries.append(Entry(at=last, body=HoursRead(hours=max(0.0, 310.0 * (3 - years)))))
    entries.append(Entry(at=last, body=Finished()))
    began = fitting.started_at - earlier
    update = {"id": new_id(), "started_at": began, "entries": tuple(entries)}
    library.log.add(fitting.model_copy(update=update))


def stock_shop(place: Path) -> None:
    """Make the library of a small shop: 120 decks, 400 fittings, a dozen of them under way."""
    with Library.open(place) as library, library.transaction():
        decks = []
        kinds = [library.deck(row.id).thing for row in library.decks()]
        for number in range(120):
            kind = kinds[number % len(kinds)]
            name = f"{kind.name}, no. {number + 1}"
            told = {"name": name, "owner_reference": f"Job {2041 + 7 * number}"}
            decks.append(library.keep_deck(kind.model_copy(update=told)).id)
        cartridges = [row.id for row in library.cartridges()]
        for number in range(400):
            at = BEGAN - timedelta(hours=19 * (400 - number))
            deck_id = decks[number * 37 % len(decks)]
            cartridge_id = cartridges[number * 5 % len(cartridges)]
            one = library.start_fitting(deck_id, cartridge_id, who="Example", at=at)
            if number % 33:
                done = at + timedelta(minutes=50)
                library.append(one.id, Finished(), who="Example", at=done)


def stock_jobs(place: Path) -> None:
    """Make jobs of fittings under way, promised for days before, on and after today."""
    now = datetime.now(UTC)
    with Library.open(place) as library, library.transaction():
        rows = library.fittings(finished=False, limit=len(PROMISED_IN_DAYS))
        for row, days in zip(rows, PROMISED_IN_DAYS, strict=True):
            due, came = now + timedelta(days=days), now - timedelta(days=4)
            told = Job(
                brought=row.deck_name,
                received=came.date().isoformat(),
                promised=due.date().isoformat(),
            )
            job = library.jobs.keep(told, who="Example", today=now.date())
            library.jobs.give(row.id, job.id, who="Example", at=now)


def shoot_tone(camera: Camera, own: Path) -> None:
    """Make the picture of a speed that was read by a recorded tone, on a deck with a belt."""
    place, sound = own / "tone.library", own / "side one.wav"
    told = {"motor_rpm": 250.0, "belt_mm": 520.0, "belt_runs_on_mm": 150.0}
    with Library.open(place) as library:
        (row,) = (row for row in library.decks() if row.name == DECK)
        deck = library.deck(row.id).thing
        belt = deck.platter.model_copy(update=told)
        library.keep_deck(deck.model_copy(update={"platter": belt}), id=row.id)
        bench = Bench(library)
        for step in STEP_NAMES[:-1]:
            bench.finish(step, READINGS[step])
        hz = [3150.0, 250.0 / 60.0]
        at = np.arange(45 * 44_100) / 44_100
        off = 1.2e-3 + 1.5e-3 * np.cos(2 * np.pi * at / 1.8) + 5e-4 * np.cos(2 * np.pi * hz[1] * at)
        tone = 0.25 * np.sin(2 * np.pi * hz[0] * np.cumsum(1.0 + off) / 44_100)
        soundfile.write(sound, np.stack((tone, tone), axis=1), 44_100, subtype="PCM_24")
        shares = RecordedTone.read(sound)
        while True:
            try:
                next(shares)
            except StopIteration as end:
                heard = end.value
                break
        bench.read("speed", Tone(recorded=heard).model_dump(mode="json"))
    camera.shoot("tone", at_tone(bench.fitting_id), place=place)


def make(folder: Path) -> None:
    """Make every picture."""
    app = application()
    with tempfile.TemporaryDirectory() as own:
        place, shop = Path(own) / "example.library", Path(own) / "shop.library"
        camera = Camera(app, folder, place)
        with Library.open(place) as library:
            bench = Bench(library)
            one = bench.fitting_id
            for step in STEP_NAMES:
                readings = list(READINGS[step])
                if step == "level":
                    bench.read(step, *(readings.pop(0) for _ in range(2)))
                    camera.shoot("level", at_step(one, step))
                elif step == "rough_downforce":
                    bench.read(step, readings.pop(0))
                    camera.shoot("rough-downforce-stop", at_step(one, step))
                    camera.shoot("rough-downforce-german", at_step(one, step), decimal=",")
                elif step == "alignment":
                    bench.read(step, readings.pop(0))
                    camera.shoot("alignment", at_step(one, step))
                    camera.shoot("alignment-dark", at_step(one, step), scheme="dark")
                elif step == "speed":
                    bench.read(step, readings.pop(0))
                    camera.shoot("library", at_first_screen)
                    camera.shoot("speed", at_step(one, step))
                bench.finish(step, readings)
            camera.shoot("summary", at_step(one, "summary"))
            bench.keep(Finished())
            sheet, *_ = customer_sheets(
                bench.journey, PaperSize.A4, Numbers(), FontMeasure(), Addressed()
            )
            on_paper = picture_of(sheet).scaledToWidth(
                PAPER_PX, Qt.TransformationMode.SmoothTransformation
            )
            save(on_paper, folder / "owners-sheet.png")
            camera.shoot("plan", at_plan(one, NEXT_CARTRIDGE))
            fitting = library.fitting(one)
            for years, off in ((3, 0.3), (2, -0.2), (1, 0.1)):
                keep_earlier(library, fitting, years, off)
            camera.shoot("history", at_history(fitting.deck_id))
        camera.shoot("rehearsal", at_rehearsal)
        shoot_tone(camera, Path(own))
        stock_shop(shop)
        camera.shoot("shop", at_finished("12-inch 2024-1"), place=shop)
        stock_jobs(shop)
        camera.shoot("jobs", at_jobs, place=shop)


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
