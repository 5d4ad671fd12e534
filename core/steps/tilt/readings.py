"""Ways of reading tilt: gaps under the body, a mirror, or test bands with one channel."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, ClassVar, Final, Literal

from pydantic import Field

from core.estimation import Estimate
from core.fitting import Reading
from core.language import Message, message
from core.physics.crosstalk import LeakReading
from core.physics.tilt import gap_tilt_deg
from core.records import (
    BenchKit,
    Cartridge,
    Choice,
    CutOn,
    Decibels,
    Degrees,
    Directions,
    Limits,
    Millimetres,
    ReadAnew,
    When,
)
from core.steps.shared import BandKind, HeardBand, HeardFault, HeardTones, spoilt
from core.steps.tilt.control import setting_of_shim

NAME: Final = "tilt"

_MOST_DEG: Final = 40.0
"""Largest plausible setting."""


class Lean(Choice):
    """Which side of the cartridge is high, seen from the front."""

    UPRIGHT = "upright", "Upright"
    LEFT_HIGH = "left high", "Left side high"
    RIGHT_HIGH = "right high", "Right side high"


class LookedAt(Reading):
    """A reading of the tilt itself, by looking at the body."""

    def measure(self, bench: BenchKit, cartridge: Cartridge) -> Estimate:
        """Return the tilt in degrees, left side high is plus."""
        raise NotImplementedError


class Gaps(LookedAt):
    """The gap under either side of the body."""

    WAY_TITLE: ClassVar[str] = "Gaps under the body"
    NEEDS: ClassVar[str] = "has_gap_gauge"
    LOWERS_STYLUS: ClassVar[bool] = True
    way: Literal["gaps"] = "gaps"
    left_mm: Annotated[Millimetres, Limits(0, 30, usual=(0, 8))] = Field(
        title="Gap left", description="Under the body's left edge, seen from the front."
    )
    right_mm: Annotated[Millimetres, Limits(0, 30, usual=(0, 8))] = Field(
        title="Gap right", description="Under the body's right edge, seen from the front."
    )
    width_mm: Annotated[Millimetres, Limits(3, 60, usual=(8, 30))] | None = Field(
        None,
        title="Distance apart",
        description="Between the two places. Empty takes the width of the cartridge.",
    )

    def measure(self, bench: BenchKit, cartridge: Cartridge) -> Estimate:
        """Return the tilt in degrees, left side high is plus."""
        return gap_tilt_deg(
            self.left_mm,
            self.right_mm,
            self.width_mm if self.width_mm is not None else cartridge.body_width_mm,
            gap_standard_uncertainty_mm=bench.gap_read_mm,
        )


class Mirror(LookedAt):
    """A judgement by eye against the mirror image."""

    WAY_TITLE: ClassVar[str] = "Mirror"
    LOWERS_STYLUS: ClassVar[bool] = True
    way: Literal["mirror"] = "mirror"
    lean: Annotated[Lean, ReadAnew()] = Field(
        title="Leans", description="Seen from the front against its own image."
    )
    angle_deg: Annotated[
        Degrees, Limits(0, 20, usual=(0, 6)), When("lean", ("left high", "right high"))
    ] = Field(
        1.0,
        title="By about",
        description="Half of the kink between the cartridge and its image, as you judge it.",
    )

    def measure(self, bench: BenchKit, cartridge: Cartridge) -> Estimate:  # noqa: ARG002  # as Gaps
        """Return the tilt in degrees, left side high is plus."""
        sign = {Lean.UPRIGHT: 0.0, Lean.LEFT_HIGH: 1.0, Lean.RIGHT_HIGH: -1.0}[self.lean]
        return Estimate(sign * self.angle_deg, bench.mirror_read_deg)


_LEVEL = Limits(-100, 40, usual=(-60, 10))
_TURNED = Directions("left side higher", "right side higher")
_UNDER = Directions("under the left screw", "under the right screw")
_SettingDeg = Annotated[Degrees, Limits(-20, 20, usual=(-6, 6)), _TURNED] | None
_ShimMm = Annotated[Millimetres, Limits(-2, 2), _UNDER] | None


class LeakRead(Reading):
    """A reading of what leaks from either channel into the other at one setting of the head."""

    if TYPE_CHECKING:
        setting_deg: float | None  # each way has them last in its form
        shim_mm: float | None

    def setting(self, before_deg: float) -> float:
        """Return the typed setting of the head, else the one before."""
        if self.setting_deg is not None:
            return self.setting_deg
        return before_deg if self.shim_mm is None else setting_of_shim(self.shim_mm)

    @property
    def shows_phase(self) -> bool:
        """Whether it shows that both channels have the same polarity."""
        return False

    @property
    def balance_db(self) -> tuple[float, float]:
        """The level of each channel on its own band, dB."""
        raise NotImplementedError

    def measure(self, setting_deg: float) -> LeakReading:
        """Return both leaks in dB at a setting, with their phases where they were recorded."""
        raise NotImplementedError


class TestBands(LeakRead):
    """Levels of both channels on a band with one of them only."""

    WAY_TITLE: ClassVar[str] = "Test bands"
    NEEDS: ClassVar[str] = "has_test_record"
    LOWERS_STYLUS: ClassVar[bool] = True
    __test__: ClassVar[bool] = False  # no test, whatever its name says
    way: Literal["test bands"] = "test bands"
    left_band_left_db: Annotated[Decibels, _LEVEL] = Field(
        title="Left band, left channel", description="Level of the channel that should play."
    )
    left_band_right_db: Annotated[Decibels, _LEVEL] = Field(
        title="Left band, right channel", description="What leaks into the silent one."
    )
    right_band_right_db: Annotated[Decibels, _LEVEL] = Field(
        title="Right band, right channel", description="Level of the channel that should play."
    )
    right_band_left_db: Annotated[Decibels, _LEVEL] = Field(
        title="Right band, left channel", description="What leaks into the silent one."
    )
    setting_deg: _SettingDeg = Field(
        None,
        title="Head stands at",
        description="Turned from where it began. Empty takes it from the moves you kept.",
    )
    shim_mm: _ShimMm = Field(
        None, title="Shim in place", description="Its thickness, and where. Empty as above."
    )

    @property
    def balance_db(self) -> tuple[float, float]:
        """The level of each channel on its own band, dB."""
        return self.left_band_left_db, self.right_band_right_db

    def measure(self, setting_deg: float) -> LeakReading:
        """Return both leaks in dB at a setting."""
        return LeakReading(
            setting_deg=limited(setting_deg),
            left_in_right_db=self.left_band_right_db - self.left_band_left_db,
            right_in_left_db=self.right_band_left_db - self.right_band_right_db,
        )


class RecordedLeak(HeardTones):
    """A recording of a band on the left alone and one on the right alone."""

    SPOILT_BY: ClassVar[tuple[HeardFault, ...]] = (
        HeardFault.ONE_CHANNEL,
        HeardFault.DEAD_LEFT,
        HeardFault.DEAD_RIGHT,
        HeardFault.MONO,
        HeardFault.SWAPPED,
        HeardFault.OPPOSED,
        HeardFault.CLIPPING,
        HeardFault.OTHER_RECORD,
    )

    def lacks(self) -> Message | None:
        """Return the missing band, if one is missing."""
        lacks = super().lacks()
        missing = [side for side in (CutOn.LEFT, CutOn.RIGHT) if self.band_on(side) is None]
        if lacks is None and missing:
            joined = (HeardFault.ONE_CHANNEL, HeardFault.MONO)
            faults = [one for one in joined if one in self.known_faults()]
            which = missing[0].value if len(missing) == 1 else "both"
            return spoilt(faults[0]) if faults else message("tilt.tone_lacks", side=which)
        return lacks

    @property
    def is_in_phase(self) -> bool:
        """Whether a band cut on both channels shows that their leads have the same polarity."""
        shows = (BandKind.SPEED, BandKind.TRACKING)
        heard = any(one.side is CutOn.BOTH and one.kind in shows for one in self.bands)
        return heard and HeardFault.OPPOSED not in self.known_faults()

    def band_on(self, side: CutOn) -> HeardBand | None:
        """Return the longest band on one side alone, preferably one for separation."""
        bands = [one for one in self.bands if one.side is side and one.leak_deg is not None]
        return max(
            bands,
            key=lambda one: (one.kind is BandKind.SEPARATION, one.end_s - one.start_s),
            default=None,
        )


class LeakByTone(LeakRead):
    """The signed leak from a band on one side alone, recorded at one setting."""

    WAY_TITLE: ClassVar[str] = "Leak by tone, recorded"
    NEEDS: ClassVar[str] = "has_sound_input"
    LOWERS_STYLUS: ClassVar[bool] = True
    way: Literal["leak by tone"] = "leak by tone"
    recorded: RecordedLeak = Field(
        title="Recording",
        description="The sound file. Type its path, choose it, or drop it here.",
    )
    setting_deg: _SettingDeg = Field(
        None,
        title="Head stands at",
        description="Turned from where it began. Empty takes it from the moves you kept.",
    )
    shim_mm: _ShimMm = Field(
        None, title="Shim in place", description="Its thickness, and where. Empty as above."
    )

    @property
    def shows_phase(self) -> bool:
        """Whether a band on both channels shows it."""
        return self.recorded.is_in_phase

    def measure(self, setting_deg: float) -> LeakReading:
        """Return both leaks with their phases at a setting."""
        left, right = self.recorded.band_on(CutOn.LEFT), self.recorded.band_on(CutOn.RIGHT)
        if left is None or right is None:
            raise ValueError("a recording without both bands tells no leak")
        return LeakReading(
            setting_deg=limited(setting_deg),
            left_in_right_db=left.leak_db or 0.0,
            right_in_left_db=right.leak_db or 0.0,
            left_in_right_phase_deg=left.leak_deg,
            right_in_left_phase_deg=right.leak_deg,
        )

    @property
    def balance_db(self) -> tuple[float, float]:
        """The level of each channel on its own band, dB."""
        left, right = self.recorded.band_on(CutOn.LEFT), self.recorded.band_on(CutOn.RIGHT)
        return (left.level_db if left else 0.0), (right.level_db if right else 0.0)


def limited(setting_deg: float) -> float:
    """Return a setting within a head's range."""
    return max(-_MOST_DEG, min(_MOST_DEG, setting_deg))
