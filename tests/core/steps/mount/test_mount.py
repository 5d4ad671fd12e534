"""Mount: the checklist rules, the counterweight can stop it, resonance and load only advise."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations
from typing import Any

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from core.drawing.chart import Band, Curve, MarkRole, Points
from core.fitting import Assessment, Context, Control, MovePart, Reading, Trial, Verdict
from core.records import Cartridge, Deck, Generator
from core.steps import mount
from core.steps.mount import HalfInchChecklist, PlugInChecklist, Strap, WeighedMasses, Wiring
from tests.examples import cartridge, deck
from tests.worded import worded

TICKS = (
    "amplifier_off",
    "guard_on",
    "arm_locked",
    "screws_snug",
    "white_lead",
    "blue_lead",
    "red_lead",
    "green_lead",
)
FULL = dict.fromkeys(TICKS, True)
PLUG_TICKS = ("amplifier_off", "guard_on", "arm_locked", "pushed_home", "lock_closed")


def full(**changes: Any) -> HalfInchChecklist:
    return HalfInchChecklist.model_validate(FULL | changes)


def plugged(**changes: Any) -> PlugInChecklist:
    return PlugInChecklist.model_validate(dict.fromkeys(PLUG_TICKS, True) | changes)


Ticked = Callable[..., Reading]


def judged(
    *things: Reading | MovePart, on: Deck | None = None, with_: Cartridge | None = None
) -> Assessment:
    trials = tuple(
        Trial(str(at), moves=(thing,))
        if isinstance(thing, MovePart)
        else Trial(str(at), reading=thing)
        for at, thing in enumerate(things, 1)
    )
    context = Context(
        step="mount",
        deck=on or deck(),
        cartridge=with_ or cartridge(),
        log={"mount": trials},
    )
    answer: Assessment = worded(mount.assess(context))
    return answer


def value(answer: Assessment, key: str) -> float:
    figure = answer.figure(key)
    assert figure is not None, key
    return figure.value


# --- the checklist ----------------------------------------------------------------------------


def test_a_complete_checklist_is_good() -> None:
    answer = judged(full())
    assert answer.verdict is Verdict.GOOD
    assert answer.method == "checklist, mass as stated"


@pytest.mark.parametrize("missing", [tick for tick in TICKS if tick != "guard_on"])
def test_whatever_is_missing_is_named_and_nothing_is_good(missing: str) -> None:
    answer = judged(full(**{missing: False}))
    word = {
        "amplifier_off": "amplifier",
        "arm_locked": "arm",
        "screws_snug": "screws",
        "white_lead": "L+",
        "blue_lead": "L−",
        "red_lead": "R+",
        "green_lead": "R−",
    }[missing]
    assert answer.verdict is Verdict.READ_AGAIN
    assert word in answer.headline


def test_an_empty_list_names_the_first_thing_and_lists_the_rest() -> None:
    answer = judged(HalfInchChecklist(guard_on=True))
    assert answer.verdict is Verdict.READ_AGAIN
    assert "7 things" in answer.headline
    assert "amplifier" in answer.headline
    assert any("green to R−" in note for note in answer.notes)
    assert {"guard", "arm_locked", "muted", "no_heat"} <= set(answer.caution_keys)


def test_the_list_asked_for_and_its_missing_ticks_are_data() -> None:
    asked = judged(full(red_lead=False, arm_locked=False)).next_reading
    assert asked is not None
    assert asked.way == "checklist"
    assert asked.values == {"arm_locked": True, "red_lead": True}
    first = judged(on=PLUG_HEAD, with_=PLUG_IN).next_reading
    assert first is not None
    assert first.way == "plug-in checklist"
    assert "push the cartridge home" in str(first.why)
    assert judged(full()).next_reading is None


def test_a_list_of_all_that_is_missing_is_a_headline_only_where_it_is_short() -> None:
    for count in range(1, len(TICKS)):
        for missing in combinations([tick for tick in TICKS if tick != "guard_on"], count):
            answer = judged(full(**dict.fromkeys(missing, False)))
            assert len(answer.headline) <= 80
            whole = [note for note in answer.notes if note.startswith("In order: ")]
            assert [len(note) for note in whole if len(note) <= 77] == []
            assert bool(whole) is ("things" in answer.headline)


def test_hands_at_the_head_with_the_guard_off_is_a_stop() -> None:
    answer = judged(full(guard_on=False))
    assert answer.verdict is Verdict.STOP
    assert answer.next_move is not None
    assert "guard" in answer.headline
    assert "guard" in answer.caution_keys


def test_a_list_being_filled_in_stops_nobody_before_the_guards_line_is_reached() -> None:
    def typing(draft: Reading, *kept: Reading) -> Assessment:
        trials = tuple(Trial(str(at), reading=one) for at, one in enumerate(kept, 1))
        log = {"mount": trials}
        context = Context(step="mount", deck=deck(), cartridge=cartridge(), log=log)
        answer: Assessment = worded(mount.assess(context.with_draft(draft)))
        return answer

    answer = typing(HalfInchChecklist(amplifier_off=True))
    assert answer.verdict is not Verdict.STOP
    assert "guard" in answer.headline, "what is still to do"
    assert "guard" in answer.caution_keys
    assert typing(full(guard_on=False), full(guard_on=False)).verdict is Verdict.STOP
    assert typing(full(guard_on=False), full()).verdict is Verdict.STOP, "it was taken off"


def test_a_cartridge_without_a_guard_is_not_stopped_for_it() -> None:
    answer = judged(full(guard_on=False), with_=cartridge(has_guard=False))
    assert answer.verdict is Verdict.GOOD
    assert any("no guard" in note for note in answer.notes)


def test_the_list_filled_in_last_counts() -> None:
    assert judged(full(red_lead=False), full()).verdict is Verdict.GOOD
    assert judged(full(), full(red_lead=False)).verdict is Verdict.READ_AGAIN


def test_mono_wiring_and_a_strap_are_remarked_on_and_block_nothing() -> None:
    answer = judged(full(wiring=Wiring.MONO, strap=Strap.KEPT))
    assert answer.verdict is Verdict.GOOD
    assert any("mono" in note for note in answer.notes)
    assert any("strap" in note for note in answer.notes)


def test_with_no_reading_the_order_is_given_and_the_figures_stand() -> None:
    answer = judged()
    assert answer.verdict is Verdict.NO_READING
    assert value(answer, "moving_mass") == pytest.approx(18.0)


# --- plug-in ----------------------------------------------------------------------------------

PLUG_IN = cartridge(mounting="plug-in", hardware_g=0.0)
PLUG_HEAD = deck(head={"kind": "plug-in"})


def test_a_plug_in_cartridge_has_its_own_list_without_screws_or_leads() -> None:
    ways = mount.applies(PLUG_HEAD, PLUG_IN).ways
    assert ways == ("plug-in checklist", "weighed", "resonance by record")
    answer = judged(plugged(), on=PLUG_HEAD, with_=PLUG_IN)
    assert answer.verdict is Verdict.GOOD
    assert answer.figure("screw_needed") is None
    assert not any("colours" in note for note in answer.notes)


@pytest.mark.parametrize("tick", ["pushed_home", "lock_closed"])
def test_a_plug_in_cartridge_not_home_is_not_good(tick: str) -> None:
    answer = judged(plugged(**{tick: False}), on=PLUG_HEAD, with_=PLUG_IN)
    assert answer.verdict is Verdict.READ_AGAIN


def test_the_other_mountings_list_counts_for_nothing() -> None:
    answer = judged(full(), on=PLUG_HEAD, with_=PLUG_IN)
    assert answer.verdict is Verdict.READ_AGAIN
    assert "tick the list" in answer.headline
    assert judged(plugged()).verdict is Verdict.READ_AGAIN


@pytest.mark.parametrize(
    ("on", "with_", "own", "other"),
    [(deck(), cartridge(), full, plugged), (PLUG_HEAD, PLUG_IN, plugged, full)],
    ids=["half-inch", "plug-in"],
)
def test_a_later_list_of_the_other_mounting_takes_back_what_was_ticked(
    on: Deck, with_: Cartridge, own: Ticked, other: Ticked
) -> None:
    # so it is where the record of head and cartridge was corrected between two lists
    assert judged(own(), other(guard_on=False), on=on, with_=with_).verdict is Verdict.STOP
    ticked = judged(own(), other(), on=on, with_=with_)
    assert ticked.verdict is Verdict.READ_AGAIN
    assert "tick the list" in ticked.headline
    assert any("You ticked the list for" in note for note in ticked.notes)
    assert judged(other(), own(), on=on, with_=with_).verdict is Verdict.GOOD


@pytest.mark.parametrize(
    ("on", "with_", "ticked"),
    [(PLUG_HEAD, cartridge(), full()), (deck(), PLUG_IN, plugged())],
    ids=["half-inch on a plug-in head", "plug-in on slots"],
)
def test_a_cartridge_that_does_not_fit_the_head_is_a_stop_with_a_way_on(
    on: Deck, with_: Cartridge, ticked: Reading
) -> None:
    answer = judged(ticked, on=on, with_=with_)
    assert answer.verdict is Verdict.STOP
    assert answer.next_move is not None
    assert "adapter" in answer.next_move.sentence
    assert judged(on=on, with_=with_).verdict is Verdict.NO_READING


# --- what it weighs ---------------------------------------------------------------------------


def test_a_weighing_takes_the_place_of_the_stated_mass() -> None:
    answer = judged(WeighedMasses(weighed_g=8.4), full())
    assert answer.verdict is Verdict.GOOD
    assert value(answer, "head_mass") == pytest.approx(8.4)
    assert value(answer, "moving_mass") == pytest.approx(19.4)
    assert any("expected" in note for note in answer.notes)
    assert answer.method == "checklist, weighed"


def test_a_weighing_alone_asks_for_the_list() -> None:
    answer = judged(WeighedMasses(weighed_g=7.0))
    assert answer.verdict is Verdict.READ_AGAIN
    assert "tick the list" in answer.headline


def test_the_headshell_on_the_scale_is_taken_off_the_figure() -> None:
    on = deck(arm={"headshell_mass_g": 10.0})
    answer = judged(WeighedMasses(weighed_g=17.0, with_headshell=True), on=on)
    assert value(answer, "head_mass") == pytest.approx(7.0)


def test_the_mean_of_weighings_counts_and_of_disagreeing_ones_the_last() -> None:
    agree = judged(WeighedMasses(weighed_g=7.00), WeighedMasses(weighed_g=7.02))
    assert value(agree, "head_mass") == pytest.approx(7.01)
    differ = judged(WeighedMasses(weighed_g=9.0), WeighedMasses(weighed_g=7.0))
    assert value(differ, "head_mass") == pytest.approx(7.0)
    assert any("disagree" in note for note in differ.notes)


def test_too_heavy_for_the_counterweight_is_a_stop_and_the_remedy_mends_it() -> None:
    heavy = cartridge(mass_g=16.0)
    answer = judged(full(), with_=heavy)
    assert answer.verdict is Verdict.STOP
    assert "3.0" in answer.headline
    assert answer.next_move is not None
    (part,) = answer.next_move.parts
    assert part.control is Control.CARTRIDGE
    assert part.amount == pytest.approx(-3.0)
    assert judged(full(), part, with_=heavy).verdict is Verdict.READ_AGAIN
    assert judged(full(), part, full(), with_=heavy).verdict is Verdict.GOOD


@given(st.floats(0.5, 60.0), st.floats(0.0, 30.0), st.floats(1.0, 40.0))
@settings(max_examples=50)
def test_the_change_of_mass_proposed_always_balances(
    mass_g: float, lightest_g: float, wider_g: float
) -> None:
    on = deck(
        arm={"lightest_cartridge_g": lightest_g, "heaviest_cartridge_g": lightest_g + wider_g}
    )
    with_ = cartridge(mass_g=mass_g, hardware_g=1.0)
    answer = judged(full(), on=on, with_=with_)
    inside = lightest_g <= mass_g + 1.0 <= lightest_g + wider_g
    if inside:
        assert answer.verdict is Verdict.GOOD
        return
    assert answer.verdict in (Verdict.MOVE, Verdict.STOP)
    assert answer.next_move is not None
    (part,) = answer.next_move.parts
    after = mass_g + 1.0 + part.amount
    assert lightest_g - 0.01 <= after <= lightest_g + wider_g + 0.01
    # to a hundredth of a gram the scale decides: weigh what is there now
    weighed = WeighedMasses(weighed_g=max(after, 0.5))
    assert judged(full(), part, weighed, full(), on=on, with_=with_).verdict is Verdict.GOOD


def test_a_weight_the_scale_cannot_tell_from_the_limit_is_not_stopped() -> None:
    on = deck(arm={"heaviest_cartridge_g": 7.0})
    answer = judged(WeighedMasses(weighed_g=7.01), full(), on=on)
    assert answer.verdict is Verdict.GOOD
    assert any("can't tell" in note for note in answer.notes)


# --- resonance, screws, load -------------------------------------------------------------------


def test_17_grams_and_15_units_resonate_at_9_967_hertz() -> None:
    # derived: 1000 / (2 pi sqrt(17 x 15)); 11 g arm, 5 g cartridge, 1 g hardware
    answer = judged(full(), with_=cartridge(mass_g=5.0))
    assert value(answer, "resonance") == pytest.approx(9.967, abs=1e-3)
    # 10 Hz wants 1e6 / ((2 pi 10)^2 x 15) = 16.887 g
    assert value(answer, "mass_to_add") == pytest.approx(-0.113, abs=1e-3)
    assert not any("outside 8 to 12" in note for note in answer.notes)


@pytest.mark.parametrize(("compliance", "what"), [(35.0, "less"), (5.0, "more")])
def test_a_resonance_outside_the_band_is_a_note_and_never_blocks(
    compliance: float, what: str
) -> None:
    answer = judged(full(), with_=cartridge(compliance=compliance))
    assert answer.verdict is Verdict.GOOD
    note = next(note for note in answer.notes if "outside 8 to 12" in note)
    assert f"{what} at the head" in note
    assert "advice only" in note


def test_compliance_at_100_hertz_gives_a_wide_band() -> None:
    # practice: times 1.5 to 2; and a tenth either way for the sample
    plain = judged(full()).figure("resonance")
    wide = judged(full(), with_=cartridge(compliance_kind="dynamic 100 Hz")).figure("resonance")
    assert plain is not None
    assert wide is not None
    assert wide.value < plain.value
    assert (wide.half_width or 0) > 1.5 * (plain.half_width or 0)
    static = judged(full(), with_=cartridge(compliance_kind="static")).figure("resonance")
    assert static is not None
    assert static.value == pytest.approx(plain.value * 2**0.5)


def test_unknown_compliance_is_said_and_the_curve_is_still_drawn() -> None:
    answer = judged(full(), with_=cartridge(compliance=None))
    assert answer.verdict is Verdict.GOOD
    assert answer.figure("resonance") is None
    assert any("compliance is not known" in note for note in answer.notes)
    kinds = [type(item) for item in answer.picture.items]
    assert Curve in kinds
    assert Points not in kinds


def test_a_headshell_left_out_of_the_arms_figure_is_added() -> None:
    on = deck(arm={"mass_includes_headshell": False, "headshell_mass_g": 9.0})
    assert value(judged(full(), on=on), "moving_mass") == pytest.approx(27.0)


def test_the_screw_reaches_through_and_never_bottoms() -> None:
    # derived: 3 mm headshell, 4 mm lug, 2 mm nut: 9 mm, the next stock length is 10
    through = judged(full(), with_=cartridge(mounting="through holes"))
    assert value(through, "screw_needed") == pytest.approx(9.0)
    assert value(through, "screw_stock") == pytest.approx(10.0)
    # 3 mm headshell and three turns of 0.45 mm: 4.35; at most 3 + 4 - 0.225: 5 mm fits
    tapped = judged(full())
    assert value(tapped, "screw_stock") == pytest.approx(5.0)
    shallow = judged(full(), with_=cartridge(thread_depth_mm=1.0))
    assert shallow.figure("screw_stock") is None
    assert any("washers" in note for note in shallow.notes)


def test_a_moving_magnets_load_is_compared_to_its_makers_range() -> None:
    on = deck(arm={"cable_pf": 100.0}, amplifier={"input_pf": 100.0})
    coil = cartridge(inductance_mh=500.0, load_min_pf=250.0, load_max_pf=300.0)
    answer = judged(full(), on=on, with_=coil)
    assert value(answer, "load") == pytest.approx(200.0)
    # derived: 500 mH with 200 pF is 15.92 kHz
    assert value(answer, "load_peak") == pytest.approx(15.92, abs=0.005)
    assert any("250" in note for note in answer.notes)
    assert answer.verdict is Verdict.GOOD
    inside = coil.model_copy(update={"load_min_pf": 150.0})
    assert not any("treble" in n.lower() for n in judged(full(), on=on, with_=inside).notes)
    moving_coil = coil.model_copy(update={"generator": Generator.MOVING_COIL})
    assert judged(full(), on=on, with_=moving_coil).figure("load") is None


def test_the_picture_holds_band_curve_and_this_cartridge() -> None:
    picture = judged(full()).picture
    assert any(isinstance(i, Band) and (i.low, i.high) == (8.0, 12.0) for i in picture.items)
    point = next(i for i in picture.items if isinstance(i, Points))
    curve = next(i for i in picture.items if isinstance(i, Curve) and i.role is MarkRole.NOW)
    # the point lies on the curve
    on_curve = float(point.y[0]) ** 2 * float(point.x[0])
    assert on_curve == pytest.approx(float(curve.y[5]) ** 2 * float(curve.x[5]), rel=1e-6)


def test_a_change_of_mass_leaves_the_old_curve_faint() -> None:
    change = MovePart(control=Control.CARTRIDGE, amount=2.0, unit="g")
    answer = judged(full(), change, full())
    assert any(getattr(item, "role", None) is MarkRole.BEFORE for item in answer.picture.items)
    assert value(answer, "moving_mass") == pytest.approx(20.0)


ticks = st.fixed_dictionaries({tick: st.booleans() for tick in TICKS})
things = st.one_of(
    ticks.map(HalfInchChecklist.model_validate),
    st.fixed_dictionaries({tick: st.booleans() for tick in PLUG_TICKS}).map(
        PlugInChecklist.model_validate
    ),
    st.builds(WeighedMasses, weighed_g=st.floats(0.5, 100), with_headshell=st.booleans()),
    st.builds(
        MovePart,
        control=st.sampled_from([Control.CARTRIDGE, Control.SCREWS]),
        amount=st.floats(allow_nan=True, allow_infinity=True),
        unit=st.sampled_from(["g", ""]),
    ),
)


@given(
    st.lists(things, max_size=7),
    st.sampled_from(["slots", "fixed", "plug-in"]),
    st.sampled_from(["through holes", "tapped", "plug-in"]),
)
@example([full(), PlugInChecklist()], "slots", "through holes")
@settings(max_examples=80)
def test_no_order_of_ticks_weighings_and_changes_is_too_much(
    happened: list[Reading | MovePart], head: str, mounting: str
) -> None:
    answer = judged(*happened, on=deck(head={"kind": head}), with_=cartridge(mounting=mounting))
    assert len(answer.headline) <= 80, answer.headline
    if answer.verdict is Verdict.GOOD:
        last = [t for t in happened if isinstance(t, HalfInchChecklist | PlugInChecklist)][-1]
        assert isinstance(last, PlugInChecklist) == (mounting == "plug-in")
        assert all(v for v in last.model_dump().values() if isinstance(v, bool))
    if happened and isinstance(happened[-1], MovePart):
        assert answer.verdict is Verdict.READ_AGAIN
