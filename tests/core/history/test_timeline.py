"""A deck's fittings side by side: what was read, what changed, and the picture of it."""

from __future__ import annotations

import math
from datetime import timedelta
from typing import Any, cast

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.drawing.chart import Band, MarkRole, Picture, Points, Rule, Shape, Tag
from core.fitting import (
    ChoiceMade,
    Control,
    Entry,
    Finished,
    MoveMade,
    MovePart,
    ReadingTaken,
    StepAccepted,
    Verdict,
)
from core.history.chart import over_time
from core.history.timeline import (
    Change,
    Comparison,
    Meaning,
    Timeline,
    compare_fittings,
    timeline_of,
)
from core.language import Numbers
from core.steps.shared.swap_part import Past
from core.workflow.descriptions import described_part
from tests.examples import cartridge, deck
from tests.visits import fitting, noon, past
from tests.worded import worded

POINT = Numbers(".")
LIGHT = cartridge(name="Example cartridge, light", downforce_min_gf=1.5, downforce_max_gf=2.0)


def three() -> list[Past]:
    """Return three fittings, the last with another cartridge."""
    return [
        past(fitting("2023-03-01")),
        past(fitting("2024-03-01", downforce_gf=1.97, slide_mm=0.3, found_percent=-0.4,
                     left_percent=0.0)),
        past(fitting("2025-03-01", cartridge_id="light", downforce_gf=1.75), fitted=LIGHT),
    ]  # fmt: skip # rows of a table


def test_a_resonance_from_the_stated_compliance_is_said_to_be_calculated() -> None:
    """Beside figures that were read it looked like one of them."""
    quantity = timeline_of(three()).quantity("mount/resonance")
    assert "calculated" in POINT.text(quantity.label)


def compared(pasts: list[Past], numbers: Numbers = POINT) -> Comparison:
    timeline = timeline_of(pasts)
    found = compare_fittings(timeline, pasts[0].fitting.id, pasts[-1].fitting.id)
    return cast("Comparison", worded(found, numbers))


def change(comparison: Comparison, key: str) -> Change:
    return next(one for one in comparison.changes if one.key == key)


def test_fittings_stand_in_order_of_time_whatever_order_they_come_in() -> None:
    pasts = three()
    timeline = timeline_of(pasts[::-1])
    assert [stand.id for stand in timeline.stands] == ["2023-03-01", "2024-03-01", "2025-03-01"]
    assert [stand.letter for stand in timeline.stands] == ["A", "A", "B"]
    assert [stand.day.isoformat() for stand in timeline.stands] == [
        "2023-03-01",
        "2024-03-01",
        "2025-03-01",
    ]


def test_every_quantity_has_a_value_for_every_fitting_or_none() -> None:
    pasts = [*three(), past(fitting("2025-06-01", said=()))]
    timeline = timeline_of(pasts)
    keys = {quantity.key for quantity in timeline.quantities}
    assert {
        "level/tilt",
        "final_downforce/downforce",
        "arm_height/height",
        "alignment/slide",
        "alignment/overhang",
        "alignment/effective_length",
        "alignment/offset",
        "alignment/twist",
        "tilt/tilt",
        "skating/setting",
        "speed/speed_error_33",
        "mount/resonance",
    } <= keys
    for quantity in timeline.quantities:
        assert len(quantity.values) == 4
        assert quantity.unit
        if quantity.key != "mount/resonance":
            assert quantity.values[3] is None


def test_a_change_is_later_less_earlier_with_the_error_of_both() -> None:
    pasts = three()
    found = change(compared(pasts), "final_downforce/downforce")
    assert found.then is not None
    assert found.now is not None
    assert found.change == pytest.approx(1.75 - 2.0, abs=1e-6)
    assert found.half_width == pytest.approx(
        math.hypot(found.then.half_width or 0.0, found.now.half_width or 0.0)
    )
    assert found.meaning is Meaning.BEYOND


@pytest.mark.parametrize(
    ("later", "meaning"),
    [
        ({}, Meaning.NONE),
        ({"downforce_gf": 1.99}, Meaning.NOT_TOLD),
        ({"downforce_gf": 1.96}, Meaning.WITHIN),
        ({"downforce_gf": 1.90}, Meaning.BEYOND),
    ],
)
def test_a_change_is_weighed_against_reading_error_and_tolerance(
    later: dict[str, Any], meaning: Meaning
) -> None:
    pasts = [past(fitting("2023-03-01")), past(fitting("2024-03-01", **later))]
    assert change(compared(pasts), "final_downforce/downforce").meaning is meaning


