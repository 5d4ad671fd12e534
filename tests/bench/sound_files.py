"""Sound files damaged at random, listened to: figures or a sentence, no traceback, no endless wait.

Run by hand: ``python -m tests.bench.sound_files [--count N] [--seed N]``. Bytes are changed, cut
off, put in, doubled or exchanged, half of them in the header, in files of every kind. A warning of
numpy counts as a failure; the time is that of the processor.
"""

from __future__ import annotations

import argparse
import os
import tempfile
import time
import traceback
import warnings
from collections import Counter
from pathlib import Path
from typing import Final

import numpy as np
import soundfile

from core.recordings import RecordingProblem, listen
from tests.sounding import last_of

RATE: Final = 16_000
SECONDS: Final = 1.5
HEADER: Final = 64
MOST_S: Final = 5.0
"""Of processor for one file; a sound one takes a tenth of a second."""

KINDS: Final = (
    ("wav", {"subtype": "PCM_24"}),
    ("wav", {"format": "WAVEX", "subtype": "FLOAT"}),
    ("rf64", {"format": "RF64", "subtype": "PCM_16"}),
    ("aiff", {"subtype": "PCM_16"}),
    ("flac", {"subtype": "PCM_16"}),
    ("ogg", {"format": "OGG", "subtype": "VORBIS"}),
    ("mp3", {}),
)


def damaged(rng: np.random.Generator, whole: bytes) -> bytes:
    """Return a file with one to four things done to it."""
    content = bytearray(whole)
    for _ in range(int(rng.integers(1, 5))):
        among = min(HEADER if rng.uniform() < 0.5 else len(content), len(content))
        if among < 2:
            break
        at, size = int(rng.integers(among)), int(rng.integers(1, 9))
        match int(rng.integers(5)):
            case 0:
                content[at : at + size] = rng.bytes(size)
            case 1:
                del content[at:]
            case 2:
                content[at:at] = rng.bytes(size)
            case 3:
                content[at:at] = content[at : at + 400]
            case _:
                content[at : at + 4] = rng.choice((b"\0\0\0\0", b"\xff\xff\xff\xff", b"\x7f\xff"))
    return bytes(content)


def main() -> None:
    """Damage and listen; print how each ended."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2_000)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    rng = np.random.default_rng(asked.seed)
    times = np.arange(round(SECONDS * RATE)) / RATE
    sound = 0.3 * np.sin(2.0 * np.pi * 3150.0 * times)[:, None] * np.array([1.0, 0.9])
    ends: Counter[str] = Counter()
    longest = 0.0
    warnings.simplefilter("error")
    with tempfile.TemporaryDirectory() as folder:
        wholes = []
        for place, (ending, kind) in enumerate(KINDS):
            path = Path(folder) / f"{place}.{ending}"
            soundfile.write(path, sound, RATE, **kind)
            wholes.append((ending, path.read_bytes()))
        kept, nowhere = os.dup(2), os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, 2)  # decoders have words of their own
        for trial in range(asked.count):
            ending, whole = wholes[trial % len(wholes)]
            path = Path(folder) / f"a.{ending}"
            path.write_bytes(damaged(rng, whole))
            begun = time.thread_time()
            try:
                ends["figures" if last_of(listen(path)).heard.bands else "figures, no band"] += 1
            except RecordingProblem as problem:
                ends[f"sentence: {problem.what.key}"] += 1
            except Exception:  # noqa: BLE001 - whatever it is, it is what is looked for
                ends["FAILED"] += 1
                print(f"trial {trial}, {ending}:\n{traceback.format_exc()}")
            longest = max(longest, time.thread_time() - begun)
        os.dup2(kept, 2)
    for end, count in ends.most_common():
        print(f"{count:6} {end}")
    is_met = not ends["FAILED"] and longest < MOST_S
    print(f"the longest took {longest:.2f} s of processor: {'met' if is_met else 'NOT met'}")


if __name__ == "__main__":
    main()
