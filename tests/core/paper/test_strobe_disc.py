from __future__ import annotations

import math
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.marks import RingWords, Sector, Words, extent
from core.language import Numbers
from core.paper.sheet import PaperProblem, PaperSize, printable
from core.paper.strobe_disc import bars_of, disc_sheet, rings_for
from tests.examples import deck


def said(sheet_marks: tuple[object, ...]) -> str:
    return " ".join(m.text for m in sheet_marks if isinstance(m, Words | RingWords))


@given(
    speeds=st.lists(st.sampled_from([16.666667, 33.333333, 45.0, 78.26]), min_size=1, max_size=3),
    flashes=st.floats(80.0, 130.0),
)
@settings(max_examples=40)
def test_bars_are_whole_even_and_half_of_every_turn(speeds: list[float], flashes: float) -> None:
    try:
        rings = rings_for(speeds, [flashes])
    except PaperProblem as problem:
        assert "too fine" in problem.sentence  # noqa: PT017 - a refusal is one of the two answers
        return
    assert len(rings) == len(set(speeds))
    for ring in rings:
        bars = [m for m in bars_of(ring) if isinstance(m, Sector)]
        assert len(bars) == ring.count.bars
        turn = 360.0 / len(bars)
        assert all(bar.span_deg == pytest.approx(turn / 2) for bar in bars)
        assert bars[-1].start_deg - bars[0].start_deg == pytest.approx(360.0 - turn)
        assert 2 * math.pi * ring.inner_mm / len(bars) >= 0.8
    for outer, inner in pairwise(rings):
        assert outer.inner_mm > inner.outer_mm


def test_a_ring_that_stands_at_another_speed_says_which() -> None:
    exact, near = rings_for((33.333333, 45.0), (100.0,))
    assert exact.label(Numbers()) == "33⅓ rpm · 100 flashes/s · 180 bars"
    # 60 x 100 / 133 = 45.1128 rpm, 0.25 % fast (derived).
    assert near.label(Numbers()) == (
        "45 rpm · 100 flashes/s · 133 bars · stands at 45.113 rpm (+0.25\u00a0%)"
    )
    assert "45,113" in near.label(Numbers(","))


def test_mains_of_sixty_hertz_make_both_usual_speeds_exact() -> None:
    assert all(ring.is_exact for ring in rings_for((33.333333, 45.0), (120.0,)))


@pytest.mark.parametrize("size", PaperSize)
def test_the_sheet_warns_of_flashing_light_and_stays_on_the_paper(size: PaperSize) -> None:
    sheet = disc_sheet(deck(), size, flashes_hz=(100.0, 120.0), speeds_rpm=(33.333333, 45.0, 78.26))
    words = said(sheet.marks)
    assert "seizures" in words
    assert "qualified person" in words
    assert words.count("What did you measure?") == 2
    box, area = extent(sheet.marks), printable(size)
    assert box.left >= area.left
    assert box.right <= area.right
    assert box.bottom >= area.bottom
    assert box.top <= area.top


def test_a_deck_gives_its_own_speeds_and_lamp() -> None:
    own = deck(platter={"speeds_rpm": [78.26]}, bench={"lamp_flashes_per_s": 120.0})
    assert "78.26 rpm · 120 flashes/s · 92 bars" in said(disc_sheet(own).marks)


@pytest.mark.parametrize(
    ("speeds", "flashes", "told"),
    [
        ((33.3,), (0.0,), "can't show anything"),
        ((33.3,), (-100.0,), "can't show anything"),
        ((33.3,), (float("nan"),), "can't show anything"),
        ((33.3,), (float("inf"),), "can't show anything"),
        ((0.0,), (100.0,), "No platter turns"),
        ((33.3,), (1.0,), "too few"),
        ((33.3,), (1000.0,), "too fine"),
        ((16.6, 33.3, 45.0, 78.0), (100.0, 120.0), "rings do not fit"),
        ((), (100.0,), "No speed"),
    ],
)
def test_what_makes_no_disc_is_refused_with_a_way_on(
    speeds: tuple[float, ...], flashes: tuple[float, ...], told: str
) -> None:
    with pytest.raises(PaperProblem, match=told) as problem:
        rings_for(speeds, flashes)
    assert problem.value.remedy
