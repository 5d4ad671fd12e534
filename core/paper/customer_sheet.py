"""The customer's sheet: one page that says in plain words what was done and what to mind."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date
from typing import Final

from core.fitting import Journey, StepState, Verdict
from core.language import (
    Message,
    Name,
    Numbers,
    Quantity,
    Series,
    StepTitle,
    day_of,
    message,
)
from core.paper.bench_content import day_due, facts_of
from core.paper.letterhead import Letterhead, set_letterhead
from core.paper.lettering import Measure, rough_width
from core.paper.owner_words import (
    done_in,
    figures_of,
    is_coarse,
    title_of,
    unfound_in,
    unread_in,
    verdict_on,
)
from core.paper.pages import Pages
from core.paper.picture_pages import PaperPicture, add_pictures
from core.paper.sheet import PaperSize, Sheet, printable
from core.records import Job
from core.steps.skating import NAME as SKATING
from core.workflow import (
    StepOutcome,
    is_left_loose,
    outcomes_of,
    set_back_of,
    told_set_back,
    work_of,
)

_SIZES_MM: Final = (3.6, 3.2, 2.8, 2.5, 2.2)
_SHARES: Final = (0.16, 0.27, 0.28, 0.29)
_DASH: Final = "–"
_LONGEST: Final = (600, 240, 120)
"""Letters that a person's own words are cut to, where a page would not hold all of them."""

_HEADS: Final = (
    message("owner.column.step"),
    message("owner.column.as_found"),
    message("owner.column.done"),
    message("owner.column.as_left"),
)


@dataclass(frozen=True, slots=True)
class Addressed:
    """Whose paper it is, whom it is for, and what is to be seen on it.

    ``customer`` is empty unless the name is to stand on it. ``next_check`` is when the next check
    is due, in the person's own words; if empty, the day that the deck's record makes of a finished
    fitting. ``kept_check`` is the day that the deck had before a short job, which leaves it where
    it was; without one a short job says nothing. Where a whole fitting has no day, there is a line
    to write on. ``job`` says in which state the deck came.
    """

    letterhead: Letterhead = field(default_factory=Letterhead)
    customer: str = ""
    next_check: str = ""
    pictures: tuple[PaperPicture, ...] = ()
    kept_check: str = ""
    job: Job | None = None


def customer_sheets(
    journey: Journey,
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    addressed: Addressed | None = None,
) -> tuple[Sheet, ...]:
    """Return the sheet that goes home with a deck: one page, and pictures on further ones."""
    say, to = numbers or Numbers(), addressed or Addressed()
    tries = [(mm, _LONGEST[0]) for mm in _SIZES_MM]
    for mm, longest in (*tries, *((_SIZES_MM[-1], longest) for longest in _LONGEST[1:])):
        pages = Pages(printable(size), measure, mm)
        _set(pages, journey, say, to, longest)
        if len(pages.pages) == 1:
            break
    add_pictures(pages, to.pictures, say)
    deck = Name(journey.deck.name)
    steps = Series(tuple(StepTitle(one.step) for one in outcomes_of(journey)))
    return pages.sheets(
        say.text(message("owner.title", deck=deck)),
        say.text(message("owner.summary", steps=steps)),
        size,
        say,
    )


def _on_arrival(job: Job | None) -> Message | None:
    """Say in which state a deck came, in the words of the bench; None if nobody noted it."""
    if job is None:
        return None
    seen = (("stylus", job.stylus_seen), ("noises", job.noises), ("missing", job.missing))
    said = tuple(
        message("owner.arrived", part=part, seen=Name(" ".join(words.split())))
        for part, words in seen
        if words.strip()
    )
    return message("owner.on_arrival", seen=Series(said, ";")) if said else None


