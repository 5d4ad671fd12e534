"""What a recording tells as plain data, for other programs."""

from __future__ import annotations

from typing import Any, Final

from core.language import Numbers
from core.recordings import Recording
from core.tones import SpeedTold, ToneBand


def figures_of(recording: Recording) -> dict[str, Any]:
    """Return every figure; what was not found is None."""
    heard = recording.heard
    numbers = Numbers()
    return {
        "file": recording.file,
        "seconds": _round(heard.seconds, 3),
        "sample_rate": int(heard.rate),
        "channels": heard.channels,
        **(dict.fromkeys(_SPEED) if recording.speed is None else _speed(recording.speed)),
        "bands": [
            {**_band(band), "label": label}
            for band, label in zip(heard.bands, recording.labels, strict=True)
        ],
        "warnings": [numbers.text(one.sentence) for one in heard.faults],
        "faults": [
            {"name": one.fault.value, "spoils": sorted(result.value for result in one.spoils)}
            for one in heard.faults
        ],
    }


def nothing_of(file: str, problem: str) -> dict[str, Any]:
    """Return the same keys for a file that can't be listened to; why is the one warning."""
    return {
        "file": file,
        **dict.fromkeys(("seconds", "sample_rate", "channels", *_SPEED)),
        "bands": [],
        "warnings": [problem],
        "faults": [],
    }


_SPEED: Final = (
    *("speed_error_percent", "speed_hz", "nominal_hz", "measured_from_s", "measured_s"),
    *("drift_percent", "fluctuation_weighted_percent", "fluctuation_unweighted_percent"),
    *("steady_weighted_percent", "steady_unweighted_percent"),
    *("rpm", "once_per_turn_percent", "once_per_turn_fastest_deg", "once_per_turn_from_s"),
    *("turn_percent", "spectrum", "drift"),
)


def _speed(told: SpeedTold) -> dict[str, Any]:
    speed, varies, turn = told.speed, told.speed.fluctuation, told.speed.turn
    found: dict[str, Any] = dict.fromkeys(_SPEED) | {
        "speed_error_percent": _round(told.error_percent, 5),
        "speed_hz": _round(speed.hz, 4),
        "nominal_hz": told.nominal_hz,
        "measured_from_s": _round(speed.start_s, 3),
        "measured_s": _round(speed.seconds, 3),
        "drift_percent": _round(speed.drift_percent, 5),
    }
    if varies is not None:
        found |= {
            "fluctuation_weighted_percent": _round(varies.weighted_percent, 5),
            "fluctuation_unweighted_percent": _round(varies.unweighted_percent, 5),
            "steady_weighted_percent": _round(varies.steady_weighted_percent, 5),
            "steady_unweighted_percent": _round(varies.steady_unweighted_percent, 5),
        }
    if turn is not None:
        found |= {
            "rpm": _round(turn.chosen_rpm, 3),
            "once_per_turn_percent": _round(turn.percent, 5),
            "once_per_turn_fastest_deg": _round(turn.fastest_deg, 2),
            "once_per_turn_from_s": _round(turn.from_s, 4),
        }
    if speed.seen is not None:
        found |= {
            "turn_percent": [_round(one, 5) for one in speed.seen.turn_percent],
            "spectrum": [
                {"hz": _round(hz, 3), "percent": _round(peak, 5)}
                for hz, peak in speed.seen.spectrum
            ],
            "drift": [
                {"s": _round(at, 2), "percent": _round(percent, 5)}
                for at, percent in speed.seen.drift
            ],
        }
    return found


def _band(band: ToneBand) -> dict[str, Any]:
    left, right = band.distortion_percent
    return {
        "kind": band.kind.value,
        "side": band.side.value,
        "start_s": _round(band.start_s, 2),
        "end_s": _round(band.end_s, 2),
        "hz": _round(band.hz, 1),
        "level_db": _round(band.level_db, 2),
        "leak_db": _round(band.leak.db if band.leak else None, 2),
        "leak_deg": _round(band.leak.deg if band.leak else None, 1),
        "distortion_percent": _round(band.worst_distortion_percent, 4),
        "distortion_left_percent": _round(left, 4),
        "distortion_right_percent": _round(right, 4),
    }


def _round(value: float | None, places: int) -> float | None:
    return None if value is None else round(float(value), places)
