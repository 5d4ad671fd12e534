"""Makes the README's pictures: ``python resources/screenshots/make.py [FOLDER]``.

Run by hand after a change of the screen; the program never imports it and no wheel carries it. A
library in a temporary folder gets one example fitting, entry by entry as a person would keep it;
on the way the real window is drawn without a display and saved as PNG beside this file, or in
FOLDER. All readings are invented.
"""  # noqa: INP001 - a script beside the pictures it makes, not part of a package

from __future__ import annotations

import os
import sys
import tempfile
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any, Final

os.environ["QT_QPA_PLATFORM"] = "offscreen"  # before any application object is made

import numpy as np
from PySide6.QtCore import QEvent, Qt
from PySide6.QtGui import QImage
from PySide6.QtWidgets import QApplication, QLabel

from core.fitting import Body, MoveMade, ReadingTaken, StepAccepted
from core.journey import journey_of
from core.physics.alignment_solutions import lofgren_a_nulls
from core.physics.arm_geometry import PivotedArm, tracking_error_deg
from core.physics.groove_radii import GROOVES_1958
from core.standing import Journey, Standing
from core.steps import STEP_NAMES
from core.store import Library
from core.verdict import Verdict
from core.wording import Numbers
from desktop import theme
from desktop.app import application
from desktop.main_window import MainWindow
from desktop.remembered import Remembered

DECK: Final = "Example deck, 9-inch arm, three feet"
CARTRIDGE: Final = "Example cartridge, elliptical, all-round"
SIZE_PX: Final = (1280, 800)
BEGAN: Final = datetime(2025, 3, 4, 9, 30, tzinfo=UTC)
MOST_TURNS: Final = 14
MOST_COLOURS: Final = 256

Read = dict[str, Any]


def bubble(direction: str, divisions: float) -> Read:
    """Return what a bubble level shows along one direction."""
    return {"way": "bubble", "direction": direction, "divisions": divisions}


def weighed(downforce_gf: float) -> Read:
    """Return what the downforce scale shows."""
    return {"way": "scale", "downforce_gf": downforce_gf}


def heights(front_mm: float, rear_mm: float) -> Read:
    """Return two heights of the arm tube above the record."""
    return {"way": "two heights", "front_mm": front_mm, "rear_mm": rear_mm, "spacing_mm": 180.0}


def gaps(left_mm: float, right_mm: float) -> Read:
    """Return the gaps between head and record on both sides."""
    return {"way": "gaps", "left_mm": left_mm, "right_mm": right_mm}


def protractor(slide_mm: float, twist_deg: float) -> Read:
    """Return what the example arm shows so far off Löfgren A for 222 mm."""
    nulls = lofgren_a_nulls(GROOVES_1958)
    arm = PivotedArm(222.0, 239.296 + slide_mm, 22.986 + twist_deg)
    inner, outer = tracking_error_deg(arm, [nulls.inner_mm, nulls.outer_mm])
    return {
        "way": "landing and angles",
        "landing_mm": slide_mm,
        "inner_deg": round(float(inner), 2),
        "outer_deg": round(float(outer), 2),
    }


def strobe(drifted_bars: float) -> Read:
    """Return half a minute of a strobe disc, the bars gone against the platter or standing."""
    return {
        "way": "strobe",
        "speed_rpm": 33.333333,
        "direction": "against" if drifted_bars else "standing",
        "drifted_bars": drifted_bars,
        "seconds": 30.0,
        "minutes_running": 15.0,
    }


