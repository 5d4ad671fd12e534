"""The plan for another cartridge, combined from each step's prediction."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from core.fitting import ChoiceMade, Choices, Control, HeadshellUsed
from core.language import Message, Quantity, StepTitle, message, shown
from core.records import (
    Cartridge,
    Deck,
    Mounting,
    first_arm,
    same_but_for_headshell,
    seen_with_arm,
    seen_with_headshell,
)
from core.steps import STEP_NAMES, STEPS, step_named
from core.steps.alignment import NAME as ALIGNMENT
from core.steps.mount import cannot_fit, resonance
from core.steps.shared import figures_named
from core.steps.shared.swap_part import (
    HEIGHT_U_MM,
    MASS_LEAST_G,
    MASS_SHARE,
    TIP_U_MM,
    Need,
    Past,
    PlanPiece,
    StepForecast,
    SwapCase,
    figure_of,
    in_order,
    worked_until,
)
from core.swap.comparison import corrected, errors_of
from core.swap.deck_work import work_on_deck
from core.swap.learned_gains import learned_gains
from core.swap.model import DueStep, SwapPlan, Was
from core.swap.sparing import spared
from core.workflow import OtherArmWork, figure_value

_LEARNED: Final = "swap.why.learned"

_ON_THE_DECK: Final = (Control.PILLAR, Control.BASE_SHIM)
"""Controls that stay where they are with a new cartridge if they need no move."""


def plan_swap(
    deck: Deck,
    old: Past,
    new: Cartridge,
    history: Sequence[Past] = (),
    *,
    new_cartridge_id: str = "",
    headshell: HeadshellUsed | None = None,
) -> SwapPlan:
    """Return the starting positions for another cartridge.

    Parameters
    ----------
    deck
        The deck as it is known now.
    old
        The fitting that left the deck as it is.
    new
        The cartridge that goes in.
    history
        Other fittings of the same deck, in any order; ``old`` may be among them. Those on another
        arm tell only of what is the deck's.
    new_cartridge_id
        The new cartridge's id in the library, by which an earlier fitting of it is known.
    headshell
        The headshell that goes on with the new cartridge in it; None where the cartridge is
        exchanged in the head that is on the arm, which stays.

    Returns
    -------
    SwapPlan
        Always an answer for each of the nine steps; what can't be foretold has no number. Where
        the cartridge does not fit the head at all, ``cannot_fit`` says so and nothing is foretold.
    """
    everything, key = in_order((*history, old)), old.fitting.arm_key
    pasts = tuple(past for past in everything if past.fitting.arm_key == key)
    deck = seen_with_arm(deck, old.fitting.arm or first_arm(deck))
    on_arm = headshell or old.fitting.headshell
    if on_arm is not None:
        deck = seen_with_headshell(deck, on_arm.mass_g, on_arm.thickness_mm)
    gains = learned_gains(everything, deck, key)
    back = _gone_back_to(old, pasts, new_cartridge_id, on_arm)
    case = SwapCase(deck, old, new, gains, pasts, back, headshell, everything)
    misfit = cannot_fit(case)
    if misfit:
        return SwapPlan(
            deck=deck,
            old_cartridge=old.cartridge,
            new_cartridge=new,
            from_fitting=old.fitting.id,
            was=_was(case),
            resonance_words=message("swap.nothing_expected"),
            due=tuple(DueStep(step, Need.NOTHING, misfit) for step in STEP_NAMES),
            gains=gains,
            cannot_fit=misfit,
        )
    since = work_on_deck(past for past in everything if worked_until(past) > worked_until(old))
    pieces = [_of_deck(step.forecast(case), since) for step in STEPS]
    starts, taught = _with_errors(case, pieces)
    starts = _worth_ordering(starts, pieces)
    figure, words = resonance(case)
    return SwapPlan(
        deck=deck,
        old_cartridge=old.cartridge,
        new_cartridge=new,
        from_fitting=old.fitting.id,
        was=_was(case),
        starts=tuple(one.start for one in starts),
        runs_out=tuple(one for piece in pieces for one in piece.runs_out),
        resonance=figure,
        resonance_words=words,
        due=tuple(_due(piece, starts) for piece in pieces),
        gains=gains,
        choices=_choices(old),
        back_to=back,
        warnings=(*(w for piece in pieces for w in piece.warnings), *_warnings(case)),
        taught=tuple(taught),
    )


def _of_deck(piece: PlanPiece, since: Mapping[str, OtherArmWork]) -> PlanPiece:
    """Return a step's part; work on another arm since then leaves nothing to predict."""
    work = since.get(piece.step)
    if work is None or piece.need is Need.NOTHING:
        return piece
    return PlanPiece(piece.step, Need.CONFIRM, work.said)


def _gone_back_to(
    old: Past, pasts: Sequence[Past], cartridge_id: str, headshell: HeadshellUsed | None
) -> Past | None:
    """Return the newest finished fitting of the cartridge before the old one, if there is any.

    Only one in which the same headshell was on the arm: what was set for the cartridge in another
    one is no guide.
    """
    shell = headshell.headshell if headshell is not None else ""
    if not cartridge_id or (cartridge_id, shell) == (old.fitting.cartridge_id, _shell_of(old)):
        return None
    found = [
        past
        for past in pasts
        if (past.fitting.cartridge_id, _shell_of(past)) == (cartridge_id, shell)
        and past.fitting.is_finished
        and worked_until(past) <= worked_until(old)
    ]
    return found[-1] if found else None


