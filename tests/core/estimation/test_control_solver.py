import math
from dataclasses import dataclass

import numpy as np
import pytest

from core.estimation import (
    CHECKED,
    ControlModel,
    ControlMove,
    ControlTrial,
    ControlVerdict,
    Decision,
    Estimate,
    ReadingLimits,
    decide,
    mean_of,
    solve_control,
)
from tests.truth import Held, TruthComesBack, held_by

TURN = ControlModel("turn", stated_gain=1.0)


def read(value: float, sigma: float = 0.02) -> Estimate:
    return Estimate(value, sigma)


@dataclass
class SimulatedControl:
    """A screw with its own gain, slack and inexact hand: written apart from the solver's model."""

    reading: float
    gain: float
    slack: float
    play_up: float
    rng: np.random.Generator
    hand: float = 0.06
    noise: float = 0.02

    def turn(self, amount: float) -> None:
        made = amount * (1.0 + self.hand * self.rng.normal())
        room = self.play_up if made > 0 else self.slack - self.play_up
        lost = min(room, abs(made))
        self.play_up -= math.copysign(lost, made)
        self.reading += self.gain * math.copysign(abs(made) - lost, made)

    def read(self) -> Estimate:
        return Estimate(self.reading + self.rng.normal(0.0, self.noise), self.noise)


class TestGainAndPrediction(TruthComesBack):
    """Truths are drawn from the solver's own prior: mostly as stated, one in ten a lie."""

    def attempt(self, rng: np.random.Generator) -> Held:
        gain = rng.normal(1.0, 0.25) if rng.random() < 0.9 else rng.normal(1.0, 2.0)
        start = rng.uniform(1.0, 3.0)
        screw = SimulatedControl(start, gain, 0.0, 0.0, rng)
        trials: list[ControlTrial] = [screw.read()]
        first = solve_control(trials, 0.0, 0.05, TURN)
        assert first.move is not None
        assert first.predicted_interval is not None
        screw.turn(first.move)
        trials += [ControlMove(first.move), screw.read()]
        assert isinstance(trials[-1], Estimate)
        second = solve_control(trials, 0.0, 0.001, TURN)
        assert second.gain is not None
        assert second.now is not None
        if second.verdict is ControlVerdict.CHECK_CONTROL:
            second = solve_control([*trials, CHECKED], 0.0, 0.001, TURN)
            assert second.gain is not None
            assert second.now is not None
        held = {
            "first prediction": (trials[-1].value, first.predicted_interval),
            "gain": held_by(gain, second.gain),
            "value now": held_by(screw.reading, second.now),
        }
        if second.move is not None:
            assert second.predicted_interval is not None
            screw.turn(second.move)
            held["second prediction"] = (screw.read().value, second.predicted_interval)
        return held


def cycles_by_solver(screw: SimulatedControl, tolerance: float) -> tuple[int, float]:
    trials: list[ControlTrial] = []
    control = ControlModel("turn", 1.0, slack=0.1)
    for cycle in range(21):
        for _ in range(20):
            trials.append(screw.read())
            found = solve_control(trials, 0.0, tolerance, control)
            if found.verdict is ControlVerdict.CHECK_CONTROL:
                trials.append(CHECKED)
                found = solve_control(trials, 0.0, tolerance, control)
            if found.verdict is not ControlVerdict.READ_AGAIN:
                break
        if found.verdict is ControlVerdict.DONE:
            return cycle, screw.reading
        assert found.move is not None, found
        screw.turn(found.move)
        trials.append(ControlMove(found.move))
    return 20, screw.reading


def cycles_by_error_just_read(screw: SimulatedControl, tolerance: float) -> tuple[int, float]:
    for cycle in range(20):
        readings: list[float] = []
        for _ in range(20):
            readings.append(screw.read().value)
            mean = mean_of(readings, screw.noise)
            decision = decide(mean.value, mean.half_width(), tolerance)
            if decision is not Decision.READ_AGAIN:
                break
        if decision is Decision.GOOD:
            return cycle, screw.reading
        screw.turn(-mean.value)
    return 20, screw.reading


