"""People who err: what they type and turn, whether it is caught, and what the table says of it."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

from core.fitting import Control, MovePart, Verdict
from core.practice.proof import slips as slips_module
from core.practice.proof.closed_loop import DeckRun, run_deck
from core.practice.proof.many_fittings import fit_decks
from core.practice.proof.slips import SlipKind, Slips
from core.practice.proof.table import as_text, summarise
from core.practice.rehearsal import new_rehearsal

pytestmark = pytest.mark.long

SEED = 1
DECKS = 10
"""By hand, three hundred: ``python -m core.practice --decks 300 --erring``."""


@cache
def erring() -> list[DeckRun]:
    return fit_decks(DECKS, SEED, erring=True)


def always(monkeypatch: pytest.MonkeyPatch, *names: str) -> Slips:
    for name in ("_D", "_S", "_U", "_C"):
        monkeypatch.setattr(slips_module, name, 1.0 if name in names else 0.0)
    return Slips(np.random.default_rng(1))


def test_with_people_who_err_every_step_ends_and_no_order_is_unsafe() -> None:
    for run in erring():
        assert run.ended
        assert [name for name, step in run.steps.items() if step.never_ended] == []
        assert run.unsafe_orders == 0
        assert run.unsafe_prompts == 0


def test_the_table_tells_what_was_caught_and_what_was_not() -> None:
    text = as_text(summarise(erring()))
    for words in ("caught", "silent", "Silently wrong", "against the order", "strict"):
        assert words in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_the_same_seed_errs_in_the_same_way() -> None:
    assert run_deck(SEED, 4, told=True, erring=True) == run_deck(SEED, 4, told=True, erring=True)


def test_nobody_who_does_not_err_draws_anything_else(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without a slip, a vial that ends or anything held fast, it is the ordinary fitting."""
    always(monkeypatch)
    monkeypatch.setattr(slips_module, "HELD_FAST", 0.0)
    monkeypatch.setattr(slips_module, "SHORT_VIALS", 0.0)
    assert run_deck(SEED, 3, told=True, erring=True).log == run_deck(SEED, 3, told=True).log


def test_a_direction_a_side_and_a_unit_are_typed_wrongly(monkeypatch: pytest.MonkeyPatch) -> None:
    typed, slip = always(monkeypatch, "_D").typed("level", {"way": "bubble", "divisions": 2.0})
    assert typed["divisions"] == -2.0
    assert slip is not None
    assert slip.kind is SlipKind.DIRECTION
    gaps = {"way": "gaps", "left_mm": 2.0, "right_mm": 1.5}
    typed, _ = always(monkeypatch, "_S").typed("tilt", gaps)
    assert (typed["left_mm"], typed["right_mm"]) == (1.5, 2.0)
    typed, _ = always(monkeypatch, "_U").typed("rough_downforce", {"downforce_gf": 2.0})
    assert typed["downforce_gf"] == pytest.approx(19.61)


def test_a_move_is_made_the_other_way_or_on_another_control(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    rehearsal = new_rehearsal(SEED)
    ordered = (MovePart(control=Control.PILLAR, amount=2.0, unit="mm"),)
    entered, done, _ = always(monkeypatch, "_D").moved(
        "arm_height", ordered, rehearsal.deck, rehearsal.world
    )
    assert entered[0].amount == -done[0].amount
    entered, done, slip = always(monkeypatch, "_C").moved(
        "arm_height", ordered, rehearsal.deck, rehearsal.world
    )
    assert entered == ordered
    assert done[0].control is Control.TILT
    assert slip is not None
    assert slip.kind is SlipKind.CONTROL


def test_a_turn_the_other_way_in_rough_downforce_is_asked_about_when_the_last_is_set() -> None:
    """Rough downforce was safe at once, and arm height was moved before it was weighed again."""
    run = run_deck(7, 128, told=True, erring=True)
    assert not run.steps["final_downforce"].never_ended
    assert any("it went the other way" in line for line in run.log)
    truth = run.steps["final_downforce"].final_ratio
    assert truth is not None
    assert truth <= 1.0


@pytest.mark.parametrize(("number", "step"), [(63, "tilt"), (129, "rough_downforce")])
def test_a_move_against_what_was_learned_is_asked_about(number: int, step: str) -> None:
    """A control that acts backward, as its person said, is then turned the other way by mistake."""
    run = run_deck(7, number, told=True, erring=True)
    assert any(line.startswith(f"{step}: looked") and "other way" in line for line in run.log)
    ratio = run.steps[step].final_ratio
    assert ratio is not None
    assert ratio <= 1.0
    assert run.unsafe_orders == 0


def test_weighing_ends_where_a_wrong_direction_was_confirmed() -> None:
    """One answer in twenty is wrong: no move is ordered then, and the step ends with the reason."""
    run = run_deck(7, 168, erring=True)
    final = run.steps["final_downforce"]
    assert not final.never_ended
    assert final.readings < 16
    assert final.verdict is not None
    assert final.verdict.passes
    assert final.verdict is Verdict.LEFT_AS_FOUND or (final.accepted_ratio or 0.0) <= 1.0
