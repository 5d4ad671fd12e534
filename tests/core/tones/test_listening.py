"""What a recording tells does not hang on how it comes, and every trap has its sentence."""

from __future__ import annotations

import tracemalloc
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from core.language import Numbers
from core.practice.played_record import CutBand, Playing, Wave, starts_s
from core.tones import SPOILS, CutSide, Fault, Heard, Kind, Listener
from tests.sounding import heard, pieces_of

pytestmark = pytest.mark.long

RATE = 48_000
CUT = (
    CutBand(3150.0, 8.0, gap_s=1.0),
    CutBand(1000.0, 4.0, "left"),
    CutBand(1000.0, 4.0, "right", gap_s=0.5),
    *(CutBand(315.0, 3.0, peak=0.1 * 10 ** (step / 10.0)) for step in range(4)),
)
PLAYING = Playing(0.3, waves=(Wave(4.0, 0.1),), hole_mm=0.1, lead_in_s=1.0, lead_out_s=1.0)


def sound_of(cut: tuple[CutBand, ...] = CUT, playing: Playing = PLAYING) -> np.ndarray:
    return np.concatenate(list(pieces_of(cut, playing, RATE)))


def listened(sound: np.ndarray, piece: int = 100_000) -> Heard:
    listener = Listener(RATE, sound.shape[1] if sound.ndim > 1 else 1)
    for begin in range(0, len(sound), piece):
        listener.feed(sound[begin : begin + piece])
    return listener.finish()


def faults(found: Heard) -> list[Fault]:
    return [one.fault for one in found.faults]


def test_bands_are_found_with_kind_side_and_edges() -> None:
    found = heard(CUT, PLAYING)
    assert [band.kind for band in found.bands] == [
        Kind.SPEED,
        Kind.SEPARATION,
        Kind.SEPARATION,
        *[Kind.TRACKING] * 4,
    ]
    assert [band.side for band in found.bands] == [
        CutSide.BOTH,
        CutSide.LEFT,
        CutSide.RIGHT,
        *[CutSide.BOTH] * 4,
    ]
    for band, (start, end) in zip(found.bands, starts_s(CUT, PLAYING), strict=True):
        assert band.start_s == pytest.approx(start, abs=0.15)
        assert band.end_s == pytest.approx(end, abs=0.15)
    rises = np.diff([band.level_db for band in found.bands[3:]])
    assert rises == pytest.approx([2.0, 2.0, 2.0], abs=0.1)
    assert faults(found) == []


@pytest.mark.parametrize("piece", [977, 4800, 2_000_000])
def test_pieces_of_any_size_tell_the_same(piece: int) -> None:
    sound = sound_of()
    assert repr(listened(sound, piece)) == repr(listened(sound, 65_536))


def test_sound_is_left_as_it_was_and_may_be_32_bit() -> None:
    sound = sound_of()
    sound[1000] = np.nan
    kept = sound.copy()
    found = listened(sound)
    assert np.array_equal(sound, kept, equal_nan=True)
    narrow = listened(sound.astype(np.float32))
    assert found.speed is not None
    assert narrow.speed is not None
    assert narrow.speed.error_percent == pytest.approx(found.speed.error_percent, abs=1e-5)


@pytest.mark.parametrize("wrong", [np.nan, np.inf, -1e300])
def test_samples_that_are_no_sound_spoil_a_moment_alone(wrong: float) -> None:
    sound = sound_of((CutBand(3150.0, 8.0),))
    sound[3 * RATE] = wrong
    found = listened(sound)
    assert found.speed is not None
    assert found.speed.error_percent == pytest.approx(0.3, abs=0.002)


def test_what_is_kept_of_a_second_is_small() -> None:
    second = sound_of((CutBand(3150.0, 1.0),), Playing())
    listener = Listener(RATE)
    listener.feed(second)
    tracemalloc.start()
    before = tracemalloc.get_traced_memory()[0]
    for _ in range(50):
        listener.feed(second)
    grown = tracemalloc.get_traced_memory()[0] - before
    tracemalloc.stop()
    assert grown / 50 < 20_000  # an hour: 72 MB, against 2,765 MB of sound


def test_nothing_at_all_is_told_of_nothing() -> None:
    found = listened(np.zeros((0, 2)))
    assert (found.bands, found.speed, found.seconds) == ((), None, 0.0)
    assert faults(found) == [Fault.SILENCE]


