"""Detect whether a control responds, from the readings before and after its moves.

A move without effect often has another cause: a ring turned by itself, a locked weight, a scale
that holds its last value. So the trials are checked for that before a gain is learned.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Final

from core.estimation.estimate import CERTAIN_FACTOR, COVERAGE_FACTOR, Estimate
from core.estimation.gain_filter import (
    ControlModel,
    ControlMove,
    ControlTrial,
    equivalent_sd,
)

DOUBTED_SHARE: Final = 0.5
"""A change below this share of the stated one puts the control in doubt."""
_NEXT_TO_NOTHING: Final = 0.15
"""A change below this share counts as none, however precisely it was read."""
_FAR: Final = 0.5
"""A change larger than the stated one by this share of it is not explained by the move."""
_AGAINST: Final = 0.25
"""At least this share in the other direction means a control that runs backward."""
_FEW_MOVES: Final = 3
_MANY_MOVES: Final = 6
"""Number of moves, each too small to show by itself, that together must show."""


_MOST_SEARCHED: Final = 200
"""Among so many of the newest trials the answer to a reversed move is looked for."""
_BREAK: Final = ControlMove(0.0, 1e6)
"""Something unknown was moved: only the gain carries over."""


class Response(Enum):
    """What two readings say of the moves between them."""

    ANSWERED = "answered"
    UNCLEAR = "unclear"
    WEAK = "weak"
    NOTHING = "nothing"
    REVERSED = "reversed"
    BEYOND = "beyond"
    BEYOND_AGAINST = "beyond, against the move"


class ResponseRecord:
    """The responses to moves in order, with the answered questions between them.

    ``asks``: the last move showed nothing, less than half, or went the other way, so the questions
    come before any further move. ``gave_up``: they were answered, and the next move showed nothing
    either. ``backward``: two clean moves went against the stated direction, or one did and the
    person confirms the entered direction (``word``). ``contradicts``: it was backward, and the last
    move went as stated after all: one of the two was made the other way than entered. ``beyond``:
    the last reading is farther off than the move explains, so it must not enter any average yet.
    """

    def __init__(self) -> None:
        self.asks = self.checked = self.gave_up = False
        self.word = self.feeble = self.strong = self.contradicts = False
        self.last: Response | None = None
        self._reversed = 0
        self._partly = False

    @property
    def backward(self) -> bool:
        """Whether the control acts against its stated direction."""
        return self._reversed >= 2

    @property
    def against(self) -> bool:
        """Whether the question is about a move that went the other way."""
        return self.last in (Response.REVERSED, Response.BEYOND_AGAINST) or self.contradicts

    @property
    def beyond(self) -> bool:
        """Whether the question is about a reading that the move does not explain."""
        return self.asks and self.last in _BEYOND

    @property
    def did(self) -> str:
        """What the last move did, if it did not answer: ``nothing``, or ``part`` of it."""
        return "part" if self.asks and self._partly else "nothing"

    def take(self, found: Response, *, partly: bool = False) -> bool:
        """Add the response to a move; return whether the control responded.

        ``partly``: the readings do tell that it moved, however little.
        """
        if found is Response.WEAK and partly and self.backward:
            found = Response.ANSWERED  # as stated, if only by a part: it does not run backward
        self._partly = partly or found is Response.WEAK
        if found in _BEYOND and self.strong:
            found = Response.ANSWERED if found is Response.BEYOND else Response.REVERSED
        self.last = found
        if found in _BEYOND:
            self.asks = True
            return False
        if found in (Response.NOTHING, Response.UNCLEAR):
            self.gave_up = self.checked
            self.asks = not self.checked
            return False
        if found is Response.WEAK and not (self.checked or self.feeble):
            self.asks = True
            return False
        self.gave_up = self.checked = self.contradicts = False
        if found is Response.REVERSED:
            self._reversed += 1
            self.asks = self._reversed == 1
        elif found is Response.ANSWERED and self.backward:
            self.contradicts = self.asks = True
        else:
            self._reversed, self.word, self.asks = 0, False, False
        return True

    def look(self) -> None:
        """Record that the questions were answered."""
        beyond = self.beyond
        self.asks = self.gave_up = False
        if beyond:
            self.strong = True
            self.checked = self.contradicts = False
            against = self.last is Response.BEYOND_AGAINST
            self._reversed, self.word = (2, True) if against else (0, False)
            self.last = Response.REVERSED if against else Response.ANSWERED
            return
        if self.contradicts:
            self._reversed, self.word, self.contradicts = 0, False, False
            return
        if self.against and self._reversed:
            self._reversed, self.word = max(self._reversed, 2), True
            return
        self.checked = True
        self.feeble = self.feeble or self.last is Response.WEAK

    def forget(self) -> None:
        """Record an unknown move: only the question about a move's direction stays open."""
        if self.beyond and self.against:
            self.last, self._reversed = Response.REVERSED, 1
        self.asks = self.contradicts or (self.against and self._reversed == 1)
        self.checked = self.gave_up = False