CHECKED: Final[Read] = {
    "way": "checklist",
    "amplifier_off": True,
    "guard_on": True,
    "arm_locked": True,
    "screws_snug": True,
    "white_lead": True,
    "blue_lead": True,
    "red_lead": True,
    "green_lead": True,
}
LEVEL: Final = [bubble("front-back", 0.0), bubble("left-right", 0.0)]
READINGS: Final[dict[str, list[Read]]] = {
    "level": [bubble("front-back", 8.0), bubble("left-right", 0.0), *LEVEL],
    "mount": [CHECKED],
    "rough_downforce": [weighed(4.0), weighed(2.0)],
    "arm_height": [heights(23.5, 29.0), heights(27.0, 27.0)],
    "alignment": [protractor(1.2, 0.0), protractor(0.0, 0.0)],
    "tilt": [gaps(2.9, 2.0), gaps(2.0, 2.0)],
    "skating": [{"way": "setting", "setting": 2.0}],
    "final_downforce": [weighed(2.0)],
    "speed": [strobe(30.0), strobe(0.0)],
}


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
        refusal = self.journey.refusal(body)
        if refusal is not None:
            raise RuntimeError(refusal)
        self._kept += 1
        self._library.append(
            self.fitting_id, body, at=BEGAN + timedelta(minutes=3 * self._kept), who="Example"
        )

    def read(self, step: str, *readings: Read) -> Standing:
        """Keep readings and return where the step stands then."""
        for reading in readings:
            self.keep(ReadingTaken(step=step, reading=reading))
        return self.journey.standing(step)

    def finish(self, step: str, readings: Sequence[Read]) -> None:
        """Move as told and read until the step passes, then accept it.

        The last reading is taken as often as it is asked for.
        """
        waiting = list(readings)
        for _ in range(MOST_TURNS):
            standing = self.journey.standing(step)
            said = standing.assessment
            if said.verdict.passes and len(waiting) <= 1:
                self.keep(StepAccepted(step=step, verdict=said.verdict, headline=said.headline))
                return
            has_read = bool(standing.trials) and not standing.trials[-1].moves
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
        fitting_id: str = "",
        step: str = "",
        *,
        scheme: theme.Scheme = "light",
        decimal: str = ".",
        text_scale: float = 1.0,
        size_px: tuple[int, int] = SIZE_PX,
    ) -> None:
        """Save one page: the library, or a place of a fitting."""
        theme.apply(self._app, scheme, text_scale=text_scale)
        window = MainWindow(
            numbers=Numbers(decimal=decimal),
            remembered=Remembered(self._place.with_suffix(".ini")),
        )
        window.open_library(self._place)
        for label in window.findChildren(QLabel):  # this machine's folder is nobody's business
            label.setText(label.text().replace(str(self._place), self._place.name))
        window.resize(*size_px)
        window.show()
        if fitting_id:
            window.open_fitting(fitting_id)
            self._app.processEvents()
            getattr(window.pages.currentWidget(), "go", lambda _place: None)(step)
        for _ in range(5):  # wrapped words and columns settle one after the other
            self._app.processEvents()
        path = self._folder / f"{name}.png"
        if not _with_palette(window.grab().toImage()).save(str(path), "PNG", 0):  # type: ignore[call-overload] # str is taken too
            raise RuntimeError(f"{path} can't be written: look whether its folder is there.")
        window.close()
        window.deleteLater()
        self._app.sendPostedEvents(None, QEvent.Type.DeferredDelete)


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


def make(folder: Path) -> None:
    """Make every picture."""
    app = application()
    with tempfile.TemporaryDirectory() as own:
        place = Path(own) / "example.library"
        camera = Camera(app, folder, place)
        with Library.open(place) as library:
            bench = Bench(library)
            one = bench.fitting_id
            for step in STEP_NAMES:
                readings = list(READINGS[step])
                if step == "level":
                    bench.read(step, *(readings.pop(0) for _ in range(2)))
                    camera.shoot("level", one, step)
                elif step == "rough_downforce":
                    bench.read(step, readings.pop(0))
                    camera.shoot("rough-downforce-stop", one, step)
                    camera.shoot("rough-downforce-german", one, step, decimal=",")
                elif step == "alignment":
                    bench.read(step, readings.pop(0))
                    camera.shoot("alignment", one, step)
                    camera.shoot("alignment-dark", one, step, scheme="dark")
                elif step == "speed":
                    bench.read(step, readings.pop(0))
                    camera.shoot("library")
                    camera.shoot("speed", one, step)
                bench.finish(step, readings)
            camera.shoot("summary", one, "summary")


if __name__ == "__main__":
    make(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
