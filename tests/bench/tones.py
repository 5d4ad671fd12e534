"""Figures of recordings against their truth at full counts, and how long ten minutes take.

Run by hand: ``python -m tests.bench.tones [WHAT ...] [--count N] [--seed N]``, WHAT of speed, leak,
tilt, bands, traps, weighting, rates, hour and time.
Every line says what is asked for, what was measured, and whether that is met. A miss prints its
trial, which the same seed makes again. Times are ratios of one run: ten minutes
of stereo at 96 kHz from a file, against one ``numpy.fft.rfft`` over it.
"""

from __future__ import annotations

import argparse
import math
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Final

import numpy as np
import soundfile

from core.practice.played_record import CutBand, Playing, Wave, played
from core.tones import Fault
from tests.sounding import DEPTHS, RATES, WEIGHTING_DB, heard
from tests.tone_trials import (
    PLAYED,
    TRAPS,
    TWO_SIGMA,
    Miss,
    bands_trial,
    leak_trial,
    sounded,
    speed_trial,
    tilt_trial,
    told_of,
    trap_trial,
)

TRIALS: Final[dict[str, Callable[[np.random.Generator], Iterator[Miss]]]] = {
    "speed": speed_trial,
    "leak": leak_trial,
    "bands": bands_trial,
}
OTHERS: Final = ("tilt", "weighting", "rates", "traps", "hour", "time")
OWN: Final = (Fault.SWAPPED, *PLAYED)
"""Traps that need a recording of their own; the others are done to one and the same."""

MOST_MISSED: Final = 0.01
"""Share of figures that may lie beyond what is allowed."""

TILT_TRIALS: Final = 2_000
COVERED: Final = (0.93, 0.97)
TILT_DEG: Final = 0.1
RECOGNISED: Final = 0.95
FALSE_ALARMS: Final = 0.02
TRANSFORMS: Final = 3.0
MOST_MB: Final = 200.0
RATE: Final = 96_000
SHOWN: Final = 3
WEIGHTED_DB: Final = 0.5
GROWS_MB: Final = 1.5
"""For each minute of sound; 13 kB a second are kept of it and some pass through twice."""

ALONE: Final = """
import time
from pathlib import Path
import soundfile
from core.recordings import listen
def most():  # of this process alone, in MB; Linux
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1024.0 for line in lines if line.startswith("VmHWM"))
before, begun = most(), time.process_time()
for _ in listen(Path({path!r})):
    pass
print(time.process_time() - begun, most() - before)
"""
HOUR: Final = """
import numpy as np
from pathlib import Path
from core.tones import Listener
def now():  # in MB; Linux
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) / 1024.0 for line in lines if line.startswith("VmRSS"))
before, rate = now(), 192_000
second = 0.3 * np.sin(2.0 * np.pi * 3150.0 * np.arange(rate) / rate)[:, None] * [1.0, 0.9]
listener = Listener(rate, 2)
for at in range(3600):
    for begin in range(0, rate, 64_000):
        listener.feed(second[begin : begin + 64_000])
    if at % 600 == 599:
        print((at + 1) / 60, now() - before, flush=True)
assert listener.finish().speed is not None
print(60, now() - before)
"""
"""A process of its own: what was made before does not hide what listening takes."""


def many(what: str, count: int, seed: int) -> None:
    """Print how many figures of one kind lie within what is allowed."""
    found: dict[str, list[tuple[float, int, str]]] = defaultdict(list)
    for trial in range(count):
        for miss in TRIALS[what](np.random.default_rng([seed, trial])):
            found[miss.what].append((miss.ratio, trial, miss.detail))
    for name, misses in found.items():
        ratios = [ratio for ratio, _, _ in misses]
        beyond = sorted(miss for miss in misses if miss[0] > 1.0)
        measured = (
            f"{len(misses) - len(beyond)} of {len(misses)}, "
            f"median {np.median(ratios):.3f}, worst {max(ratios):.2f} of what is allowed"
        )
        tell(name, measured, is_met=len(beyond) <= MOST_MISSED * len(misses))
        for ratio, trial, detail in beyond[:SHOWN]:
            print(f"    trial {trial}: {ratio:.2f}, {detail}")