@dataclass(frozen=True, slots=True)
class ControlResponse:
    """Whether the control responds, and which questions are open.

    ``since`` is the last reading that responded; ``pending`` is what was moved since, in control
    units, and may still add to ``since``. ``asks`` says that the questions for this control come
    before anything else; ``gave_up`` that they were answered and the next move showed nothing
    either. ``backward`` is True after two clean moves against the stated direction, or one and the
    person's word.
    """

    since: Estimate | None = None
    pending: float = 0.0
    asks: bool = False
    gave_up: bool = False
    against: bool = False
    """The question is about a move that went the other way."""
    beyond: bool = False
    """The question is about a reading farther off than the move explains."""
    did: str = "nothing"
    """What the move did that is asked about: nothing, or only ``part`` of what it should."""
    backward: bool = False
    checked: bool = False
    """The questions were answered after a move that showed nothing."""
    word: bool = False
    """The person said that the direction is as entered."""
    trials: tuple[ControlTrial, ...] = ()
    """The trials to learn from, without moves that had no effect until a fault was corrected, and
    without readings that the last move does not explain until that was answered."""


_BEYOND: Final = frozenset({Response.BEYOND, Response.BEYOND_AGAINST})


def response_to(
    control: ControlModel,
    moved: float,
    made_sd: float,
    before: Sequence[Estimate],
    after: Sequence[Estimate],
) -> Response:
    """Return the response between two readings for a move with this uncertainty."""
    first, last = _mean(before), _mean(after)
    change = last[0] - first[0]
    stated = control.stated_gain
    acts = (
        stated if stated is not None else math.copysign(control.least_gain, control.steepest_gain)
    )
    read_sd = math.hypot(first[1], last[1])
    made = math.hypot(acts * made_sd, 0.5 * acts * control.slack)
    sd, size = math.hypot(read_sd, made), abs(change)
    said = moved * acts
    certain = size > CERTAIN_FACTOR * sd and size > 0.0
    signed = stated is not None or control.steepest_gain != 0.0
    if signed and certain and size > _most_explained(control, moved, sd):
        return Response.BEYOND if change * said >= 0.0 else Response.BEYOND_AGAINST
    if signed and certain and change * said < 0.0 and size >= _AGAINST * abs(said):
        return Response.REVERSED
    half = COVERAGE_FACTOR * read_sd
    if size < _NEXT_TO_NOTHING * abs(said) and CERTAIN_FACTOR * sd < abs(said):
        return Response.NOTHING  # small as it was, it would have shown
    # Less than half by the readings, and too little to be an inexact move.
    if max(size + half, COVERAGE_FACTOR * made) < DOUBTED_SHARE * abs(said):
        if not certain or size + half < _NEXT_TO_NOTHING * abs(said):
            return Response.NOTHING
        return Response.WEAK
    return Response.ANSWERED if certain else Response.UNCLEAR


def acted_partly(
    control: ControlModel, moved: float, before: Sequence[Estimate], after: Sequence[Estimate]
) -> bool:
    """Whether the readings certainly differ in the direction of the move, by however little."""
    first, last = _mean(before), _mean(after)
    acts = control.steepest_gain if control.stated_gain is None else control.stated_gain
    change = (last[0] - first[0]) * math.copysign(1.0, moved * acts)
    return change > COVERAGE_FACTOR * math.hypot(first[1], last[1])


def _most_explained(control: ControlModel, moved: float, sd: float) -> float:
    """Return the largest change that a move explains, with its errors, either way round."""
    gain = control.steepest_gain if control.stated_gain is None else control.stated_gain
    most = abs(gain * moved)
    share = control.gain_relative_uncertainty
    return most + max(CERTAIN_FACTOR * math.hypot(sd, share * most), _FAR * most)


def control_response(
    trials: Sequence[ControlTrial], control: ControlModel, drift: float = 0.0
) -> ControlResponse:
    """Return whether the control responds, from all trials in order."""
    found = _Reader(control, drift)
    for trial in trials:
        found.take(trial)
    return found.result()


def newest_trials(
    trials: Sequence[ControlTrial], control: ControlModel, most: int
) -> tuple[ControlTrial, ...]:
    """Return the newest trials, and before them the reversed move that was answered for.

    Many moves too small to show may follow it. Without the person's word the control would seem to
    go as stated again, and the next order would lead away from the target.
    """
    trials = tuple(trials[-_MOST_SEARCHED:])
    first = max(len(trials) - most, 0)
    newest = trials[first:]
    if not first or not control_response(trials, control).backward:
        return newest
    if control_response(newest, control).backward:
        return newest
    for place in range(len(trials) - 1, -1, -1):
        answered = trials[place]
        if isinstance(answered, Estimate) or not answered.checked:
            continue
        start = _reading_before(trials, place)
        if not control_response(trials[start : place + 1], control).backward:
            continue
        if place + 1 >= first:
            return trials[start:]
        return (*trials[start : place + 1], _BREAK, *newest)
    return newest


def _reading_before(trials: Sequence[ControlTrial], place: int) -> int:
    """Return the place of the reading before the last moves before a place."""
    moved = False
    for start in range(place - 1, -1, -1):
        if not isinstance(trials[start], Estimate):
            moved = True
        elif moved:
            return start
    return 0


