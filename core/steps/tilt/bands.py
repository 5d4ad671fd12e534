"""Test bands: the leaks of each setting, and the setting at which they are least."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from core.estimation import Estimate, rounding_uncertainty
from core.fitting import Control
from core.physics.crosstalk import CrosstalkFit, LeakReading, fit_crosstalk
from core.physics.tilt import channel_balance, tilt_of_leak_deg
from core.records import BenchKit
from core.steps.shared import Elsewhere, Event, is_checked
from core.steps.tilt.control import rolled_by
from core.steps.tilt.readings import LeakRead, limited
from core.steps.tilt.still import are_alike

CROSSED_ABOVE_DB: Final = -3.0
"""Above this leak the leads or the fields are swapped: no upright cartridge leaks as much."""

TONE_LEAK_DB: Final = 0.128
"""How well a recorded leak is known: 0.2 dB and 2 degrees in 95 of 100.

One standard deviation is 0.1 dB along the leak and 0.15 across it (1 degree); this is the root of
their mean square, since a fit takes both alike."""

_TONE_FLOOR: Final = 1e-4
"""What noise leaves of a leak of nothing, as an amplitude: 80 dB below the tone (our own)."""

_ALONE_DEG: Final = 1.0
"""What one recorded setting is trusted to, one standard uncertainty: leads the wrong way round
turn its sign (our own allowance). A band cut on both channels shows that they are not: then half
the difference of both leaks' real parts is how far the head stands from the least leak, whatever
the cartridge's own leaks are (derived: d/dx of |k1 + x|^2 + |k2 - x|^2)."""

_CLEARLY: Final = 2.0
"""Factor of disagreement above which a pair of leads is taken to be reversed."""

_SAME_SETTING_DEG: Final = 1e-3

_MADE_TO_SHARE: Final = 0.08
"""Relative error of a turn of the head."""

_STANDS_AFTER: Final = 2
"""A reading that disagrees with the curves is asked for again, but not once so many were taken
since: then the settings themselves are known less well than was assumed."""

_WIDER: Final = 1.5
"""Factor by which the uncertainty grows at each new fit."""

LOPSIDED_ABOVE_DB: Final = 2.0
"""Channel balance that DIN 45500 asks for (second-hand)."""


@dataclass(frozen=True, slots=True)
class BandLeaks:
    """All test bands read.

    ``readings`` are those that count, ``setting_deg`` where the head stands now; ``odd`` is the
    place of a reading that disagrees with the curves and was not taken again; ``aside`` how many
    were taken again and set aside.
    """

    readings: tuple[LeakReading, ...]
    setting_deg: float
    crossed: bool
    lopsided_db: float | None
    fit: CrosstalkFit | None
    odd: int | None
    aside: int
    leak_uncertainty_db: float
    widened: bool = False
    """Whether the settings fit no curve as well as they should, so that all is less certain."""
    alone: bool = False
    """Whether there is a single recorded setting, whose sign is uncertain."""
    still: bool = False
    """Whether all settings leak the same: the head may not have turned at all."""
    checked: bool = False
    """Whether the questions about the head were answered."""
    turned_round: bool = False
    """Whether the signs of the leaks only fit with one channel's leads reversed."""

    @property
    def most_tilt_deg(self) -> float:
        """Most the stylus can lean by the leaks of the last setting, with 95 % certainty.

        Derived: with own leaks k alike in both channels, of whatever size and phase, the mean of
        |k + x|^2 and |k - x|^2 is |k|^2 + x^2, so x = tan t is at most its root.
        """
        last = self.readings[-1].setting_deg
        here = [r for r in self.readings if abs(r.setting_deg - last) < _SAME_SETTING_DEG]
        powers = [
            10.0 ** (leak / 10.0) for r in here for leak in (r.left_in_right_db, r.right_in_left_db)
        ]
        mean_db = 10.0 * math.log10(sum(powers) / len(powers))
        error = Estimate(mean_db, self.leak_uncertainty_db / math.sqrt(len(powers)))
        return tilt_of_leak_deg(mean_db + error.half_width())


