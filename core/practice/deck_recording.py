"""A recording of the practice deck: what it plays of a test record as it stands, as a WAV file."""

from __future__ import annotations

import cmath
import math
import wave
from collections.abc import Generator, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final

import numpy as np

from core.language import Name, ToldProblem, message
from core.practice.instruments import SUSPENSION_UM_PER_MN, TONE_HZ
from core.practice.played_record import (
    CutBand,
    PlayedOn,
    Playing,
    Samples,
    Wave,
    played,
    total_seconds,
)
from core.practice.world import World
from core.records import BandUse, CutOn, CutRecord, RecordBand
from core.steps import MOUNT, SKATING, SPEED, TILT
from core.steps.speed import speed_key

RECORDED: Final = (
    (SPEED, "tone"),
    (TILT, "leak by tone"),
    (SKATING, "bands by tone"),
    (MOUNT, "resonance by record"),
)
"""The ways of reading that can be recorded here, by step and way."""

RATE: Final = 48_000
_FULL: Final = 32_767
_EDGE_S: Final = 1.0
_TONE_S: Final = 40.0
_BAND_S: Final = 4.0
_GAP_S: Final = 0.5
_PEAK: Final = 0.3
_LEAST_PEAK: Final = 0.05
_LOUDEST_PEAK: Final = 0.2
_RISE_DB: Final = 1.5
_RISING_BANDS: Final = 9
_TRACKING_HZ: Final = 315.0
_SEPARATION_HZ: Final = 1000.0
_HELD_PEAK: Final = 0.12
"""Both walls hold this peak at the cartridge's own downforce: our own choice, amid the bands."""

_OWN_HARMONIC: Final = 0.08
"""The generator's own second harmonic, as a share of the peak."""

_HOLE_MM: Final = 0.12
_WAVE: Final = Wave(4.0, 0.06)
_NOISE_DB: Final = -60.0

_SWEEP_S: Final = 40.0
_SWEEP_HZ: Final = (20.0, 4.0)
_PILOT_HZ: Final = 1000.0
_DAMPING: Final = 1.0 / 3.0
"""One over the quality of the resonance: our own choice."""

_SHAKEN: Final = 0.01


@dataclass(frozen=True, slots=True)
class DeckRecording:
    """What is recorded: a record's bands and how they are played, or a sweep.

    It keeps nothing of the world: the deck may be moved while the file is written.
    ``resonance_hz`` is None where no sweep plays.
    """

    cut: tuple[CutBand, ...]
    playing: Playing
    resonance_hz: float | None = None
    is_vertical: bool = False

    @property
    def seconds(self) -> float:
        """How long it lasts."""
        if self.resonance_hz is not None:
            return _SWEEP_S
        return total_seconds(self.cut, self.playing)

    def pieces(self) -> Iterator[Samples]:
        """Yield the sound in pieces, shape (samples, 2), 1 is full scale."""
        if self.resonance_hz is None:
            return played(self.cut, self.playing, RATE)
        return _swept(self.resonance_hz, -1.0 if self.is_vertical else 1.0, self.playing.seed)

    def write(self, path: Path) -> Generator[float, None, None]:
        """Yield the share written so far of a WAV file, 16 bits, 48 kHz.

        Between two shares it may be given up. Raises OSError where it can't be written.
        """
        total, done = max(self.seconds * RATE, 1.0), 0
        with wave.open(str(path), "wb") as file:
            file.setnchannels(2)
            file.setsampwidth(2)
            file.setframerate(RATE)
            for piece in self.pieces():
                whole = np.round(np.clip(piece, -1.0, 1.0) * _FULL).astype("<i2")
                file.writeframes(whole.tobytes())
                done += piece.shape[0]
                yield min(done / total, 1.0)


def deck_recording(
    world: World, way: str, record: CutRecord | None, seed: int, **choices: Any
) -> DeckRecording:
    """Return what a recording of the deck holds as it stands now.

    Parameters
    ----------
    world
        The true state of the deck. It is not changed.
    way
        The way of reading that the recording is for, of :data:`RECORDED`.
    record
        The test record that plays, None for a usual one.
    seed
        Of the noise.
    **choices
        ``speed_rpm``, ``cold`` (speed) and ``sweep`` (resonance), by the names of the reading.

    Raises
    ------
    ToldProblem
        Where nothing can play: the arm floats, or the record has no band for this reading.
    """
    if world.downforce_gf <= 0.0:
        raise ToldProblem(
            message("practice.recording.floats"), message("practice.recording.floats_todo")
        )
    if way == "resonance by record":
        return DeckRecording(
            (), Playing(seed=seed), _resonance_hz(world), str(choices.get("sweep")) == "vertical"
        )
    cut = {"tone": _for_speed, "leak by tone": _for_tilt, "bands by tone": _for_skating}[way](
        record
    )
    if not cut and record is not None:
        raise ToldProblem(
            message("practice.recording.no_band", record=Name(record.name)),
            message("practice.recording.no_band_todo"),
        )
    high = 1.0 + world.tools.record_share
    cut = tuple(replace(band, hz=high * band.hz) for band in cut)
    return DeckRecording(cut, _playing(world, way, record, seed, choices))


