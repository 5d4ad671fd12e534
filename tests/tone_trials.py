"""Random recordings of known truth, and how far what is told lies from it.

``tests/core/tones/test_trials.py`` holds a few of them, ``tests/bench/tones.py`` many.
"""

from __future__ import annotations

import cmath
import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from scipy.optimize import minimize_scalar

from core.physics.crosstalk import LeakReading, fit_crosstalk
from core.practice.played_record import CutBand, Playing, Samples, Wave, played, starts_s
from core.steps.tilt.bands import TONE_LEAK_DB
from core.tones import CutSide, Fault, KnownBand, Listener, matched
from tests.sounding import DEPTHS, RATES, Depth, heard, stored

TURN_HZ: Final = 100.0 / 3.0 / 60.0
EDGE_S: Final = 0.2
TWO_SIGMA: Final = 0.9969
"""Of a sine's peak (derived; see tests/outside/test_tones.py)."""


@dataclass(frozen=True, slots=True)
class Miss:
    """How far one figure lay from the truth, in units of what is allowed."""

    what: str
    ratio: float
    detail: str


def spoiled(rng: np.random.Generator, **known: float) -> Playing:
    """Return a playing with noise of -40 to -70 dB, up to 20 clicks a minute and hum, as a rule."""
    return Playing(
        noise_db=known.get("noise_db", float(rng.uniform(-70.0, -40.0))),
        clicks_per_minute=float(rng.uniform(0.0, 20.0)),
        hum_db=-40.0 if rng.uniform() < 0.7 else None,
        hum_hz=float(rng.choice((50.0, 60.0))),
        seed=int(rng.integers(2**31)),
    )


def recorded(
    rng: np.random.Generator, rates: tuple[int, ...] = RATES, only_depth: Depth | None = None
) -> tuple[int, Depth]:
    """Return a sample rate and a depth."""
    rate, depth = int(rng.choice(rates)), DEPTHS[int(rng.integers(len(DEPTHS)))]
    return rate, only_depth or depth


def a_wave(rng: np.random.Generator) -> Wave:
    """Return a sine of 0.02 to 2 % from 0.2 to 200 Hz, clear of the turn and its double.

    No meter tells a wave at the turn's own rate from the turn.
    """
    while True:
        hz = math.exp(float(rng.uniform(math.log(0.2), math.log(200.0))))
        if all(abs(hz - n * TURN_HZ) > 0.17 for n in (1, 2)):
            break
    percent = math.exp(float(rng.uniform(math.log(0.02), math.log(2.0))))
    return Wave(hz, percent, float(rng.uniform(0.0, 360.0)))


def speed_trial(
    rng: np.random.Generator, rates: tuple[int, ...] = RATES, only_depth: Depth | None = None
) -> Iterator[Miss]:
    """Yield the misses of mean speed, a sine fluctuation and what comes once a turn, in 30 s."""
    rate, depth = recorded(rng, rates, only_depth)
    wave, radius = a_wave(rng), float(rng.uniform(60.0, 146.0))
    playing = replace(
        spoiled(rng),
        speed_percent=float(rng.uniform(-1.0, 1.0)),
        waves=(wave,),
        hole_mm=radius * float(rng.uniform(0.05, 0.5)) / 100.0,
        hole_deg=float(rng.uniform(0.0, 360.0)),
        radius_mm=radius,
    )
    nominal = float(rng.choice((3150.0, 3000.0)))
    found = heard((CutBand(nominal, 31.0),), playing, rate, depth)
    about = f"{rate} Hz, {depth} bit, {wave}, {playing}"
    told = found.speed
    if told is None or told.speed.fluctuation is None or told.speed.turn is None:
        yield Miss("speed found", math.inf, about)
        return
    yield Miss(
        "mean within 0.002 %", abs(told.error_percent - playing.speed_percent) / 0.002, about
    )
    truth = TWO_SIGMA * wave.percent
    off = abs(told.speed.fluctuation.steady_unweighted_percent - truth)
    yield Miss("sine within 3 % or 0.002 %", off / max(0.03 * truth, 0.002), about)
    turn, hole = told.speed.turn, 100.0 * playing.hole_mm / radius
    yield Miss("once a turn within 3 %", abs(turn.percent / hole - 1.0) / 0.03, about)
    turned = 360.0 * TURN_HZ * (1.0 + playing.speed_percent / 100.0) * turn.from_s
    away = math.remainder(turn.fastest_deg + turned - playing.hole_deg, 360.0)
    yield Miss("its angle within 3 degrees", abs(away) / 3.0, about)