def bands_of(events: Sequence[Event], bench: BenchKit, step_deg: float) -> BandLeaks | None:
    """Return all that was read from test bands; None if none was.

    After a move of another step that tilts the arm, earlier leaks belong to the setting that would
    leak as much now.
    """
    setting = 0.0
    readings: list[LeakReading] = []
    last: LeakRead | None = None
    crossed, proven, checked = False, True, False
    errs = math.sqrt(2.0) * bench.test_level_db
    for event in events:
        if isinstance(event, Elsewhere):
            tilted = event.change("tilt")
            if event.exchanged or tilted is None:
                readings, last, proven = [], None, True
            else:
                readings = [_at_setting(one, one.setting_deg - tilted.value) for one in readings]
            continue
        setting += rolled_by(event.moves)
        if is_checked(event, Control.TILT, Control.TILT_SHIM) and are_alike(readings, errs):
            # It never turned, so all of them were read where it stands now.
            readings, checked = [_at_setting(one, setting) for one in readings], True
        reading = event.reading
        if not isinstance(reading, LeakRead):
            continue
        setting = reading.setting(setting)
        last = reading
        leak = reading.measure(setting)
        crossed = max(leak.left_in_right_db, leak.right_in_left_db) > CROSSED_ABOVE_DB
        if not crossed:
            readings.append(leak)
            proven = proven and reading.shows_phase
    if last is None:
        return None
    phased = bool(readings) and all(reading.has_phase for reading in readings)
    uncertainty = TONE_LEAK_DB if phased else errs
    still = are_alike(readings, errs)
    tried = [reading.setting_deg for reading in readings]
    turned_round = phased and _fits_turned_round(readings)
    if turned_round:
        readings = [_turned_round(reading) for reading in readings]
    moved = _MADE_TO_SHARE * (max(tried) - min(tried)) if tried else 0.0
    setting_uncertainty = math.hypot(rounding_uncertainty(step_deg), moved)
    fit, odd, aside, wider = _fitted(readings, uncertainty, setting_uncertainty)
    alone = phased and not proven and max(tried) - min(tried) < _SAME_SETTING_DEG
    if alone and fit is not None:
        away = abs(fit.best_deg.value - setting)
        fit = replace(fit, best_deg=fit.best_deg.widened(max(_ALONE_DEG, away)))
    return BandLeaks(
        readings=tuple(readings),
        setting_deg=limited(setting),
        crossed=crossed,
        lopsided_db=_lopsided(last, bench),
        fit=fit,
        odd=odd,
        aside=aside,
        leak_uncertainty_db=uncertainty * wider,
        widened=wider > 1.0,
        alone=alone,
        still=still,
        checked=checked,
        turned_round=turned_round,
    )


def _turned_round(reading: LeakReading) -> LeakReading:
    """Return a reading with one channel's sign reversed, which reverses both leaks."""
    phases = reading.left_in_right_phase_deg or 0.0, reading.right_in_left_phase_deg or 0.0
    return replace(
        reading,
        left_in_right_phase_deg=phases[0] + 180.0,
        right_in_left_phase_deg=phases[1] + 180.0,
    )


def _fits_turned_round(readings: Sequence[LeakReading]) -> bool:
    """Whether the settings agree far better with one channel reversed.

    A setting and the sideways part of its leak tell where the leak is least; all settings should
    tell the same place.
    """
    if len({round(one.setting_deg, 3) for one in readings}) < 2:
        return False
    as_read, turned = _apart(readings), _apart([_turned_round(one) for one in readings])
    return as_read > _CLEARLY * turned


def _apart(readings: Sequence[LeakReading]) -> float:
    """Return how far apart the settings put the least leak, in degrees, over both channels."""
    found = 0.0
    for place, sign in ((0, 1.0), (1, -1.0)):
        least = []
        for one in readings:
            db = one.right_in_left_db if place else one.left_in_right_db
            phase = one.right_in_left_phase_deg if place else one.left_in_right_phase_deg
            sideways = 10.0 ** (db / 20.0) * math.cos(math.radians(phase or 0.0))
            least.append(one.setting_deg - math.degrees(math.atan(sign * sideways)))
        found = math.hypot(found, max(least) - min(least))
    return found


def _at_setting(reading: LeakReading, setting_deg: float) -> LeakReading:
    return replace(reading, setting_deg=limited(setting_deg))


def _fitted(
    readings: list[LeakReading], leak_uncertainty_db: float, setting_uncertainty_deg: float
) -> tuple[CrosstalkFit | None, int | None, int, float]:
    """Fit, setting aside readings that disagree and were repeated; ``readings`` keeps the rest.

    Returns the fit, the place of what disagrees, how many were set aside, and by how much more
    uncertain everything is than was assumed.
    """
    aside, wider = 0, 1.0
    while True:
        fit = fit_crosstalk(
            readings,
            leak_standard_uncertainty_db=leak_uncertainty_db * wider,
            setting_standard_uncertainty_deg=setting_uncertainty_deg * wider,
            leak_floor=_TONE_FLOOR,
        )
        if fit is None or fit.worst is None:
            return fit, None, aside, wider
        place = fit.worst.index // 2
        again = any(
            abs(later.setting_deg - readings[place].setting_deg) < _SAME_SETTING_DEG
            for later in readings[place + 1 :]
        )
        if not again:
            if len(readings) - 1 - place + aside < _STANDS_AFTER:
                return fit, place, aside, wider
            wider *= _WIDER
            continue
        del readings[place]
        aside += 1


def _lopsided(reading: LeakRead, bench: BenchKit) -> float | None:
    balance = channel_balance(
        *reading.balance_db,
        level_standard_uncertainty_db=bench.test_level_db,
    )
    beyond = abs(balance.value) - balance.half_width() > LOPSIDED_ABOVE_DB
    return balance.value if beyond else None
