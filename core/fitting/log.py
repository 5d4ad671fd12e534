"""One cartridge being fitted to one deck: an append-only log.

Nothing is ever changed or removed. A correction is a new entry that withdraws an old one; the
state of a step is worked out from the log each time (:mod:`core.workflow.replay`).
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator, Mapping, Sequence
from datetime import UTC, datetime
from functools import cached_property
from operator import itemgetter
from typing import Annotated, Any, Final, Literal, Self, TypeVar
from uuid import uuid4

from pydantic import AwareDatetime, FailFast, Field

from core.fitting.assessment import Control, MovePart, Verdict
from core.language import Sentences, Text, has_template, message, stored
from core.records import (
    FIRST_ARM,
    Choice,
    FrozenModel,
    Headshell,
    Hours,
    Limits,
    MountedArm,
    NotAsked,
    PlainNumber,
)

CHECKED_WAY: Final = "control checked"
"""The way of reading under which answers about a control are kept."""
_ONE_ENTRY: Final = ("reversed_entry", "as_read")
_ENTRIES: Final = frozenset({"exchanged"})
"""Fields of such an answer that name other entries: one each, or several."""

FLOATED_ANEW: Final = "floated anew"
"""The place in the answer that an arm floats again; moves before it no longer count."""

Who = Annotated[str, Field(max_length=120)]
"""A person's name."""
StepName = Annotated[str, Field(max_length=40)]
_Sign = Annotated[str, Field(max_length=40)]
"""A place, a unit, or the key of a figure."""
_Number = Annotated[str, Field(max_length=64)]
"""The id of an entry or another record."""
LogText = Annotated[str, Field(max_length=4000)]
"""A person's own words."""


class ReadingTaken(FrozenModel):
    """A reading as typed, in the fields of one way of reading of one step."""

    kind: Literal["reading"] = "reading"
    step: StepName
    reading: dict[str, Any]

    def naming(self, renamed: Callable[[str], str]) -> ReadingTaken:
        """Return an answer with the ids of the entries it is about renamed; else itself."""
        told = self.reading
        if told.get("way") != CHECKED_WAY:
            return self
        alone = {name: renamed(str(told[name])) for name in _ONE_ENTRY if told.get(name)}
        many = {
            name: [renamed(one) for one in _names(told, name)] for name in _ENTRIES & told.keys()
        }
        return self.model_copy(update={"reading": {**told, **alone, **many}})

    def exchanged(self, fields: Sequence[str]) -> ReadingTaken:
        """Return the reading with the values of two fields exchanged; itself without both."""
        if len(fields) != 2 or not all(name in self.reading for name in fields):
            return self
        one, other = fields
        changed = {one: self.reading[other], other: self.reading[one]}
        return self.model_copy(update={"reading": {**self.reading, **changed}})


class MoveMade(FrozenModel):
    """A move a person says they have made."""

    kind: Literal["move"] = "move"
    step: StepName
    parts: Annotated[tuple[MovePart, ...], FailFast()] = Field(min_length=1)
    note: LogText = ""

    def turned_round(self, control: str, where: str) -> MoveMade:
        """Return the move with this control reversed; only at this place, if one is given."""
        parts = tuple(
            part.turned_round() if part.control == control and where in ("", part.where) else part
            for part in self.parts
        )
        return self.model_copy(update={"parts": parts})


class StepAccepted(FrozenModel):
    """The person is content with a step, or overrides its verdict with a reason."""

    kind: Literal["accepted"] = "accepted"
    step: StepName
    verdict: Verdict
    headline: LogText = ""
    reason: LogText = ""

    @property
    def overrides(self) -> bool:
        """Whether it overrides a verdict that does not pass."""
        return not self.verdict.passes


class ChoiceMade(FrozenModel):
    """A person's choice for a step: an alignment solution, a target, a record thickness."""

    kind: Literal["choice"] = "choice"
    step: StepName
    choices: dict[str, Any]


class Withdrawn(FrozenModel):
    """An earlier entry does not count; it stays in the log."""

    kind: Literal["withdrawn"] = "withdrawn"
    entry: _Number
    reason: LogText = ""


class NoteWritten(FrozenModel):
    """A note on a step or on the whole fitting."""

    kind: Literal["note"] = "note"
    step: StepName = ""
    text: Annotated[LogText, Field(min_length=1)]


class ThingsRevised(FrozenModel):
    """From here on the fitting works with these revisions of deck and cartridge."""

    kind: Literal["revised"] = "revised"
    deck_revision: int = Field(ge=1)
    cartridge_revision: int = Field(ge=1)


