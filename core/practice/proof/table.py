"""What the fittings with no person came to: one table, and whether it is what was asked for."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from core.fitting import Verdict
from core.practice.proof.closed_loop import DeckRun, StepRun
from core.practice.proof.slips import SlipKind
from core.steps import SKATING, STEP_NAMES, TILT

MEDIAN_CYCLES: Final = 2.0
MOST_CYCLES: Final = 4.0
FALSE_GOOD: Final = 0.05
FARTHEST: Final = 2.0
FEWER_CYCLES: Final = 0.3
SILENTLY_WRONG: Final = 0.01
TWICE: Final = 2.0
"""What is asked for: cycles at the median and the 95th percentile, share of false 'good', how far
one may be off in tolerances, and how many cycles fewer than plain trial and error."""


@dataclass(frozen=True, slots=True)
class StepSummary:
    """One line of the table, over the fittings where the step had something to read.

    `median`, `most` and `worst` are adjust-check cycles at the median, the 95th percentile and at
    worst; `error_...` the same of the true error left in what was called good, in tolerances.
    `false_good` is the share of what was called good that truly is outside, `strictly_false` the
    same by the strict measure, None where there is no other
    (:func:`core.practice.truth.strict_ratio`), `false_alarms` the share of fittings with a move
    ordered, or something left as found, though truly inside, `left` how often it was rightly
    left as found.
    """

    step: str
    fittings: int
    median: float
    most: float
    worst: int
    mean: float
    error_median: float
    error_most: float
    error_worst: float
    false_good: float
    strictly_false: float | None
    false_alarms: float
    left: int
    never_ended: int
    sent_back: int
    sent_back_needed: int

    @property
    def misses(self) -> tuple[str, ...]:
        """What this step misses of what is asked for, in words."""
        found = []
        if self.median > MEDIAN_CYCLES or self.most > MOST_CYCLES:
            found.append(f"{self.step}: {self.median:g} cycles median, {self.most:g} at 95 %")
        if self.false_good > FALSE_GOOD:
            found.append(f"{self.step}: {100 * self.false_good:.1f} % false good")
        if self.error_worst > FARTHEST:
            found.append(f"{self.step}: one called good is {self.error_worst:.2f} tolerances off")
        if self.never_ended:
            found.append(f"{self.step}: {self.never_ended} never ended")
        return tuple(found)


@dataclass(frozen=True, slots=True)
class Cost:
    """Cycles on controls that mislead, how often good was called, and how often wrongly."""

    cycles: int
    called: int
    wrong: int

    @property
    def wrong_share(self) -> float:
        """Share of what was called good that is not."""
        return self.wrong / max(self.called, 1)


def fewer(one: Cost, other: Cost) -> float:
    """Return by how much fewer cycles one took than the other, as a share of the other's."""
    return 1.0 - one.cycles / other.cycles if other.cycles else 0.0


@dataclass(frozen=True, slots=True)
class SilentError:
    """A step called good that really lies beyond its tolerance, and what was wrong there."""

    deck: int
    step: str
    ratio: float
    why: str


@dataclass(frozen=True, slots=True)
class Erring:
    """What came of what people got wrong.

    `kinds` has for each kind how often, how often it was caught (the program asked, or refused it,
    and it was put right), and on how many decks nothing called good was wrong though it was not.
    """

    kinds: tuple[tuple[SlipKind, int, int, int], ...]
    called: int
    silent: tuple[SilentError, ...]
    orders: int
    hands: int
    looked_into: tuple[str, ...] = ()
    """Decks with an unsafe order, or a step that never ended."""

    @property
    def twice(self) -> tuple[SilentError, ...]:
        """Those beyond twice the tolerance."""
        return tuple(one for one in self.silent if one.ratio > TWICE)


