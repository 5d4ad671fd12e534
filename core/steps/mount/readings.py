"""The checklists and weighings while a cartridge is mounted."""

from __future__ import annotations

from collections.abc import Generator
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Literal, Self

from pydantic import Field

from core.fitting import Reading
from core.language import Message, Quantity, message
from core.records import (
    Cartridge,
    Choice,
    Deck,
    Grams,
    Hertz,
    Limits,
    Mounting,
    RecordPlayed,
)
from core.steps.shared import Follower, HeardSound, fingerprint_of

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    from core.tones import Moment, Shaken


class Wiring(Choice):
    """How many signals come out of the cartridge."""

    STEREO = "stereo", "Stereo: four pins, one lead each"
    MONO = "mono", "Mono: leads joined as its leaflet shows"


class Strap(Choice):
    """A small link some makers put between a pin and the body."""

    NONE = "none", "No strap on the pins"
    KEPT = "kept", "Strap left as delivered"
    TAKEN_OFF = "taken off", "Strap taken off"

    @property
    def names_its_field(self) -> bool:
        """Each of them says that it is of the strap."""
        return True


class _Checklist(Reading):
    """The base of the checklists: each field states what is true now."""

    TICKS: ClassVar[tuple[str, ...]] = ("guard_on", "amplifier_off", "arm_locked")
    """The tick boxes, in working order."""
    HOLDS: ClassVar[tuple[str, ...]] = ()
    """Those of them that say that the cartridge is held."""

    amplifier_off: bool = Field(
        default=False,
        title="Amplifier off",
        description="Off, or muted, and left so until the stylus has its downforce.",
    )
    guard_on: bool = Field(
        default=False,
        title="Guard on",
        description="The stylus guard covers the stylus. Leave it open if there is none.",
    )
    arm_locked: bool = Field(
        default=False, title="Arm locked", description="Held in its rest so that it can't swing."
    )

    def missing(self, *, has_guard: bool) -> list[str]:
        """Return the fields still to be ticked, in working order."""
        ticks = self.TICKS if has_guard else self.TICKS[1:]
        return [tick for tick in ticks if not getattr(self, tick)]

    @property
    def is_loose(self) -> bool:
        """Whether the cartridge is not held."""
        return not all(getattr(self, tick) for tick in self.HOLDS)


class HalfInchChecklist(_Checklist):
    """Two screws half an inch apart and four leads."""

    WAY_TITLE: ClassVar[str] = "Checklist"
    TICKS: ClassVar[tuple[str, ...]] = (
        *_Checklist.TICKS,
        "screws_snug",
        "white_lead",
        "blue_lead",
        "red_lead",
        "green_lead",
    )
    HOLDS: ClassVar[tuple[str, ...]] = ("screws_snug",)
    way: Literal["checklist"] = "checklist"
    screws_snug: bool = Field(
        default=False,
        title="Screws snug",
        description="Both started by hand and just holding; the last turn comes after alignment.",
    )
    white_lead: bool = Field(
        default=False, title="White on L+", description="Left channel, signal: usually white."
    )
    blue_lead: bool = Field(
        default=False, title="Blue on L−", description="Left channel, return: usually blue."
    )
    red_lead: bool = Field(
        default=False, title="Red on R+", description="Right channel, signal: usually red."
    )
    green_lead: bool = Field(
        default=False, title="Green on R−", description="Right channel, return: usually green."
    )
    wiring: Wiring = Field(
        Wiring.STEREO,
        title="Wiring",
        description="On a mono cartridge a lead counts as on once it is where the leaflet says.",
    )
    strap: Strap = Field(
        Strap.NONE, title="Strap", description="A small metal link between one pin and the body."
    )

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:  # noqa: ARG003  # as Reading
        """Whether the cartridge is held by screws."""
        return cartridge.mounting is not Mounting.PLUG_IN


class PlugInChecklist(_Checklist):
    """A cartridge that is pushed home: no screws, no leads."""

    WAY_TITLE: ClassVar[str] = "Checklist, plug-in"
    TICKS: ClassVar[tuple[str, ...]] = (*_Checklist.TICKS, "pushed_home", "lock_closed")
    HOLDS: ClassVar[tuple[str, ...]] = ("pushed_home", "lock_closed")
    way: Literal["plug-in checklist"] = "plug-in checklist"
    pushed_home: bool = Field(
        default=False,
        title="Pushed home",
        description="All the way in, straight, held by its body and not by the stylus.",
    )
    lock_closed: bool = Field(
        default=False,
        title="Lock closed",
        description="The small screw or collar that holds it is closed, gently.",
    )

    @classmethod
    def suits(cls, deck: Deck, cartridge: Cartridge) -> bool:  # noqa: ARG003  # as Reading
        """Whether the cartridge is pushed home."""
        return cartridge.mounting is Mounting.PLUG_IN


class WeighedMasses(Reading):
    """Cartridge and hardware on a scale."""

    WAY_TITLE: ClassVar[str] = "Weighed"
    NEEDS: ClassVar[str] = "has_scale"
    way: Literal["weighed"] = "weighed"
    weighed_g: Annotated[Grams, Limits(0.5, 100, usual=(3, 40))] = Field(
        title="Weight",
        description="Of the cartridge and every screw, nut and spacer that will go on. Leave the "
        "guard on and take its weight off, if you know it.",
    )
    with_headshell: bool = Field(
        default=False,
        title="Headshell included",
        description="On if the loose headshell lay on the scale too.",
    )

    def measure(self, deck: Deck) -> float:
        """Return the mass of cartridge and hardware, g."""
        shell = deck.arm.headshell_mass_g if self.with_headshell else 0.0
        return max(self.weighed_g - shell, 0.1)


