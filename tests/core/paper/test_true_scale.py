from __future__ import annotations

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from core.drawing.marks import Line, Words
from core.language import Numbers
from core.paper.check_lines import CHECK_MM, Measured, corrected, judge_scale
from core.paper.protractor import grid_sheet
from core.paper.protractor_plan import plan_for
from core.paper.sheet import CheckLines, PaperProblem, PaperSize, Sheet
from tests.examples import deck


@given(
    off_x=st.floats(-0.00195, 0.00195),
    off_y=st.floats(-0.00195, 0.00195),
    factor=st.floats(0.95, 1.05),
)
def test_within_two_parts_in_a_thousand_a_print_is_accepted_and_its_scale_stays(
    off_x: float, off_y: float, factor: float
) -> None:
    answer = judge_scale(Measured(CHECK_MM * (1 + off_x), CHECK_MM * (1 + off_y), factor))
    assert answer.accepted
    assert answer.factor == factor


@given(scale=st.floats(0.9, 1.1).filter(lambda s: abs(s - 1.0) > 0.0021))
def test_a_uniform_error_is_gone_on_the_next_print(scale: float) -> None:
    """A printer that makes everything ``scale`` as large: measure, print again, measure again."""
    first = judge_scale(Measured(CHECK_MM * scale, CHECK_MM * scale))
    assert not first.accepted
    assert first.factor is not None
    printed = CHECK_MM * first.factor * scale
    assert printed == pytest.approx(CHECK_MM, rel=1e-12)
    assert judge_scale(Measured(printed, printed, first.factor)).accepted


@given(
    scale=st.floats(0.9, 1.1),
    apart=st.floats(0.00205, 0.03) | st.floats(-0.03, -0.00205),
)
def test_different_errors_are_refused_with_the_reason(scale: float, apart: float) -> None:
    answer = judge_scale(Measured(CHECK_MM * scale, CHECK_MM * (scale + apart)))
    within = abs(scale - 1) <= 0.002 and abs(scale + apart - 1) <= 0.002
    assume(not within)
    assert not answer.accepted
    assert answer.factor is None
    assert "two different errors" in answer.sentence


def test_both_just_inside_count_even_where_they_lie_on_either_side() -> None:
    assert judge_scale(Measured(CHECK_MM * 1.0019, CHECK_MM * 0.9981)).accepted


@pytest.mark.parametrize("length", [0.0, -150.0, float("nan"), float("inf"), 15.0, 5.9, 300.0])
def test_what_can_be_no_length_is_questioned_not_corrected(length: float) -> None:
    with pytest.raises(PaperProblem) as told:
        judge_scale(Measured(length, CHECK_MM))
    assert "across" in told.value.sentence
    assert told.value.remedy


def test_sentences_write_the_decimal_sign_of_the_country() -> None:
    answer = judge_scale(Measured(145.5, 145.5), Numbers(","))
    assert "−3,00\u00a0%" in answer.sentence
    assert "103,09 %" in answer.sentence


def test_a_sheet_made_larger_than_its_paper_is_refused() -> None:
    sheet = grid_sheet(plan_for(deck()), PaperSize.A4)
    assert corrected(sheet, 1.03) == 1.03
    with pytest.raises(PaperProblem, match="no longer fits on the paper"):
        corrected(sheet, 1.2)
    with pytest.raises(PaperProblem, match="not a scale"):
        corrected(sheet, float("nan"))


def test_a_sheet_that_need_not_be_true_is_never_scaled() -> None:
    plain = Sheet("t", "s", PaperSize.A4, (Line(0, 0, 210, 297),))
    assert corrected(plain, 1.2) == 1.0
    true = Sheet("t", "s", PaperSize.A4, (Line(50, 50, 100, 100),), CheckLines(150, 150))
    assert corrected(true, 1.2) == 1.2


def test_a_sheet_asks_for_its_check_in_the_countrys_numbers_and_of_no_command() -> None:
    """A person with a paper in hand knows no options; 0.2 % stood among decimal commas."""
    sheet = grid_sheet(plan_for(deck()), PaperSize.A4, Numbers(","))
    words = " ".join(mark.text for mark in sheet.marks if isinstance(mark, Words))
    assert "each must be right to 0,2\u00a0%, which is 0,3\u00a0mm" in words
    assert "--" not in words
    assert "))" not in words