def tell(asked: str, measured: str, *, is_met: bool) -> None:
    """Print a line of what is asked for, what was measured and whether that is enough."""
    print(f"{asked:40} {measured}: {'met' if is_met else 'NOT met'}", flush=True)


def tilt(seed: int) -> None:
    """Print how near the best setting is told from two, and how often its interval holds it."""
    found = [tilt_trial(np.random.default_rng([seed, trial])) for trial in range(TILT_TRIALS)]
    near = sum(off <= TILT_DEG for off, _ in found)
    held = sum(off <= half for off, half in found) / TILT_TRIALS
    few_missed = TILT_TRIALS - near <= MOST_MISSED * TILT_TRIALS
    tell(f"tilt within {TILT_DEG:g} degrees", f"{near} of {TILT_TRIALS}", is_met=few_missed)
    low, high = COVERED
    tell(f"its interval holds {low:.0%} to {high:.0%}", f"{held:.1%}", is_met=low <= held <= high)


def traps(count: int, seed: int) -> None:
    """Print how often each trap is recognised, and what is told besides."""
    faults = (None, *TRAPS, *PLAYED)
    besides: dict[Fault | None, Counter[str]] = {fault: Counter() for fault in faults}
    missed: dict[Fault | None, list[int]] = {fault: [] for fault in faults}
    alarmed: dict[Fault | None, list[int]] = {fault: [] for fault in faults}
    for trial in range(count):
        base = sounded(np.random.default_rng([seed, trial]), None)
        for place, fault in enumerate(faults):
            rng = np.random.default_rng([seed, trial, place])
            told = trap_trial(rng, fault) if fault in OWN else told_of(rng, base, fault)
            if told != {fault} - {None}:
                names = sorted(one.value for one in told)
                print(f"    trial {trial}, {fault.value if fault else 'nothing'}: told {names}")
            besides[fault].update(one.value for one in told if one is not fault)
            if fault is not None and fault not in told:
                missed[fault].append(trial)
            if told - {fault}:
                alarmed[fault].append(trial)
        if trial % 10 == 9:
            print(f"    {trial + 1}: missed {sum(map(len, missed.values()))}", flush=True)
    for fault in faults:
        false = f"false alarms {dict(besides[fault])} in {alarmed[fault]}"
        if fault is None:
            few = len(alarmed[fault]) <= FALSE_ALARMS * count
            tell("nothing wrong", f"{count} of them, {false}", is_met=few)
            continue
        lost = len(missed[fault])
        found = f"{count - lost} of {count}, missed {missed[fault]}, {false}"
        tell(f"{fault.value} recognised", found, is_met=lost <= (1.0 - RECOGNISED) * count)
    every = sum(len(those) for those in alarmed.values())
    told_all = f"{every} of {count * len(faults)} recordings"
    tell("false alarms in all", told_all, is_met=every <= FALSE_ALARMS * count * len(faults))


def ten_minutes() -> None:
    """Print the time for a ten-minute file against a transform over it, and the memory."""
    cut = (
        CutBand(3150.0, 120.0, gap_s=2.0),
        CutBand(1000.0, 20.0, "left", gap_s=1.0),
        CutBand(1000.0, 20.0, "right", gap_s=1.0),
        CutBand(3150.0, 430.0),
    )
    playing = Playing(0.2, waves=(Wave(4.0, 0.1),), hole_mm=0.2, lead_out_s=6.0)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "ten minutes.wav"
        with soundfile.SoundFile(path, "w", RATE, 2, subtype="PCM_24") as file:
            for piece in played(cut, playing, RATE):
                file.write(piece)
        code = ALONE.format(path=str(path))
        ended = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)
        own, grown = (float(word) for word in ended.stdout.split())
        sound, _ = soundfile.read(path)
    begun = time.process_time()
    np.fft.rfft(sound, axis=0)
    transform = time.process_time() - begun
    told = f"{own:.1f} s of processor, {own / transform:.2f} of one transform ({transform:.1f} s)"
    tell("ten minutes at 96 kHz", told, is_met=own <= TRANSFORMS * transform)
    tell("its memory", f"grew by {grown:.0f} MB", is_met=grown < MOST_MB)