@dataclass(frozen=True, slots=True)
class Summary:
    """All of them. ``compared`` steps of ``lying`` decks have a control that misleads."""

    steps: tuple[StepSummary, ...]
    decks: int
    unsafe: int
    lying: int
    compared: int
    wizard: Cost
    plain: Cost
    early: Cost
    readings: float
    orders: int
    erring: Erring | None

    @property
    def fewer(self) -> float:
        """By how much fewer cycles than trial and error held to the same 'good', as a share."""
        return fewer(self.wizard, self.plain)

    @property
    def misses(self) -> tuple[str, ...]:
        """Everything missed of what is asked for, in words; empty when all is reached."""
        found = [miss for step in self.steps for miss in step.misses]
        if self.erring is not None:
            found = [f"{s.step}: {s.never_ended} never ended" for s in self.steps if s.never_ended]
            wrong = len({one.deck for one in self.erring.twice})
            if wrong > SILENTLY_WRONG * self.decks:
                found.append(f"{wrong} decks silently wrong beyond twice the tolerance")
        if self.unsafe:
            found.append(f"{self.unsafe} fittings with an unsafe prompt")
        if self.orders:
            found.append(f"{self.orders} unsafe orders")
        if self.plain.cycles and self.fewer < FEWER_CYCLES:
            found.append(f"only {100 * self.fewer:.0f} % fewer cycles than trial and error")
        return tuple(found)


def summarise(runs: Sequence[DeckRun]) -> Summary:
    """Put many fittings together."""
    compared = [one for run in runs for one in run.compared]
    return Summary(
        steps=tuple(_step([run.steps[name] for run in runs], name) for name in STEP_NAMES),
        decks=len(runs),
        unsafe=sum(run.unsafe_prompts > 0 for run in runs),
        lying=sum(bool(run.compared) for run in runs),
        compared=len(compared),
        wizard=_cost([one.wizard for one in compared]),
        plain=_cost([one.plain for one in compared]),
        early=_cost([one.early for one in compared]),
        readings=sum(s.readings for run in runs for s in run.steps.values()) / max(len(runs), 1),
        orders=sum(run.unsafe_orders for run in runs),
        erring=_erring(runs) if any(run.slips is not None for run in runs) else None,
    )


def _erring(runs: Sequence[DeckRun]) -> Erring:
    good = [
        (run, step)
        for run in runs
        for step in run.steps.values()
        if step.verdict is Verdict.GOOD and step.final_ratio is not None and not step.never_ended
    ]
    silent = tuple(
        SilentError(run.number, step.step, step.final_ratio or 0.0, _why(run, step.step))
        for run, step in good
        if (step.final_ratio or 0.0) > 1.0
    )
    wrong = {(one.deck, one.step) for one in silent}
    kinds = []
    for kind in SlipKind:
        made = [(run, slip) for run in runs for slip in run.slips or () if slip.kind is kind]
        left = [(run, slip) for run, slip in made if not slip.caught]
        harmless = sum((run.number, slip.step) not in wrong for run, slip in left)
        kinds.append((kind, len(made), len(made) - len(left), harmless))
    hands = sum(run.unsafe_hands for run in runs)
    orders = sum(run.unsafe_orders for run in runs)
    bad = [f"deck {run.number}: an unsafe order" for run in runs if run.unsafe_orders]
    bad += [
        f"deck {run.number}: {step.step} never ended, {step.stuck_at}"
        for run in runs
        for step in run.steps.values()
        if step.never_ended
    ]
    return Erring(tuple(kinds), len(good), silent, orders, hands, tuple(bad))


def _why(run: DeckRun, step: str) -> str:
    left = [s for s in run.slips or () if not s.caught]
    here = [s.words for s in left if s.step == step]
    other = [f"{s.step}: {s.words}" for s in left if s.step != step]
    held = [f"{run.held} held fast"] if run.held else []
    return "; ".join((*here, *held, *other)) or "no slip"


def _cost(found: Sequence[tuple[int, float | None]]) -> Cost:
    called = [ratio for _, ratio in found if ratio is not None]
    return Cost(sum(n for n, _ in found), len(called), sum(ratio > 1.0 for ratio in called))


