"""A whole sound file listened to, beside what is known of its record."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from core.language import message
from core.recordings.known_record import known_bands, tones_of
from core.recordings.sound_file import SoundFile
from core.records import BandUse, CutRecord
from core.tones import Fault, Heard, Kind, Listener, Trouble, matched


@dataclass(frozen=True, slots=True)
class Recording:
    """What a file tells, and the name it had.

    ``labels`` are the record's own words for each band that was found, None where it has none.
    """

    file: str
    heard: Heard
    labels: tuple[str | None, ...]


def listen(
    path: Path,
    *,
    nominal_hz: float | None = None,
    rpm: float | None = None,
    record: CutRecord | None = None,
) -> Generator[float, None, Recording]:
    """Yield the share listened to so far, and return what the file tells.

    What is known of the record gives tone and speed where they are not given. Between two shares it
    may be given up. Raises RecordingProblem.
    """
    if record is not None:
        nominal_hz = nominal_hz or record.nominal_hz
        rpm = rpm or record.rpm
    with SoundFile(path) as sound:
        listener = Listener(sound.rate, sound.channels, nominal_hz=nominal_hz, rpm=rpm)
        done = 0
        for block in sound.blocks():
            listener.feed(block)
            done += block.shape[0]
            yield min(done / sound.samples, 1.0)
        return beside(path.name, listener.finish(), record)


def beside(file: str, heard: Heard, record: CutRecord | None) -> Recording:
    """Return what was heard with the record's own words, and what only the record shows.

    What a band is for, the record knows better than its frequency does.
    """
    if record is None:
        return Recording(file, heard, (None,) * len(heard.bands))
    found = matched(heard.bands, known_bands(record))
    faults = {one.fault for one in heard.troubles}
    more: list[Trouble] = []
    if found.swapped:
        more.append(Trouble(Fault.SWAPPED, message("tones.trouble.swapped")))
    if found.summed and heard.channels > 1 and Fault.MONO not in faults:
        more.append(Trouble(Fault.MONO, message("tones.trouble.summed")))
    own = tones_of(record)
    bands = tuple(
        band if place is None else replace(band, kind=_KINDS.get(own[place].kind, band.kind))
        for band, place in zip(heard.bands, found.places, strict=True)
    )
    labels = tuple(None if place is None else own[place].label for place in found.places)
    troubles = (*more, *heard.troubles)
    return Recording(file, replace(heard, bands=bands, troubles=troubles), labels)


_KINDS: Final = {
    BandUse.SPEED: Kind.SPEED,
    BandUse.SEPARATION: Kind.SEPARATION,
    BandUse.TRACKING: Kind.TRACKING,
    BandUse.LEVEL: Kind.LEVEL,
}
"""Of what is for anything else, its frequency tells no less than the record."""