def simulated(seed: int, *, lies: bool, reversed_share: float) -> SimulatedControl:
    rng = np.random.default_rng([77, seed])
    gain = math.exp(rng.uniform(-math.log(2), math.log(2))) if lies else rng.normal(1.0, 0.1)
    if rng.random() < reversed_share:
        gain = -gain
    slack = rng.uniform(0.0, 0.1)
    return SimulatedControl(rng.uniform(-3, 3), gain, slack, slack * rng.random(), rng)


@pytest.mark.parametrize(("lies", "reversed_share"), [(False, 0.0), (True, 0.0), (True, 0.1)])
def test_two_cycles_usually_do_and_four_nearly_always(lies: bool, reversed_share: float) -> None:
    runs = [
        cycles_by_solver(simulated(seed, lies=lies, reversed_share=reversed_share), 0.1)
        for seed in range(200)
    ]
    cycles = [count for count, _ in runs]
    wrongly_good = [abs(left) for _, left in runs if abs(left) > 0.1]
    assert np.median(cycles) <= 2
    assert np.percentile(cycles, 95) <= 4
    assert max(cycles) < 8
    assert len(wrongly_good) <= 0.05 * len(runs)
    assert max(wrongly_good, default=0.0) <= 0.2


@pytest.mark.parametrize("reversed_share", [0.0, 0.1])
def test_learning_saves_30_percent_of_the_cycles_where_controls_lie(reversed_share: float) -> None:
    learned = plain = 0
    for seed in range(200):
        learned += cycles_by_solver(simulated(seed, lies=True, reversed_share=reversed_share), 0.1)[
            0
        ]
        plain += cycles_by_error_just_read(
            simulated(seed, lies=True, reversed_share=reversed_share), 0.1
        )[0]
    assert learned <= 0.7 * plain, (learned, plain)