def _step(runs: Sequence[StepRun], name: str) -> StepSummary:
    there = [run for run in runs if run.verdict not in (None, Verdict.NOTHING_TO_SET)]
    good = [run for run in there if run.verdict is Verdict.GOOD and run.final_ratio is not None]
    errors = sorted(run.final_ratio for run in good if run.final_ratio is not None)
    cycles = sorted(float(run.cycles) for run in there)
    called = max(len(good), 1)
    return StepSummary(
        step=name,
        fittings=len(there),
        median=quantile(cycles, 0.5),
        most=quantile(cycles, 0.95),
        worst=int(cycles[-1]) if cycles else 0,
        mean=sum(cycles) / max(len(cycles), 1),
        error_median=quantile(errors, 0.5),
        error_most=quantile(errors, 0.95),
        error_worst=errors[-1] if errors else 0.0,
        false_good=sum(error > 1.0 for error in errors) / called,
        strictly_false=_strictly_false(good),
        false_alarms=sum(run.false_alarm for run in there) / max(len(there), 1),
        left=sum(run.verdict is Verdict.LEFT_AS_FOUND for run in there),
        never_ended=sum(run.never_ended for run in runs),
        sent_back=sum(run.sent_back for run in there),
        sent_back_needed=sum(run.sent_back_needed for run in there),
    )


def _strictly_false(good: Sequence[StepRun]) -> float | None:
    known = [run.strict_ratio for run in good if run.strict_ratio is not None]
    return sum(ratio > 1.0 for ratio in known) / len(known) if known else None


def quantile(ordered: Sequence[float], share: float) -> float:
    """Return the smallest value that at least this share lies at or below; 0 of none."""
    if not ordered:
        return 0.0
    return ordered[min(len(ordered) - 1, max(0, math.ceil(share * len(ordered)) - 1))]


_HEAD: Final = (
    ("step", ""),
    ("decks", ""),
    ("cycles", "med/95%/worst"),
    ("true error", "med/95%/worst"),
    ("false", "good"),
    ("strict", "false"),
    ("needless", "move"),
    ("left as", "found"),
    ("never", "ended"),
    ("sent back", "(needed)"),
)


def as_text(summary: Summary) -> str:
    """Return the table as text, no line longer than 100 characters."""
    heads = [tuple(column[line] for column in _HEAD) for line in (0, 1)]
    rows = [*heads, *(_row(step) for step in summary.steps)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(_HEAD))]
    lines = [
        " ".join(
            cell.ljust(width) if i == 0 else cell.rjust(width)
            for i, (cell, width) in enumerate(zip(row, widths, strict=True))
        ).rstrip()
        for row in rows
    ]
    lines.insert(2, "-" * max(len(line) for line in lines))
    lines += [
        "",
        "True errors are what remained of what was called good, in tolerances.",
        "Needless: moved, or left as found, though the truth lay inside.",
        f"Readings for a whole fitting: {summary.readings:.1f} on average.",
        f"Unsafe prompts: {summary.unsafe} of {summary.decks} fittings; orders: {summary.orders}.",
        "",
        *(_compared(summary) if summary.erring is None else _erred(summary.erring, summary.decks)),
        "",
    ]
    misses = summary.misses
    lines.append("Everything asked for is reached." if not misses else "Not reached:")
    lines += [f"  {miss}" for miss in misses]
    return "\n".join(lines)


