"""What a recording tells, in sentences."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from core.language import Message, Name, Quantity, Series, message
from core.recordings import Recording
from core.steps.speed import speed_name
from core.tones import LEAST_S, OncePerTurn, SpeedTold, ToneBand

_CUT_PERCENT: Final = 0.5
"""How far a record's tone may be off. Source: IEC 60098, second-hand."""

_CLOCK_PERCENT: Final = 0.01
"""How far a sound card's clock may be off: 50 to 100 ppm (practice, no source)."""

_RADII_MM: Final = (60.0, 146.0)
_TRUE_PERCENT: Final = 0.01


def told(recording: Recording) -> Iterator[Message]:
    """Yield the sentences of a recording, what is wrong with it last."""
    heard = recording.heard
    yield message(
        "tones.note.file",
        file=Name(recording.file),
        seconds=Quantity(heard.seconds, "s", 1),
        rate=Quantity(heard.rate, "Hz", 0),
    )
    if recording.speed is not None:
        yield from _speed(recording.speed)
    elif not recording.is_of_another:  # what is wrong says it then
        yield message("tones.note.no_speed")
    for band, label in zip(heard.bands, recording.labels, strict=True):
        line = _band(band)
        yield message("tones.named.band", label=Name(label), band=line) if label else line
    yield from (one.sentence for one in heard.faults)


def _speed(told: SpeedTold) -> Iterator[Message]:
    speed, error = told.speed, told.error_percent
    yield message(
        "tones.speed",
        way="true" if abs(error) < _TRUE_PERCENT else "fast" if error > 0.0 else "slow",
        error=Quantity(abs(error), "%", 2),
        hz=Quantity(speed.hz, "Hz", 1),
        nominal=Quantity(told.nominal_hz, "Hz", 0),
        seconds=Quantity(speed.seconds, "s", 1),
    )
    yield message(
        "tones.note.mean",
        cut=Quantity(_CUT_PERCENT, "%", 1),
        clock=Quantity(_CLOCK_PERCENT, "%", 2),
    )
    if speed.fluctuation is None or speed.turn is None:
        yield message(
            "tones.note.too_short",
            seconds=Quantity(speed.seconds, "s", 1),
            least=Quantity(LEAST_S, "s", 0),
        )
        return
    varies = speed.fluctuation
    yield message(
        "tones.fluctuation.all",
        weighted=Quantity(varies.weighted_percent, "%", 3),
        unweighted=Quantity(varies.unweighted_percent, "%", 3),
    )
    yield _turn(speed.turn)
    yield message(
        "tones.fluctuation.steady",
        weighted=Quantity(varies.steady_weighted_percent, "%", 3),
        unweighted=Quantity(varies.steady_unweighted_percent, "%", 3),
    )
    if abs(speed.drift_percent) >= _TRUE_PERCENT:
        yield message(
            "tones.drift",
            way="faster" if speed.drift_percent > 0.0 else "slower",
            drift=Quantity(abs(speed.drift_percent), "%", 2),
        )
    yield message("tones.note.standard")


def _turn(turn: OncePerTurn) -> Message:
    inner, outer = _RADII_MM
    return message(
        "tones.fluctuation.turn",
        rpm=speed_name(turn.chosen_rpm),
        peak=Quantity(turn.percent, "%", 3),
        inner=Quantity(turn.off_centre_mm(inner), "mm", 2),
        inner_radius=Quantity(inner, "mm", 0),
        outer=Quantity(turn.off_centre_mm(outer), "mm", 2),
        outer_radius=Quantity(outer, "mm", 0),
    )


def _band(band: ToneBand) -> Message:
    more: list[Quantity | Message] = [Quantity(band.level_db, "dB", 1)]
    if band.leak is not None:
        db, deg = Quantity(band.leak.db, "dB", 1), Quantity(band.leak.deg, "°", 0)
        more.append(message("tones.part.leak", db=db, deg=deg))
    if band.worst_distortion_percent is not None:
        percent = Quantity(band.worst_distortion_percent, "%", 2)
        more.append(message("tones.part.distortion", percent=percent))
    return message(
        "tones.band",
        side=band.side.value,
        start=Quantity(band.start_s, "s", 1),
        end=Quantity(band.end_s, "s", 1),
        hz=Quantity(band.hz, "Hz", 0),
        figures=Series(tuple(more), ","),
    )