def _shell_of(past: Past) -> str:
    return past.fitting.headshell.headshell if past.fitting.headshell else ""


def _with_errors(
    case: SwapCase, pieces: Sequence[PlanPiece]
) -> tuple[list[StepForecast], list[Message]]:
    """Account for the errors of earlier plans, and mention it."""
    errors = errors_of(case.pasts)
    starts: list[StepForecast] = []
    taught: list[Message] = []
    for piece in pieces:
        for foreseen in piece.starts:
            better, seen = corrected(foreseen, errors)
            if seen is None or not better.start.learned_shift:
                starts.append(better)
                continue
            reason = f"{better.start.reason} {_LEARNED}".strip()
            known = better.start.model_copy(update={"reason": reason})
            starts.append(replace(better, start=known))
            taught.append(
                message(
                    "swap.taught",
                    step=StepTitle(piece.step),
                    count=seen.count,
                    mean=Quantity(abs(seen.mean), known.unit),
                )
            )
    return starts, taught


def _worth_ordering(
    starts: Sequence[StepForecast], pieces: Sequence[PlanPiece]
) -> list[StepForecast]:
    """Drop moves too small to order; for a control at its end every move is shown."""
    ends = {one.step for piece in pieces for one in piece.runs_out if not one.is_fixed}
    found: list[StepForecast] = []
    for foreseen in starts:
        kept = foreseen if foreseen.start.step in ends else spared(foreseen)
        moves = kept.start.part or kept.start.spared
        known = {"gain": kept.gain, "gain_u": kept.gain_u} if moves else {}
        found.append(replace(kept, start=kept.start.model_copy(update=known)))
    return found


def _due(piece: PlanPiece, starts: Sequence[StepForecast]) -> DueStep:
    """Return what a step asks for; a pillar that stays only needs a reading."""
    mine = [one.start for one in starts if one.start.step == piece.step]
    left = any(
        start.spared is not None and start.spared.control in _ON_THE_DECK for start in mine
    ) and not any(start.part is not None for start in mine)
    need = Need.CONFIRM if left and piece.need is Need.SET else piece.need
    return DueStep(piece.step, need, piece.reason, is_out=piece.is_out)


def _choices(old: Past) -> tuple[ChoiceMade, ...]:
    """Return the old cartridge's choices that differ from the defaults."""
    found: list[ChoiceMade] = []
    for step in STEP_NAMES:
        chosen: Choices | None = old.journey.context(step).chosen.get(step)
        if chosen is not None and chosen != step_named(step).Chosen():
            found.append(ChoiceMade(step=step, choices=chosen.model_dump(mode="json")))
    return tuple(found)


def _was(case: SwapCase) -> tuple[Was, ...]:
    rows: list[Was] = []
    for step in STEPS:
        report, status = step.REPORT, case.old.journey.status(step.NAME)
        if not report.plan_keys:
            continue
        pivoted = case.old.deck.arm.is_pivoted
        keys = report.plan_keys + (() if pivoted else report.plan_keys_without_pivot)
        figures = [one for key in keys for one in figures_named(status.assessment, key)]
        rows += [Was(step.NAME, one.label, figure_value(one)) for one in figures]
        if not figures:
            unread = status.applicability.reads
            value = message("swap.unread") if unread else shown(status.assessment.headline)
            rows.append(Was(step.NAME, StepTitle(step.NAME), value))
    return tuple(rows)


def _warnings(case: SwapCase) -> list[Message]:
    old = case.old
    said: list[Message] = []
    if not old.fitting.is_finished:
        said.append(message("swap.old_unfinished"))
    newest = case.pasts[-1]
    if newest.fitting.id != old.fitting.id and worked_until(newest) > worked_until(old):
        said.append(message("swap.another_since"))
    same = case.deck == old.deck or (
        case.headshell is not None and same_but_for_headshell(case.deck, old.deck)
    )
    if not same:
        said.append(message("swap.record_changed"))
    pivot = case.deck.arm.pivot_to_spindle_mm
    length, beyond = (figure_of(old, ALIGNMENT, k) for k in ("wanted_length", "wanted_overhang"))
    if pivot is not None and length is not None and beyond is not None:
        measured = length.value - beyond.value
        if abs(measured - pivot) > 0.2:
            said.append(
                message(
                    "swap.pivot_differs",
                    measured=Quantity(measured, "mm", 1),
                    stated=Quantity(pivot, "mm", 1),
                )
            )
    said.append(_assumed(case))
    return said


def _assumed(case: SwapCase) -> Message:
    plug_in = case.new.mounting is Mounting.PLUG_IN
    return message(
        "swap.assumed",
        mounting="plug-in" if plug_in else "screws",
        percent=Quantity(100.0 * MASS_SHARE, form="short"),
        mass=Quantity(MASS_LEAST_G, "g", 1),
        height=Quantity(HEIGHT_U_MM, "mm"),
        tip=Quantity(TIP_U_MM, "mm"),
    )