def weighting() -> None:
    """Print how far the weighted figure of a sine lies from the table, and the 4 Hz sine's own."""
    worst = 0.0, 0.0
    for hz, db in WEIGHTING_DB.items():
        percent = 0.05 if hz > 50.0 else 0.5
        playing = Playing(waves=(Wave(hz, percent),), noise_db=-90.0)
        cut = (CutBand(3150.0, 60.0 if hz < 1.0 else 20.0),)
        told = heard(cut, playing, 44_100, 32).speed
        assert told is not None
        assert told.speed.fluctuation is not None
        found = told.speed.fluctuation.weighted_percent / (TWO_SIGMA * percent)
        off = 20.0 * math.log10(found) - db
        worst = max(worst, (abs(off), hz))
        if hz == 4.0:
            share = found * TWO_SIGMA
            tell(
                "a 4 Hz sine reads 0.9969", f"{share:.4f} of it", is_met=abs(share - 0.9969) < 0.01
            )
    tell(
        f"weighting within {WEIGHTED_DB:g} dB",
        f"{len(WEIGHTING_DB)} frequencies, worst {worst[0]:.2f} dB at {worst[1]:g} Hz",
        is_met=worst[0] <= WEIGHTED_DB,
    )


def rates(count: int, seed: int) -> None:
    """Print how many figures of speed and leak are right at every sample rate and depth."""
    for rate in RATES:
        for depth in DEPTHS:
            misses = [
                miss
                for trial in range(count)
                for what in (speed_trial, leak_trial)
                for miss in what(np.random.default_rng([seed, rate, depth, trial]), (rate,), depth)
            ]
            beyond = sum(miss.ratio > 1.0 for miss in misses)
            tell(
                f"{rate} Hz, {depth} bit",
                f"{len(misses) - beyond} of {len(misses)} figures",
                is_met=beyond <= MOST_MISSED * len(misses),
            )


def an_hour() -> None:
    """Print what an hour at 192 kHz, in blocks as a file gives it, takes of memory on the way.

    One second of a tone over and over: 3,150 whole waves, so it goes on without a jump.
    """
    ended = subprocess.run([sys.executable, "-c", HOUR], capture_output=True, check=True)
    minutes = [tuple(map(float, line.split())) for line in ended.stdout.decode().splitlines()]
    (first_min, first_mb), (last_min, last_mb) = minutes[0], minutes[-2]
    grew = (last_mb - first_mb) / (last_min - first_min)
    told = ", ".join(f"{mb:.0f} MB after {at:g} min" for at, mb in minutes[:-1])
    tell("an hour at 192 kHz", f"{told}; at its end {minutes[-1][1]:.0f}", is_met=grew <= GROWS_MB)


def main() -> None:
    """Run what was asked for, else everything."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("what", nargs="*", default=[*TRIALS, *OTHERS])
    parser.add_argument("--count", type=int, default=200)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    if "time" in asked.what:  # first, while little memory was asked for
        ten_minutes()
    for what in asked.what:
        if what in TRIALS:
            many(what, asked.count, asked.seed)
        elif what == "tilt":
            tilt(asked.seed)
        elif what == "traps":
            traps(asked.count, asked.seed)
        elif what == "weighting":
            weighting()
        elif what == "rates":
            rates(max(asked.count // 20, 1), asked.seed)
        elif what == "hour":
            an_hour()


if __name__ == "__main__":
    main()
