import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from core.physics.dial_search import Breaks, search_dial
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


class TestSearchOfTheDial:
    @given(st.floats(0.0, 3.0), st.floats(0.0, 3.0))
    @settings(max_examples=100, deadline=None)
    def test_halving_ends_within_a_step_of_the_right_setting(
        self, right: float, start: float
    ) -> None:
        step = 0.1
        trials: list[tuple[float, Breaks]] = []
        setting: float | None = round(start / step) * step
        for _ in range(12):
            assert setting is not None
            answer = Breaks.TOGETHER
            if abs(setting - right) > 0.02:
                answer = Breaks.RIGHT if setting < right else Breaks.LEFT
            trials.append((setting, answer))
            search = search_dial(trials, 0.0, 3.0, step)
            assert search.contradiction is None
            setting = search.next_setting
            if setting is None:
                break
        assert setting is None
        assert search.settled or search.at_end
        assert abs(search.best_setting - right) <= step + 1e-9
        assert len(trials) <= 8

    def test_the_right_channel_breaking_first_wants_more(self) -> None:
        more = search_dial([(1.0, Breaks.RIGHT)], 0.0, 3.0, 0.1)
        less = search_dial([(1.0, Breaks.LEFT)], 0.0, 3.0, 0.1)
        assert more.next_setting == pytest.approx(2.0)
        assert less.next_setting == pytest.approx(0.5)

    def test_breaking_together_settles_it(self) -> None:
        search = search_dial([(1.0, Breaks.RIGHT), (2.0, Breaks.TOGETHER)], 0.0, 3.0, 0.1)
        assert search.settled
        assert search.best_setting == pytest.approx(2.0)

    def test_answers_that_can_not_both_be_right_are_named_and_tried_again(self) -> None:
        trials = [(1.0, Breaks.LEFT), (2.0, Breaks.RIGHT)]
        search = search_dial(trials, 0.0, 3.0, 0.1)
        assert search.contradiction == (0, 1)
        assert search.next_setting == pytest.approx(1.0)
        assert not search.settled
        mended = search_dial([*trials, (1.0, Breaks.RIGHT)], 0.0, 3.0, 0.1)
        assert mended.contradiction is None
        assert mended.next_setting == pytest.approx(2.5)

    def test_an_ear_that_keeps_contradicting_itself_is_not_sent_round_for_ever(self) -> None:
        trials: list[tuple[float, Breaks]] = [(1.0, Breaks.LEFT), (2.0, Breaks.RIGHT)]
        for _ in range(30):
            setting = search_dial(trials, 0.0, 3.0, 0.1).next_setting
            if setting is None:
                break
            trials.append((setting, Breaks.LEFT if setting < 1.5 else Breaks.RIGHT))
        assert len(trials) < 25

    def test_the_end_of_the_dial_is_said(self) -> None:
        search = search_dial([(2.9, Breaks.RIGHT), (3.0, Breaks.RIGHT)], 0.0, 3.0, 0.1)
        assert search.at_end
        assert search.best_setting == pytest.approx(3.0)
        low = search_dial([(0.0, Breaks.LEFT)], 0.0, 3.0, 0.1)
        assert low.at_end
        assert low.best_setting == 0.0

    def test_it_needs_a_trial_and_a_dial(self) -> None:
        with pytest.raises(ValueError, match="Try one setting"):
            search_dial([], 0.0, 3.0, 0.1)
        with pytest.raises(ValueError, match="dial needs"):
            search_dial([(0.0, Breaks.LEFT)], 3.0, 3.0, 0.1)
