"""The drawings for the hand as they were last looked at, mark by mark, for comparison.

    python -m tests.core.steps.drawn_marks --write

writes every drawing of :func:`cases` anew into ``drawn_marks.txt``. Look at each one that changed,
in the window or on paper, before you keep it: this file says what was approved, not what is right.
What must hold of any drawing is read from it by geometry in ``test_drawings_read.py``.
"""

from __future__ import annotations

import dataclasses
import re
import sys
import zlib
from collections.abc import Iterator
from enum import Enum
from pathlib import Path
from typing import Any, get_args, get_origin

from core.drawing.drawing import Drawing
from core.drawing.marks import Area, Mark, Polyline, Words
from core.fitting import Control, MovePart
from core.language import Message, Numbers
from core.language.messages import Text
from core.records import Balance, Deck, SkatingControl, SpeedTrim
from core.steps import STEPS, ways_of
from core.steps.bench_drawing import BenchScene, draw_move, draw_reading
from core.steps.explained import WORDS, draw_places, draw_word, example_scene
from core.workflow.unplanned_moves import movables
from tests.examples import cartridge, deck

APPROVED = Path(__file__).with_suffix(".txt")
MANY = 6
"""Of an outline of more points the ends, the box and the area are kept."""

LAST_DIGIT = 0.1 + 1e-9
"""Places are written to a tenth of a millimetre of the sheet, areas to a square millimetre."""

PARALLEL = {"kind": "parallel tracking", "pivot_to_spindle_mm": None, "offset_deg": 0.0}


class Terse(Numbers):
    """Numbers with the values of a message for its words: another wording draws the same."""

    def text(self, what: Text | None) -> str:
        """Return the values alone, or the last of the key where there are none."""
        if not isinstance(what, Message):
            return what or ""
        values = what.values.values()
        said = [each if isinstance(each, str) else self.value(each) for each in values]
        return " ".join(said) or what.key.rpartition(".")[2]


def decks() -> dict[str, Deck]:
    """Return decks on which every control and every view is drawn."""
    return {
        "pivoted": deck(),
        "parallel": deck(arm=PARALLEL),
        "other controls": deck(
            arm={"balance": Balance.DYNAMIC, "pivot_to_spindle_mm": 295.0}
            | {"effective_length_mm": 310.0, "offset_deg": 18.0},
            head={"kind": "fixed"},
            height={"control": "shims"},
            tilt={"control": "shim"},
            skating={"control": SkatingControl.THREAD_WEIGHT}
            | {"notch_levers_mm": [6.0, 8.0, 12.0], "thread_weight_g": 2.0},
            platter={"trim": SpeedTrim.ELECTRONIC},
        ),
    }


def typed(kind: Any) -> dict[str, Any]:
    """Return values for the fields of a way of reading, each a different one."""
    values: dict[str, Any] = {}
    for place, (name, field) in enumerate(kind.model_fields.items()):
        wanted = field.annotation
        if wanted is float:
            values[name] = (1.2, -0.7, 2.1, 0.4)[place % 4]
        elif wanted is bool:
            values[name] = True
        elif isinstance(wanted, type) and issubclass(wanted, Enum):
            values[name] = next(iter(wanted))
        elif get_origin(wanted) is not None and (
            kinds := [k for k in get_args(wanted) if isinstance(k, type) and issubclass(k, Enum)]
        ):
            values[name] = next(iter(kinds[0]))
        elif get_origin(wanted) is not None and float in get_args(wanted):
            values[name] = 1.6
    return values


def cases(numbers: Numbers | None = None) -> Iterator[tuple[str, Drawing]]:
    """Yield every drawing under the name of what it shows."""
    said = numbers or Terse()
    for called, on in decks().items():
        scene = BenchScene(on, cartridge(), said)
        for step in STEPS:
            if called == "other controls" and step.NAME not in ("skating", "alignment"):
                continue
            for way, kind in ways_of(step).items():
                for state, values in (("empty", {}), ("typed", typed(kind))):
                    yield (
                        f"{called}: {step.NAME}, {way}, {state}",
                        draw_reading(scene, step.NAME, way, values),
                    )
        for movable in movables(on, cartridge(), "level"):
            for amount in (0.375, -0.375):
                yield (
                    f"{called}: {movable.control} {movable.where} {amount}",
                    draw_move(scene, [movable.part(amount)]),
                )
    yield from special(said)
    for key in WORDS:
        yield f"word: {key}", draw_word(key, said)
    for called, on in decks().items():
        yield f"places: {called}", draw_places(BenchScene(on, cartridge(), said))
    yield "places: tilt alone", draw_places(example_scene(said), only="tilt")


