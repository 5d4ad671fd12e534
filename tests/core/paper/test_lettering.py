from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from core.drawing.marks import Words
from core.language import Interval, Numbers
from core.paper.lettering import TextColumn, rough_width, wrapped


@given(text=st.text(max_size=200), width=st.floats(5.0, 200.0))
def test_no_line_is_wider_than_told_and_no_letter_is_lost(text: str, width: float) -> None:
    lines = wrapped(text, width, 3.0, rough_width)
    assert all(rough_width(line, 3.0) <= width for line in lines if len(line) > 1)
    assert "".join("".join(lines).split()) == "".join(text.split())


def test_a_column_grows_downward_line_by_line() -> None:
    column = TextColumn(10.0, 100.0, 40.0, rough_width)
    column.say("one two three four five six seven eight")
    column.skip(2.0)
    column.say("end", bold=True)
    words = [mark for mark in column.marks if isinstance(mark, Words)]
    heights = [mark.y for mark in words]
    assert heights == sorted(heights, reverse=True)
    assert words[-1].bold
    assert 100.0 - column.y > 6.0


def test_a_figure_stays_whole_where_a_line_has_room_for_it() -> None:
    slope = Numbers(",").value(Interval(12.0, 0.2, "mm/m", 1))
    for words in (f"front high by {slope}", "rear of the tube over 180 mm, at 33⅓ rpm"):
        for width in range(60, 10, -1):
            wide = [rough_width(part, 3.0) for part in (slope, "180 mm,", "33⅓ rpm")]
            lines = wrapped(words, float(width), 3.0, rough_width)
            for figure, needs in zip((slope, "180 mm", "33⅓ rpm"), wide, strict=True):
                if figure in words and needs <= width:
                    assert any(figure in line for line in lines), (width, lines)


def test_a_figure_too_wide_for_its_column_is_parted_before_its_error() -> None:
    slope = Numbers(",").value(Interval(12.0, 0.2, "mm/m", 1))
    lines = wrapped(slope, rough_width(slope, 3.0) - 1.0, 3.0, rough_width)
    assert [line.replace("\u2060", "") for line in lines] == ["12,0", "±\u00a00,2\u00a0mm/m"]