class RecordedSweep(HeardSound):
    """A recording of a sweep from 4 to 20 Hz with its pilot tone."""

    hz: Annotated[Hertz, Limits(1, 50)] = Field(
        title="Resonance", description="Where the pilot tone shook most."
    )
    spread_hz: Annotated[Hertz, Limits(0.001, 25)] = Field(
        0.5, title="Within", description="It lies so near two times in three."
    )
    low_hz: Annotated[Hertz, Limits(1, 50)] = Field(
        4.0, title="Swept from", description="The lowest frequency heard."
    )
    high_hz: Annotated[Hertz, Limits(1, 50)] = Field(
        20.0, title="Swept to", description="The highest frequency heard."
    )
    pilot_hz: Annotated[Hertz, Limits(0, 24_000)] = Field(
        0.0, title="Pilot tone", description="The tone that was shaken."
    )
    is_at_end: bool = Field(
        default=False,
        title="At an end",
        description="It shook most where the sweep begins or ends.",
    )

    @classmethod
    def read(cls, path: Path, played: RecordPlayed | None = None) -> Generator[float, None, Self]:
        """Yield the progress, and return where the pilot tone varied most.

        Raises ``RecordingProblem`` where there is no sound, or no sweep.
        """
        # Imported with the first file: start-up needs none of it.
        from core.recordings import RecordingProblem, SoundFile
        from core.tones import SweepListener

        with SoundFile(path) as sound:
            sha256 = yield from fingerprint_of(path)
            listener, done = SweepListener(sound.rate, sound.channels), 0
            for block in sound.blocks():
                listener.feed(block)
                done += block.shape[0]
                yield min(done / sound.samples, 1.0)
        found = listener.finish()
        if found is None:
            raise RecordingProblem(message("mount.no_sweep"))
        return cls.of(found, path.name, sha256, played)

    @classmethod
    def of(
        cls, found: Shaken, file: str = "", sha256: str = "", played: RecordPlayed | None = None
    ) -> Self:
        """Return the figures of a sweep."""
        return cls(
            file=file[-255:],
            sha256=sha256,
            record=played,
            hz=found.hz,
            spread_hz=found.spread_hz,
            low_hz=found.low_hz,
            high_hz=found.high_hz,
            pilot_hz=found.pilot_hz,
            is_at_end=found.is_at_end,
        )

    @classmethod
    def follower(cls, rate: int, channels: int, played: RecordPlayed | None) -> Follower:
        """Return the follower of a live sweep."""
        return _FollowedSweep(rate, channels, played)

    def told_last(self) -> tuple[Message, ...]:
        """Return where it varied most."""
        return (message("mount.shaken_most", hz=Quantity(self.hz, "Hz", 1)),)

    def told(self) -> tuple[Message, ...]:
        """Return the range of the sweep."""
        low, high = Quantity(self.low_hz, "", 0), Quantity(self.high_hz, "Hz", 0)
        return (message("mount.swept", low=low, high=high),)


class _FollowedSweep:
    """A sweep while it plays.

    It ends with its tone, or once the tone no longer varies.
    """

    def __init__(self, rate: int, channels: int, played: RecordPlayed | None) -> None:
        from core.tones import SweepListener  # imported with the first sound: start-up needs none

        self._listener = SweepListener(rate, channels)
        self._played = played
        self._most: RecordedSweep | None = None
        self._now: Message | None = None
        self._shaken_at_s = 0.0

    @property
    def seconds(self) -> float:
        return self._listener.seconds

    def feed(self, sound: NDArray[np.floating]) -> None:
        self._listener.feed(sound)

    def so_far(self) -> RecordedSweep | None:
        found = self._listener.so_far()
        if found is not None:
            self._most = RecordedSweep.of(found, played=self._played)
        playing = self._listener.playing()
        self._now = None
        if playing is not None:
            self._shaken_at_s = self.seconds
            self._now = message("mount.sweeps_now", at=Quantity(playing.hz, "Hz", 1))
        return self._most

    def still_s(self, quiet_s: float) -> float | None:
        still = self.seconds - self._shaken_at_s
        is_over = quiet_s >= _OVER_AFTER_S or still >= _UNSHAKEN_FOR_S
        return 0.0 if self._most is not None and is_over else None

    def told_now(self, moment: Moment) -> tuple[Message, ...]:
        """Return the present frequency of the sweep, and where it varied most so far."""
        del moment
        most = self._most.told_last() if self._most is not None else ()
        return (self._now, *most) if self._now is not None else most


_OVER_AFTER_S: Final = 1.0
"""Seconds without the pilot tone after which the sweep is over."""

_UNSHAKEN_FOR_S: Final = 2.0
"""The same if the tone continues alone."""


class Sweep(Choice):
    """The direction in which the sweep moves the stylus."""

    LATERAL = "lateral", "Sideways (lateral)"
    VERTICAL = "vertical", "Up and down (vertical)"


class ResonanceByRecord(Reading):
    """The resonance of arm and cartridge, from a record's sweep once the stylus may play."""

    WAY_TITLE: ClassVar[str] = "Resonance from a recorded sweep"
    NEEDS: ClassVar[str] = "has_sound_input"
    LOWERS_STYLUS: ClassVar[bool] = True
    way: Literal["resonance by record"] = "resonance by record"
    sweep: Sweep = Field(
        Sweep.LATERAL, title="The sweep goes", description="As the record's label says."
    )
    recorded: RecordedSweep = Field(
        title="Recording",
        description="The sound file. Type its path, choose it, or drop it here.",
    )


Checklist = HalfInchChecklist | PlugInChecklist