def special(said: Numbers) -> Iterator[tuple[str, Drawing]]:
    """Yield what no first choice shows: other directions, a dial that was read, a base moved."""
    scene = BenchScene(deck(), cartridge(), said, {"setting": 2.0})
    bubbles = (("front-back", False, 2.5), ("left-right", True, -1.5), ("other", False, 9.0))
    for direction, turned, divisions in bubbles:
        values = {"direction": direction, "turned": turned, "divisions": divisions}
        values["bearing_deg"] = 30.0
        yield f"special: {values}", draw_reading(scene, "level", "bubble", values)
    for drift in ("with", "against"):
        values = {"direction": drift}
        yield f"special: drift {drift}", draw_reading(scene, "speed", "strobe", values)
    for broke in ("left", "right", "together"):
        values = {"broke_first": broke, "setting": 1.0}
        yield f"special: broke {broke}", draw_reading(scene, "skating", "test bands", values)
    for lean in ("left high", "right high"):
        values = {"lean": lean, "angle_deg": 1.5}
        yield f"special: {lean}", draw_reading(scene, "tilt", "mirror", values)
    for amount in (0.5, -0.5, 9.0):
        part = MovePart(control=Control.SKATING, amount=amount, unit="gf")
        yield f"special: dial from 2 by {amount}", draw_move(scene, [part])
    for amount in (1.5, -1.5):
        base = MovePart(control=Control.ARM_BASE, amount=amount, unit="mm")
        yield f"special: arm base {amount}", draw_move(scene, [base])
        slide = MovePart(control=Control.SLIDE, amount=amount, unit="mm")
        twist = MovePart(control=Control.TWIST, amount=-amount, unit="°")
        yield f"special: slide and twist {amount}", draw_move(scene, [slide, twist])
    screws = MovePart(control=Control.SCREWS, amount=1.0, unit="")
    yield "special: screws", draw_move(scene, [screws])
    feet = [
        MovePart(control=Control.FOOT, amount=amount, unit="turns", where=where)
        for amount, where in ((0.5, "front left"), (-0.25, "rear"))
    ]
    yield "special: two feet", draw_move(scene, feet)


def line_of(mark: Mark) -> str:
    """Return one line that says where a mark is and how it looks."""
    told = {field.name: getattr(mark, field.name) for field in dataclasses.fields(mark)}
    points, pen = told.pop("points", None), told.pop("pen", None)
    words = [type(mark).__name__]
    if points is not None:
        shown = points
        if len(points) > MANY:
            xs, ys = [x for x, _ in points], [y for _, y in points]
            words.append(f"n={len(points)} area={area(points) / 10.0:.1f}")
            shown = (points[0], points[-1], (min(xs), min(ys)), (max(xs), max(ys)))
        words += [f"{x:.1f},{y:.1f}" for x, y in shown]
    if pen is not None:
        words.append(f"pen={pen.width_mm}/{pen.colour}")
    for name, value in told.items():
        if isinstance(value, float):
            words.append(f"{name}={value:.1f}")
        elif value not in (None, "", False):
            words.append(f"{name}={value}")
    return re.sub(r"-0\.(0+)\b", r"0.\1", " ".join(words))


def area(points: tuple[tuple[float, float], ...]) -> float:
    """Return the area within an outline, positive when it runs against the clock."""
    return 0.5 * sum(
        x0 * y1 - x1 * y0
        for (x0, y0), (x1, y1) in zip(points, (*points[1:], points[0]), strict=True)
    )


def lines_of(drawing: Drawing) -> list[str]:
    """Return a drawing, a line a mark."""
    size = f"{drawing.width_mm:.1f} x {drawing.height_mm:.1f}"
    return [size, *(line_of(mark) for mark in drawing.marks)]


def approved() -> dict[str, list[str]]:
    """Return what was approved, by the names of the cases.

    Each line is written once, with a name made of it; a case names its lines.
    """
    found: dict[str, list[str]] = {}
    known: dict[str, str] = {}
    for line in APPROVED.read_text(encoding="utf-8").splitlines():
        if line.startswith("# "):
            found[line[2:]] = lines = []
        elif line.startswith("= "):
            lines += [known[name] for name in line[2:].split()]
        elif line:
            name, _, known[name] = line.partition(" ")
    return found


def written() -> str:
    """Return the file of all cases as they are drawn today."""
    blocks: list[str] = []
    known: dict[str, str] = {}
    for title, drawing in cases():
        lines = {line: f"{zlib.crc32(line.encode()):08x}" for line in lines_of(drawing)}
        new = [f"{name} {line}" for line, name in lines.items() if name not in known]
        known |= {name: line for line, name in lines.items()}
        refers = "= " + " ".join(lines[line] for line in lines_of(drawing))
        blocks.append("\n".join([f"# {title}", *new, refers]))
    return "\n\n".join(blocks) + "\n"


def same(one: str, other: str) -> bool:
    """Return whether two lines say the same, but for the last digit of a number."""
    number = r"-?\d+\.\d+"
    if re.sub(number, "#", one) != re.sub(number, "#", other):
        return False
    pairs = zip(re.findall(number, one), re.findall(number, other), strict=True)
    return all(abs(float(a) - float(b)) <= LAST_DIGIT for a, b in pairs)


def shapes(drawing: Drawing) -> Iterator[Area | Polyline | Words]:
    """Yield the marks that a bench drawing is made of."""
    for mark in drawing.marks:
        if isinstance(mark, Area | Polyline | Words):
            yield mark


def main() -> None:
    """Print the file, or write it."""
    if "--write" in sys.argv:
        APPROVED.write_text(written(), encoding="utf-8")
    else:
        print(written())


if __name__ == "__main__":
    main()