@pytest.mark.parametrize("samples", [1, 100, 4799, 4801])
def test_a_moment_of_sound_is_no_band(samples: int) -> None:
    assert listened(sound_of((CutBand(3150.0, 1.0),), Playing())[:samples]).bands == ()


def test_too_few_samples_a_second_are_refused() -> None:
    with pytest.raises(ValueError, match="too few samples"):
        Listener(4_000)


def test_a_short_tone_tells_its_mean_alone() -> None:
    found = heard((CutBand(3000.0, 3.0),), Playing(0.2))
    assert found.speed is not None
    assert found.speed.error_percent == pytest.approx(0.2, abs=0.01)
    assert (found.speed.speed.fluctuation, found.speed.speed.turn) == (None, None)


# Traps


def test_silence() -> None:
    assert faults(listened(np.zeros((RATE * 3, 2)))) == [Fault.SILENCE]


def test_no_tone() -> None:
    rng = np.random.default_rng(1)
    assert faults(listened(0.1 * rng.standard_normal((RATE * 3, 2)))) == [Fault.NO_TONE]


def test_one_channel() -> None:
    assert faults(listened(sound_of()[:, 0])) == [Fault.ONE_CHANNEL]
    assert faults(listened(sound_of()[:, :1])) == [Fault.ONE_CHANNEL]


def test_summed_to_mono() -> None:
    sound = sound_of()
    assert faults(listened(np.repeat(sound.mean(axis=1, keepdims=True), 2, axis=1))) == [Fault.MONO]


def by_a_switch(sound: np.ndarray, below_db: float) -> np.ndarray:
    """Join both channels before converters whose own noise lies so far below full scale."""
    own = 10.0 ** (-below_db / 20.0) * np.random.default_rng(8).standard_normal(sound.shape)
    return sound.mean(axis=1, keepdims=True) * (1.0, 1.02) + own


def test_summed_to_mono_before_converters_as_loud_as_many_are() -> None:
    noisy = replace(PLAYING, noise_db=-50.0)
    assert faults(listened(by_a_switch(sound_of(CUT[:1], noisy), 88.0))) == [Fault.MONO]


def test_a_band_cut_in_both_channels_alike_is_no_mono_sum() -> None:
    for noise_db in (-40.0, -70.0):
        sound = sound_of(CUT[:1], replace(PLAYING, noise_db=noise_db))
        leaking = sound @ np.array([[1.0, 0.15], [0.15, 1.0]])  # at -16.5 dB the noise leaks, too
        assert faults(listened(leaking)) == []


def test_noise_that_a_coder_joins_is_no_mono_sum(tmp_path: Path) -> None:
    path = tmp_path / "small.ogg"
    noisy = sound_of(CUT[:1], replace(PLAYING, noise_db=-40.0))
    soundfile.write(path, noisy, RATE, format="OGG", subtype="VORBIS", compression_level=0.8)
    assert faults(listened(soundfile.read(path)[0])) == []


def test_one_sided_bands_that_meet_in_mono_are_no_missing_sound() -> None:
    cut = (CUT[0], replace(CUT[1], seconds=4.0004), *CUT[2:])  # the other begins in mid-wave
    assert faults(listened(by_a_switch(sound_of(cut), 100.0))) == [Fault.MONO]


@pytest.mark.parametrize("way", [1, -1])
def test_a_dead_channel_that_picks_up_some_of_the_other(way: int) -> None:
    sound = sound_of((*CUT[:1], *CUT[3:]))[:, ::way]
    sound[:, 0] = 10.0 ** (-50.0 / 20.0) * sound[:, 1]
    fault = Fault.DEAD_LEFT if way > 0 else Fault.DEAD_RIGHT
    assert faults(listened(sound[:, ::way])) == [fault]


@pytest.mark.parametrize(("channel", "fault"), [(0, Fault.DEAD_LEFT), (1, Fault.DEAD_RIGHT)])
def test_a_dead_channel(channel: int, fault: Fault) -> None:
    sound = sound_of((CutBand(3150.0, 8.0),))
    sound[:, channel] = 1e-5 * np.random.default_rng(2).standard_normal(len(sound))
    assert fault in faults(listened(sound))


def test_a_channel_the_wrong_way_round() -> None:
    assert faults(listened(sound_of() * (1.0, -1.0))) == [Fault.OPPOSED]


def test_clipping() -> None:
    sound = np.clip(3.5 * sound_of(), -1.0, 1.0 - 2**-23)
    assert Fault.CLIPPING in faults(listened(sound))
    assert Fault.CLIPPING in faults(listened(0.7 * sound))  # turned down afterwards
    loud = sound_of((*CUT[:-1], replace(CUT[-1], peak=0.5)))  # the last band alone
    assert Fault.CLIPPING in faults(listened(np.clip(loud, -0.4, 0.4)))


