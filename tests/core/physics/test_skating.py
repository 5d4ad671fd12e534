import math

import numpy as np
import pytest

from core.physics.ear_search import Breaks, search_by_ear
from core.physics.friction import (
    compensation_gf,
    side_force_gf,
    sign_change_radius_mm,
    thread_force_gf,
)

RADII = np.linspace(60.325, 146.05, 200)


def test_the_side_force_grows_with_downforce_and_friction_alike() -> None:
    once = side_force_gf(RADII, 2.0, 0.3, 239.3, 222.0)
    assert side_force_gf(RADII, 3.0, 0.3, 239.3, 222.0) == pytest.approx(1.5 * once)
    assert side_force_gf(RADII, 2.0, 0.45, 239.3, 222.0) == pytest.approx(1.5 * once)


def test_an_underhung_arm_changes_sign_at_its_null() -> None:
    null = sign_change_radius_mm(205.0, 222.0)
    assert null is not None
    inside, at, outside = side_force_gf([null - 5, null, null + 5], 2.0, 0.3, 205.0, 222.0)
    assert inside < 0 < outside
    assert at == pytest.approx(0.0, abs=1e-12)
    assert sign_change_radius_mm(239.0, 222.0) is None


def test_a_radius_out_of_reach_is_refused() -> None:
    with pytest.raises(ValueError, match="does not reach"):
        side_force_gf([5.0], 2.0, 0.3, 239.3, 222.0)


def test_the_compensation_lies_within_the_forces_it_answers() -> None:
    answer = compensation_gf(2.0, 239.3, 222.0, 60.325, 146.05)
    forces = side_force_gf(RADII, 2.0, 0.3, 239.3, 222.0)
    assert forces.min() < answer.middle_gf < forces.max()
    assert answer.low_gf < answer.middle_gf < answer.high_gf
    with pytest.raises(ValueError, match="inner groove radius"):
        compensation_gf(2.0, 239.3, 222.0, 146.0, 60.0)


def test_a_weight_on_a_thread_acts_by_its_lever() -> None:
    assert thread_force_gf(2.5, 20.0, 230.0) == pytest.approx(0.2174, abs=1e-4)
    with pytest.raises(ValueError, match="effective length"):
        thread_force_gf(2.5, 20.0, 0.0)


class TestSearchByEar:
    DIAL = tuple(0.1 * place for place in range(31))

    def test_the_right_channel_breaking_first_wants_more(self) -> None:
        more = search_by_ear([(10, Breaks.RIGHT)], self.DIAL, 0.2)
        less = search_by_ear([(20, Breaks.LEFT)], self.DIAL, 0.2)
        assert more.next_place is not None
        assert less.next_place is not None
        assert more.next_place > 10
        assert less.next_place < 20

    def test_one_answer_of_both_together_settles_nothing(self) -> None:
        search = search_by_ear([(20, Breaks.TOGETHER)], self.DIAL, 0.2, likely_db=2.0)
        assert search.next_place is not None
        assert not search.is_sure

    @pytest.mark.parametrize("ear", [0.2, 0.5, 1.0, 1.3])
    @pytest.mark.parametrize("right", [1.2, 1.6, 2.1])
    def test_the_middle_of_what_sounds_the_same_is_found(self, ear: float, right: float) -> None:
        trials: list[tuple[int, Breaks]] = []
        place: int | None = 20
        while place is not None:
            off = right - self.DIAL[place]
            broke = Breaks.RIGHT if off > ear else Breaks.LEFT if off < -ear else Breaks.TOGETHER
            trials.append((place, broke))
            search = search_by_ear(trials, self.DIAL, 0.2, likely_db=2.0)
            place = search.next_place
        assert len(trials) <= 10
        assert search.low_db - 0.1 <= right <= search.high_db + 0.1
        assert not search.is_sure or abs(self.DIAL[search.best_place] - right) <= 0.2

    def test_ears_as_they_are_seldom_hear_good_where_it_is_not(self) -> None:
        # Half-widths of 0.5 to 2 dB (practice), blurred by a quarter of that.
        rng = np.random.default_rng(7)
        good = wrong = 0
        for _ in range(200):
            right, ear = 2.0 * math.exp(0.35 * rng.standard_normal()), rng.uniform(0.5, 2.0)
            trials: list[tuple[int, Breaks]] = []
            place: int | None = 20
            while place is not None:
                off = right - self.DIAL[place] + 0.25 * ear * rng.standard_normal()
                both = abs(off) <= ear
                broke = Breaks.TOGETHER if both else Breaks.RIGHT if off > 0 else Breaks.LEFT
                trials.append((place, broke))
                search = search_by_ear(trials, self.DIAL, 0.5, likely_db=2.0)
                place = search.next_place
            good += search.is_sure
            wrong += search.is_sure and abs(self.DIAL[search.best_place] - right) > 0.5
        assert good >= 10
        assert wrong <= 0.05 * good

    def test_answers_that_can_not_both_be_right_are_named_and_tried_again(self) -> None:
        trials = [(10, Breaks.LEFT), (20, Breaks.RIGHT)]
        search = search_by_ear(trials, self.DIAL, 0.2)
        assert search.contradiction == (0, 1)
        assert search.next_place == 10
        assert not search.is_sure
        mended = search_by_ear([*trials, (10, Breaks.RIGHT)], self.DIAL, 0.2)
        assert mended.contradiction is None

    def test_an_ear_that_keeps_contradicting_itself_is_not_sent_round_for_ever(self) -> None:
        trials: list[tuple[int, Breaks]] = [(10, Breaks.LEFT), (20, Breaks.RIGHT)]
        for _ in range(30):
            place = search_by_ear(trials, self.DIAL, 0.2).next_place
            if place is None:
                break
            trials.append((place, Breaks.LEFT if place < 15 else Breaks.RIGHT))
        assert len(trials) < 25

    def test_the_end_of_the_dial_is_said(self) -> None:
        search = search_by_ear([(29, Breaks.RIGHT), (30, Breaks.RIGHT)], self.DIAL, 0.2)
        assert search.at_end
        assert search.best_place == 30
        low = search_by_ear([(0, Breaks.LEFT)], self.DIAL, 0.2)
        assert low.at_end
        assert low.best_place == 0

    def test_it_needs_a_trial_and_a_dial(self) -> None:
        with pytest.raises(ValueError, match="Try one setting"):
            search_by_ear([], self.DIAL, 0.2)
        with pytest.raises(ValueError, match="fewer than two"):
            search_by_ear([(0, Breaks.LEFT)], (1.0,), 0.2)