class TestVerdicts:
    def test_without_a_reading_it_asks_for_one(self) -> None:
        assert solve_control([], 0.0, 0.1, TURN).verdict is ControlVerdict.READ
        assert solve_control([ControlMove(1.0)], 0.0, 0.1, TURN).verdict is ControlVerdict.READ

    def test_after_a_move_it_asks_for_a_reading_and_foretells_it(self) -> None:
        found = solve_control([read(1.0), ControlMove(-1.0)], 0.0, 0.1, TURN)
        assert found.verdict is ControlVerdict.READ
        assert found.predicted is not None
        assert found.predicted.value == pytest.approx(0.0, abs=1e-6)

    def test_within_tolerance_it_is_done(self) -> None:
        assert solve_control([read(0.03)], 0.0, 0.1, TURN).verdict is ControlVerdict.DONE

    def test_it_moves_by_the_stated_gain_first(self) -> None:
        found = solve_control([read(1.0)], 0.0, 0.1, ControlModel("turn", stated_gain=-0.5))
        assert found.verdict is ControlVerdict.MOVE
        assert found.move == pytest.approx(2.0, rel=0.05)

    def test_one_move_all_but_fixes_a_gain_that_was_stated_wrongly(self) -> None:
        for truth in (0.4, 0.6, 1.7, 2.5):
            trials = [read(2.0), ControlMove(-2.0), read(2.0 - 2.0 * truth)]
            found = solve_control(trials, 0.0, 0.1, TURN)
            if truth > 1.65:  # more than it is said to do: asked about first, and not yet learned
                assert found.verdict is ControlVerdict.CHECK_CONTROL
                assert found.beyond
                assert found.gain is not None
                assert found.gain.value == pytest.approx(1.0)
                found = solve_control([*trials, CHECKED], 0.0, 0.1, TURN)
            assert found.gain is not None
            assert found.gain.value == pytest.approx(truth, rel=0.12)

    def test_a_reading_too_uncertain_asks_for_more_and_says_how_many(self) -> None:
        found = solve_control([read(0.05, 0.06)], 0.0, 0.1, TURN)
        assert found.verdict is ControlVerdict.READ_AGAIN
        assert found.readings_needed is not None
        trials = [read(0.05, 0.06)] * (1 + found.readings_needed)
        assert solve_control(trials, 0.0, 0.1, TURN).verdict is not ControlVerdict.READ_AGAIN

    def test_a_calibration_error_is_not_read_away(self) -> None:
        trials = [read(0.05)] * 30
        found = solve_control(trials, 0.0, 0.1, TURN, calibration_standard_uncertainty=0.08)
        assert found.verdict is ControlVerdict.READ_AGAIN
        assert found.readings_needed is None

    def test_one_reading_against_the_direction_asks_which_way_it_was_turned(self) -> None:
        trials: list[ControlTrial] = [read(1.0), ControlMove(-1.0), read(2.0)]
        asked = solve_control(trials, 0.0, 0.1, TURN)
        assert asked.verdict is ControlVerdict.CHECK_CONTROL
        assert asked.against
        assert asked.move is None
        assert not asked.backward

    def test_a_screw_reversed_by_the_persons_word_is_called_so_and_still_trimmed(self) -> None:
        trials = [read(1.0), ControlMove(-1.0), read(2.0), CHECKED]
        found = solve_control(trials, 0.0, 0.1, TURN)
        assert found.verdict is ControlVerdict.RUNS_BACKWARD
        assert found.move is not None
        assert found.move > 1.0
        done = solve_control([*trials, ControlMove(2.0), read(0.01)], 0.0, 0.1, TURN)
        assert done.verdict is ControlVerdict.DONE
        assert done.backward

    def test_a_screw_is_reversed_after_two_clean_moves(self) -> None:
        trials = [read(1.0), ControlMove(-1.0), read(2.0), ControlMove(-0.5), read(2.5)]
        found = solve_control(trials, 0.0, 0.1, TURN)
        assert found.verdict is ControlVerdict.RUNS_BACKWARD

    @pytest.mark.parametrize(
        "control", [TURN, ControlModel("turn", probe=0.5, least_gain=0.5, steepest_gain=2.0)]
    )
    def test_a_move_that_shows_nothing_asks_before_any_other(self, control: ControlModel) -> None:
        trials: list[ControlTrial] = [read(1.0)]
        first = solve_control(trials, 0.0, 0.1, control).move
        assert first is not None
        trials += [ControlMove(first), read(1.01)]
        asked = solve_control(trials, 0.0, 0.1, control)
        assert asked.verdict is ControlVerdict.CHECK_CONTROL
        assert asked.move is None
        trials.append(CHECKED)
        second = solve_control(trials, 0.0, 0.1, control).move
        assert second == pytest.approx(first, rel=0.05)
        trials += [ControlMove(second or 0.0), read(0.99)]
        ended = solve_control(trials, 0.0, 0.1, control)
        assert ended.verdict is ControlVerdict.NO_RESPONSE
        assert ended.move is None

    def test_what_a_locked_control_did_not_do_teaches_nothing(self) -> None:
        trials = [read(1.0), ControlMove(-1.0), read(1.0), CHECKED, ControlMove(-1.0), read(0.3)]
        found = solve_control(trials, 0.0, 0.1, TURN)
        assert found.gain is not None
        assert found.gain.value == pytest.approx(0.7, rel=0.05)

    def test_a_feeble_control_is_asked_about_once_and_then_believed(self) -> None:
        trials = [read(1.0), ControlMove(-1.0), read(0.7)]
        assert solve_control(trials, 0.0, 0.1, TURN).verdict is ControlVerdict.CHECK_CONTROL
        trials.append(CHECKED)
        on = solve_control(trials, 0.0, 0.1, TURN)
        assert on.move == pytest.approx(-0.7 / 0.3, rel=0.15)
        trials += [ControlMove(-1.5), read(0.25)]
        assert solve_control(trials, 0.0, 0.1, TURN).verdict is ControlVerdict.MOVE

    def test_moves_too_small_to_show_end_in_the_question_too(self) -> None:
        trials: list[ControlTrial] = [read(0.2, 0.05)]
        for _ in range(20):
            found = solve_control(trials, 0.0, 0.02, ControlModel("turn", stated_gain=0.3))
            if found.verdict is ControlVerdict.CHECK_CONTROL:
                break
            if found.move is not None:
                trials.append(ControlMove(found.move))
            trials.append(read(0.2, 0.05))
        assert found.verdict is ControlVerdict.CHECK_CONTROL

    def test_small_moves_that_could_not_show_are_no_lack_of_response(self) -> None:
        trials: list[ControlTrial] = [read(0.2, 0.05)]
        for reading in (0.18, 0.17, 0.15):
            trials += [ControlMove(-0.02), read(reading, 0.05)]
        found = solve_control(trials, 0.0, 0.05, TURN)
        assert found.verdict is not ControlVerdict.NO_RESPONSE

    def test_the_end_of_travel_offers_the_best_reachable(self) -> None:
        control = ControlModel("mm", stated_gain=1.0, travel=(-0.6, 2.0))
        found = solve_control([read(1.0)], 0.0, 0.1, control)
        assert found.verdict is ControlVerdict.END_OF_TRAVEL
        assert found.limited_by == "travel"
        assert found.move == pytest.approx(-0.6)
        assert found.predicted is not None
        assert found.predicted.value == pytest.approx(0.4, abs=0.02)
        there = solve_control([read(1.0), ControlMove(-0.6), read(0.4)], 0.0, 0.1, control)
        assert there.verdict is ControlVerdict.END_OF_TRAVEL
        assert there.move is None

    def test_travel_that_just_suffices_is_no_end(self) -> None:
        control = ControlModel("mm", stated_gain=1.0, travel=(-0.95, 0.0))
        found = solve_control([read(1.0)], 0.0, 0.1, control)
        assert found.verdict is ControlVerdict.MOVE
        assert found.move == pytest.approx(-0.95)

    def test_moves_are_made_in_the_controls_steps(self) -> None:
        control = ControlModel("turn", stated_gain=1.0, smallest_step=0.125)
        found = solve_control([read(1.03)], 0.0, 0.1, control)
        assert found.move == pytest.approx(-1.0)

    def test_a_step_too_coarse_for_the_rest_is_said(self) -> None:
        control = ControlModel("notch", stated_gain=1.0, smallest_step=1.0)
        assert (
            solve_control([read(0.3)], 0.0, 0.1, control).verdict is ControlVerdict.STEP_TOO_COARSE
        )
        near = solve_control([read(0.08)], 0.0, 0.1, control)
        assert near.verdict is ControlVerdict.DONE