class Finished(FrozenModel):
    """The person closed the fitting as done."""

    kind: Literal["finished"] = "finished"
    note: LogText = ""
    skating_at_zero: bool = False
    """Whether nobody had said yet that the skating compensation was set back after weighing."""


class Reopened(FrozenModel):
    """A finished fitting is worked on again."""

    kind: Literal["reopened"] = "reopened"
    reason: LogText = ""


class Start(FrozenModel):
    """The starting position of a control for a new cartridge, and the predicted reading.

    ``key`` is the figure that is predicted; ``half_width`` is half of the 95 % interval of the
    prediction. Both numbers are in ``unit``.
    """

    step: StepName
    key: _Sign
    part: MovePart | None = None
    """The move of the control from its present position; None if it stays."""
    predicted: float | None = None
    half_width: float | None = Field(None, ge=0)
    unit: _Sign = ""
    reason: LogText = ""
    """Keys of messages without values, separated by spaces; older entries hold sentences."""
    learned_shift: float = 0.0
    """The part of the prediction that comes from the errors of earlier predictions, in ``unit``."""
    spared: MovePart | None = None
    """A move that was not ordered: smaller than its uncertainty or than a hand can make."""
    gain: float | None = None
    """Change of the figure per unit of ``part`` or ``spared``; None if unknown."""
    gain_u: float = Field(0.0, ge=0)
    """The standard uncertainty of ``gain``, including the execution error of the move."""

    @property
    def why(self) -> Text:
        """The reason, to be shown; the stored sentence of an older entry."""
        keys = self.reason.split()
        if keys and all(map(has_template, keys)):
            return message("common.in_order", all=Sentences(tuple(map(stored, keys))))
        return self.reason


class Gain(FrozenModel):
    """The gain of a control on this deck, learned from its own fittings.

    ``half_width`` is half of its 95 % interval; ``samples`` are the moves it was learned from.
    """

    step: StepName
    control: Control
    where: _Sign = ""
    value: float
    half_width: float = Field(ge=0)
    unit: _Sign
    samples: int = Field(ge=1)
    stated: float | None = None
    """The gain stated in the deck's record, in the same unit; None if there is none."""


class Planned(FrozenModel):
    """The plan the fitting was started with: predictions, and learned gains."""

    kind: Literal["planned"] = "planned"
    from_fitting: Annotated[str, Field(min_length=1, max_length=64)]
    settings_of: Annotated[str, Field(max_length=64)] = ""
    """The fitting whose settings are restored; empty for a cartridge new to the deck."""
    starts: tuple[Start, ...] = ()
    gains: tuple[Gain, ...] = ()
    choices: tuple[ChoiceMade, ...] = ()
    """The earlier choices for the steps, valid until something else is chosen."""


class HoursRead(FrozenModel):
    """How long the stylus has played in all; may be added to a finished fitting too."""

    kind: Literal["hours"] = "hours"
    hours: Annotated[Hours, Limits(0, 20000)] = Field(
        title="Stylus hours",
        description="Hours this stylus has played in all up to today, counted or estimated; "
        "0 for a new stylus.",
    )
    note: Annotated[str, Field(max_length=200)] = Field(
        "", title="Note", description="How they were counted, or what was exchanged. May be empty."
    )


class JobGiven(FrozenModel):
    """From here on the fitting belongs to this job; to none if it is empty."""

    kind: Literal["job"] = "job"
    job: Annotated[str, Field(max_length=64)] = ""
    number: Annotated[str, Field(max_length=40)] = ""
    """The job's number at that time, for the log; another bench may not have the job."""


class HeadshellUsed(FrozenModel):
    """From here on the work is done with this headshell on the arm."""

    kind: Literal["headshell"] = "headshell"
    headshell: Annotated[str, Field(min_length=1, max_length=64)]
    name: Annotated[str, Field(max_length=120)] = ""
    mass_g: float = Field(ge=0, le=100)
    thickness_mm: float = Field(gt=0, le=100)
    """All three as at that time: another bench may not have the headshell."""

    @classmethod
    def of(cls, headshell_id: str, shell: Headshell) -> Self:
        """Return the entry for a headshell on file."""
        return cls(
            headshell=headshell_id,
            name=shell.name,
            mass_g=shell.mass_g,
            thickness_mm=shell.thickness_mm,
        )


