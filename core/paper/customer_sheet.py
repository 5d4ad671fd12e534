"""The customer's sheet: one page that says in plain words what was done and what to mind."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

from core.fitting import Figure, Journey, StepState, Verdict
from core.language import (
    Message,
    Name,
    Numbers,
    Quantity,
    Series,
    StepTitle,
    Text,
    Value,
    message,
    shown,
)
from core.paper.bench_content import day_due, facts_of
from core.paper.letterhead import Letterhead, set_letterhead
from core.paper.lettering import Measure, rough_width
from core.paper.pages import Pages
from core.paper.sheet import PaperSize, Sheet, printable
from core.steps.mount import NAME as MOUNT
from core.workflow.descriptions import figure_value
from core.workflow.summary import StepOutcome, outcomes_of, work_of

_SIZES_MM: Final = (3.6, 3.2, 2.8, 2.5, 2.2)
_SHARES: Final = (0.16, 0.27, 0.28, 0.29)
_FIGURES_SHOWN: Final = 2
_LONGEST: Final = (600, 240, 120)
"""Letters that a person's own words are cut to, where a page would not hold all of them."""

_HEADS: Final = (
    message("paper.customer.step"),
    message("paper.customer.as_found"),
    message("paper.customer.done"),
    message("paper.customer.as_left"),
)


@dataclass(frozen=True, slots=True)
class Addressed:
    """Whose paper it is and whom it is for.

    ``customer`` is empty unless the name is to stand on it. ``next_check`` is when the next check
    is due, in the person's own words; if empty, the day that the deck's record makes of a finished
    fitting, and a line to write on where there is none.
    """

    letterhead: Letterhead = field(default_factory=Letterhead)
    customer: str = ""
    next_check: str = ""


def customer_sheets(
    journey: Journey,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    addressed: Addressed | None = None,
) -> tuple[Sheet, ...]:
    """Return the sheet that goes home with a deck, on one page."""
    say, to = numbers or Numbers(), addressed or Addressed()
    tries = [(mm, _LONGEST[0]) for mm in _SIZES_MM]
    for mm, longest in (*tries, *((_SIZES_MM[-1], longest) for longest in _LONGEST[1:])):
        pages = Pages(printable(size), measure, mm)
        _set(pages, journey, say, to, longest)
        if len(pages.pages) == 1:
            break
    deck = Name(journey.deck.name)
    steps = Series(tuple(StepTitle(one.step) for one in outcomes_of(journey)))
    return pages.sheets(
        say.text(message("paper.customer.title", deck=deck)),
        say.text(message("paper.customer.summary", steps=steps)),
        size,
        say,
    )


def _set(pages: Pages, journey: Journey, say: Numbers, to: Addressed, longest: int) -> None:
    def short(words: str) -> str:
        return words if len(words) <= longest else f"{words[: longest - 1].rstrip()}…"

    letters_mm = pages.size_mm
    set_letterhead(pages, to.letterhead)
    pages.text(say.text(message("paper.customer.heading")), bold=True, size_mm=letters_mm + 2.4)
    pages.y -= 1.0
    if to.customer:
        pages.text(say.text(message("paper.customer.for", customer=Name(to.customer))))
    for name, fact in facts_of(journey, say):
        pages.text(f"{name}: {short(fact)}")
    outcomes = outcomes_of(journey)
    open_steps = tuple(
        StepTitle(one.step) for one in outcomes if one.state not in (StepState.DONE, StepState.KEPT)
    )
    work = list(work_of(journey))
    if open_steps:
        work.append(message("sheet.open", steps=Series(open_steps)))
    for line in work:
        pages.text(say.text(line))
    pages.y -= 2.0
    rows = [[short(cell) for cell in _row(one, say)] for one in outcomes]
    pages.table(_SHARES, [say.text(one) for one in _HEADS], rows)
    pages.y -= 2.0
    pages.bullets(say.text(message("paper.customer.mind")), _to_mind(journey, outcomes, say))
    day = to.next_check.strip() or day_due(journey)
    next_one = message("paper.customer.next_check", day=Name(day))
    pages.text(say.text(next_one if day else message("paper.customer.next_check_blank")), bold=True)
    pages.y -= 4.0 * letters_mm
    pages.text(say.text(message("paper.customer.signature")))


def _row(outcome: StepOutcome, say: Numbers) -> tuple[str, str, str, str]:
    judged_pairs = [pair for pair in outcome.figures if pair.either.target is not None]
    pairs = judged_pairs[:_FIGURES_SHOWN]
    found = [_figure(pair.before, say) for pair in pairs if pair.before]
    left = [_figure(pair.after, say) for pair in pairs if pair.after]
    unread = say.text(message("paper.customer.not_read"))
    judged = outcome.verdict is not Verdict.NO_READING
    verdict = [say.label(outcome.shown_verdict.label)] if judged else []
    return (
        say.value(StepTitle(outcome.step)),
        "\n".join(found) or unread,
        say.text(_done(outcome)),
        "\n".join([*left, *verdict]) or unread,
    )


def _figure(figure: Figure, say: Numbers) -> str:
    value = figure_value(figure)
    return say.text(message("paper.customer.figure", figure=figure.label, value=value))


def _done(outcome: StepOutcome) -> Message:
    if outcome.verdict is Verdict.NOTHING_TO_SET and outcome.state is StepState.DONE:
        return message("paper.customer.nothing_to_set", why=_why(outcome))
    if outcome.state is StepState.KEPT:
        return message("paper.customer.kept", why=_why(outcome))
    if outcome.state is not StepState.DONE:
        return message("paper.customer.open")
    if outcome.was_left:
        return message("paper.customer.left", why=_why(outcome))
    how = "mounted" if outcome.step == MOUNT else "set" if outcome.moves else "checked"
    return message("paper.customer.worked", how=how)


def _why(outcome: StepOutcome) -> Value:
    reason: Text = outcome.reason or ""
    return shown(reason or outcome.headline)


def _to_mind(journey: Journey, outcomes: tuple[StepOutcome, ...], say: Numbers) -> list[str]:
    life = Quantity(journey.cartridge.stylus_life_h, form="short")
    said = [doubt for one in outcomes for doubt in one.doubts]
    if journey.cartridge.has_guard:
        said.append(message("paper.customer.guard"))
    said += [
        message("paper.customer.clean"),
        message("paper.customer.life", life=life),
        message("paper.customer.moved"),
    ]
    return [say.text(one) for one in said]
