"""What is read for skating, and what the readings so far come to."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, ClassVar, Literal

from pydantic import Field

from core.quantities import Choice, Limits, PlainNumber
from core.readings import Context, Reading
from core.steps._skating_force import Settings
from core.verdict import Control

_Mark = Annotated[PlainNumber, Limits(0, 50, usual=(0, 5))]


class Broke(Choice):
    """Which channel broke up first as the bands got louder."""

    LEFT = "left", "Left first"
    RIGHT = "right", "Right first"
    TOGETHER = "together", "Both in the same band"
    NEITHER = "neither", "Neither, to the loudest band"


class Setting(Reading):
    """Where the compensation stands."""

    WAY_TITLE: ClassVar[str] = "Where it is set"

    way: Literal["setting"] = "setting"
    setting: _Mark = Field(
        title="Set to",
        description="The mark on the dial; on a thread weight the number of the notch, counted "
        "from the pivot. 0 is off.",
    )


class Bands(Reading):
    """Rising test bands, listened to at one setting."""

    WAY_TITLE: ClassVar[str] = "Rising test bands"
    LOWERS_STYLUS: ClassVar[bool] = True

    way: Literal["test bands"] = "test bands"
    setting: _Mark = Field(
        title="Set to", description="Where the compensation stood while the bands played."
    )
    broke_first: Broke = Field(
        title="Broke up first",
        description="The channel that buzzes or breaks up in the lower band.",
    )


@dataclass(frozen=True, slots=True)
class History:
    """What was set and heard: places in order, band answers, and how it ends."""

    places: tuple[int, ...]
    heard: tuple[tuple[int, Broke], ...]
    moved_last: bool
    no_such_mark: float | None


def history_of(context: Context, settings: Settings) -> History:
    places: list[int] = []
    heard: list[tuple[int, Broke]] = []
    no_such_mark: float | None = None
    moved_last = False
    for trial in context.trials:
        reading = trial.reading
        if isinstance(reading, Setting | Bands):
            place = settings.place_of(reading.setting)
            no_such_mark = reading.setting if place is None else None
            moved_last = False
            if place is None:
                continue
            places.append(place)
            if isinstance(reading, Bands):
                heard.append((place, reading.broke_first))
        elif any(part.control is Control.SKATING for part in trial.moves):
            moved_last = True
    return History(tuple(places), tuple(heard), moved_last, no_such_mark)