def leak_trial(
    rng: np.random.Generator, rates: tuple[int, ...] = RATES, only_depth: Depth | None = None
) -> Iterator[Miss]:
    """Yield the misses of both walls' leak at noise of -65 dB."""
    rate, depth = recorded(rng, rates, only_depth)
    leaks = [(float(rng.uniform(-45.0, -15.0)), float(rng.uniform(-180.0, 180.0))) for _ in "lr"]
    playing = replace(
        spoiled(rng, noise_db=-65.0),
        speed_percent=float(rng.uniform(-1.0, 1.0)),
        waves=(Wave(4.0, 0.1),),
        into_left=leaks[0],
        into_right=leaks[1],
        balance_db=float(rng.uniform(-2.0, 2.0)),
    )
    cut = (CutBand(1000.0, 5.0, "left", gap_s=0.5), CutBand(1000.0, 5.0, "right"))
    found = heard(cut, playing, rate, depth).bands
    about = f"{rate} Hz, {depth} bit, {playing}"
    if len(found) != 2:
        yield Miss("leak found", math.inf, about)
        return
    gain = playing.balance_db
    truth = (
        (leaks[1][0] + gain, leaks[1][1]),
        (leaks[0][0] - gain, leaks[0][1]),
    )
    for band, (db, deg) in zip(found, truth, strict=True):
        if band.leak is None:
            yield Miss("leak found", math.inf, about)
            continue
        yield Miss("leak within 0.2 dB", abs(band.leak.db - db) / 0.2, about)
        away = abs(math.remainder(band.leak.deg - deg, 360.0))
        yield Miss("leak within 2 degrees", away / 2.0, about)


def _turned(turn_deg: float) -> tuple[float, float]:
    """Return what the walls at 45 degrees to either side move the wrong coils by, as vectors."""

    def along(wall: float, coil: float) -> float:
        return math.cos(math.radians(wall - coil))

    left, right = (45.0, 45.0 - turn_deg), (135.0, 135.0 - turn_deg)
    return along(left[0], right[1]) / along(*left), along(right[0], left[1]) / along(*right)


def tilt_trial(rng: np.random.Generator) -> tuple[float, float]:
    """Return how far off the best setting is told from two, and its half-width, in degrees.

    The leaks are known as well as is asked of them. The truth is the least sum of what leaks, by
    scipy's search; both coils have leaks of their own.
    """
    stands = float(rng.uniform(-3.0, 3.0))
    sizes, turns = rng.uniform(-45.0, -25.0, 2), rng.uniform(-math.pi, math.pi, 2)
    own = [
        cmath.rect(10.0 ** (float(db) / 20.0), float(angle))
        for db, angle in zip(sizes, turns, strict=True)
    ]

    def leaks(setting: float) -> list[complex]:
        return [a + b for a, b in zip(own, _turned(setting - stands), strict=True)]

    def power(setting: float) -> float:
        return sum(abs(leak) ** 2 for leak in leaks(setting))

    truth = minimize_scalar(
        power, bounds=(-15.0, 15.0), method="bounded", options={"xatol": 1e-6}
    ).x
    readings = []
    for setting in (0.0, 2.0):
        # 0.2 dB and 2 degrees hold 95 of 100: half of it is one standard deviation.
        left, right = (
            (
                20.0 * math.log10(abs(leak)) + float(rng.normal(0.0, 0.1)),
                math.degrees(cmath.phase(leak)) + float(rng.normal(0.0, 1.0)),
            )
            for leak in leaks(setting)
        )
        readings.append(LeakReading(setting, left[0], right[0], left[1], right[1]))
    fit = fit_crosstalk(readings, leak_standard_uncertainty_db=TONE_LEAK_DB)
    if fit is None:
        return math.inf, 0.0
    return abs(fit.best_deg.value - truth), fit.best_deg.half_width()