class ArmUsed(FrozenModel):
    """From here on the work is done on this arm of the deck.

    Earlier work on another arm no longer counts, except in the steps that ``keeps`` names: those
    belong to the deck. It counts again once the work returns to that arm.
    """

    kind: Literal["arm"] = "arm"
    was: MountedArm
    """The arm at that time: the record here, or on another bench, may no longer have it."""
    keeps: Annotated[tuple[StepName, ...], Field(max_length=40)] = ()

    @classmethod
    def of(cls, arm: MountedArm, keeps: tuple[str, ...] = ()) -> Self:
        """Return the entry for an arm of a deck."""
        was = MountedArm.model_construct(
            **{name: getattr(arm, name) for name in MountedArm.model_fields}
        )
        return cls(was=was, keeps=keeps)


class Work(Choice):
    """The kinds of work a fitting may be asked for."""

    WHOLE = "whole", "Whole fitting, all nine steps"
    CHECK_UP = "check-up", "Check-up: read everything, move nothing"
    DOWNFORCE = "downforce", "Just downforce"
    SPEED = "speed", "Just speed"
    AFTER_TRANSPORT = "after transport", "After transport"
    HEADSHELL = "headshell", "Change of headshell"


class WorkAsked(FrozenModel):
    """From here on the fitting consists of these steps only.

    Without ``moves`` everything is read and nothing moved.
    ``is_check`` says whether, finished, it counts as a check of the whole deck.
    """

    kind: Literal["work"] = "work"
    work: Work
    steps: Annotated[tuple[StepName, ...], Field(min_length=1, max_length=40)]
    moves: bool = True
    is_check: bool = False


class ChannelsHeard(Choice):
    """On which side each channel was heard."""

    RIGHT = "right", "Each on its own side"
    EXCHANGED = "exchanged", "Left and right exchanged"


class PhaseHeard(Choice):
    """Whether both channels work together."""

    TOGETHER = "together", "Together: a voice stands in the middle"
    OPPOSED = "opposed", "Opposed: a voice stands nowhere, bass is thin"


class BalanceHeard(Choice):
    """Which channel is louder."""

    EVEN = "even", "Both alike"
    LEFT = "left", "Left louder"
    RIGHT = "right", "Right louder"


class HumHeard(Choice):
    """Whether it hums with the stylus up."""

    NONE = "none", "None"
    HUMS = "hums", "It hums"


class ListeningCheck(FrozenModel):
    """What was heard at the end of the work; None for what was not checked."""

    kind: Literal["listened"] = "listened"
    channels: ChannelsHeard | None = Field(
        None,
        title="Channels",
        description="Play a band or music that is on one side alone.",
    )
    phase: PhaseHeard | None = Field(
        None, title="Phase", description="Play one voice on both channels, sitting between them."
    )
    balance: BalanceHeard | None = Field(
        None, title="Balance", description="The same voice, the balance control in the middle."
    )
    hum: HumHeard | None = Field(
        None,
        title="Hum",
        description="Stylus up, guard on, at your usual volume: go no louder than that.",
    )

    @property
    def step(self) -> str:
        """Empty: it belongs to the whole fitting, not to a step."""
        return ""

    @property
    def is_empty(self) -> bool:
        """Whether nothing was checked."""
        return (self.channels, self.phase, self.balance, self.hum) == (None,) * 4


class SkatingAtZero(FrozenModel):
    """What the skating compensation was set to before it was set to 0 for weighing.

    With ``is_back`` it is set again, ``back_to`` that setting where it is known; it is at 0 again
    from the next weighing on.
    """

    kind: Literal["skating at zero"] = "skating at zero"
    was: Annotated[PlainNumber, Limits(0, 50, usual=(0, 5))] | None = Field(
        None,
        title="Skating was set to",
        description="What the compensation was set to before it was set to 0 for weighing: the "
        "mark on the dial, or the number of the notch. May be empty.",
    )
    is_back: Annotated[bool, NotAsked()] = False
    back_to: Annotated[Annotated[PlainNumber, Limits(0, 50)] | None, NotAsked()] = None


Body = Annotated[
    ReadingTaken
    | MoveMade
    | StepAccepted
    | ChoiceMade
    | Withdrawn
    | NoteWritten
    | ThingsRevised
    | Finished
    | Reopened
    | Planned
    | HoursRead
    | JobGiven
    | WorkAsked
    | ListeningCheck
    | HeadshellUsed
    | ArmUsed
    | SkatingAtZero,
    Field(discriminator="kind"),
]


def new_id() -> str:
    """Return a globally unique id for a record: 32 hex digits."""
    return uuid4().hex


class Entry(FrozenModel):
    """One entry of the log."""

    id: str = Field(default_factory=new_id, min_length=1, max_length=64)
    at: AwareDatetime = Field(default_factory=lambda: datetime.now(UTC))
    who: Who = ""
    body: Body


_Kind = TypeVar("_Kind", bound=FrozenModel)


