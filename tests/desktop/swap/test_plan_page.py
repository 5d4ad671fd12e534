"""What a plan page shows of a plan; the plans are made up, so that every kind of them is seen."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from PySide6.QtWidgets import QApplication, QLabel, QScrollArea, QWidget

from core.fitting import Control, Figure, Gain, MovePart, Start, StepState, Verdict
from core.language import Name, Numbers
from core.steps import STEP_NAMES
from core.swap import DueStep, Foretold, Need, RunsOut, SwapPlan
from core.swap.model import Was
from desktop.swap.plan_page import PlanPage
from desktop.swap.planned_swap import PlannedSwap, work_out_swap
from tests.desktop.kit import Shop

Shown = Callable[[PlanPage], PlanPage]


@pytest.fixture
def swap(shop: Shop) -> PlannedSwap:
    """A prospect whose plan says nothing yet."""
    found = work_out_swap(shop.library, shop.fitting_id, shop.new_id)
    bare = SwapPlan(
        deck=found.plan.deck,
        old_cartridge=found.plan.old_cartridge,
        new_cartridge=found.plan.new_cartridge,
        from_fitting=shop.fitting_id,
        due=tuple(DueStep(step, Need.CONFIRM, f"{step} because.") for step in STEP_NAMES),
    )
    return replace(found, plan=bare, foretold=(), earlier=())


def page_of(swap: PlannedSwap, shown: Shown, numbers: Numbers | None = None) -> PlanPage:
    page = PlanPage(swap, numbers or Numbers())
    shown(page)
    return page


def cards_of(page: PlanPage) -> list[str]:
    """Return what a screen reader is told of each step."""
    return [card.accessibleName() for card in page.cards.values()]


def seen(page: QWidget) -> str:
    """Return every word on the page that is not hidden."""
    return (
        "\n".join(label.text() for label in page.findChildren(QLabel) if label.isVisibleTo(page))
        .replace("\u00a0", " ")
        .replace("\u2060", "")
    )


LEARNED = Gain(
    step="rough_downforce",
    control=Control.COUNTERWEIGHT,
    value=0.431,
    half_width=0.02,
    unit="gf/turn",
    samples=4,
    stated=0.435,
)
PILLAR = Start(
    step="arm_height",
    key="height",
    part=MovePart(control=Control.PILLAR, amount=2.0, unit="mm"),
    predicted=0.1,
    half_width=0.4,
    unit="mm",
    reason="Its body is 2.0 mm taller.",
)
HEIGHT = Foretold("arm_height", "height", "Rear higher by", 0.1, 0.4, None, None, None, "mm", 2, "")


def test_every_step_says_what_it_asks_for_and_why(swap: PlannedSwap, shown: Shown) -> None:
    due = [DueStep(step, Need.SET, "A swap changes it.") for step in STEP_NAMES[:8]]
    due.append(DueStep("speed", Need.NOTHING, "This deck has no trim."))
    texts = cards_of(page_of(replace(swap, plan=replace(swap.plan, due=tuple(due))), shown))
    assert len(texts) == 9
    assert texts[0].startswith("Step 1  Level. Set again. A swap changes it")
    assert "Nothing to do. This deck has no trim" in texts[8]


def test_a_move_is_an_order_with_what_is_expected_and_what_it_was(
    swap: PlannedSwap, shown: Shown
) -> None:
    plan = replace(
        swap.plan,
        starts=(PILLAR,),
        was=(
            Was("arm_height", "Rear higher by", Name("0.1 ± 0.3 mm")),
            Was("tilt", "Tilt", Name("not known")),
        ),
    )
    page = page_of(replace(swap, plan=plan, foretold=(HEIGHT,)), shown, Numbers(","))
    (card,) = [text for text in cards_of(page) if "Arm height" in text]
    card = card.replace("\u00a0", " ")
    assert "Raise the pillar by 2,0 mm" in card
    assert "Rear higher by 0,10 ± 0,40 mm" in card
    assert "With the old one: Rear higher by 0.1 ± 0.3 mm" in card
    assert "Its body is 2.0 mm taller" in card
    (tilt,) = [text for text in cards_of(page) if "Tilt" in text and "Step 6" in text]
    assert "Tilt not known" in tilt
    assert page.headline.text() == "First change one setting, then read."
    assert page.badge.sign is Verdict.MOVE


def test_what_no_control_sets_does_not_run_out_and_says_what_to_do_instead(
    swap: PlannedSwap, shown: Shown
) -> None:
    given = RunsOut(
        "arm_height", Control.PILLAR, "The rear would stand 2.0 mm high.", "A shim.", is_fixed=True
    )
    page = page_of(replace(swap, plan=replace(swap.plan, runs_out=(given,))), shown)
    said = seen(page)
    assert "travel" not in said
    assert page.headline.text() == "The rear would stand 2.0 mm high."
    assert "Instead: A shim." in said
    assert "can't be set" in page.cards["arm_height"].accessibleName()
    assert "Leave it where it is" not in page.cards["arm_height"].accessibleName()


def test_a_spared_move_and_a_plinth_out_of_level_are_told(swap: PlannedSwap, shown: Shown) -> None:
    left_so = PILLAR.model_copy(
        update={
            "part": None,
            "spared": MovePart(control=Control.PILLAR, amount=0.3, unit="mm"),
            "gain": -1.0,
            "reason": "",
        }
    )
    due = list(swap.plan.due)
    due[0] = replace(due[0], need=Need.SET, is_out=True)
    plan = replace(swap.plan, starts=(left_so,), due=tuple(due))
    page = page_of(replace(swap, plan=plan), shown, Numbers(","))
    card = page.cards["arm_height"].accessibleName().replace("\u00a0", " ")
    assert "Leave it where it is: it would need 0,3 mm" in card
    assert "known only to ± 0,4 mm" in card
    assert page.headline.text() == "Left outside its limits: Level. Set that first."
    assert page.badge.sign is StepState.CHECK_AGAIN
    assert "left outside its limits" in page.cards["level"].accessibleName()


def test_what_runs_out_stands_out_by_sign_and_word_and_comes_with_its_cure(
    swap: PlannedSwap, shown: Shown
) -> None:
    ends = RunsOut("arm_height", Control.PILLAR, "The pillar ends 3.5 mm short.", "A thinner mat.")
    page = page_of(replace(swap, plan=replace(swap.plan, runs_out=(ends,))), shown)
    assert page.badge.sign is StepState.CHECK_AGAIN
    assert page.word.text() == "Runs out of travel"
    assert page.headline.text() == "Not enough travel: arm pillar."
    words = seen(page)
    assert "The pillar ends 3.5 mm short." in words
    assert "What helps: A thinner mat." in words
    assert "Confirm by a reading – runs out of travel" in words


def test_a_cartridge_that_can_t_be_fitted_is_a_stop_without_a_start(
    swap: PlannedSwap, shown: Shown
) -> None:
    plan = replace(swap.plan, cannot_fit="A plug-in cartridge needs a head for it.")
    page = page_of(replace(swap, plan=plan), shown)
    assert page.badge.sign is Verdict.STOP
    assert page.headline.text() == "A plug-in cartridge needs a head for it."
    assert page.start_button.isHidden()
    assert not page.another_button.isHidden()
    asked: list[bool] = []
    page.start_wanted.connect(lambda: asked.append(True))
    page.start()
    assert not asked
    assert "correct it in the library" in seen(page)


def test_a_deck_with_nothing_to_move_says_so(swap: PlannedSwap, shown: Shown) -> None:
    page = page_of(swap, shown)
    assert page.headline.text() == "Nothing has to be moved first. Read every step that is due."
    assert page.badge.sign is Verdict.READ_AGAIN


def test_resonance_learned_gains_and_earlier_errors_stand_beside(
    swap: PlannedSwap, shown: Shown
) -> None:
    plan = replace(
        swap.plan,
        gains=(LEARNED,),
        resonance=Figure("resonance", "Resonance", 9.6, "Hz", 1, 0.7),
        resonance_words="About 9.6 ± 0.7 Hz, in the good range.",
    )
    fared = replace(HEIGHT, found=0.3, found_half_width=0.2, error=0.2)
    page = page_of(
        replace(swap, plan=plan, earlier=((swap.old, (fared,)),)),
        shown,
    )
    words = seen(page)
    assert "About 9.6 ± 0.7 Hz, in the good range." in words
    assert "0.431 ± 0.020 gf/turn" in words
    assert "0.435 gf/turn" in words
    assert "+0.20 mm" in words
    assert "2025-03-04, Example cartridge, elliptical" in words


def test_the_usual_cautions_stand_there_before_a_screw_is_touched(
    swap: PlannedSwap, shown: Shown
) -> None:
    words = seen(page_of(swap, shown))
    care = next(line for line in words.splitlines() if "Before a screw is touched" in line)
    for title in ("Guard on", "Arm locked in its rest", "Amplifier off or muted"):
        assert title in care
    bare = replace(
        swap.plan,
        old_cartridge=swap.plan.old_cartridge.model_copy(update={"has_guard": False}),
        new_cartridge=swap.plan.new_cartridge.model_copy(update={"has_guard": False}),
    )
    words = seen(page_of(replace(swap, plan=bare), shown))
    assert "Guard on" not in words


def test_names_without_a_space_do_not_push_the_page_wide(swap: PlannedSwap, shown: Shown) -> None:
    long = swap.plan.deck.model_copy(update={"name": "D" * 120})
    page = page_of(replace(swap, plan=replace(swap.plan, deck=long)), shown)
    assert page.width() == 1024
    assert page.minimumSizeHint().width() <= 1024
    assert "D" * 48 not in seen(page)
    told = [label.toolTip() for label in page.findChildren(QLabel)]
    assert any("D" * 120 in text for text in told)


def test_nothing_of_a_plan_is_cut_in_a_small_window(swap: PlannedSwap, shown: Shown) -> None:
    page = page_of(replace(swap, plan=replace(swap.plan, gains=(LEARNED,))), shown)
    page.resize(900, 560)
    for _ in range(6):
        QApplication.processEvents()
    areas = [one for one in page.findChildren(QScrollArea) if one.isVisible()]
    assert areas
    assert [one.horizontalScrollBar().maximum() for one in areas] == [0] * len(areas)
