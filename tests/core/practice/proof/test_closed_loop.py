"""Whole fittings with no person end, end right, and a wizard that is wrong is found out."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

from core.estimation import Decision
from core.fitting import Verdict
from core.language import Message, Numbers, Text, message
from core.practice.proof.closed_loop import DeckRun, Loop, run_deck
from core.practice.proof.many_fittings import fit_decks
from core.practice.proof.person import Person
from core.practice.proof.table import Summary, as_text, quantile, summarise
from core.practice.rehearsal import new_rehearsal
from core.steps.downforce import Proposal, propose
from core.steps.downforce import judge as downforce
from core.steps.final_downforce import judge as final_downforce
from core.steps.rough_downforce import judge as rough_downforce
from core.workflow.replay import journey_of

pytestmark = pytest.mark.long

SEED = 1


@cache
def fifty() -> tuple[DeckRun, ...]:
    return tuple(fit_decks(50, SEED))


@cache
def summary() -> Summary:
    return summarise(fifty())


def test_fifty_fittings_end_and_never_put_a_stylus_in_danger() -> None:
    assert all(run.ended for run in fifty())
    assert [step.never_ended for step in summary().steps] == [0] * 9
    assert summary().unsafe == 0
    assert all(not run.trouble for run in fifty())


def test_fifty_fittings_take_few_cycles() -> None:
    for step in summary().steps:
        assert step.median <= 2, step
        assert step.most <= 4, step


def test_what_is_called_good_is_good() -> None:
    for step in summary().steps:
        # 5 % of fifty, and as many again for chance (binomial, one in a hundred)
        assert step.false_good * step.fittings <= 6, step
        assert step.error_worst <= 2.0, step


def test_learning_beats_trial_and_error_on_controls_that_mislead() -> None:
    assert summary().lying > 10
    assert summary().wizard.cycles < summary().plain.cycles


def test_stopping_at_the_first_reading_inside_is_told_beside_it_and_is_wrong_more_often() -> None:
    assert summary().early.called > 20
    assert summary().early.wrong > summary().wizard.wrong


def test_the_table_tells_every_step() -> None:
    text = as_text(summary())
    for step in summary().steps:
        assert step.step in text
    assert "Unsafe prompts: 0 of 50" in text
    assert "until one reading lies inside" in text
    assert "until the wizard too would say good" in text
    assert max(len(line) for line in text.splitlines()) <= 100


def test_decks_on_which_nothing_misleads_are_compared_with_nothing() -> None:
    honest = [run for run in fifty() if not run.compared][:2]
    text = as_text(summarise(honest))
    assert "nothing to compare" in text
    assert "Headline" not in text


def test_a_fitting_can_be_played_again() -> None:
    assert run_deck(SEED, 7, told=True) == run_deck(SEED, 7, told=True)
    assert run_deck(SEED, 7, told=True).log != run_deck(SEED + 1, 7, told=True).log


def test_remembered_answers_are_the_same_as_new_ones(monkeypatch: pytest.MonkeyPatch) -> None:
    loop = Loop(new_rehearsal(SEED, number=3), Person.drawn(np.random.default_rng(3)))
    remembered = Loop._journey

    def checked(self: Loop) -> object:
        found = remembered(self)
        fresh = journey_of(self.rehearsal.deck, self.rehearsal.cartridge, self.fitting)
        for one, other in zip(found.statuses, fresh.statuses, strict=True):
            assert one.assessment.verdict is other.assessment.verdict
            assert one.assessment.headline == other.assessment.headline
            assert one.assessment.figures == other.assessment.figures
            assert one.state is other.state
        return found

    monkeypatch.setattr(Loop, "_journey", checked)
    assert loop.play().ended


def _backward(*arguments: object) -> Proposal:
    proposal = propose(*arguments)
    if proposal.move is None:
        return proposal
    parts = tuple(part.model_copy(update={"amount": -part.amount}) for part in proposal.move.parts)
    return replace(proposal, move=replace(proposal.move, parts=parts))


def test_a_solver_with_the_wrong_sign_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(downforce, "propose", _backward)
    broken = summarise(fit_decks(6, SEED))
    rough = next(step for step in broken.steps if step.step == "rough_downforce")
    assert rough.most > 4 or rough.never_ended > 0
    assert any("rough_downforce" in miss for miss in broken.misses)


def test_a_solver_that_calls_everything_good_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(final_downforce, "decide", lambda *_, **__: Decision.GOOD)
    monkeypatch.setattr(final_downforce._FinalDownforceJudge, "_in_range", lambda *_: True)
    broken = summarise(fit_decks(8, SEED))
    assert any("false good" in miss and "final_downforce" in miss for miss in broken.misses)


@pytest.fixture
def loose_gate(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let every downforce pass as safe."""

    def judged(self: rough_downforce._RoughDownforceJudge) -> object:
        now = self.worth.mean([weighed.shown_gf for weighed in self.status.now])
        return self._assessment(Verdict.GOOD, message("downforce.scale"), now)

    monkeypatch.setattr(rough_downforce._RoughDownforceJudge, "_judged", judged)


@pytest.mark.usefixtures("loose_gate")
def test_a_gate_that_opens_too_early_is_found_out() -> None:
    broken = summarise(fit_decks(8, SEED))
    assert broken.unsafe > 0
    assert any("unsafe" in miss for miss in broken.misses)


def test_quantiles_are_values_that_happened() -> None:
    assert quantile([], 0.95) == 0.0
    assert quantile([1.0, 2.0, 3.0, 9.0], 0.5) == 2.0
    assert quantile([1.0] * 19 + [9.0], 0.95) == 1.0
    assert quantile([1.0] * 18 + [9.0] * 2, 0.95) == 9.0


def test_a_fitting_goes_the_same_way_with_every_sentence_replaced_by_its_key(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Nobody reads a sentence: wizard, person and simulated deck only pass data on."""
    spoken = fit_decks(4, SEED)
    monkeypatch.setattr(Numbers, "text", _key_of)
    assert Numbers().text(message("level.within")) == "level.within"
    silent = fit_decks(4, SEED)
    assert [_without_words(run) for run in spoken] == [_without_words(run) for run in silent]


def _key_of(self: Numbers, what: Text | None) -> str:
    del self
    return what.key if isinstance(what, Message) else what or ""


def _without_words(run: DeckRun) -> DeckRun:
    steps = {name: replace(step, stuck_at="") for name, step in run.steps.items()}
    return replace(run, steps=steps, trouble="", log=[])