class _Told:
    """The state that a log's entries add up to, computed once."""

    def __init__(self, entries: Sequence[Entry]) -> None:
        gone: set[str] = set()
        for entry in reversed(entries):
            if isinstance(entry.body, Withdrawn) and entry.id not in gone:
                gone.add(entry.body.entry)
        self.gone = frozenset(gone)
        self.aside = _of_other_arms(entries, self.gone)
        counted = [
            entry
            for entry in entries
            if entry.id not in gone
            and entry.id not in self.aside
            and not isinstance(entry.body, Withdrawn)
        ]
        reversals = _reversals(counted)
        self.put_right = frozenset(reversals)
        self.counted = tuple(_corrected(counted, reversals))
        self.planned = next((e.body for e in self.counted if isinstance(e.body, Planned)), None)
        self._last: dict[type[FrozenModel], tuple[int, FrozenModel]] = {
            type(entry.body): (place, entry.body) for place, entry in enumerate(self.counted)
        }

    def last(self, *kinds: type[_Kind]) -> _Kind | None:
        """Return the last entry of one of these kinds, or None."""
        found = [self._last[kind] for kind in kinds if kind in self._last]
        body = max(found, key=itemgetter(0))[1] if found else None
        return body if isinstance(body, kinds) else None


def _of_other_arms(entries: Sequence[Entry], gone: Collection[str]) -> frozenset[str]:
    """Return the ids of the entries that belong to another arm than the last one named."""
    named = [entry for entry in entries if isinstance(entry.body, ArmUsed)]
    if not named:  # nearly always
        return frozenset()
    last = next((e.body for e in reversed(named) if e.id not in gone), None)
    keeps = {step for e in named if isinstance(e.body, ArmUsed) for step in e.body.keeps}
    key = last.was.key if isinstance(last, ArmUsed) else FIRST_ARM
    return frozenset(
        entry.id for entry, on in _with_arms(entries) if on != key and _is_of_arm(entry.body, keeps)
    )


def _reversals(counted: Sequence[Entry]) -> dict[str, list[tuple[str, str]]]:
    """Return the moves said to be made the other way: entry id to controls and places."""
    turned: dict[str, list[tuple[str, str]]] = {}
    for told in _answers(counted):
        which = str(told.get("control", "")), str(told.get("where", ""))
        turned.setdefault(str(told.get("reversed_entry", "")), []).append(which)
    return turned


def _exchanges(counted: Sequence[Entry]) -> dict[str, list[tuple[str, ...]]]:
    """Return the readings in which two figures changed places: entry id to fields."""
    exchanged: dict[str, list[tuple[str, ...]]] = {}
    for told in _answers(counted):
        for name in _names(told, "exchanged"):
            exchanged.setdefault(name, []).append(_names(told, "fields"))
    return exchanged


def _answers(counted: Sequence[Entry]) -> Iterator[dict[str, Any]]:
    """Yield the answers to questions, as they are kept."""
    for entry in counted:
        body = entry.body
        if isinstance(body, ReadingTaken) and body.reading.get("way") == CHECKED_WAY:
            yield body.reading


def _corrected(
    counted: Sequence[Entry], turned: Mapping[str, Sequence[tuple[str, str]]]
) -> Iterator[Entry]:
    """Yield the entries as the answers about them say.

    Moves that were made the other way are reversed; figures of readings that were typed into each
    other's field are exchanged.
    """
    exchanged = _exchanges(counted)
    for entry in counted:
        body = entry.body
        if entry.id in turned and isinstance(body, MoveMade):
            for which in turned[entry.id]:
                body = body.turned_round(*which)
            yield entry.model_copy(update={"body": body})
        elif entry.id in exchanged and isinstance(body, ReadingTaken):
            for fields in exchanged[entry.id]:
                body = body.exchanged(fields)
            yield entry.model_copy(update={"body": body})
        else:
            yield entry


def _names(told: Mapping[str, Any], key: str) -> tuple[str, ...]:
    """Return a list of names in an answer; nothing if a foreign document has no list there."""
    names = told.get(key)
    return tuple(str(name) for name in names) if isinstance(names, list | tuple) else ()