def _set(pages: Pages, journey: Journey, say: Numbers, to: Addressed, longest: int) -> None:
    def short(words: str) -> str:
        return words if len(words) <= longest else f"{words[: longest - 1].rstrip()}…"

    letters_mm = pages.size_mm
    set_letterhead(pages, to.letterhead)
    pages.text(say.text(message("owner.heading")), bold=True, size_mm=letters_mm + 2.4)
    pages.y -= 1.0
    if to.customer:
        pages.text(say.text(message("owner.for", customer=Name(to.customer))))
    for name, fact in facts_of(journey, say, for_owner=True):
        pages.text(f"{name}: {short(fact)}")
    arrived = _on_arrival(to.job)
    if arrived is not None:
        pages.text(short(say.text(arrived)))
    outcomes = outcomes_of(journey)
    open_steps = tuple(
        title_of(one) for one in outcomes if one.state not in (StepState.DONE, StepState.KEPT)
    )
    work = list(work_of(journey, for_owner=True))
    if open_steps:
        work.append(message("owner.open", steps=Series(open_steps, ";")))
    set_back = set_back_of(journey)
    if set_back is not None:
        work.append(set_back.for_owner)
    else:
        was_set = told_set_back(journey)
        work += [was_set] if was_set is not None else []
    for line in work:
        pages.text(say.text(line))
    pages.y -= 2.0
    parallel = not journey.deck.arm.is_pivoted
    at_zero = SKATING if set_back is not None else ""
    begun = day_of(journey.fitting.started_at)
    rows = [
        [
            short(cell)
            for cell in _row(one, say, parallel=parallel, at_zero=one.step == at_zero, begun=begun)
        ]
        for one in outcomes
    ]
    pages.table(_SHARES, [say.text(one) for one in _HEADS], rows)
    pages.y -= 2.0
    pages.bullets(say.text(message("owner.mind")), _to_mind(journey, outcomes, say))
    dated = day_due(journey) if journey.fitting.is_check else to.kept_check
    day = to.next_check.strip() or dated
    if day:
        pages.text(say.text(message("owner.next_check", day=Name(day))), bold=True)
    elif journey.fitting.is_check:
        pages.text(say.text(message("owner.next_check_blank")), bold=True)
    pages.y -= 4.0 * letters_mm
    pages.text(say.text(message("owner.signature")))


def _row(
    outcome: StepOutcome, say: Numbers, *, parallel: bool, at_zero: bool, begun: date | None = None
) -> tuple[str, str, str, str]:
    """Return the cells of a step; when it was found is told if the work had ``begun`` before."""
    found, left = figures_of(outcome, parallel=parallel)
    day = None if outcome.found_at is None else day_of(outcome.found_at)
    if found and day is not None and begun is not None and day != begun:
        found.append(message("owner.found_on", day=Name(day.isoformat())))
    verdict = verdict_on(outcome)
    told = [*left, *([verdict] if verdict is not None and (left or not outcome.was_left) else [])]
    if at_zero:
        told = [message("owner.at_zero")]
    nothing = outcome.verdict is Verdict.NOTHING_TO_SET or (outcome.was_left and not left)
    unread = _DASH if nothing else say.text(unread_in(outcome))
    unfound = None if nothing else unfound_in(outcome)
    return (
        say.text(title_of(outcome)),
        "\n".join(map(say.text, found)) or (_DASH if unfound is None else say.text(unfound)),
        say.text(done_in(outcome)),
        "\n".join(map(say.text, told)) or unread,
    )


def _plainly(unread: Message) -> Message:
    """Return for an owner what nobody read in a step."""
    if unread.key != "speed.note.not_read":
        return unread
    return message("owner.not_read", speeds=unread.values["speeds"])


def _to_mind(journey: Journey, outcomes: tuple[StepOutcome, ...], say: Numbers) -> list[str]:
    life = Quantity(journey.cartridge.stylus_life_h, form="short")
    said = [message("owner.loose")] if is_left_loose(journey) else []
    said.append(message("owner.uncertainty"))
    if any(pair.either.unit == "gf" for one in outcomes for pair in one.figures):
        said.append(message("owner.gf"))
    said += [message("owner.coarse", step=title_of(one)) for one in outcomes if is_coarse(one)]
    said += [_plainly(unread) for one in outcomes for unread in one.unread]
    if journey.cartridge.has_guard:
        said.append(message("owner.guard"))
    said += [
        message("owner.clean"),
        message("owner.life", life=life),
        message("owner.moved"),
    ]
    return [say.text(one) for one in said]