def _playing(
    world: World, way: str, record: CutRecord | None, seed: int, choices: dict[str, Any]
) -> Playing:
    nominal = float(choices.get("speed_rpm") or world.deck.platter.speeds_rpm[0])
    of_record = record.rpm if record is not None else nominal
    turns = world.rpm(speed_key(nominal), warm=not choices.get("cold", False))
    left, right = world.leaks()
    balance = world.generator.right_db - world.generator.left_db
    target = world.cartridge.downforce_target_gf
    return Playing(
        speed_percent=100.0 * (turns / of_record - 1.0),
        waves=(_WAVE,),
        hole_mm=_HOLE_MM,
        rpm=of_record,
        # A leak is told beside the tone in the channel that it leaks from, so balance is no part.
        into_left=_phasor(right, balance),
        into_right=_phasor(left, -balance),
        balance_db=balance,
        downforce_gf=world.downforce_gf,
        side_gf=world.mean_side_force_gf() - world.compensation_gf(),
        # A band for speed or separation is too faint to break up.
        holds_per_gf=_HELD_PEAK / target if way == "bands by tone" else None,
        noise_db=_NOISE_DB,
        lead_in_s=_EDGE_S,
        lead_out_s=_EDGE_S,
        seed=seed,
    )


def _phasor(leak: complex, louder_db: float) -> tuple[float, float]:
    return 20.0 * math.log10(max(abs(leak), 1e-4)) + louder_db, math.degrees(cmath.phase(leak))


def _of(record: CutRecord, *uses: BandUse) -> list[RecordBand]:
    return [band for band in record.bands if band.kind in uses]


def _side(band: RecordBand) -> PlayedOn:
    if band.side is CutOn.BOTH:
        return "both"
    return "left" if band.side is CutOn.LEFT else "right"


def _for_speed(record: CutRecord | None) -> tuple[CutBand, ...]:
    if record is None:
        return (CutBand(TONE_HZ, _TONE_S, peak=_PEAK),)
    bands = _of(record, BandUse.SPEED)[:1]
    return tuple(CutBand(one.hz, _TONE_S, _side(one), _PEAK) for one in bands)


def _for_tilt(record: CutRecord | None) -> tuple[CutBand, ...]:
    if record is None:
        return (
            CutBand(TONE_HZ, _BAND_S, peak=_PEAK, gap_s=_GAP_S),
            CutBand(_SEPARATION_HZ, _BAND_S, "left", _PEAK, _GAP_S),
            CutBand(_SEPARATION_HZ, _BAND_S, "right", _PEAK, _GAP_S),
        )
    if not _of(record, BandUse.SEPARATION):
        return ()
    bands = _of(record, BandUse.SPEED, BandUse.SEPARATION)
    return tuple(CutBand(one.hz, _BAND_S, _side(one), _PEAK, _GAP_S) for one in bands)


def _for_skating(record: CutRecord | None) -> tuple[CutBand, ...]:
    if record is None:
        rises = [_RISE_DB * place for place in range(_RISING_BANDS)]
        return tuple(
            _rising(_TRACKING_HZ, _LEAST_PEAK * 10.0 ** (rise / 20.0), "both") for rise in rises
        )
    bands = _of(record, BandUse.TRACKING)
    levels = [
        one.level_db if one.level_db is not None else _RISE_DB * place
        for place, one in enumerate(bands)
    ]
    return tuple(
        _rising(one.hz, _LOUDEST_PEAK * 10.0 ** ((level - max(levels)) / 20.0), _side(one))
        for one, level in zip(bands, levels, strict=True)
    )


def _rising(hz: float, peak: float, side: PlayedOn) -> CutBand:
    return CutBand(hz, _BAND_S, side, peak, _GAP_S, (_OWN_HARMONIC * peak,))


def _resonance_hz(world: World) -> float:
    """Return the resonance of the arm's and the cartridge's mass on the suspension."""
    gives = world.build.gives_um_per_mn or SUSPENSION_UM_PER_MN
    grams = world.deck.arm.effective_mass_g + world.arm().head_g
    return 1000.0 / (2.0 * math.pi * math.sqrt(grams * gives))


def _swept(resonance_hz: float, side: float, seed: int) -> Iterator[Samples]:
    """Yield a pilot tone that the arm shakes while a sweep falls from 20 to 4 Hz.

    The groove moves the foot of a spring that the arm's mass hangs on, at constant velocity; the
    sweep is slow, so the mass answers as to a steady sine. ``side`` is -1 where the sweep moves the
    walls in opposite ways.
    """
    rng = np.random.default_rng(seed)
    first, last = _SWEEP_HZ
    falls = math.log(last / first) / _SWEEP_S
    pilot = np.zeros(2)
    total = round(_SWEEP_S * RATE)
    for begin in range(0, total, RATE):
        times = (begin + np.arange(min(RATE, total - begin))) / RATE
        hz = first * np.exp(falls * times)
        turned = 2.0 * math.pi * (hz - first) / falls
        beside = hz / resonance_hz
        answer = beside**2 / (1.0 - beside**2 + 1j * _DAMPING * beside)
        shake = _SHAKEN / hz * np.abs(answer) * np.sin(turned + np.angle(answer))
        sound = np.empty((times.size, 2))
        for channel, sign in enumerate((1.0, side)):
            steps = 2.0 * math.pi * _PILOT_HZ / RATE * (1.0 + 0.3 * sign * shake)
            angle = pilot[channel] + np.cumsum(steps)
            pilot[channel] = angle[-1] % (2.0 * math.pi)
            sound[:, channel] = 0.2 * (1.0 + sign * shake) * np.sin(angle)
            sound[:, channel] += 0.1 * sign * np.sin(turned)
        yield sound + 1e-4 * rng.standard_normal(sound.shape)
