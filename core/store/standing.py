"""What lists say of where a fitting stands, worked out from a few entries of its log.

No step is asked: a list of thousands can't wait for that. It is what was confirmed, and how. That a
later move has disturbed a step, and that a pass is on trust only, the fitting itself says.
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
"""The kinds of entries that a standing is worked out from."""
TRIES: Final = ("reading", "move")
"""The kinds of entries after which an overruled verdict has to be overruled again."""
UNKNOWN: Final = "?"
"""Stands for ``reached`` of a fitting that was kept by a program which did not work it out."""

UNKNOWN_MONTHS: Final = -1
"""The same of how often a deck is checked; 0 stands for never."""


class Try(NamedTuple):
    """A reading or a move: its id, its place in the log, and its step."""

    id: str
    seq: int
    step: str


class Standing(NamedTuple):
    """Where a fitting stands; the names are those of the columns that keep it.

    ``reached`` holds number and name of the first step that nobody has confirmed, empty if all
    are; ``kept`` counts the steps kept against the verdict, ``left_found`` those left as found;
    ``checked_at`` is when it was last finished, empty while it is under way, and if it is no check
    of the whole deck, which ``is_check`` says. ``job_id`` is the job it belongs to, empty for none;
    ``headshell_id`` the headshell on the arm, empty where none was named; ``arm_key`` the arm of
    the deck, empty for the first.
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


def standing_of(
    head: Fitting, deciding: Sequence[tuple[int, Entry]], tries: Callable[[], Iterable[Try]]
) -> Standing:
    """Return where a fitting stands.

    Parameters
    ----------
    head
        The fitting without entries.
    deciding
        Its entries of the kinds that ``DECIDES`` names, each with its place in the log.
    tries
        Returns its readings and moves; called only where a verdict was overruled.
    """
    from core.steps import STEP_NAMES  # brings all formulas: a library is opened without them

    places = {entry.id: seq for seq, entry in deciding}
    short = head.model_copy(update={"entries": tuple(entry for _, entry in deciding)})
    accepted: dict[str, Entry] = {}
    ends = ""
    for entry in short.entries:  # an end that was withdrawn dates the check all the same
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
    return Standing(
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
