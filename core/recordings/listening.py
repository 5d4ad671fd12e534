"""A whole sound file listened to, beside what is known of its record."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from core.language import Message, Name, Quantity, message
from core.recordings.known_record import known_bands, tones_of
from core.recordings.sound_file import SoundFile
from core.records import BandUse, CutRecord
from core.tones import Fault, FaultFound, Heard, Kind, Listener, SpeedTold, matched


@dataclass(frozen=True, slots=True)
class Recording:
    """What a file tells, and the name it had.

    ``labels`` are the record's own words for each band that was found, None where it has none.
    """

    file: str
    heard: Heard
    labels: tuple[str | None, ...]
    is_of_another: bool = False
    """Whether its tone is not the named record's: then it tells nothing about the deck."""

    @property
    def speed(self) -> SpeedTold | None:
        """What it tells of the deck's speed, None where another record or speed was played."""
        return None if self.is_of_another else self.heard.speed


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
        heard = listener.finish()
        short = sound.cut_short(done)
        if short is not None:
            heard = replace(heard, faults=(*heard.faults, FaultFound(Fault.CUT_SHORT, short)))
        return beside(path.name, heard, record)


def beside(file: str, heard: Heard, record: CutRecord | None) -> Recording:
    """Return what was heard with the record's own words, and what only the record shows.

    What a band is for, the record knows better than its frequency does.
    """
    if record is None:
        return Recording(file, heard, (None,) * len(heard.bands))
    found = matched(heard.bands, known_bands(record))
    known = {one.fault for one in heard.faults}
    more: list[FaultFound] = []
    if found.swapped:
        more.append(FaultFound(Fault.SWAPPED, message("tones.fault.swapped")))
    if found.summed and heard.channels > 1 and Fault.MONO not in known:
        more.append(FaultFound(Fault.MONO, message("tones.fault.summed")))
    other = _of_another(heard, record)
    if other is not None and Fault.OTHER_SPEED not in known:
        more.append(FaultFound(Fault.OTHER_RECORD, other))
    own = tones_of(record)
    bands = tuple(
        band if place is None else replace(band, kind=_KINDS.get(own[place].kind, band.kind))
        for band, place in zip(heard.bands, found.places, strict=True)
    )
    labels = tuple(None if place is None else own[place].label for place in found.places)
    faults = (*more, *heard.faults)
    told = replace(heard, bands=bands, faults=faults)
    return Recording(file, told, labels, is_of_another=other is not None)


def _of_another(heard: Heard, record: CutRecord) -> Message | None:
    """Return the question about a tone that is not the record's, None where it is.

    Without the record's tone for speed, a usual one is asked about, and bands that are all
    strange.
    """
    told, own = heard.speed, [band.hz for band in known_bands(record)]
    if told is not None:
        if abs(told.error_percent) <= DISAGREES_PERCENT:
            return None
        hz, wanted = told.speed.hz, told.nominal_hz
    elif heard.bands and own:
        strays = [band for band in heard.bands if _off_percent(band.hz, own) > DISAGREES_PERCENT]
        if len(strays) < len(heard.bands):  # other bands may be left out of a record's description
            strays = [band for band in strays if band.kind is Kind.SPEED]
        if not strays:
            return None
        hz = max(strays, key=lambda band: band.seconds).hz
        wanted = record.nominal_hz or min(own, key=lambda one: abs(one / hz - 1.0))
    else:
        return None
    return message(
        "tones.fault.other_record",
        hz=Quantity(hz, "Hz", 0),
        record=Name(record.name),
        nominal=Quantity(wanted, "Hz", 0),
    )


def _off_percent(hz: float, own: list[float]) -> float:
    return 100.0 * min(abs(hz / one - 1.0) for one in own)


DISAGREES_PERCENT: Final = 3.0
"""Beyond this a tone is taken to be from another record or speed: our own allowance."""


_KINDS: Final = {
    BandUse.SPEED: Kind.SPEED,
    BandUse.SEPARATION: Kind.SEPARATION,
    BandUse.TRACKING: Kind.TRACKING,
    BandUse.LEVEL: Kind.LEVEL,
}
"""Of what is for anything else, its frequency tells no less than the record."""
