"""The lines of the tables, from a fitting and how it stands."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from datetime import date
from typing import Final

from core.fitting import Figure, StepState, Work
from core.language import Numbers, day_of, message, months_after
from core.maintenance.model import visit_of
from core.records import Choice
from core.steps import STEP_NAMES
from core.store import FittingRow
from core.swap import Past
from core.workflow import BeforeAfter, StepOutcome, outcomes_of

Cells = Mapping[str, str]
_MORE_DECIMALS: Final = 2
"""Decimals beyond those of the screen: a spreadsheet calculates with them."""


class FittingLines:
    """All lines of one fitting.

    ``number`` counts the fittings of one export: short enough to read, and the same in all tables.
    """

    def __init__(self, say: Numbers, number: int, row: FittingRow, past: Past) -> None:
        self._say = say
        self._row = row
        self._past = past
        self._outcomes = outcomes_of(past.journey)
        finished = visit_of(past.fitting).finished if past.fitting.is_finished else None
        self._begins = {
            **begins(number, row),
            "finished": finished.isoformat() if finished else "",
            "next_check": self._next_check(finished),
        }

    def _next_check(self, finished: date | None) -> str:
        """Return when the deck is due again; a short job moves no date."""
        months, is_check = self._past.deck.check_months, self._past.fitting.is_check
        if finished is None or not months or not is_check:
            return ""
        return months_after(finished, months).isoformat()

    def figures(self) -> Iterator[Cells]:
        """Yield one line a figure that has a target, or is told beside those."""
        for outcome in self._outcomes:
            for pair in outcome.figures:
                yield {**self._step(outcome), **self._figure(pair)}

    def steps(self) -> Iterator[Cells]:
        """Yield one line a step."""
        text = self._say.text
        for outcome in self._outcomes:
            trials = self._past.journey.status(outcome.step).trials
            yield {
                **self._step(outcome),
                "state": self._label(outcome.shown_state),
                "readings": str(sum(trial.reading is not None for trial in trials)),
                "moves": str(outcome.moves),
                "result": text(outcome.headline),
                "reason": text(outcome.reason),
                "notes": "\n".join(outcome.notes),
            }

    def fitting(self) -> Cells:
        """Return the one line of the fitting."""
        asked = self._past.fitting.work
        counts = {
            "steps_good": sum(o.state is StepState.DONE for o in self._outcomes),
            "steps_kept": sum(o.was_overridden for o in self._outcomes),
            "steps_left": sum(o.was_left for o in self._outcomes),
            "steps_open": sum(
                o.state not in (StepState.DONE, StepState.KEPT) for o in self._outcomes
            ),
        }
        return {
            **of_row(self._say, self._row),
            **self._begins,
            "job": self._past.fitting.job.number,
            "work": self._label(asked.work if asked else Work.WHOLE),
            **{column: str(count) for column, count in counts.items()},
        }

    def _step(self, outcome: StepOutcome) -> Cells:
        return {
            **self._begins,
            "step_number": str(STEP_NAMES.index(outcome.step) + 1),
            "step": self._say.value(outcome.title),
            "verdict": self._label(outcome.shown_verdict),
        }

    def _figure(self, pair: BeforeAfter) -> Cells:
        figure = pair.either
        above, below = figure.ways or (None, None)
        text = self._say.text
        return {
            "figure": text(figure.label),
            "subject": figure.subject,
            "unit": figure.unit,
            "found": self._number(pair.before, "value"),
            "found_half_width": self._number(pair.before, "half_width"),
            "left": self._number(pair.after, "value"),
            "left_half_width": self._number(pair.after, "half_width"),
            "target": self._number(figure, "target"),
            "tolerance": self._number(figure, "tolerance"),
            "inside": self._inside(pair.after),
            "positive_means": text(above),
            "negative_means": text(below),
        }

    def _number(self, figure: Figure | None, field: str) -> str:
        value = None if figure is None else getattr(figure, field)
        if figure is None or value is None:
            return ""
        digits = f"{round(value, figure.decimals + _MORE_DECIMALS) + 0.0:.10g}"
        return digits.replace(".", self._say.decimal)

    def _inside(self, figure: Figure | None) -> str:
        if figure is None or figure.tolerance is None:
            return ""
        return answer(self._say, is_so=not figure.is_outside)

    def _label(self, choice: Choice) -> str:
        return self._say.label(choice.label)


def begins(number: int, row: FittingRow) -> Cells:
    """Return what says which fitting a line belongs to."""
    return {
        "fitting": str(number),
        "deck": row.deck_name,
        "arm": row.arm_name,
        "reference": row.owner_reference,
        "cartridge": row.cartridge_name,
        "technician": row.who,
    }


def of_row(say: Numbers, row: FittingRow) -> Cells:
    """Return what the list of fittings knows of one, without reading it."""
    return {
        "started": day_of(row.started_at).isoformat(),
        "last_entry": day_of(row.last_at).isoformat(),
        "archived": answer(say, is_so=row.archived),
        "entries": str(row.entry_count),
    }


def answer(say: Numbers, *, is_so: bool) -> str:
    """Return yes or no."""
    return say.text(message("storage.table.answer", answer="yes" if is_so else "no"))
