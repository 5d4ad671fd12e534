"""The status of a fitting for lists, computed from a few entries of its log.

No step's judge runs: a list of thousands can't wait for that. The status says what was confirmed,
and how. The fitting itself says whether a later move has disturbed a step, or a pass is on trust
only.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Final, NamedTuple

from core.fitting import Entry, Finished, Fitting, StepAccepted, Verdict
from core.store.rows import stamp

DECIDES: Final = (
    "accepted",
    "arm",
    "finished",
    "headshell",
    "job",
    "reopened",
    "withdrawn",
    "work",
)
"""The kinds of entries that a status is computed from."""
TRIES: Final = ("reading", "move")
"""The kinds of entries that end an override of a verdict."""
UNKNOWN_MONTHS: Final = -1
"""The months between a deck's checks where no version computed them; 0 means never."""


class Try(NamedTuple):
    """A reading or a move: its id, its sequence number in the log, and its step."""

    id: str
    seq: int
    step: str


class FittingStatus(NamedTuple):
    """The status of a fitting; the names are those of its columns.

    ``reached`` holds number and name of the first unconfirmed step, empty if all are confirmed;
    ``kept`` counts the steps kept against their verdict, ``left_found`` those left as found.
    ``checked_at`` is when it was last finished; empty while it is in progress, or if it is no check
    of the whole deck (``is_check``). ``job_id`` is its job, ``headshell_id`` the headshell on the
    arm, both empty for none; ``arm_key`` the arm of the deck, empty for the first.
    """

    finished: bool
    reached: str
    kept: int
    left_found: int
    checked_at: str
    job_id: str
    is_check: bool
    headshell_id: str
    arm_key: str


def fitting_status_of(
    head: Fitting, deciding: Sequence[tuple[int, Entry]], tries: Callable[[], Iterable[Try]]
) -> FittingStatus:
    """Return the status of a fitting.

    ``head`` is the fitting without entries; ``deciding`` its entries of the kinds in ``DECIDES``,
    each with its sequence number; ``tries`` returns its readings and moves, and is called only
    where a verdict was overruled.
    """
    from core.steps import STEP_NAMES  # imports all formulas, which opening a library must not

    places = {entry.id: seq for seq, entry in deciding}
    short = head.model_copy(update={"entries": tuple(entry for _, entry in deciding)})
    accepted: dict[str, Entry] = {}
    ends = ""
    for entry in short.entries:  # a Finished entry that was withdrawn still dates the check
        if isinstance(entry.body, Finished):
            ends = stamp(entry.at)
    for entry in short.counting():
        if isinstance(entry.body, StepAccepted):
            accepted[entry.body.step] = entry
    overruled = {
        step: places[entry.id]
        for step, entry in accepted.items()
        if isinstance(entry.body, StepAccepted) and entry.body.overrides
    }
    if overruled:
        gone = short.withdrawn_ids()
        for one in tries():
            if one.seq > overruled.get(one.step, one.seq) and one.id not in gone:
                del overruled[one.step], accepted[one.step]
    open_steps = (
        f"{number} {name}"
        for number, name in enumerate(STEP_NAMES, 1)
        if name not in accepted and (short.work is None or name in short.work.steps)
    )
    return FittingStatus(
        finished=short.is_finished,
        reached=next(open_steps, ""),
        kept=len(overruled),
        left_found=sum(
            isinstance(entry.body, StepAccepted) and entry.body.verdict is Verdict.LEFT_AS_FOUND
            for entry in accepted.values()
        ),
        checked_at=ends if short.is_finished and short.is_check else "",
        job_id=short.job_id,
        is_check=short.is_check,
        headshell_id=short.headshell.headshell if short.headshell else "",
        arm_key=short.arm_key,
    )