def test_the_order_of_the_two_fittings_does_not_matter() -> None:
    pasts = three()
    timeline = timeline_of(pasts)
    one = compare_fittings(timeline, "2023-03-01", "2025-03-01")
    other = compare_fittings(timeline, "2025-03-01", "2023-03-01")
    assert one == other
    same = compare_fittings(timeline, "2024-03-01", "2024-03-01")
    assert all(found.meaning is Meaning.NONE for found in same.changes)
    assert (same.settings, same.moved) == ((), ())
    with pytest.raises(KeyError):
        compare_fittings(timeline, "2024-03-01", "never")


def test_what_was_read_in_one_only_is_said_to_be_so() -> None:
    pasts = [past(fitting("2023-03-01")), past(fitting("2024-03-01", found_percent=None))]
    found = change(compared(pasts), "speed/speed_error_33")
    assert (found.change, found.meaning) == (None, Meaning.UNKNOWN)
    assert found.either.unit == "%"


def test_heights_over_different_lengths_are_not_compared_but_angles_are() -> None:
    later = fitting("2024-03-01")
    entries = tuple(
        entry.model_copy(
            update={
                "body": ReadingTaken(
                    step="arm_height", reading={**entry.body.reading, "spacing_mm": 150.0}
                )
            }
        )
        if isinstance(entry.body, ReadingTaken) and entry.body.step == "arm_height"
        else entry
        for entry in later.entries
    )
    pasts = [past(fitting("2023-03-01")), past(later.model_copy(update={"entries": entries}))]
    found = compared(pasts)
    assert change(found, "arm_height/height").meaning is Meaning.OTHERWISE_READ
    assert change(found, "arm_height/pitch").meaning is Meaning.NONE


def test_changed_settings_are_told_in_words() -> None:
    pasts = three()
    told = {one.label: (one.then, one.now) for one in compared(pasts).settings}
    assert told["Cartridge"] == ("Example cartridge, elliptical", "Example cartridge, light")
    assert told["Downforce, wanted"] == (
        "2.00\u00a0gf\u00a0±\u00a00.05",
        "1.75\u00a0gf\u00a0±\u00a00.05",
    )
    comma = {one.label: one.now for one in compared(pasts, Numbers(",")).settings}
    assert comma["Downforce, wanted"] == "1,75\u00a0gf\u00a0±\u00a00,05"


def test_another_solution_an_override_and_a_new_record_are_settings_too() -> None:
    first = fitting("2023-03-01")
    later = fitting("2024-03-01", slide_mm=3.0)
    chosen = Entry(
        id="chosen",
        at=noon("2024-03-01"),
        body=ChoiceMade(step="alignment", choices={"criterion": "stevenson"}),
    )
    kept = Entry(
        id="kept",
        at=noon("2024-03-01") + timedelta(hours=1),
        body=StepAccepted(step="alignment", verdict=Verdict.MOVE, reason="slots end"),
    )
    entries = (chosen, *later.entries[:-1], kept, later.entries[-1])
    of = past(later.model_copy(update={"entries": entries}))
    pasts = [past(first), Past(of.fitting, 2, 1, of.journey)]
    told = {one.label: (one.then, one.now) for one in compared(pasts).settings}
    assert "Stevenson" in told["Alignment, chosen"][1]
    assert told["Alignment, overruled"] == ("no", "slots end")
    assert told["Record of the deck"] == ("revision 1", "revision 2")


def test_moves_after_the_earlier_fitting_are_summed_for_each_control() -> None:
    pasts = [
        past(fitting("2022-03-01", found_percent=1.0, left_percent=0.0)),
        past(fitting("2023-03-01", found_percent=-0.4, left_percent=0.0)),
        past(fitting("2024-03-01", found_percent=-0.4, left_percent=0.0)),
    ]
    assert compared(pasts).moved == (_trim(0.5),)
    back = fitting("2024-03-01").with_entry(
        Entry(
            at=noon("2024-03-02"),
            body=MoveMade(
                step="speed", parts=(MovePart(control=Control.SPEED, amount=-0.25, unit="turns"),)
            ),
        )
    )
    assert compared([*pasts[:2], past(back)]).moved == (_trim(0.0),)


def _trim(turns: float) -> str:
    return worded(described_part(MovePart(control=Control.SPEED, amount=turns, unit="turns")))


# pictures


def dots(picture: Picture) -> list[Points]:
    return [item for item in picture.items if isinstance(item, Points)]


def test_a_picture_has_dates_below_and_the_unit_beside() -> None:
    timeline = timeline_of(three())
    picture = worded(over_time(timeline, "final_downforce/downforce"))
    assert (picture.x.label, picture.x.unit, picture.y.unit) == ("Date", "", "gf")
    assert [words for _, words in picture.x.ticks] == ["2023-07", "2024-01", "2024-07", "2025-01"]
    (points,) = dots(picture)
    assert points.y.tolist() == pytest.approx([2.0, 1.97, 1.75])
    assert points.half_height is not None
    assert (points.half_height > 0).all()
    assert (
        "2.00\u00a0±\u00a00.02\u00a0gf on 2023-03-01, 1.75\u00a0±\u00a00.02\u00a0gf on 2025-03-01"
        in picture.summary
    )


