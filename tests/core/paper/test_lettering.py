from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from core.drawing.marks import Words
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
