"""Every picture can be drawn, again and again, quickly, and told in words."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import numpy as np
import pytest
from PySide6.QtCore import QPoint, QPointF, QRectF, Qt
from PySide6.QtGui import QColor, QImage, QPainter, QWheelEvent
from PySide6.QtWidgets import QApplication, QWidget

from core.drawing.chart import (
    Arrow,
    Axis,
    Band,
    Curve,
    Item,
    MarkRole,
    Picture,
    Points,
    Rule,
    Shape,
    Tag,
    floats,
)
from core.fitting import Context
from core.language import JOINER, Numbers
from core.steps import STEPS, Step
from desktop.charts.chart import Chart
from desktop.charts.items import pen_for
from desktop.widgets import theme
from tests.examples import cartridge, deck
from tests.worded import worded

Shown = Callable[..., QWidget]


def picture(*items: Item, fixed: bool = False, note: str = "") -> Picture:
    return Picture(
        "A title",
        "A summary in words.",
        Axis("Radius", "mm", 50.0, 150.0),
        Axis("Error", "°", -2.0, 2.0),
        items,
        fixed_aspect=fixed,
        scale_note=note,
    )


def all_kinds(shift: float = 0.0, points: int = 200) -> tuple[Item, ...]:
    x = np.linspace(50.0, 150.0, points)
    y = np.sin(x / 10.0 + shift)
    return (
        Band("y", -0.5, 0.5, MarkRole.GOOD, "Tolerance"),
        Band("x", 60.0, 70.0, MarkRole.ALLOWED),
        Curve(x, y * 0.5, MarkRole.BEFORE, "Before"),
        Curve(x, y, MarkRole.NOW, "Now"),
        Points(x[::40], y[::40], MarkRole.LEFT, "Left", half_height=np.full(x[::40].shape, 0.2)),
        Points(x[::40], -y[::40], MarkRole.PREDICTED, "Expected"),
        Rule("x", 66.0 + shift, MarkRole.GUIDE, "Null"),
        Rule("y", 0.0, MarkRole.TARGET),
        Shape(floats([80, 90, 90, 80]), floats([0, 0, 1, 1]), MarkRole.OUTLINE, filled=True),
        Arrow(60.0, -1.0, 80.0 + shift, 1.0, MarkRole.DANGER, "Moves"),
        Tag(100.0, 1.5, f"here {shift:.1f}", MarkRole.NOW),
    )


@pytest.fixture
def chart(shown: Shown) -> Chart:
    made = Chart()
    shown(made, 600, 450)
    return made


def colours_of(widget: QWidget) -> set[str]:
    image = widget.grab().toImage()
    return {
        image.pixelColor(x, y).name()
        for x in range(0, image.width(), 2)
        for y in range(0, image.height(), 2)
    }


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step.NAME)
def test_the_empty_picture_of_every_step_is_drawn(step: Step, chart: Chart) -> None:
    drawn = step.assess(Context(step.NAME, deck(), cartridge())).picture
    chart.draw(drawn)
    QApplication.processEvents()
    told = chart.accessibleDescription().replace(JOINER, "")  # it takes no room
    assert told == worded(drawn.summary)
    assert len(colours_of(chart)) > 4


def test_every_kind_of_thing_is_drawn_in_the_colour_of_its_role(chart: Chart) -> None:
    look = theme.appearance_of(chart)
    for item, role in (
        (Curve(floats([60, 140]), floats([0, 0]), MarkRole.NOW), MarkRole.NOW),
        (Points(floats([100]), floats([0]), MarkRole.DANGER), MarkRole.DANGER),
        (Shape(floats([60, 140, 140]), floats([0, 0, 1]), MarkRole.OUTLINE), MarkRole.OUTLINE),
        (Arrow(60.0, 0.0, 140.0, 0.0, MarkRole.TARGET), MarkRole.TARGET),
        (Rule("y", 0.0, MarkRole.RIGHT), MarkRole.RIGHT),
        (
            Band("y", -0.5, 0.5, MarkRole.GOOD),
            MarkRole.GOOD,
        ),  # its edge: the fill is too faint to see
        (Band("x", 60.0, 70.0, MarkRole.ALLOWED), MarkRole.ALLOWED),
    ):
        chart.draw(picture())
        QApplication.processEvents()
        assert look.roles[role] not in colours_of(chart), item
        chart.draw(picture(item))
        QApplication.processEvents()
        image = chart.grab().toImage()
        found = {
            image.pixelColor(x, y).name()
            for x in range(image.width())
            for y in range(image.height())
        }
        assert look.roles[role] in found, item


def test_a_dot_is_round_and_a_mark_at_rest_stays_small(chart: Chart) -> None:
    chart.draw(picture(Points(floats([100]), floats([0]), MarkRole.DANGER)))
    chart.draw(picture(Points(floats([100]), floats([0]), MarkRole.NOW)))
    QApplication.processEvents()
    wanted = theme.appearance_of(chart).roles[MarkRole.NOW]
    image = chart.grab().toImage()
    hits = [
        (x, y)
        for x in range(image.width())
        for y in range(image.height())
        if image.pixelColor(x, y).name() == wanted
    ]
    wide = max(x for x, _ in hits) - min(x for x, _ in hits) + 1
    assert 7 <= wide <= 16
    assert len(hits) < 0.85 * wide * wide  # a disc fills pi/4 of its square


def test_things_of_an_earlier_picture_do_not_stay(chart: Chart) -> None:
    chart.draw(picture(*all_kinds()))
    QApplication.processEvents()
    chart.draw(picture())
    QApplication.processEvents()
    blank = Chart()
    blank.resize(chart.size())
    blank.draw(picture())
    assert theme.appearance_of(chart).roles[MarkRole.NOW] not in colours_of(chart)
    assert chart._legend.words() == []
    blank.deleteLater()


def test_the_same_items_are_used_again_from_picture_to_picture(chart: Chart) -> None:
    chart.draw(picture(*all_kinds()))
    before = {kind: list(items) for kind, items in chart._pool._items.items()}
    for shift in range(5):
        chart.draw(picture(*all_kinds(float(shift))))
    assert {kind: list(items) for kind, items in chart._pool._items.items()} == before


def test_the_legend_names_each_thing_once_and_the_axes_carry_units(chart: Chart) -> None:
    chart.draw(picture(*all_kinds(), Curve(floats([1]), floats([1]), MarkRole.NOW, "Now")))
    assert chart._legend.words() == [
        "Tolerance",
        "Before",
        "Now",
        "Left",
        "Expected",
        "Null",
        "Moves",
    ]
    assert "Radius (mm)" in chart._plot.getAxis("bottom").label.toPlainText()
    assert "Error (°)" in chart._plot.getAxis("left").label.toPlainText()


def test_the_legend_wraps_and_is_never_wider_than_the_chart(shown: Shown) -> None:
    chart = Chart()
    shown(chart, 260, 500)
    chart.draw(picture(*all_kinds()))
    QApplication.processEvents()
    legend = chart._legend
    places, height = legend._places(legend.width())
    assert len({place.y() for place in places}) > 1
    assert legend.height() >= height - 1


def test_one_unit_is_as_long_in_x_as_in_y_where_the_picture_asks_for_it(chart: Chart) -> None:
    chart.draw(picture(fixed=True))
    QApplication.processEvents()
    wide, high = chart._plot.getViewBox().viewPixelSize()
    assert wide == pytest.approx(high, rel=0.01)


def test_the_scale_note_stands_under_the_picture(chart: Chart) -> None:
    chart.draw(picture(note="Tilt drawn 20 times as large."))
    assert chart._note.isVisible()
    chart.draw(picture())
    assert not chart._note.isVisible()


def test_gaps_and_empty_arrays_do_no_harm(chart: Chart) -> None:
    nothing = floats([])
    chart.draw(
        picture(
            Curve(floats([60, np.nan, 100]), floats([0, np.nan, 1]), MarkRole.NOW),
            Curve(nothing, nothing, MarkRole.NOW),
            Points(nothing, nothing, MarkRole.NOW, half_height=nothing),
            Shape(nothing, nothing, MarkRole.NOW),
            Shape(floats([np.nan, 60, 70]), floats([0, 0, 1]), MarkRole.NOW),
            Arrow(60.0, 0.0, 60.0, 0.0, MarkRole.NOW),
            Band("x", -np.inf, np.inf, MarkRole.GOOD),
        )
    )
    QApplication.processEvents()
    assert chart.picture is not None


def test_an_axis_without_length_is_shown_all_the_same(chart: Chart) -> None:
    chart.draw(Picture("t", "s", Axis("x", "mm", 2.0, 2.0), Axis("y", "", 1.0, 1.0)))
    QApplication.processEvents()
    assert chart._plot.getViewBox().viewRange()[0][0] < 2.0


def test_dense_lines_are_one_pixel_wide_and_what_is_expected_is_dashed() -> None:
    assert pen_for(theme.LIGHT, MarkRole.NOW, 5000).widthF() == 1.0
    assert pen_for(theme.LIGHT, MarkRole.NOW, 100).widthF() == 2.0
    assert pen_for(theme.LIGHT, MarkRole.PREDICTED).style() is Qt.PenStyle.DashLine


def test_the_wheel_goes_to_the_page(chart: Chart) -> None:
    event = QWheelEvent(
        QPointF(50, 50),
        QPointF(50, 50),
        QPoint(0, 0),
        QPoint(0, 120),
        Qt.MouseButton.NoButton,
        Qt.KeyboardModifier.NoModifier,
        Qt.ScrollPhase.NoScrollPhase,
        False,
    )
    chart.draw(picture())
    before = chart._plot.getViewBox().viewRange()
    QApplication.sendEvent(chart._plot.viewport(), event)
    assert not event.isAccepted()
    assert chart._plot.getViewBox().viewRange() == before


def test_the_chart_follows_a_change_of_scheme(chart: Chart, qapp: QApplication) -> None:
    chart.draw(picture(*all_kinds()))
    try:
        theme.apply(qapp, "dark")
        qapp.processEvents()
        assert theme.DARK.base in colours_of(chart)
        assert theme.DARK.roles[MarkRole.NOW] in colours_of(chart)
    finally:
        theme.apply(qapp, "light")


@pytest.mark.parametrize("lift", [-0.1, 0.0, 0.1])
def test_words_beside_a_dot_do_not_cover_it(chart: Chart, lift: float) -> None:
    dot = Points(floats([100.0]), floats([0.5]), MarkRole.NOW)
    chart.draw(picture(dot, Tag(100.0, 0.5 + lift, "at the\ninner grid", MarkRole.NOW)))
    QApplication.processEvents()
    (words,) = chart._pool._items["words"]
    place = chart._plot.getViewBox().mapViewToScene(QPointF(100.0, 0.5))
    at = chart._plot.getViewBox().mapViewToScene(QPointF(100.0, 0.5 + lift))
    dot_on_screen = QRectF(place.x() - 5, place.y() - 5, 10, 10)
    assert not words.box(at).intersects(dot_on_screen)


@pytest.mark.parametrize("at", [51.0, 149.0])
def test_words_at_an_edge_are_not_cut(chart: Chart, at: float) -> None:
    def inked(place: float) -> int:
        images = []
        for items in ((), (Tag(place, 0.0, "WWWWWWWWWWWW", MarkRole.NOW),)):
            chart.draw(picture(*items))
            QApplication.processEvents()
            images.append(chart.grab().toImage())
        one, other = images
        return sum(
            one.pixel(x, y) != other.pixel(x, y)
            for x in range(one.width())
            for y in range(one.height())
        )

    whole = inked(100.0)
    assert whole > 300
    assert inked(at) > 0.9 * whole


def test_axes_write_the_decimal_sign_of_the_country(qapp: QApplication) -> None:
    chart = Chart(Numbers(","))
    axis = chart._plot.getAxis("left")
    assert axis.tickStrings([0.5, 1.5], 1.0, 0.5) == ["0,5", "1,5"]


@pytest.mark.parametrize("last", [3.5, 6.5, 12.5, 40.5])
def test_an_axis_that_counts_has_no_ticks_between_whole_numbers(chart: Chart, last: float) -> None:
    counts = Axis("Weighing", "", 0.5, last, whole=True)
    chart.draw(Picture("Weighings", "Nothing yet.", counts, Axis("Downforce", "gf", 0.0, 3.0)))
    axis = chart._plot.getAxis("bottom")
    ticks = [tick for _, level in axis.tickValues(0.5, last, 600.0) for tick in level]
    assert len(ticks) >= 2
    assert all(tick == round(tick) for tick in ticks), ticks
    left = chart._plot.getAxis("left")
    halves = [tick for _, level in left.tickValues(0.0, 3.0, 600.0) for tick in level]
    assert any(tick != round(tick) for tick in halves), "other axes keep theirs"
    chart.deleteLater()


def ranged(low: float, high: float) -> Picture:
    return Picture("t", "s", Axis("x", "mm", 0.0, 1.0), Axis("y", "gf", low, high))


@pytest.mark.parametrize(
    ("low", "high", "stays"),
    [
        (1.9, 2.1, False),  # far smaller: it would be seen as a dot
        (1.6, 2.4, True),
        (1.4, 2.4, False),  # not all of it would be seen
    ],
)
def test_the_scale_holds_still_while_typing_unless_it_shows_badly(
    chart: Chart, low: float, high: float, *, stays: bool
) -> None:
    chart.draw(ranged(1.5, 2.5))
    before = chart._plot.getViewBox().viewRange()
    chart.hold(still=True)
    chart.draw(ranged(low, high))
    assert (chart._plot.getViewBox().viewRange() == before) is stays
    chart.hold(still=False)
    chart.draw(ranged(low, high))
    assert chart._plot.getViewBox().viewRange() != before


def test_a_line_keeps_off_the_letters_that_stand_on_it(shown: Shown, qapp: QApplication) -> None:
    theme.apply(qapp, "light")
    chart = Chart(Numbers())
    chart.draw(
        picture(Rule("x", 100.0, MarkRole.DANGER, "Motor"), Tag(100.0, 0.5, "WW", MarkRole.DANGER))
    )
    shown(chart, 600, 400)
    image = chart.grab().toImage()
    red = QColor(theme.LIGHT.role(MarkRole.DANGER))

    def is_line(x: int, y: int) -> bool:
        one = image.pixelColor(x, y)
        return abs(one.hue() - red.hue()) < 12 and one.saturation() > 60

    columns = [
        [y for y in range(image.height() - 120) if is_line(x, y)] for x in range(image.width())
    ]
    line = max(columns, key=len)
    assert len(line) > 100, "there is a line"
    assert line[-1] - line[0] + 1 > len(line), "it is broken where the letters stand"


@pytest.mark.parametrize("size", [(560, 380), (340, 320), (300, 300)])
@pytest.mark.parametrize("scale", [1.0, 1.5, 2.0])
def test_words_at_close_places_never_cover_each_other(
    shown: Shown, qapp: QApplication, size: tuple[int, int], scale: float
) -> None:
    """A screw trimmed before each reading wrote “0.56 turn clockwise” over “⅜ turn clockwise”."""
    theme.apply(qapp, "light", text_scale=scale)
    try:
        chart = Chart(Numbers())
        shown(chart, *size)
        tags = [
            Tag(60.0 + 9.0 * n, 1.6, f"{n}/8 turn (90°) clockwise", MarkRole.GUIDE)
            for n in range(6)
        ]
        chart.draw(picture(*tags, Points(floats([70, 80, 90]), floats([1, 0, 1]), MarkRole.NOW)))
        QApplication.processEvents()
        boxes = shown_words(chart)
        assert boxes
        assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
    finally:
        theme.apply(qapp, "light")


def shown_words(chart: Chart) -> list[QRectF]:
    """Return the boxes of all words that are seen."""
    chart.grab()
    boxes = chart._pool.together._boxes.values()
    return [box for box in boxes if box is not None]


@pytest.mark.parametrize("wide", [600, 300])
def test_dates_along_an_axis_never_cover_each_other(shown: Shown, wide: int) -> None:
    dates = tuple((50.0 + 8.0 * n, f"2025-03-{n + 1:02}") for n in range(12))
    chart = Chart(Numbers())
    shown(chart, wide, 400)
    chart.draw(
        Picture("t", "s", Axis("Day", "", 50.0, 150.0, ticks=dates), Axis("y", "gf", 0.0, 1.0))
    )
    QApplication.processEvents()
    axis = chart._plot.getAxis("bottom")
    image = QImage(10, 10, QImage.Format.Format_RGB32)
    painter = QPainter(image)
    painter.setFont(axis.style["tickFont"])
    drawn = axis.generateDrawSpecs(painter)
    painter.end()
    assert drawn is not None
    boxes = [box for box, _, _ in drawn[2]]
    assert len(boxes) >= 2
    assert not any(one.intersects(other) for one, other in combinations(boxes, 2))
