"""What a person knows of a test record: its bands in order, a document of theirs."""

from __future__ import annotations

import difflib
from collections.abc import Iterable
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from core.language import Name, Series, message
from core.recordings.sound_file import RecordingProblem
from core.records import BandUse, BenchKit, CutRecord, RecordBand, TestRecord
from core.tones import CutSide, KnownBand

_MOST_BYTES: Final = 200_000
_MOST_NAMED: Final = 5


def known_bands(record: CutRecord) -> tuple[KnownBand, ...]:
    """Return a record's bands in the words of tones, sweeps left out: they are no tones."""
    return tuple(
        KnownBand(band.label, band.hz, CutSide(band.side.value)) for band in tones_of(record)
    )


def tones_of(record: CutRecord) -> tuple[RecordBand, ...]:
    """Return the bands that are one steady tone, in order."""
    return tuple(band for band in record.bands if band.kind is not BandUse.SWEEP)


def record_of(bench: BenchKit) -> CutRecord | None:
    """Return the test record that a bench kit of before describes; None if it describes none."""
    if bench.test_record is TestRecord.UNKNOWN:
        return None
    if bench.test_record is not TestRecord.OWN:
        return record_named(bench.test_record.value)
    try:
        return CutRecord(
            name=bench.test_record.value,
            bands=bench.record_bands,
            cut_percent=bench.record_cut_percent,
        )
    except ValidationError:  # no band yet, or two tones for speed
        return None


def record_named(asked: str, own: Iterable[CutRecord] = ()) -> CutRecord:
    """Return the record of a file, or one by name: a person's own, or one that came along.

    Raises RecordingProblem.
    """
    from profiles.test_records import known_records  # only where a record is asked for

    path = Path(asked).expanduser()
    if path.suffix.casefold() == ".json":
        return _of(_content(path), path.name)
    records = [*own, *(_of(content, name) for content, name in known_records())]
    wanted = " ".join(asked.split()).casefold()
    for record in records:
        if record.name.casefold() == wanted:
            return record
    names = list(dict.fromkeys(record.name for record in records))
    near = difflib.get_close_matches(asked, names, n=3, cutoff=0.4) or names
    raise RecordingProblem(
        message("tones.record.missing", name=Name(asked)),
        message("tones.record.missing_todo", names=_listed(near)),
    )


def _content(path: Path) -> bytes:
    try:
        if path.stat().st_size > _MOST_BYTES:
            raise _no_record(path.name)
        return path.read_bytes()
    except (OSError, ValueError) as error:
        raise RecordingProblem(
            message("tones.file.missing", file=Name(str(path))), message("tones.file.missing_todo")
        ) from error


def _of(content: bytes, name: str) -> CutRecord:
    try:
        return CutRecord.model_validate_json(content)
    except ValidationError as error:
        raise _no_record(name) from error


def _no_record(name: str) -> RecordingProblem:
    return RecordingProblem(
        message("tones.record.unusable", file=Name(name)), message("tones.record.unusable_todo")
    )


def _listed(names: Iterable[str]) -> Series:
    return Series(tuple(Name(name) for name in names)[:_MOST_NAMED], ";")