class TestSafety:
    def test_no_move_is_foretold_past_the_limit(self) -> None:
        for start in np.linspace(0.0, 2.8, 15):
            for top in (2.2, 2.6, 3.3):
                if start > top - 0.1:
                    continue
                found = solve_control(
                    [read(float(start))], 2.0, 0.05, TURN, limits=ReadingLimits(highest=top)
                )
                if found.move is not None and found.move > 0:
                    assert found.predicted_interval is not None
                    assert found.predicted_interval[1] <= top + 1e-6

    def test_a_cautious_first_move_is_marked_as_cut_short(self) -> None:
        found = solve_control([read(0.2)], 2.0, 0.05, TURN, limits=ReadingLimits(highest=2.3))
        assert found.limited_by == "safety"
        assert found.move is not None
        assert 0.3 < found.move < 1.5

    def test_from_beyond_the_limit_the_way_back_is_open(self) -> None:
        found = solve_control([read(4.0)], 2.0, 0.05, TURN, limits=ReadingLimits(highest=3.3))
        assert found.verdict is ControlVerdict.MOVE
        assert found.move == pytest.approx(-2.0, rel=0.1)

    def test_a_lower_limit_holds_as_well(self) -> None:
        found = solve_control([read(3.0)], 1.0, 0.05, TURN, limits=ReadingLimits(lowest=0.8))
        assert found.predicted_interval is not None
        assert found.predicted_interval[0] >= 0.8 - 1e-6

    @pytest.mark.parametrize("start", [0.3, 1.0, 1.7])
    @pytest.mark.parametrize("answers", [0.0, 0.2, 0.6, -1.0])
    def test_all_moves_at_once_at_the_stated_gain_stay_below_the_limit(
        self, start: float, answers: float
    ) -> None:
        limits = ReadingLimits(highest=2.8, maximum=2.2)
        trials: list[ControlTrial] = [read(start)]
        place, since, pending = start, start, 0.0
        for _ in range(25):
            found = solve_control(trials, 2.0, 0.05, TURN, limits=limits)
            if found.verdict is ControlVerdict.CHECK_CONTROL:
                trials.append(CHECKED)
                continue
            if found.move is None:
                break
            pending += found.move
            if not found.backward and answers == 0.0:
                assert since + pending <= 2.8 + 1e-6
            assert place + abs(found.move) * (1 if found.move > 0 else -1) <= 2.8 or answers < 0
            place += answers * found.move
            assert place <= 2.8
            trials += [ControlMove(found.move), read(place)]

    @pytest.mark.parametrize(
        ("trials", "verdict"),
        [
            ([read(3.29, 0.01)], ControlVerdict.READ_AGAIN),
            (
                [read(3.29, 0.01), ControlMove(0.01), read(3.29, 0.01)],
                ControlVerdict.CHECK_CONTROL,
            ),
            (
                [read(2.0, 0.01), ControlMove(1.25), read(2.0, 0.01), CHECKED],
                ControlVerdict.NO_RESPONSE,
            ),
        ],
    )
    def test_without_room_it_is_asked_only_what_was_moved_in_vain(
        self, trials: list[ControlTrial], verdict: ControlVerdict
    ) -> None:
        """A hundredth below the limit none of a turn of 1 a turn is sure to stay below it.

        Nothing was moved yet: read again. Something was: is it this control? That was answered: it
        does not respond.
        """
        stepped = ControlModel("turn", stated_gain=1.0, smallest_step=0.01)
        limits = ReadingLimits(highest=3.3, maximum=2.2)
        found = solve_control(trials, 3.6, 0.05, stepped, limits=limits, decided=True)
        assert found.verdict is verdict
        assert found.move is None
        assert found.limited_by in ("safety", "unseen")

    @pytest.mark.parametrize("shown", [3.3, 3.4])
    def test_a_first_try_of_an_unknown_control_has_no_room_at_the_limit(self, shown: float) -> None:
        unknown = ControlModel(
            "turn", probe=1.0, least_gain=0.2, steepest_gain=1.5, smallest_step=0.01
        )
        limits = ReadingLimits(highest=3.3, maximum=2.2)
        found = solve_control([read(shown, 0.01)], 3.6, 0.05, unknown, limits=limits, decided=True)
        assert found.verdict is ControlVerdict.READ_AGAIN
        assert found.move is None

    def test_above_the_maximum_nothing_is_ordered_that_may_raise_it(self) -> None:
        limits = ReadingLimits(highest=3.3, maximum=2.2)
        # Truly turned away from the pivot and typed as toward it.
        trials: list[ControlTrial] = [read(2.6), ControlMove(0.25), read(2.4)]
        asked = solve_control(trials, 2.0, 0.05, TURN, limits=limits)
        assert asked.verdict is ControlVerdict.CHECK_CONTROL
        assert asked.move is None
        trials = [read(2.9), ControlMove(0.25), read(2.65), ControlMove(0.25), read(2.4)]
        again = solve_control(trials, 2.0, 0.05, TURN, limits=limits)
        assert again.verdict is ControlVerdict.CHECK_CONTROL
        assert again.backward

    def test_truth_stays_below_the_limit_for_ordinary_screws(self) -> None:
        passed = 0
        for seed in range(150):
            rng = np.random.default_rng([9, seed])
            screw = SimulatedControl(rng.uniform(0, 1.5), rng.normal(1, 0.25), 0, 0, rng)
            trials: list[ControlTrial] = [screw.read()]
            for _ in range(5):
                found = solve_control(trials, 2.0, 0.05, TURN, limits=ReadingLimits(highest=2.5))
                if found.move is None:
                    break
                screw.turn(found.move)
                passed += screw.reading > 2.5
                trials += [ControlMove(found.move), screw.read()]
        assert passed <= 2


