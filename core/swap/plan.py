"""The plan for another cartridge, put together from what each step foretells."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

from core.fitting import ChoiceMade, Choices
from core.language import Numbers, step_text
from core.records import Cartridge, Deck, Mounting
from core.steps import STEP_NAMES, step_named
from core.swap.comparison import corrected, errors_of
from core.swap.downforce import downforce, final
from core.swap.head import alignment, tilt
from core.swap.height import arm_height
from core.swap.learned_gains import learned_gains
from core.swap.model import (
    DueStep,
    Need,
    Past,
    SwapPlan,
    Was,
)
from core.swap.other_steps import (
    cannot_fit,
    level,
    mount,
    resonance,
    skating,
    speed,
)
from core.swap.settings import (
    HEIGHT_U_MM,
    MASS_LEAST_G,
    MASS_SHARE,
    TIP_U_MM,
    PlanPiece,
    StepForecast,
    SwapCase,
    figure_of,
    in_order,
    worked_until,
)
from core.workflow.descriptions import figure_words

_SHOWN: Final = (
    ("level", ("tilt",)),
    ("mount", ("head_mass", "resonance")),
    ("arm_height", ("height",)),
    ("alignment", ("effective_length", "overhang", "offset", "slide", "twist")),
    ("tilt", ("tilt", "best_setting")),
    ("skating", ("setting", "notch")),
    ("final_downforce", ("downforce",)),
    ("speed", ()),  # each that was read
)
"""What is told of the old fitting, in the order of the steps."""

_LEARNED: Final = "What earlier plans for this deck were wrong by is reckoned in."
_PIVOTED_ONLY: Final = ("slide", "twist")
_PIECES: Final = (
    level,
    mount,
    downforce,
    arm_height,
    alignment,
    tilt,
    skating,
    final,
    speed,
)


def plan_swap(
    deck: Deck,
    old: Past,
    new: Cartridge,
    history: Sequence[Past] = (),
    numbers: Numbers | None = None,
    *,
    new_cartridge_id: str = "",
) -> SwapPlan:
    """Work out where to start with another cartridge.

    Parameters
    ----------
    deck
        The deck as it is known now.
    old
        The fitting that left the deck as it is.
    new
        The cartridge that goes in.
    history
        Other fittings of the same deck, in any order; ``old`` may be among them.
    numbers
        How numbers are written in sentences.
    new_cartridge_id
        The new cartridge's id in the library, by which an earlier fitting of it is known.

    Returns
    -------
    SwapPlan
        Always an answer for each of the nine steps; what can't be foretold has no number. Where
        the cartridge does not fit the head at all, ``cannot_fit`` says so and nothing is foretold.
    """
    write = numbers or Numbers()
    pasts = in_order((*history, old))
    gains = learned_gains(pasts, deck)
    back = _gone_back_to(old, pasts, new_cartridge_id)
    case = SwapCase(deck, old, new, write, gains, pasts, back)
    misfit = cannot_fit(case)
    if misfit:
        return SwapPlan(
            deck=deck,
            old_cartridge=old.cartridge,
            new_cartridge=new,
            from_fitting=old.fitting.id,
            was=_was(case),
            resonance_words="Nothing can be expected of a cartridge that does not fit.",
            due=tuple(DueStep(step, Need.NOTHING, misfit) for step in STEP_NAMES),
            gains=gains,
            cannot_fit=misfit,
        )
    pieces = [piece(case) for piece in _PIECES]
    starts, taught = _with_errors(case, pieces)
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
        due=tuple(DueStep(piece.step, piece.need, piece.reason) for piece in pieces),
        gains=gains,
        choices=_choices(old),
        back_to=back,
        warnings=(*_warnings(case), *(w for piece in pieces for w in piece.warnings)),
        taught=tuple(taught),
    )


def _gone_back_to(old: Past, pasts: Sequence[Past], cartridge_id: str) -> Past | None:
    """Return the newest finished fitting of the cartridge before the old one, if there is any."""
    if not cartridge_id or cartridge_id == old.fitting.cartridge_id:
        return None
    found = [
        past
        for past in pasts
        if past.fitting.cartridge_id == cartridge_id
        and past.fitting.is_finished
        and worked_until(past) <= worked_until(old)
    ]
    return found[-1] if found else None


def _with_errors(
    case: SwapCase, pieces: Sequence[PlanPiece]
) -> tuple[list[StepForecast], list[str]]:
    """Take the errors of earlier plans into account, and say so."""
    errors = errors_of(case.pasts)
    starts: list[StepForecast] = []
    taught: list[str] = []
    for piece in pieces:
        for foreseen in piece.starts:
            better, seen = corrected(foreseen, errors)
            if seen is None or not better.start.learned_shift:
                starts.append(better)
                continue
            reason = f"{better.start.reason} {_LEARNED}".strip()
            known = better.start.model_copy(update={"reason": reason})
            starts.append(replace(better, start=known))
            title = step_text(piece.step).title
            mean = case.numbers.signed_unit(seen.mean, known.unit)
            taught.append(
                f"{title}: {seen.count} earlier predictions on this deck were {mean} off in the "
                "mean; that is reckoned in."
            )
    return starts, taught


def _choices(old: Past) -> tuple[ChoiceMade, ...]:
    """Return what was chosen with the old cartridge, where it is not what it would be anyway."""
    found: list[ChoiceMade] = []
    for step in STEP_NAMES:
        chosen: Choices | None = old.journey.context(step).chosen.get(step)
        if chosen is not None and chosen != step_named(step).Chosen():
            found.append(ChoiceMade(step=step, choices=chosen.model_dump(mode="json")))
    return tuple(found)


def _was(case: SwapCase) -> tuple[Was, ...]:
    rows: list[Was] = []
    pivoted = case.old.deck.arm.is_pivoted
    for step, keys in _SHOWN:
        for key in keys:
            figure = figure_of(case.old, step, key)
            if figure is None or (pivoted and key in _PIVOTED_ONLY):
                continue
            rows.append(
                Was(step, case.numbers.text(figure.label), figure_words(figure, case.numbers))
            )
        if step == "speed":
            rows += _speeds_were(case)
        if not any(row.step == step for row in rows):
            status = case.old.journey.status(step)
            unread = status.applicability.reads
            value = "not read" if unread else case.numbers.text(status.assessment.headline)
            rows.append(Was(step, step_text(step).title, value))
    return tuple(rows)


def _speeds_were(case: SwapCase) -> list[Was]:
    figures = case.old.journey.status("speed").assessment.figures
    errors = [figure for figure in figures if figure.key.startswith("speed_error_")]
    return [
        Was("speed", case.numbers.text(one.label), figure_words(one, case.numbers))
        for one in errors
    ]


def _warnings(case: SwapCase) -> list[str]:
    numbers, old = case.numbers, case.old
    said: list[str] = []
    if not old.fitting.is_finished:
        said.append("The old fitting was not finished: what it left open is not known here either.")
    newest = case.pasts[-1]
    if newest.fitting.id != old.fitting.id and worked_until(newest) > worked_until(old):
        said.append(
            "Another fitting of this deck was worked on since: see that the deck stands as the one "
            "you begin from left it."
        )
    if case.deck != old.deck:
        said.append(
            "The deck's record was changed since the old fitting: what it says now is reckoned "
            "with, and gains learned under other figures are left out."
        )
    pivot = case.deck.arm.pivot_to_spindle_mm
    length, beyond = (figure_of(old, "alignment", k) for k in ("wanted_length", "wanted_overhang"))
    if pivot is not None and length is not None and beyond is not None:
        measured = length.value - beyond.value
        if abs(measured - pivot) > 0.2:
            said.append(
                f"Pivot to spindle was measured as {numbers.unit(measured, 'mm', 1)}, the deck's "
                f"record says {numbers.unit(pivot, 'mm', 1)}: correct the record, or measure again."
            )
    said.append(_assumed(case))
    return said


def _assumed(case: SwapCase) -> str:
    numbers = case.numbers
    percent = numbers.short(100.0 * MASS_SHARE)
    mass = f"{percent} % or {numbers.unit(MASS_LEAST_G, 'g', 1)}"
    height = numbers.unit(HEIGHT_U_MM, "mm")
    text = f"Taken as stated: masses to {mass}, body heights to {height}"
    if case.new.mounting is not Mounting.PLUG_IN:
        text += f", holes to tip to {numbers.unit(TIP_U_MM, 'mm')}"
    return f"{text} (one standard uncertainty each, our own allowance). Readings decide."
