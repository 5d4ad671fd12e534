"""The panels beside a plan: resonance, learned gains, earlier plans, cautions."""

from __future__ import annotations

from PySide6.QtWidgets import QWidget

from core.language import Name, Numbers
from core.steps.mount import NAME as MOUNT
from core.swap import Past
from desktop.charts.chart import Chart
from desktop.swap.planned_swap import PlannedSwap
from desktop.widgets import theme
from desktop.widgets.language import caution_words, tr
from desktop.widgets.local_time import day
from desktop.widgets.panels import column_in, heading, panel, table, text_label
from desktop.widgets.plan_words import foretold_table, gain_words, name_words


def side_panels(swap: PlannedSwap, numbers: Numbers) -> QWidget:
    """Return everything beside the steps of a plan, in one column."""
    made = QWidget()
    column = column_in(made)
    column.setSpacing(round(theme.em(made) * 0.4))
    column.addWidget(_resonance(swap, numbers))
    if swap.plan.gains:
        column.addWidget(_gains(swap, numbers))
    if swap.earlier:
        column.addWidget(_earlier(swap, numbers))
    column.addWidget(_care(swap))
    return made


def _resonance(swap: PlannedSwap, numbers: Numbers) -> QWidget:
    plan = swap.plan
    frame, column = panel(tr("swap.side_panels.resonance_with_the_new_cartridge"))
    column.addWidget(heading(numbers.text(plan.resonance_words), 1.1))
    if plan.resonance is not None:
        chart = Chart(numbers)
        chart.draw(swap.journey.status(MOUNT).assessment.picture)
        column.addWidget(chart)
    return frame


def _gains(swap: PlannedSwap, numbers: Numbers) -> QWidget:
    frame, column = panel(tr("swap.side_panels.learned_on_this_deck"))
    column.addWidget(text_label(tr("swap.side_panels.used_in_place_of_what"), "muted"))
    column.addWidget(
        table(
            ("", "learned", "from", "stated"),
            [gain_words(gain, numbers) for gain in swap.plan.gains],
        )
    )
    return frame


def _earlier(swap: PlannedSwap, numbers: Numbers) -> QWidget:
    frame, column = panel(tr("swap.side_panels.how_earlier_plans_for_this"))
    for sentence in swap.plan.taught:
        column.addWidget(text_label(numbers.text(sentence)))
    for past, foretold in swap.earlier:
        column.addWidget(heading(_past_words(past), 1.0))
        column.addWidget(foretold_table(foretold, numbers))
    return frame


def _past_words(past: Past) -> str:
    return f"{day(past.fitting.started_at)}, {name_words(past.cartridge.name)}"


def _care(swap: PlannedSwap) -> QWidget:
    frame, column = panel(tr("swap.side_panels.take_care"))
    known = caution_words()
    keys = ["arm_locked", "muted", "no_heat", "screws", "magnets", "maker_first"]
    if swap.plan.old_cartridge.has_guard or swap.plan.new_cartridge.has_guard:
        keys.insert(0, "guard")
    for key in keys:
        label = text_label(f"⚠ {known[key].title}. {known[key].text}", "question")
        label.setAccessibleName(
            tr(
                "swap.side_panels.caution_title_text",
                title=Name(known[key].title),
                text=Name(known[key].text),
            )
        )
        column.addWidget(label)
    return frame
