"""What a check weight tells of the scale, and when it is not believed."""

from __future__ import annotations

import pytest

from core.fitting import Assessment, Verdict
from core.steps import rough_downforce, step_named
from core.steps.downforce import CheckWeight
from tests.core.steps.downforce.kit import weighing
from tests.examples import cartridge, deck
from tests.worded import worded


def judged(*things: object) -> Assessment:
    return worded(rough_downforce.assess(weighing("rough_downforce", deck(), cartridge(), *things)))


def test_a_check_weight_corrects_the_scale() -> None:
    # Shown 2.10 for 2 g: 2.31 shown is 2.20 true; 2.10 shown is 2.00 true.
    figure = judged(CheckWeight(weight_g=2, shown_gf=2.10), 2.10).figure("downforce")
    assert figure is not None
    assert figure.value == pytest.approx(2.0, abs=0.005)


@pytest.mark.parametrize(
    ("shown_gf", "words"),
    [(2.10, "reads 5.0 % high at 2 g"), (1.90, "reads 5.0 % low at 2 g"), (2.0, "right at 2 g")],
)
def test_which_way_a_scale_is_off_is_told_in_words(shown_gf: float, words: str) -> None:
    notes = judged(CheckWeight(weight_g=2, shown_gf=shown_gf), 2.0).notes
    assert any(words in str(note).replace("\u00a0", " ") for note in notes)


def test_an_empty_pan_that_shows_something_is_taken_off() -> None:
    empty, weight = CheckWeight(weight_g=0, shown_gf=0.2), CheckWeight(weight_g=2, shown_gf=2.2)
    figure = judged(empty, weight, 2.2).figure("downforce")
    assert figure is not None
    assert figure.value == pytest.approx(2.0, abs=0.005)


def test_a_check_weight_that_can_not_be_is_weighed_again() -> None:
    assert judged(CheckWeight(weight_g=2, shown_gf=0.1), 2.0).verdict is Verdict.READ_AGAIN
    assert judged(CheckWeight(weight_g=2, shown_gf=0.1), 9.0).verdict is Verdict.STOP


@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_check_weighings_that_contradict_are_asked_about_and_not_averaged(step: str) -> None:
    right, millinewtons = (CheckWeight(weight_g=2, shown_gf=gf) for gf in (2.1, 20.6))

    def said(*checks: CheckWeight) -> Assessment:
        context = weighing(step, deck(), cartridge(), 2.1, 2.1, *checks)
        return worded(step_named(step).assess(context))

    assert any("Leave the wrong one out" in str(note) for note in said(right, millinewtons).notes)
    assert said(right, millinewtons).verdict is Verdict.READ_AGAIN
    for checks in ((right, millinewtons, right), (right, right, millinewtons)):
        figure = said(*checks).figure("downforce")
        assert figure is not None
        assert figure.value == pytest.approx(2.0, abs=0.005)


@pytest.mark.parametrize(
    ("checks", "why"),
    [
        # 2 g typed as 0.2: a true 2 gf would be taken for 0.2 and 1.8 more asked for
        ([CheckWeight(weight_g=0.2, shown_gf=2.0)], "too much to try"),
        # set to carats, five to the gram
        ([CheckWeight(weight_g=2.0, shown_gf=10.0)], "too much to try"),
        # what presses with 1.5 gf shows 0, as an arm does that floats
        (
            [CheckWeight(weight_g=0, shown_gf=-1.5), CheckWeight(weight_g=2, shown_gf=0.5)],
            "floating arm",
        ),
    ],
)
@pytest.mark.parametrize("step", ["rough_downforce", "final_downforce"])
def test_a_check_weight_that_would_lead_past_the_limit_is_weighed_again(
    checks: list[CheckWeight], why: str, step: str
) -> None:
    for shown_gf in (0.0, 0.5, 2.0):
        assessment = worded(
            step_named(step).assess(weighing(step, deck(), cartridge(), *checks, shown_gf))
        )
        assert assessment.verdict is Verdict.READ_AGAIN
        assert assessment.next_move is None
        assert any(why in note for note in assessment.notes)