def _erred(erring: Erring, decks: int) -> list[str]:
    once, twice = erring.silent, erring.twice
    return [
        f"{'What people got wrong':<32}{'times':>7}{'caught':>8}{'harmless':>10}{'silent':>8}",
        *(
            f"  {kind.label:<30}{n:>7}{caught:>8}{harmless:>10}{n - caught - harmless:>8}"
            for kind, n, caught, harmless in erring.kinds
        ),
        f"Silently wrong: {len(once)} of {erring.called} steps called good; beyond twice the",
        f"tolerance {len(twice)}, on {len({one.deck for one in twice})} of {decks} decks.",
        f"Unsafe: ordered {erring.orders}, by a hand against the order {erring.hands}.",
        *(f"  deck {s.deck} {s.step} {s.ratio:.1f}: {s.why}"[:100] for s in once),
        *(f"  {one}"[:100] for one in erring.looked_into),
    ]


def _compared(summary: Summary) -> list[str]:
    ways = (
        ("following the wizard", summary.wizard),
        ("trial and error, until the wizard too would say good", summary.plain),
        ("trial and error, until one reading lies inside", summary.early),
    )
    if not summary.compared:
        return ["No control misleads on these decks: nothing to compare with trial and error."]
    second, third = _against(summary.wizard, summary.plain), _against(summary.wizard, summary.early)
    title = f"Controls that mislead: {summary.compared} steps on {summary.lying} decks"
    return [
        f"{title:<56}{'cycles':>8}{'false good':>12}",
        *(
            f"  {words:<54}{cost.cycles:>8}{100.0 * cost.wrong_share:>10.1f} %"
            for words, cost in ways
        ),
        f"Headline: {second} than the second way, which ends as sure as the wizard.",
        f"Beside it: {third} than the third, which takes its last reading on trust.",
    ]


def _against(one: Cost, other: Cost) -> str:
    share = 100.0 * fewer(one, other)
    return f"{abs(share):.0f} % {'fewer' if share >= 0.0 else 'more'} cycles"


def beside(summaries: Mapping[str, Summary]) -> str:
    """Return tilt and skating of several summaries, by name, side by side."""
    lines = [
        f"{'':8} {'':17} {'cycles med/95%/worst, mean':>27} {'false good':>11} {'readings':>9}"
    ]
    for step in (TILT, SKATING):
        for name, summary in summaries.items():
            found = next(row for row in summary.steps if row.step == step)
            cycles = f"{found.median:g} / {found.most:g} / {found.worst}, {found.mean:.2f}"
            wrong = f"{100 * found.false_good:.1f} %"
            lines.append(f"{step:8} {name:17} {cycles:>27} {wrong:>11} {summary.readings:>9.1f}")
    unsafe = sum(one.unsafe + one.orders for one in summaries.values())
    ends = sum(row.never_ended for one in summaries.values() for row in one.steps)
    told = f"Unsafe prompts and orders: {unsafe}; never ended: {ends}."
    return "\n".join([*lines, "", "Readings are those of a whole fitting, on average.", told])


def from_least_leak(runs: Mapping[str, Sequence[DeckRun]]) -> str:
    """Return how far the head stands from where least leaks in the end, by what it was set by.

    An eye sets the cartridge's body upright; what leaks least hangs on stylus and coils, too.
    """
    lines = []
    for name, fitted in runs.items():
        away = [
            abs(step.from_least_leak_deg)
            for run in fitted
            if (step := run.steps[TILT]).from_least_leak_deg is not None and step.verdict
        ]
        if away:
            half, most = np.quantile(away, (0.5, 0.95))
            lines.append(
                f"From least leak {name + ':':17} half within {half:.2f}, "
                f"95 % within {most:.2f} degrees"
            )
    return "\n".join(lines)


def _row(step: StepSummary) -> tuple[str, ...]:
    return (
        step.step,
        str(step.fittings),
        f"{step.median:g} / {step.most:g} / {step.worst}",
        f"{step.error_median:.2f} / {step.error_most:.2f} / {step.error_worst:.2f}",
        f"{100 * step.false_good:.1f} %",
        "" if step.strictly_false is None else f"{100 * step.strictly_false:.1f} %",
        f"{100 * step.false_alarms:.0f} %",
        str(step.left),
        str(step.never_ended),
        f"{step.sent_back} ({step.sent_back_needed})",
    )
