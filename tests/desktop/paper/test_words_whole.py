"""No sheet cuts a word: none lies beyond what printers reach, in another word or in a line."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import combinations, pairwise

import pytest

from core.drawing.marks import XY, Arc, Area, Circle, Line, Mark, Polyline, Words
from core.language import Numbers
from core.paper.fitting_sheets import protractor_sheets
from core.paper.lettering import Measure
from core.paper.sheet import MARGIN_MM, PaperSize, Sheet
from core.records import Deck
from core.steps.alignment import AlignmentChoices, Criterion
from core.store.documents import document_from
from desktop.paper.painter import FontMeasure
from profiles import starter_documents

CAPITALS = 0.72
"""How high capitals are, in sizes of the letters (common practice, no source)."""


def corners(words: Words, measure: Measure) -> list[complex]:
    """Return the corners of the capitals of a line of text, as places in the complex plane."""
    wide = measure(words.text, words.size_mm, bold=words.bold)
    before = {"left": 0.0, "middle": 0.5, "right": 1.0}[words.align] * wide
    turn = complex(math.cos(math.radians(words.turn_deg)), math.sin(math.radians(words.turn_deg)))
    high = CAPITALS * words.size_mm
    lift = -0.5 * high if words.at_height == "middle" else 0.0
    origin = complex(words.x, words.y)
    box = [
        (-before, lift),
        (wide - before, lift),
        (wide - before, lift + high),
        (-before, lift + high),
    ]
    return [origin + turn * complex(*corner) for corner in box]


def strokes(mark: Mark) -> list[list[complex]]:
    """Return what a pen draws of a mark, as lines through places."""

    def places(points: list[XY] | tuple[XY, ...]) -> list[complex]:
        return [complex(*point) for point in points]

    match mark:
        case Line():
            return [places([(mark.x0, mark.y0), (mark.x1, mark.y1)])]
        case Polyline():
            return [places(mark.points)]
        case Area() if mark.pen is not None or mark.fill is not None:
            return [places([*mark.points, mark.points[0]])]
        case Arc():
            start, span, ring = mark.start_deg, mark.span_deg, range(65)
            angles = [math.radians(start + span * k / 64.0) for k in ring]
            middle = complex(mark.x, mark.y)
            return [[middle + mark.radius_mm * complex(math.cos(a), math.sin(a)) for a in angles]]
        case Circle():
            return strokes(Arc(mark.x, mark.y, mark.radius_mm, 0.0, 360.0))
        case _:
            return []


def crosses(a: complex, b: complex, box: list[complex]) -> bool:
    """Return whether a stroke enters a box: clipped in the box's own axes, Liang and Barsky."""
    along = (box[1] - box[0]) / abs(box[1] - box[0])
    start, end = (a - box[0]) / along, (b - box[0]) / along
    wide, high = abs(box[1] - box[0]), abs(box[2] - box[1])
    first, last = 0.0, 1.0
    for at, step, room in (
        (start.real, end.real - start.real, wide),
        (start.imag, end.imag - start.imag, high),
    ):
        if step == 0.0:
            if not 0.0 < at < room:
                return False
            continue
        low, top = sorted((-at / step, (room - at) / step))
        first, last = max(first, low), min(last, top)
    return first < last


def troubles(sheet: Sheet, measure: Measure) -> Iterator[str]:
    """Yield what cuts a word of a sheet."""
    words = [mark for mark in sheet.marks if isinstance(mark, Words) and mark.text.strip("_ ")]
    boxes = [corners(one, measure) for one in words]
    drawn = [line for mark in sheet.marks for line in strokes(mark)]
    for one, box in zip(words, boxes, strict=True):
        for place in box:
            if not (
                MARGIN_MM - 0.01 <= place.real <= sheet.size.width_mm - MARGIN_MM + 0.01
                and MARGIN_MM - 0.01 <= place.imag <= sheet.size.height_mm - MARGIN_MM + 0.01
            ):
                yield f"{one.text!r} is cut by the edge"
                break
        if any(crosses(a, b, box) for line in drawn for a, b in pairwise(line)):
            yield f"{one.text!r} is struck through"
    for (one, box), (other, its) in combinations(zip(words, boxes, strict=True), 2):
        if any(crosses(a, b, box) for a, b in pairwise([*its, its[0]])):
            yield f"{one.text!r} lies on {other.text!r}"


DECKS = [
    Deck.model_validate(record.revisions[-1].thing.model_dump())
    for content, name in starter_documents()
    for record in document_from(content, name).decks
]
LONG_NAME = "Example deck with a very long name that somebody gave it, " * 2


@pytest.mark.parametrize(("size", "decimal"), [(PaperSize.A4, ","), (PaperSize.LETTER, ".")])
@pytest.mark.parametrize("deck", DECKS, ids=lambda deck: deck.name)
@pytest.mark.usefixtures("qapp")
def test_no_word_of_a_protractor_is_cut(deck: Deck, size: PaperSize, decimal: str) -> None:
    measure, named = FontMeasure(), deck.model_copy(update={"name": LONG_NAME})
    found = set()
    for rule in (Criterion.LOFGREN_A, Criterion.STEVENSON, Criterion("least squares")):
        chosen = AlignmentChoices(criterion=rule)
        for sheet in protractor_sheets(named, chosen, size, Numbers(decimal), measure):
            found |= {f"{rule}, {sheet.title}: {one}" for one in troubles(sheet, measure)}
    assert sorted(found) == []