def test_what_was_wanted_changes_with_the_cartridge_and_the_change_is_marked() -> None:
    picture = worded(over_time(timeline_of(three()), "final_downforce/downforce"))
    stripes = [item for item in picture.items if isinstance(item, Shape)]
    assert [(round(s.y.min(), 3), round(s.y.max(), 3)) for s in stripes] == [
        (1.95, 2.05),
        (1.7, 1.8),
    ]
    assert [item.label for item in picture.items if isinstance(item, Rule)] == ["Another cartridge"]
    assert [item.text for item in picture.items if isinstance(item, Tag)] == ["A", "B"]
    assert picture.scale_note == "A: Example cartridge, elliptical; B: Example cartridge, light"
    alone = worded(over_time(timeline_of(three()[:2]), "final_downforce/downforce"))
    assert [item for item in alone.items if isinstance(item, Band)]
    assert not [item for item in alone.items if isinstance(item, Rule | Tag)]
    assert not alone.scale_note


def test_a_fitting_under_way_is_a_hollow_dot() -> None:
    pasts = [past(fitting("2023-03-01")), past(fitting("2024-03-01", finished=False))]
    picture = worded(over_time(timeline_of(pasts), "final_downforce/downforce"))
    assert [points.role for points in dots(picture)] == [MarkRole.NOW, MarkRole.PREDICTED]
    assert dots(picture)[1].label == "Not finished yet"


@settings(max_examples=25, deadline=None)
@given(
    gaps=st.lists(st.integers(0, 4000), min_size=1, max_size=5),
    forces=st.lists(st.sampled_from([1.0, 1.8, 2.0, 2.001, 4.0]), min_size=5, max_size=5),
)
def test_every_picture_of_any_history_holds_all_its_dots(
    gaps: list[int], forces: list[float]
) -> None:
    day = noon("2000-01-01")
    pasts = []
    for place, (gap, force) in enumerate(zip(gaps, forces, strict=False)):
        day += timedelta(days=gap)
        pasts.append(past(fitting(day.date().isoformat(), name=str(place), downforce_gf=force)))
    timeline: Timeline = timeline_of(pasts)
    for quantity in timeline.quantities:
        picture = worded(over_time(timeline, quantity.key))
        assert picture.x.low < picture.x.high
        assert picture.y.low < picture.y.high
        assert picture.x.ticks
        for points in dots(picture):
            assert np.isfinite(points.y).all()
            assert ((points.x > picture.x.low) & (points.x < picture.x.high)).all()
            half = 0.0 if points.half_height is None else points.half_height
            assert (points.y - half >= picture.y.low).all()
            assert (points.y + half <= picture.y.high).all()


def test_a_deck_of_another_kind_of_arm_has_its_own_quantities() -> None:
    parallel = deck(
        arm={
            "kind": "parallel tracking",
            "pivot_to_spindle_mm": None,
            "effective_length_mm": 60.0,
            "offset_deg": 0.0,
        }
    )
    timeline = timeline_of([past(fitting("2023-03-01"), on=parallel)])
    keys = {quantity.key for quantity in timeline.quantities}
    assert "alignment/overhang" not in keys
    assert "final_downforce/downforce" in keys


def test_two_speeds_that_changed_alike_share_a_line() -> None:
    rpms = (33.333333, 45.0)
    on = deck(platter={"speeds_rpm": rpms})

    def visit(day: str, *percents: float) -> Past:
        said = [
            ReadingTaken(
                step="speed",
                reading={
                    "way": "readout",
                    "speed_rpm": rpm,
                    "rpm": round(rpm * (1.0 + percent / 100.0), 4),
                    "minutes_running": 15.0,
                },
            )
            for rpm, percent in zip(rpms, percents, strict=True)
        ]
        return past(fitting(day, said=[*said, Finished()]), on=on)

    def labels(*then: float) -> list[str]:
        line = timeline_of([visit("2023-03-01", 0.0, 0.0), visit("2024-03-01", *then)])
        found = compare_fittings(line, "2023-03-01", "2024-03-01")
        return [one.label for one in worded(found.changes) if one.key.startswith("speed/")]

    assert labels(0.2, 0.2) == ["Speed error at 33⅓ and 45 rpm"]
    assert labels(0.2, 0.1) == ["Speed error at 33⅓ rpm", "Speed error at 45 rpm"]
