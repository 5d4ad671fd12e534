"""The history of a deck with several arms and headshells keeps what belongs to each apart."""

from __future__ import annotations

from core.fitting import ArmUsed, Body, HeadshellUsed
from core.history.groups import groups_of
from core.history.timeline import compare_fittings, timeline_of
from core.records import first_arm
from core.steps.shared.swap_part import Past
from tests.arms import REAR, rear_arm, two_arms
from tests.visits import bodies, fitting, past
from tests.worded import worded

FRONT_USED, REAR_USED = ArmUsed.of(first_arm(two_arms())), ArmUsed.of(rear_arm())


def shell(name: str) -> HeadshellUsed:
    return HeadshellUsed(headshell=name, name=f"Headshell {name}", mass_g=0.0, thickness_mm=3.0)


def visit(day: str, *first: Body, gf: float = 2.0) -> Past:
    said = (*first, *bodies(downforce_gf=gf))
    return past(fitting(day, said=said), on=two_arms())


def labels(pasts: list[Past], key: str) -> dict[str, list[float | None]]:
    return {
        worded(one.label): [
            None if value is None else round(value.value, 6) for value in one.values
        ]
        for one in timeline_of(pasts).quantities
        if one.key.startswith(key)
    }


def test_downforce_has_a_line_for_each_arm_and_the_level_has_one() -> None:
    pasts = [
        visit("2025-01-10", FRONT_USED, gf=1.9),
        visit("2025-02-10", REAR_USED, gf=2.1),
        visit("2025-03-10", FRONT_USED, gf=2.0),
    ]
    assert labels(pasts, "final_downforce/downforce") == {
        "Downforce, Front arm": [1.9, None, 2.0],
        "Downforce, Rear arm": [None, 2.1, None],
    }
    (level,) = labels(pasts, "level/tilt").values()
    assert None not in level


def test_a_deck_with_one_arm_and_no_headshell_has_the_lines_it_had() -> None:
    pasts = [past(fitting("2025-01-10")), past(fitting("2025-02-10"))]
    assert groups_of(pasts) == ()
    assert [one.key for one in timeline_of(pasts).quantities].count(
        "final_downforce/downforce"
    ) == 1


def test_headshells_are_kept_apart_too() -> None:
    pasts = [
        visit("2025-01-10", FRONT_USED, shell("A"), gf=1.9),
        visit("2025-02-10", FRONT_USED, shell("B"), gf=2.1),
        visit("2025-03-10", REAR_USED, shell("B"), gf=2.0),
    ]
    assert list(labels(pasts, "final_downforce/downforce")) == [
        "Downforce, Front arm, Headshell A",
        "Downforce, Front arm, Headshell B",
        "Downforce, Rear arm, Headshell B",
    ]
    alone = pasts[:2]
    assert list(labels(alone, "final_downforce/downforce")) == [
        "Downforce, Headshell A",
        "Downforce, Headshell B",
    ]


def test_two_fittings_on_different_arms_are_compared_in_what_is_the_decks() -> None:
    pasts = [visit("2025-01-10", FRONT_USED, gf=1.9), visit("2025-02-10", REAR_USED, gf=2.1)]
    timeline = timeline_of(pasts)
    found = compare_fittings(timeline, *(stand.id for stand in timeline.stands))
    said = {worded(one.label): (worded(one.then), worded(one.now)) for one in found.settings}
    assert said["Arm"] == ("Front arm", "Rear arm")
    assert not any("Alignment" in label for label in said)
    both = {worded(one.label) for one in found.changes if one.then and one.now}
    assert all("Downforce" not in label for label in both)
    assert any("level" in label for label in both)


def test_the_keys_of_groups_are_those_of_the_arms() -> None:
    pasts = [visit("2025-01-10", FRONT_USED), visit("2025-02-10", REAR_USED)]
    assert [(one.arm, one.headshell) for one in groups_of(pasts)] == [("", ""), (REAR, "")]