class Fitting(FrozenModel):
    """The log of one cartridge on one deck; entries are in the order they were kept."""

    id: str
    deck_id: str
    deck_revision: int
    cartridge_id: str
    cartridge_revision: int
    started_at: AwareDatetime
    who: Who = ""
    entries: Annotated[tuple[Entry, ...], FailFast()] = ()

    def __copy__(self) -> Self:
        """Return a copy that recomputes what its entries add up to, as they may change in it."""
        copied = super().__copy__()
        copied.__dict__.pop("_told", None)
        return copied

    def counting(self) -> Iterator[Entry]:
        """Yield the entries that count: not withdrawn, and no withdrawals themselves.

        A withdrawal can be withdrawn in turn, which brings the first entry back. A move that was
        said to be made the other way is yielded reversed, a reading whose figures changed places
        exchanged. Entries of another arm than the last one named are left out.
        """
        return iter(self._told.counted)

    def withdrawn_ids(self) -> frozenset[str]:
        """Return the ids of all entries that were withdrawn and not brought back."""
        return self._told.gone

    def put_right_ids(self) -> frozenset[str]:
        """Return the ids of the moves that were said to be made the other way than entered."""
        return self._told.put_right

    def set_aside_ids(self) -> frozenset[str]:
        """Return the ids of the entries that belong to another arm than the last one named.

        An entry belongs to the arm that was named last when it was kept, even if that naming is
        withdrawn later; in the deck's own steps it belongs to every arm.
        """
        return self._told.aside

    @property
    def is_finished(self) -> bool:
        """Whether the last Finished or Reopened entry is Finished."""
        return isinstance(self._told.last(Finished, Reopened), Finished)

    @property
    def was_finished_at_zero(self) -> bool:
        """Whether, when it was finished, the skating compensation was not said to be set back."""
        done = self._told.last(Finished)
        return done is not None and done.skating_at_zero

    @property
    def revisions(self) -> tuple[int, int]:
        """The deck's and the cartridge's revision the fitting works with now."""
        revised = self._told.last(ThingsRevised)
        if revised is None:
            return self.deck_revision, self.cartridge_revision
        return revised.deck_revision, revised.cartridge_revision

    @property
    def job_id(self) -> str:
        """The job the fitting belongs to now; empty for none."""
        return self.job.job

    @property
    def job(self) -> JobGiven:
        """The last entry about its job, with the job's number."""
        return self._told.last(JobGiven) or JobGiven()

    @property
    def planned(self) -> Planned | None:
        """The plan the fitting was started with; None if it had none."""
        return self._told.planned

    @property
    def work(self) -> WorkAsked | None:
        """The work last asked for; None for all nine steps."""
        return self._told.last(WorkAsked)

    @property
    def listened(self) -> ListeningCheck | None:
        """What was last heard at the end; None if nobody listened."""
        return self._told.last(ListeningCheck)

    @property
    def headshell(self) -> HeadshellUsed | None:
        """The headshell on the arm, as last entered; None if none was named."""
        return self._told.last(HeadshellUsed)

    @cached_property
    def _told(self) -> _Told:
        """The state all entries add up to; cached, as a log may be long."""
        return _Told(self.entries)

    @property
    def arm(self) -> MountedArm | None:
        """The arm the work is done on, as last entered; None if none was named."""
        used = self._told.last(ArmUsed)
        return None if used is None else used.was

    @property
    def arm_key(self) -> str:
        """The key of that arm; the first arm's if none was named."""
        arm = self.arm
        return FIRST_ARM if arm is None else arm.key

    @property
    def is_check(self) -> bool:
        """Whether it counts as a check of the whole deck, once finished."""
        return self.work is None or self.work.is_check

    def with_entry(self, entry: Entry) -> Fitting:
        """Return the fitting with one more entry."""
        return self.model_copy(update={"entries": (*self.entries, entry)})


def _with_arms(entries: Iterable[Entry]) -> Iterator[tuple[Entry, str]]:
    """Yield the entries with the key of the arm that was named last when each was kept."""
    named: dict[str, str] = {}
    gone: set[str] = set()
    about: dict[
        str, tuple[str, bool]
    ] = {}  # the naming that a withdrawal is about, and whether it takes effect
    on = FIRST_ARM
    for entry in entries:
        body = entry.body
        if isinstance(body, ArmUsed):
            named[entry.id] = on = body.was.key
            about[entry.id] = entry.id, False
        elif isinstance(body, Withdrawn) and body.entry in about:
            naming, took = about[body.entry]
            about[entry.id] = naming, not took
            (gone.discard if took else gone.add)(naming)
            on = next((named[one] for one in reversed(named) if one not in gone), FIRST_ARM)
        yield entry, on


def _is_of_arm(body: Body, of_deck: Collection[str]) -> bool:
    """Whether an entry concerns an arm: work in steps other than the deck's, or in all of them."""
    if isinstance(body, ReadingTaken | MoveMade | StepAccepted | ChoiceMade):
        return body.step not in of_deck
    return isinstance(body, Planned | ListeningCheck | SkatingAtZero)