def a_record(rng: np.random.Generator) -> tuple[CutBand, ...]:
    """Return a record's bands in any order: speed, one-sided tones, tracking at rising levels."""
    peak = float(rng.uniform(0.05, 0.3))
    gap = float(rng.choice((0.0, 0.5, 1.5)))

    def seconds() -> float:
        return float(rng.uniform(3.0, 8.0))

    groups: list[list[CutBand]] = [
        [CutBand(float(rng.choice((3150.0, 3000.0))), 6.0 + seconds(), "both", peak, 1.0)],
        [
            CutBand(1000.0, seconds(), side, peak, gap)
            for side in rng.permutation(("left", "right")).tolist()
        ],
        [
            CutBand(hz, seconds(), "both", peak * 10.0 ** (rise * step / 20.0), gap)
            for hz in [float(rng.choice((300.0, 315.0)))]
            for rise in [float(rng.uniform(1.5, 3.0))]
            for step in range(int(rng.integers(3, 6)))
        ],
    ]
    order = rng.permutation(len(groups)).tolist()[: int(rng.integers(1, 4))]
    cut = [
        band for one in order for band in (*groups[one][:-1], replace(groups[one][-1], gap_s=1.0))
    ]
    return tuple(cut)


_KINDS: Final = {3150.0: "speed", 3000.0: "speed", 1000.0: "separation"}


def bands_trial(rng: np.random.Generator, rates: tuple[int, ...] = RATES) -> Iterator[Miss]:
    """Yield whether every band was found with its kind, side and edges, and none besides."""
    rate, depth = recorded(rng, rates)
    cut = a_record(rng)
    playing = replace(
        spoiled(rng),
        speed_percent=float(rng.uniform(-1.0, 1.0)),
        waves=(a_wave(rng),),
        into_left=(float(rng.uniform(-45.0, -15.0)), float(rng.uniform(-180.0, 180.0))),
        into_right=(float(rng.uniform(-45.0, -15.0)), float(rng.uniform(-180.0, 180.0))),
        balance_db=float(rng.uniform(-2.0, 2.0)),
        lead_in_s=float(rng.uniform(0.0, 3.0)),
        lead_out_s=float(rng.uniform(0.0, 3.0)),
    )
    found = heard(cut, playing, rate, depth).bands
    wanted = [(_KINDS.get(band.hz, "tracking"), band.side) for band in cut]
    got = [(band.kind.value, band.side.value) for band in found]
    about = f"{rate} Hz, {depth} bit, {cut}, {playing}: {got}"
    yield Miss("bands found and named", 0.0 if got == wanted else math.inf, about)
    if got == wanted:
        end = (
            sum(band.seconds + band.gap_s for band in cut) + playing.lead_in_s + playing.lead_out_s
        )
        for band, (start, stop) in zip(found, starts_s(cut, playing), strict=True):
            off = max(abs(band.start_s - start), abs(band.end_s - min(stop, end)))
            yield Miss("edges within 0.2 s", off / EDGE_S, about)


Spoil = Callable[[np.random.Generator, Samples, int], Samples]


