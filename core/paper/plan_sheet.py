"""The plan for another cartridge, on paper for the bench."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from core.language import Message, Name, Numbers, StepTitle, message
from core.paper.letterhead import Letterhead, set_letterhead
from core.paper.lettering import Measure, rough_width
from core.paper.pages import Pages
from core.paper.sheet import PaperSize, Sheet, printable
from core.swap import Foretold, Need, SwapPlan
from core.swap.words import PlanLine, plan_lines

_SIZE_MM: Final = 2.8
_SHARES: Final = (0.17, 0.15, 0.31, 0.37)
_HEADS: Final = (
    message("paper.plan.step"),
    message("paper.plan.need"),
    message("paper.plan.order"),
    message("paper.plan.why"),
)


def plan_sheets(
    plan: SwapPlan,
    foretold: Sequence[Foretold],
    size: PaperSize = PaperSize.A4,
    numbers: Numbers | None = None,
    measure: Measure = rough_width,
    *,
    letterhead: Letterhead | None = None,
) -> tuple[Sheet, ...]:
    """Return a plan on paper: what to mind, then each step with its order and its reasons.

    ``foretold`` is what the plan foretells, with its labels (:func:`core.swap.compare`).
    """
    say = numbers or Numbers()
    deck, old, new = (Name(one.name) for one in (plan.deck, plan.old_cartridge, plan.new_cartridge))
    title = say.text(message("paper.plan.title", deck=deck))
    pages = Pages(printable(size), measure, _SIZE_MM)
    set_letterhead(pages, letterhead or Letterhead())
    pages.text(title, bold=True, size_mm=5.0)
    pages.y -= 1.0
    pages.text(say.text(message("paper.plan.off", cartridge=old)))
    pages.text(say.text(message("paper.plan.on", cartridge=new)))
    pages.y -= 1.5
    if plan.cannot_fit is not None:
        pages.text(say.text(plan.cannot_fit), bold=True)
        return pages.sheets(title, say.text(plan.cannot_fit), size, say)
    for end in plan.runs_out:
        pages.text(say.text(end.sentence), bold=True)
        pages.text(say.text(end.cure), indent_mm=4.0)
    notes = [say.text(one) for one in (*plan.warnings, *plan.taught)]
    pages.bullets(say.text(message("paper.plan.first")), notes)
    rows = [_row(line, say) for line in plan_lines(plan, foretold)]
    pages.table(_SHARES, [say.text(one) for one in _HEADS], rows)
    pages.y -= 2.0
    if plan.resonance_words is not None:
        pages.text(say.text(plan.resonance_words))
    said = (line.order or line.stays for line in plan_lines(plan, foretold))
    orders = Name("; ".join(say.text(one) for one in said if one))
    return pages.sheets(title, say.text(message("paper.plan.summary", orders=orders)), size, say)


def _as_always(line: PlanLine) -> Message | None:
    """Return what a step without an order of its own asks for; None if that is nothing."""
    if line.runs_out or line.due.need is Need.NOTHING:
        return None
    return message("paper.plan.as_always", need=line.due.need.value)


def _row(line: PlanLine, say: Numbers) -> tuple[str, str, str, str]:
    order = line.order or line.stays
    because = [*map(say.text, line.facts), *map(say.text, line.why)]
    return (
        say.value(StepTitle(line.due.step)),
        say.label(line.due.need.label),
        say.text(order or _as_always(line)),
        "\n".join(because),
    )