def _mean(readings: Sequence[Estimate]) -> tuple[float, float]:
    """Return the weighted mean and its standard deviation."""
    spreads = [equivalent_sd(reading) for reading in readings]
    if min(spreads) <= 0.0:
        exact = [r.value for r, s in zip(readings, spreads, strict=True) if s <= 0.0]
        return math.fsum(exact) / len(exact), 0.0
    weights = [1.0 / s**2 for s in spreads]
    total = math.fsum(weights)
    pairs = zip(weights, readings, strict=True)
    return math.fsum(w * r.value for w, r in pairs) / total, 1.0 / math.sqrt(total)


class _Reader:
    """The trials taken one after the other."""

    def __init__(self, control: ControlModel, drift: float) -> None:
        self.control, self.drift = control, drift
        self.kept: list[ControlTrial] = []
        self.before: list[Estimate] = []
        self.after: list[Estimate] = []
        self.moved = self.made = 0.0
        self.quiet_from: int | None = None
        """The index in ``kept`` at which the moves without effect begin."""
        self.since: Estimate | None = None
        self.pending, self.moves = 0.0, 0
        self.record = ResponseRecord()

    def take(self, trial: ControlTrial) -> None:
        if isinstance(trial, Estimate):
            (self.after if self.moved else self.before).append(trial)
            if self.since is None:
                self.since = trial
        elif trial.checked:
            self._close()
            self._was_checked()
            return
        elif trial.standard_uncertainty is not None:
            self._close()
            self.before, self.after, self.quiet_from = [], [], None
            self.moved = self.made = 0.0
            self.since, self.pending, self.moves = None, 0.0, 0
            self.record.forget()
        elif trial.amount != 0.0:
            self._close()
            if self.before:
                self.moved += trial.amount
                self.made = math.hypot(self.made, self.control.execution(trial))
                self.pending += trial.amount
                self.moves += 1
        self.kept.append(trial)

    def result(self) -> ControlResponse:
        waiting = bool(self.moved) and not self.after
        self._close()
        record = self.record
        return ControlResponse(
            since=self.since,
            pending=self.pending,
            asks=record.asks and not waiting,
            gave_up=record.gave_up and not waiting,
            against=record.against,
            beyond=record.beyond and not waiting,
            did=record.did,
            backward=record.backward,
            checked=record.checked,
            word=record.word,
            trials=tuple(self.kept[: self._explained] if record.beyond else self.kept),
        )

    @property
    def _explained(self) -> int:
        """The number of trials up to the last move: the readings after it are in question."""
        moves = [
            place
            for place, one in enumerate(self.kept)
            if isinstance(one, ControlMove) and one.amount != 0.0
        ]
        return moves[-1] + 1 if moves else len(self.kept)

    def _close(self) -> None:
        """Judge the last move, if readings stand on both sides of it."""
        if not (self.before and self.after and self.moved):
            return
        before = _widened(self.before, self.drift)
        found = response_to(self.control, self.moved, self.made, before, self.after)
        if found is Response.UNCLEAR and not self._should_have_shown():
            # The next readings are compared with the same earlier ones.
            self.after = []
            return
        partly = acted_partly(self.control, self.moved, before, self.after)
        self.moved = self.made = 0.0
        self.before, self.after = self.after, []
        if self.record.take(found, partly=partly):
            self.since = Estimate(*_mean(self.before))
            self.pending, self.moves, self.quiet_from = 0.0, 0, None
        elif found in (Response.NOTHING, Response.UNCLEAR):
            self._quiet()

    def _should_have_shown(self) -> bool:
        """Whether after this many moves even a weak control must have shown an effect."""
        if self.moves < _FEW_MOVES:
            return False
        if self.moves >= _MANY_MOVES:
            return True
        stated = self.control.stated_gain
        if stated is None:
            return True
        first, last = _mean(_widened(self.before, self.drift)), _mean(self.after)
        half = COVERAGE_FACTOR * math.hypot(first[1], last[1])
        return abs(last[0] - first[0] - stated * self.moved) > half

    def _quiet(self) -> None:
        if self.quiet_from is None:
            moves = [
                i
                for i, one in enumerate(self.kept)
                if isinstance(one, ControlMove) and one.amount != 0.0
            ]
            self.quiet_from = moves[-self.moves] if len(moves) >= self.moves > 0 else None

    def _was_checked(self) -> None:
        beyond = self.record.beyond
        self.record.look()
        if beyond:
            self.since = Estimate(*_mean(self.before))
            self.pending, self.moves, self.quiet_from = 0.0, 0, None
        if not self.record.checked:
            return
        self.moves = 0
        if self.record.last is Response.WEAK:
            self.pending = 0.0
        if self.quiet_from is not None:
            # They had no effect: they don't show what the control does once it is free.
            self.kept = [
                one
                for i, one in enumerate(self.kept)
                if i < self.quiet_from or isinstance(one, Estimate) or one.amount == 0.0
            ]
            self.quiet_from = None


def _widened(readings: Sequence[Estimate], drift: float) -> Sequence[Estimate]:
    return [one.widened(drift) for one in readings] if drift else readings