@pytest.mark.parametrize("mains", [50.0, 60.0])
def test_hum_and_its_mains(mains: float) -> None:
    found = heard(CUT, replace(PLAYING, hum_db=-40.0, hum_hz=mains))
    assert faults(found) == [Fault.HUM]
    assert f"{mains:.0f}\u00a0Hz" in Numbers().text(found.faults[0].sentence)


def test_clicks_spoil_no_figure_of_speed() -> None:
    clean = heard(CUT[:1], PLAYING).speed
    found = heard(CUT[:1], replace(PLAYING, clicks_per_minute=60.0))
    assert faults(found) == [Fault.CLICKS]
    assert clean is not None
    assert clean.speed.fluctuation is not None
    assert found.speed is not None
    assert found.speed.speed.fluctuation is not None
    assert found.speed.error_percent == pytest.approx(clean.error_percent, abs=0.001)
    assert found.speed.speed.fluctuation.weighted_percent == pytest.approx(
        clean.speed.fluctuation.weighted_percent, rel=0.03
    )


def test_missing_sound_is_told_and_bridged() -> None:
    sound = sound_of((CutBand(3150.0, 20.0),))
    short = np.delete(sound, slice(9 * RATE, 9 * RATE + 517), axis=0)
    assert Fault.DROPPED in faults(listened(short))
    sound[9 * RATE : 9 * RATE + 480] = 0.0
    found = listened(sound)
    assert Fault.DROPPED in faults(found)
    assert found.speed is not None
    assert found.speed.error_percent == pytest.approx(0.3, abs=0.002)


def test_sound_that_breaks_off_is_no_click() -> None:
    sound = sound_of((CutBand(3150.0, 12.0),))
    for second in (3, 5, 7, 9):
        sound[second * RATE : second * RATE + 1024] = 0.0
    assert faults(listened(sound)) == [Fault.DROPPED]


def test_an_automatic_gain() -> None:
    sound = sound_of()
    gain, level = np.ones(len(sound)), 1.0
    size = np.abs(sound).max(axis=1)
    for i in range(0, len(sound), 480):
        loud = float(size[i : i + 480].max()) * level
        level *= 0.97 if loud > 0.2 else 1.004
        level = min(level, 8.0)
        gain[i : i + 480] = level
    assert Fault.GAIN in faults(listened(sound * gain[:, None]))


def test_bands_that_an_automatic_gain_makes_alike_are_no_missing_sound() -> None:
    rising = [CutBand(315.0, 4.0007, peak=0.1 * 10 ** (step / 20.0)) for step in range(3)]
    sound = sound_of((CUT[0], *rising))
    size = np.convolve(np.abs(sound).max(axis=1), np.ones(4800) / 4800, mode="same")
    assert faults(listened(sound * (0.1 / np.maximum(size, 0.02))[:, None] ** 0.9)) == [Fault.GAIN]


def test_bands_that_clipping_makes_alike_are_no_missing_sound() -> None:
    rising = [CutBand(315.0, 4.0007, peak=0.3 * 10 ** (step / 20.0)) for step in range(3)]
    assert faults(listened(np.clip(sound_of((CUT[0], *rising)), -0.2, 0.2))) == [Fault.CLIPPING]


def test_a_mono_switch_before_converters_as_loud_as_the_groove() -> None:
    sound = sound_of(CUT[:1], replace(PLAYING, noise_db=-70.0))
    assert faults(listened(by_a_switch(sound, 88.0))) == [Fault.MONO]


def test_noise() -> None:
    assert Fault.NOISE in faults(heard(CUT[:1], replace(PLAYING, noise_db=-30.0)))


def test_a_tone_of_no_use_for_speed() -> None:
    found = heard((CutBand(2500.0, 6.0),), Playing())
    assert (found.speed, faults(found)) == (None, [Fault.TONE_UNKNOWN])
    named = heard((CutBand(2500.0, 6.0),), Playing(0.1), nominal_hz=2500.0)
    assert named.speed is not None
    assert named.speed.error_percent == pytest.approx(0.1, abs=0.002)


def test_every_fault_says_what_it_spoils() -> None:
    assert set(SPOILS) == set(Fault)
    assert [fault for fault, spoilt in SPOILS.items() if not spoilt] == [Fault.CUT_SHORT]