def _mono(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
    """Sum both channels: in the converter, or before it by a switch, with gains of its own.

    Converters' own noise lies 85 to 110 dB below full scale (data sheets, from memory).
    """
    del rate
    mixed = sound.mean(axis=1, keepdims=True)
    if rng.uniform() < 0.5:
        return np.repeat(mixed, 2, axis=1)
    gains = 10.0 ** (np.array([0.0, rng.uniform(-0.3, 0.3)]) / 20.0)
    own = 10.0 ** (rng.uniform(-110.0, -85.0) / 20.0)
    return mixed * gains + own * rng.standard_normal(sound.shape)


def _dead(channel: int) -> Spoil:
    """Return what leaves one channel with its converter's noise and what leads pick up."""

    def spoil(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
        del rate
        result = sound.copy()
        own = 10.0 ** (rng.uniform(-100.0, -80.0) / 20.0) * rng.standard_normal(len(sound))
        picked_up = 10.0 ** (rng.uniform(-90.0, -50.0) / 20.0) * sound[:, 1 - channel]
        result[:, channel] = own + picked_up
        return result

    return spoil


def _hum(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
    """Add mains hum of -46 to -25 dB; one in three is that of a rectifier, at the double."""
    times = np.arange(len(sound)) / rate
    mains, loud = float(rng.choice((50.0, 60.0))), float(np.quantile(np.abs(sound), 0.999))
    parts = rng.uniform(0.0, 0.6, 6) / np.arange(1, 7)
    parts[1 if rng.uniform() < 0.33 else 0] = 1.0
    hum = sum(
        size * np.sin(2.0 * math.pi * n * mains * times + rng.uniform(0.0, 2.0 * math.pi))
        for n, size in enumerate(parts, start=1)
    )
    gains = np.array([1.0, rng.uniform(0.3, 1.0)])[:: int(rng.choice((-1, 1)))]
    return sound + loud * 10.0 ** (rng.uniform(-46.0, -25.0) / 20.0) * hum[:, None] * gains


def _clipped(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
    del rate
    loudest = float(np.quantile(np.abs(sound), 0.999))
    cut = np.clip(sound / loudest * float(rng.uniform(1.15, 2.0)), -1.0, 1.0 - 2.0**-15)
    return cut * float(rng.choice((1.0, rng.uniform(0.4, 1.0))))  # turned down afterwards


def _dropped(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
    """Take out one to four blocks of 256 to 2,048 samples, or leave them empty."""
    result = sound.copy()
    empty = rng.uniform() < 0.5
    for _ in range(int(rng.integers(1, 5))):
        size = int(rng.choice((256, 512, 1024, 2048)))
        at = _while_a_tone_plays(rng, result, rate)
        if empty:
            result[at : at + size] = 0.0
        else:
            result = np.delete(result, slice(at, at + size), axis=0)
    return result


def _while_a_tone_plays(rng: np.random.Generator, sound: Samples, rate: int) -> int:
    """Return a place; what is lost between bands spoils nothing."""
    part = rate // 20
    loud = 0.2 * float(np.median(np.abs(sound)))
    while True:
        at = int(rng.integers(2 * rate, len(sound) - 2 * rate))
        if min(np.abs(sound[i : i + part]).max() for i in (at - 10 * part, at + 10 * part)) > loud:
            return at


def _gained(rng: np.random.Generator, sound: Samples, rate: int) -> Samples:
    """Turn down what is loud at once and turn up what is quiet slowly, as recorders do."""
    step = rate // 100
    wanted = float(rng.uniform(0.1, 0.4))
    down = 10.0 ** (-float(rng.uniform(3.0, 30.0)) * 0.01 / 20.0)
    up = 10.0 ** (float(rng.uniform(1.0, 6.0)) * 0.01 / 20.0)
    gain, now = np.ones(len(sound)), float(rng.uniform(2.0, 6.0))
    size = np.abs(sound).max(axis=1)
    for i in range(0, len(sound), step):
        now *= down if float(size[i : i + step].max()) * now > wanted else up
        now = min(now, 10.0)
        gain[i : i + step] = now
    smooth = np.interp(np.arange(len(sound)), np.arange(0, len(sound), step), gain[::step])
    return np.clip(sound * smooth[:, None], -1.0, 1.0)


TRAPS: Final[dict[Fault, Spoil]] = {
    Fault.MONO: _mono,
    Fault.DEAD_LEFT: _dead(0),
    Fault.DEAD_RIGHT: _dead(1),
    Fault.OPPOSED: lambda _rng, sound, _rate: sound * np.array([1.0, -1.0]),
    Fault.HUM: _hum,
    Fault.SWAPPED: lambda _rng, sound, _rate: sound[:, ::-1],
    Fault.CLIPPING: _clipped,
    Fault.DROPPED: _dropped,
    Fault.GAIN: _gained,
    Fault.ONE_CHANNEL: lambda _rng, sound, _rate: sound[:, :1],
    Fault.SILENCE: lambda rng, sound, _rate: 10.0 ** (rng.uniform(-110.0, -80.0) / 20.0) * sound,
}
"""What is done to a sound recording. Clicks and noise are made where it is played."""

PLAYED: Final = (Fault.CLICKS, Fault.NOISE, Fault.TONE_UNKNOWN, Fault.OTHER_SPEED)


_USED: Final = ((44_100, 0.3), (48_000, 0.35), (88_200, 0.05), (96_000, 0.2))
_USED_RARELY: Final = ((176_400, 0.02), (192_000, 0.08))
"""Sample rates and how often people use them: our own estimate."""


@dataclass(frozen=True, slots=True)
class Sounded:
    """A recording before anything is done to it: what was cut, samples, rate and depth."""

    cut: tuple[CutBand, ...]
    sound: Samples
    rate: int
    depth: Depth


def trap_trial(
    rng: np.random.Generator, fault: Fault | None, only_rate: int | None = None
) -> set[Fault]:
    """Return what is told of a recording with one fault, or none, its record being known."""
    return told_of(rng, sounded(rng, fault, only_rate), fault)


def sounded(rng: np.random.Generator, fault: Fault | None, only_rate: int | None = None) -> Sounded:
    """Return a recording; those of ``PLAYED`` have their fault already."""
    rates, shares = zip(*_USED, *_USED_RARELY, strict=True)
    rate, depth = only_rate or int(rng.choice(rates, p=shares)), recorded(rng)[1]
    long_s = float(rng.uniform(8.0, 14.0)) if fault is not Fault.CLICKS else 25.0
    cut = (CutBand(3150.0, long_s, gap_s=1.0), *a_group(rng, fault))
    turned = {
        Fault.TONE_UNKNOWN: float(rng.choice((2000.0, 2500.0, 4000.0))) / 3150.0,
        Fault.OTHER_SPEED: float(rng.choice((1.35, 1.0 / 1.35))),
    }.get(fault or Fault.NO_TONE, 1.0)
    if turned != 1.0:
        cut = (replace(cut[0], hz=turned * cut[0].hz),)
    playing = Playing(
        speed_percent=float(rng.uniform(-1.0, 1.0)),
        waves=(Wave(float(rng.uniform(3.0, 30.0)), 0.1),),
        hole_mm=float(rng.uniform(0.0, 0.3)),
        into_left=(float(rng.uniform(-40.0, -18.0)), float(rng.uniform(-180.0, 180.0))),
        into_right=(float(rng.uniform(-40.0, -18.0)), float(rng.uniform(-180.0, 180.0))),
        balance_db=float(rng.uniform(-1.5, 1.5)),
        # Noise spoils the tone for speed, and is stated beside that; of what goes up to half the
        # rate, the part below 24 kHz is heard.
        noise_db=(
            float(rng.uniform(-70.0, -40.0))
            if fault is not Fault.NOISE
            else float(rng.uniform(-32.0, -20.0)) + 10.0 * math.log10(max(rate / 48_000.0, 1.0))
        )
        + 20.0 * math.log10(cut[0].peak / max(band.peak for band in cut)),
        clicks_per_minute=float(rng.uniform(8.0, 20.0)) if fault is Fault.CLICKS else 0.0,
        lead_in_s=1.0,
        lead_out_s=1.0,
        seed=int(rng.integers(2**31)),
    )
    sound = np.concatenate(list(played(cut, playing, rate)))
    # Whoever recorded it looked at the level: its loudest lies 2 to 26 dB below full scale.
    loudest = float(np.quantile(np.abs(sound), 0.9999))
    return Sounded(
        cut, sound * 10.0 ** (-float(rng.uniform(2.0, 26.0)) / 20.0) / loudest, rate, depth
    )


def told_of(rng: np.random.Generator, base: Sounded, fault: Fault | None) -> set[Fault]:
    """Spoil a recording and return what is told of it."""
    sound = TRAPS[fault](rng, base.sound, base.rate) if fault in TRAPS else base.sound
    listener = Listener(base.rate, sound.shape[1])
    listener.feed(stored(sound, base.depth))
    found = listener.finish()
    told = {one.fault for one in found.faults}
    known = tuple(KnownBand("", band.hz, CutSide(band.side)) for band in base.cut)
    beside = matched(found.bands, known)
    if beside.summed and sound.shape[1] > 1:  # as ``core.recordings.beside`` tells it
        told.add(Fault.MONO)
    return told | ({Fault.SWAPPED} if beside.swapped else set())


def a_group(rng: np.random.Generator, fault: Fault | None) -> tuple[CutBand, ...]:
    """Return what follows the tone for speed: one-sided tones, bands of rising level, or both."""
    while True:
        cut = tuple(band for band in a_record(rng) if _KINDS.get(band.hz) != "speed")
        one_sided = any(band.side != "both" for band in cut)
        if cut and (one_sided or fault is not Fault.SWAPPED):
            return cut
