"""A headshell that goes on and comes off: what is asked for, and where to start."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from core.fitting import Body, Control, Finished, Fitting, HeadshellUsed, MoveMade, MovePart, Work
from core.language import Numbers
from core.records import Cartridge, Deck, Headshell, seen_with_headshell
from core.store import Library
from core.swap import cartridge_in, headshell_change, past_of, plan_swap, setting_of
from core.swap.headshell import HeadshellChange
from core.workflow import journey_of, work_asked
from tests.core.swap.swaps import left, moved, weighed
from tests.examples import cartridge, deck

DAY = datetime(2025, 3, 3, 12, tzinfo=UTC)
LONG_ARM_MM = 230.0


def a_deck(headshell_g: float = 8.0) -> Deck:
    """A deck whose headshell comes off; one turn of its weight makes 1 gf, as its maker states."""
    made = deck()
    arm = made.arm.model_copy(
        update={
            "headshell_mass_g": headshell_g,
            "effective_length_mm": LONG_ARM_MM,
            "pivot_to_spindle_mm": 214.0,
            "counterweight_g": None,
            "counterweight_mm_per_turn": None,
            "gf_per_turn": 1.0,
            "heaviest_cartridge_g": 30.0,
        }
    )
    return made.model_copy(update={"arm": arm})


class Shop:
    """A deck with two headshells, each with a cartridge of its own, on a bench with a library."""

    def __init__(self, library: Library) -> None:
        self.library = library
        self.deck = library.keep_deck(a_deck()).id
        light, heavy = cartridge(name="Light", mass_g=5.0), cartridge(name="Heavy", mass_g=7.0)
        self.inside = {
            "A": library.keep_cartridge(light).id,
            "B": library.keep_cartridge(heavy).id,
        }
        self.shells = {
            "A": library.keep_headshell(Headshell(name="Headshell A", mass_g=8.0)).id,
            "B": library.keep_headshell(Headshell(name="Headshell B", mass_g=10.0)).id,
        }

    def fit(
        self, shell: str, day: int, *bodies: Body, inside: str = "", finished: bool = True
    ) -> Fitting:
        """Keep a fitting of a headshell on a day; what is read first is what is right."""
        fitting = self.library.start_fitting(
            self.deck,
            self.inside[inside or shell],
            headshell=self.library.used_headshell(self.shells[shell]),
            at=DAY + timedelta(days=day),
        )
        for count, body in enumerate((*bodies, *((Finished(),) if finished else ())), 1):
            self.library.append(fitting.id, body, at=DAY + timedelta(days=day, minutes=count))
        return self.library.fitting(fitting.id)

    def change(self, shell: str) -> HeadshellChange:
        return headshell_change(self.library, self.deck, self.shells[shell], self.inside[shell])


@pytest.fixture
def shop(tmp_path: Path) -> Iterator[Shop]:
    with Library.open(tmp_path / "shop.library", "Tester") as library:
        yield Shop(library)


def foretold(change: HeadshellChange) -> tuple[float, float, float]:
    """Return turns of the counterweight, what the scale should then show, and half the interval."""
    assert change.planned is not None
    (one,) = [one for one in change.planned.starts if one.step == "rough_downforce"]
    assert one.predicted is not None
    assert one.half_width is not None
    return (one.part.amount if one.part else 0.0), one.predicted, one.half_width


def test_the_counterweight_of_a_headshell_that_was_never_on_follows_from_the_moments(
    shop: Shop,
) -> None:
    """Worked by hand, moments about the pivot (statics, any textbook).

    Scale 2.0 gf with A. B and its cartridge are 2 g + 2 g heavier. The cartridge's 2 g lie at the
    tip, 230 mm from the pivot; the headshell's 2 g lie about 20 mm behind it, at 210 mm: together
    2 + 2 * 210 / 230 = 3.83 gf more at the tip, so that the scale would show 5.83 gf. One turn
    makes 1 gf: moved by so many turns, the scale shows as much more or less. The plan stops short
    of the target, as where the headshell's own mass lies is known to a few millimetres only.
    """
    shop.fit("A", 0, *left())
    turns, shown, half = foretold(shop.change("B"))
    assert turns < -3.83
    assert shown - turns == pytest.approx(2.0 + 2.0 + 2.0 * 210.0 / 230.0, abs=0.01)
    assert 0.0 < shown < 2.0
    apart = math.hypot(2.0 * 9.0, math.hypot(8.0, 10.0) * 5.0) / 230.0
    assert half > 1.96 * apart


def test_changed_back_the_weight_goes_back_by_the_moves_on_record(shop: Shop) -> None:
    """B went on with the weight 3.75 turns further out; to have A back it goes in by 3.75."""
    shop.fit("A", 0, *left())
    out = moved("rough_downforce", Control.COUNTERWEIGHT, -3.75, "turns")
    shop.fit("B", 1, *left(rough_downforce=(out, weighed(2.0, "rough_downforce"))))
    turns, shown, half = foretold(shop.change("A"))
    assert turns == pytest.approx(3.75)
    assert abs(shown - 2.0) <= half


@pytest.mark.parametrize(
    ("in_a", "in_b", "lift", "words"),
    [
        # Both stood level with the pillar where it is: so both hung as low, and nothing changes.
        (3.0, 3.0, 0.0, "back to the height"),
        # B's body hangs 3 mm lower by its shim, which stays in B: the rear goes down by as much.
        (0.0, 3.0, -3.0, "lower"),
    ],
)
def test_a_shim_in_a_headshell_counts_for_that_headshell_alone(
    shop: Shop, in_a: float, in_b: float, lift: float, words: str
) -> None:
    """Drawn: of two bodies of one height, the one on a shim of 3 mm puts its tip 3 mm lower."""
    for day, (shell, shim_mm) in enumerate((("A", in_a), ("B", in_b))):
        bodies = list(left())
        if shim_mm:
            bodies.insert(0, moved("arm_height", Control.HEAD_SHIM, shim_mm, "mm"))
        shop.fit(shell, day, *bodies)
    planned = shop.change("A").planned
    assert planned is not None
    (one,) = [one for one in planned.starts if one.step == "arm_height"]
    assert (one.part.amount if one.part else 0.0) == pytest.approx(lift)
    assert words in Numbers().text(one.why)


def test_alignment_and_tilt_are_not_asked_for_again_while_the_headshell_is_whole(
    shop: Shop,
) -> None:
    shop.fit("A", 0, *left())
    shop.fit("B", 1, *left())
    change = shop.change("A")
    assert change.setting.holds
    assert change.work == work_asked(Work.HEADSHELL)
    assert not {"alignment", "tilt"} & {*change.work.steps}
    assert not change.work.is_check
    assert change.planned is not None
    assert {one.step for one in change.planned.starts} <= {*change.work.steps}


def test_another_cartridge_in_the_same_headshell_goes_back_to_no_other_headshell(
    shop: Shop,
) -> None:
    """The heavy cartridge was set in B: what its weight was there says nothing of it in A."""
    shop.fit("B", 0, *left())
    shop.fit("A", 1, *left())
    pasts = [past_of(shop.library, row.id) for row in shop.library.fittings(deck_id=shop.deck)]
    heavy, inside = shop.library.cartridge(shop.inside["B"]).thing, shop.inside["B"]
    plan = plan_swap(a_deck(), pasts[0], heavy, pasts, new_cartridge_id=inside)
    assert plan.back_to is None
    assert plan.deck.arm.headshell_mass_g == 8.0


IN_HEAD = MoveMade(
    step="alignment", parts=(MovePart(control=Control.SLIDE, amount=0.4, unit="mm"),)
)
ARM_BASE = MoveMade(
    step="alignment", parts=(MovePart(control=Control.ARM_BASE, amount=0.4, unit="mm"),)
)


def test_a_cartridge_loosened_since_is_aligned_again(shop: Shop) -> None:
    shop.fit("A", 0, *left())
    shop.fit("A", 2, IN_HEAD, finished=False)
    change = shop.change("A")
    assert change.setting.apart == "2025-03-05"
    assert {"alignment", "tilt"} <= {*change.work.steps}


def test_what_moves_in_one_headshell_leaves_the_other_as_it_is(shop: Shop) -> None:
    shop.fit("A", 0, *left())
    shop.fit("B", 1, *left(), IN_HEAD)
    assert shop.change("A").setting.holds


def test_an_arm_base_moved_since_is_felt_in_every_headshell(shop: Shop) -> None:
    shop.fit("A", 0, *left())
    shop.fit("B", 1, *left(), ARM_BASE)
    assert shop.change("A").setting.apart == "2025-03-04"


def test_another_cartridge_in_it_since_is_asked_about(shop: Shop) -> None:
    shop.fit("A", 0, *left())
    shop.fit("A", 1, inside="B", finished=False)
    assert shop.change("A").setting.apart == "2025-03-04"
    assert cartridge_in(shop.library, shop.shells["A"]) == shop.inside["B"]


@pytest.mark.parametrize(
    ("taken_apart", "holds"), [("2025-03-02", True), ("2025-03-03", False), ("2025-03-09", False)]
)
def test_a_person_says_when_it_was_taken_apart(shop: Shop, taken_apart: str, holds: bool) -> None:
    """On the same day it may have been after it was set: then it is asked about."""
    shop.fit("A", 0, *left())
    shell = shop.library.headshell(shop.shells["A"]).thing
    said = shell.model_copy(update={"taken_apart": taken_apart})
    shop.library.keep_headshell(said, id=shop.shells["A"])
    assert shop.change("A").setting.holds is holds


def test_a_pivot_that_was_measured_anew_asks_for_alignment(shop: Shop) -> None:
    shop.fit("A", 0, *left())
    arm = a_deck().arm.model_copy(update={"pivot_to_spindle_mm": 215.0})
    shop.library.keep_deck(a_deck().model_copy(update={"arm": arm}), id=shop.deck)
    assert not shop.change("A").setting.holds


def test_a_headshell_that_was_never_set_here_is_asked_for_everything(shop: Shop) -> None:
    change = shop.change("A")
    assert change.planned is None
    assert change.setting.set_by is None
    assert {"alignment", "tilt"} <= {*change.work.steps}
    shop.fit("A", 0, *left(), finished=False)
    assert setting_of(shop.library, shop.deck, shop.shells["A"], shop.inside["A"]).set_by is None


def test_the_arm_is_seen_with_the_headshell_that_is_on_it() -> None:
    """2 g more in the headshell: 2 g more to move, and 2 g less that the weight can balance."""
    plain = a_deck(8.0)
    seen = seen_with_headshell(plain, 10.0, 4.0)
    assert seen.arm.effective_mass_g == pytest.approx(plain.arm.effective_mass_g + 2.0)
    assert seen.arm.heaviest_cartridge_g == pytest.approx(28.0)
    assert seen.arm.headshell_thickness_mm == 4.0
    assert seen_with_headshell(plain, 8.0, plain.arm.headshell_thickness_mm) == plain


def test_a_fitting_works_with_its_headshell(shop: Shop) -> None:
    fitting = shop.fit("B", 0)
    fitted: Cartridge = cartridge()
    journey = journey_of(a_deck(), fitted, fitting)
    assert journey.deck.arm.headshell_mass_g == 10.0
    assert fitting.headshell == HeadshellUsed(
        headshell=shop.shells["B"], name="Headshell B", mass_g=10.0, thickness_mm=3.0
    )


def test_whether_a_setting_holds_is_told_with_its_days(shop: Shop) -> None:
    """Set on 3 March; nothing since, or moved on the 5th."""

    def told() -> str:
        return Numbers().text(shop.change("A").setting.said)

    assert "no finished fitting" in told()
    shop.fit("A", 0, *left())
    assert "leaves them out" in told()
    assert "2025-03-03" in told()
    shop.fit("A", 2, IN_HEAD, finished=False)
    assert "both are part of this job" in told()
    assert "2025-03-03" in told()
    assert "2025-03-05" in told()