class TestWithoutAStatedGain:
    CONTROL = ControlModel("turn", probe=0.25)

    def test_the_first_move_is_the_careful_probe(self) -> None:
        found = solve_control([read(1.0)], 0.0, 0.05, self.CONTROL)
        assert found.move == 0.25
        assert found.gain is None
        assert found.predicted is None

    def test_the_probe_teaches_gain_and_sign(self) -> None:
        found = solve_control([read(1.0), ControlMove(0.25), read(1.5)], 0.0, 0.05, self.CONTROL)
        assert found.gain is not None
        assert found.gain.value == pytest.approx(2.0, rel=0.02)
        assert found.gain_learned
        assert found.move == pytest.approx(-0.75, rel=0.05)
        assert not found.backward

    def test_a_feeble_answer_is_not_blown_up_into_a_wild_move(self) -> None:
        found = solve_control([read(1.0), ControlMove(0.25), read(0.995)], 0.0, 0.05, self.CONTROL)
        assert found.move is not None
        assert abs(found.move) <= 0.75 + 1e-9

    def test_it_converges_for_any_unknown_gain(self) -> None:
        for seed in range(40):
            rng = np.random.default_rng([12, seed])
            gain = rng.choice([-1, 1]) * math.exp(rng.uniform(-1.5, 1.5))
            screw = SimulatedControl(rng.uniform(-3, 3), gain, 0.0, 0.0, rng)
            trials: list[ControlTrial] = [screw.read()]
            for _ in range(25):
                found = solve_control(trials, 0.0, 0.1, self.CONTROL)
                if found.verdict is ControlVerdict.DONE:
                    break
                if found.move is not None:
                    screw.turn(found.move)
                    trials.append(ControlMove(found.move))
                trials.append(screw.read())
            assert found.verdict is ControlVerdict.DONE
            assert found.moves_made <= 6


class TestBadInput:
    def test_a_control_without_gain_needs_a_probe(self) -> None:
        with pytest.raises(ValueError, match="first careful move"):
            ControlModel("turn")

    @pytest.mark.parametrize("gain", [0.0, math.nan, math.inf])
    def test_a_gain_of_nothing_is_refused(self, gain: float) -> None:
        with pytest.raises(ValueError, match="leave it out"):
            ControlModel("turn", stated_gain=gain)

    def test_travel_is_given_down_and_up(self) -> None:
        with pytest.raises(ValueError, match="left down"):
            ControlModel("turn", stated_gain=1.0, travel=(0.5, 1.0))

    def test_negative_steps_are_refused(self) -> None:
        with pytest.raises(ValueError, match="can't be negative"):
            ControlModel("turn", stated_gain=1.0, smallest_step=-0.1)

    def test_a_tolerance_of_nothing_is_refused(self) -> None:
        with pytest.raises(ValueError, match="tolerance"):
            solve_control([read(1.0)], 0.0, 0.0, TURN)


def test_moves_before_the_first_reading_count_for_travel_and_teach_nothing() -> None:
    control = ControlModel("mm", stated_gain=1.0, travel=(-1.0, 1.0))
    found = solve_control([ControlMove(-0.8), read(1.0)], 0.0, 0.1, control)
    assert found.move == pytest.approx(-0.2)
    assert not found.gain_learned


def test_drift_between_trials_widens_what_is_believed_now() -> None:
    trials = [read(0.0)] * 10
    still = solve_control(trials, 0.0, 0.1, TURN).half_width
    drifting = solve_control(trials, 0.0, 0.1, TURN, drift_standard_uncertainty=0.05).half_width
    assert still is not None
    assert drifting is not None
    assert drifting > 2 * still


def test_a_reading_of_few_degrees_of_freedom_weighs_as_its_interval() -> None:
    loose = solve_control([Estimate(0.0, 0.02, 2)], 0.0, 1.0, TURN).half_width
    assert loose == pytest.approx(Estimate(0.0, 0.02, 2).half_width(), rel=1e-6)


def test_readings_without_any_error_are_followed_exactly() -> None:
    exact = ControlModel("mm", stated_gain=1.0, execution_relative=0.0)
    trials: list[ControlTrial] = [Estimate(2.0, 0.0)]
    assert solve_control(trials, 0.0, 0.1, exact).move == pytest.approx(-2.0)
    trials += [ControlMove(-2.0), Estimate(1.0, 0.0)]
    found = solve_control(trials, 0.0, 0.1, exact)
    assert found.gain is not None
    assert found.gain.value == pytest.approx(0.5)
    assert found.move == pytest.approx(-2.0)
