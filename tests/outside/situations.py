"""Situations at each step and what a person is told in them: which sentences, asked, ordered.

    python -m tests.outside.situations --write

writes them anew into ``situations.txt``. Read each line that changed before you keep it: is that
what somebody who reads and moves so should be told? Amounts do not stand here; they are worked by
hand in the other files of this folder. What stands is all that is told, so that a sentence too
many is seen as well as one that is missing.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from core.fitting import Assessment, Control, MovePart, ReadingTaken
from core.language import Message
from core.records import Cartridge, Deck
from core.workflow.refusals import why_refused
from tests.examples import cartridge
from tests.outside.test_told_by_recording import bands as recorded
from tests.outside.test_told_tone import VARIES, tone
from tests.outside.told import Person, pinned
from tests.worked import CHECKED, Read, bubble, protractor, strobe

APPROVED = Path(__file__).with_suffix(".txt")


class Obey:
    """Make the move that was ordered, if any was."""


OBEY = Obey()
Act = Read | MovePart | Obey


@dataclass(frozen=True)
class Situation:
    """What somebody does at a step, one after the other."""

    step: str
    acts: tuple[Act, ...]
    on: Deck = field(default_factory=pinned)
    fitted: Cartridge = field(default_factory=cartridge)


def at(step: str, *acts: Act, fitted: Cartridge | None = None, **changes: Any) -> Situation:
    return Situation(step, acts, pinned(**changes), fitted or cartridge())


def part(control: Control, amount: float, unit: str, where: str = "") -> MovePart:
    return MovePart(control=control, amount=amount, unit=unit, where=where)


def bent(message: Message | None) -> str:
    """Return a message's key, with the plain words that choose among its variants."""
    if message is None:
        return "nothing"
    words = [
        bent(value) if isinstance(value, Message) else str(value)
        for value in message.values.values()
        if isinstance(value, str | Message)
    ]
    return f"{message.key}({', '.join(words)})" if words else message.key


def told(answer: Assessment) -> str:
    """Return all that is told, without amounts."""
    parts = answer.next_move.parts if answer.next_move else ()
    ordered = [
        f"{one.control.value}{' ' + one.where if one.where else ''} "
        f"{'+' if one.amount > 0 else '-'}{' ' + one.unit if one.unit else ''}"
        for one in parts
    ]
    asked = answer.next_reading
    lines = [f"{answer.verdict.value}: {bent(answer.headline)}"]
    if ordered and answer.next_move is not None:
        why = f", {bent(answer.next_move.reason)}" if answer.next_move.reason else ""
        lines.append(f"order {'; '.join(ordered)}{why}")
    if asked is not None:
        more = [name for name in ("longer", "at_another_setting") if getattr(asked, name)]
        words = [asked.way or "as before", f"x{asked.count}", *asked.values, *more]
        lines.append("asks " + " ".join(words))
    lines += [f"note {bent(one)}" for one in answer.notes]
    lines += [f"caution {one.caution} at {one.act.value}" for one in answer.cautions]
    lines += [f"question {bent(one.text)}" for one in answer.questions]
    lines += [f"unread {bent(one)}" for one in answer.unread]
    if answer.on_trust:
        lines.append("on trust")
    if answer.method is not None:
        lines.append(f"by {bent(answer.method)}")
    lines.append(" ".join(["figures", *(one.key for one in answer.figures)]))
    return "\n  ".join(lines)


def played(one: Situation) -> Iterator[str]:
    """Yield what is told at first and after each act."""
    person = Person(one.step, one.on, fitted=one.fitted)
    yield told(person.told)
    for act in one.acts:
        if isinstance(act, Obey):
            if person.told.next_move is None:
                yield "nothing was ordered"
                continue
            person.obeys()
        elif isinstance(act, MovePart):
            person.moves(act)
        else:
            refusal = why_refused(person.journey, ReadingTaken(step=one.step, reading=act))
            if refusal is not None:
                yield f"refused: {refusal.key}"
                continue
            person.reads(act)
        yield told(person.told)


def both(right: float, back: float) -> tuple[Read, Read]:
    return bubble("left-right", right), bubble("front-back", back)


def scale(shown: float) -> Read:
    return {"way": "scale", "downforce_gf": shown}


def heights(high: float) -> Read:
    return {
        "way": "two heights",
        "front_mm": 25.0,
        "rear_mm": 25.0 + high,
        "spacing_mm": 180.0,
    }


def gaps(left: float, right: float) -> Read:
    return {"way": "gaps", "left_mm": left, "right_mm": right}


def leaks(setting: float, left: float, right: float) -> Read:
    return {
        "way": "test bands",
        "left_band_left_db": 0.0,
        "left_band_right_db": left,
        "right_band_right_db": 0.0,
        "right_band_left_db": right,
        "setting_deg": setting,
    }


def bars(drifted: float, way: str = "with", **more: Any) -> Read:
    return {**strobe(drifted), "direction": way, **more}


def ear(setting: float, broke: str) -> Read:
    return {"way": "test bands", "setting": setting, "broke_first": broke}


EMPTY: Read = {"way": "check weight", "weight_g": 0.0, "shown_gf": 0.0}
FIXED_FEET = {
    "feet": [
        {"name": name, "x_mm": x, "y_mm": y, "adjustable": False}
        for name, x, y in (
            ("front left", -180.0, -140.0),
            ("front right", 180.0, -140.0),
            ("rear", 0.0, 150.0),
        )
    ]
}
PARALLEL = {"kind": "parallel tracking", "pivot_to_spindle_mm": None, "offset_deg": 0.0}


def situations() -> dict[str, Situation]:
    """Return them by what they are."""
    return usual() | rare()


def usual() -> dict[str, Situation]:
    """Return what happens on most days."""
    turned = {**bubble("left-right", -2.0), "turned": True}
    end = {"way": "bubble at its end", "direction": "left-right", "toward": "marked"}
    tilted = bubble("front-back", 6.0), bubble("left-right", -5.0)
    timed = {"way": "timed turns", "turns": 100, "seconds": 181.0}
    unwired = {**CHECKED, "red_lead": False}
    loose = {**CHECKED, "screws_snug": False, "guard_on": False}
    mc = cartridge(generator="moving coil", load_ohm=100.0, coil_ohm=10.0, output_mv=0.4)
    wind = [heights(3.0), OBEY, heights(3.0), OBEY, heights(3.0)]
    return {
        "level within": at("level", *both(0.5, -0.5)),
        "level off": at("level", *tilted, OBEY, *both(0.2, 0.1)),
        "level off and hardly better": at("level", *tilted, OBEY, *tilted),
        "level, one direction": at("level", bubble("left-right", 4.0)),
        "level, both ways round": at("level", bubble("left-right", 2.0), turned),
        "level, the same place twice apart": at("level", *both(1.0, 0.0), *both(6.0, 0.0)),
        "level at the end of its vial": at("level", end, OBEY, *both(0.5, 0.5)),
        "level with feet that do not turn": at("level", *tilted, plinth=FIXED_FEET),
        "level by an inclinometer": at(
            "level",
            {"way": "inclinometer", "direction": "left-right", "angle_deg": 0.5},
            {"way": "inclinometer", "direction": "front-back", "angle_deg": 0.0},
        ),
        "level, another foot turned": at(
            "level", *tilted, part(Control.FOOT, 1.0, "turns", "rear"), *both(0.0, 0.0)
        ),
        "level by feet of unknown thread": at("level", *tilted, plinth={"pitch_mm_per_turn": None}),
        "mounted": at("mount", CHECKED),
        "mounted, a lead missing": at("mount", unwired, CHECKED),
        "mounted, screws loose": at("mount", loose),
        "mounted, stiff": at("mount", CHECKED, fitted=cartridge(compliance=5.0)),
        "mounted, soft": at("mount", CHECKED, fitted=cartridge(compliance=35.0)),
        "mounted, compliance unknown": at("mount", CHECKED, fitted=cartridge(compliance=None)),
        "mounted, heavy": at("mount", CHECKED, fitted=cartridge(mass_g=18.0)),
        "mounted, weighed": at("mount", {"way": "weighed", "weighed_g": 9.0}, CHECKED),
        "mounted, moving coil": at("mount", CHECKED, fitted=mc),
        "rough, right": at("rough_downforce", scale(2.0)),
        "rough, too much": at("rough_downforce", scale(2.6), OBEY, scale(2.0)),
        "rough, far too much": at("rough_downforce", scale(4.0), OBEY, scale(2.2)),
        "rough, too little": at("rough_downforce", scale(1.2), OBEY, scale(1.9)),
        "rough, nothing answers": at(
            "rough_downforce", scale(1.2), OBEY, scale(1.2), OBEY, scale(1.2)
        ),
        "rough, it goes the other way": at("rough_downforce", scale(1.4), OBEY, scale(1.0)),
        "rough, afloat": at("rough_downforce", scale(0.0), OBEY, scale(0.0), OBEY, scale(1.5)),
        "rough, weighings apart": at("rough_downforce", scale(2.0), scale(3.5), scale(1.0)),
        "rough, in millinewtons": at("rough_downforce", scale(20.0)),
        "rough, unknown weight": at(
            "rough_downforce",
            scale(1.2),
            OBEY,
            scale(1.5),
            arm={"counterweight_g": None, "counterweight_mm_per_turn": None},
        ),
        "rough, a dial": at("rough_downforce", scale(2.6), OBEY, arm={"balance": "dynamic"}),
        "rough, no pivot": at("rough_downforce", scale(2.6), arm=PARALLEL),
        "rough, floated and slid": at(
            "rough_downforce",
            {"way": "float and slide", "floated": True, "slid_mm": 4.8, "sinks": True},
        ),
        "rough, floated not": at(
            "rough_downforce",
            {"way": "float and slide", "floated": False, "slid_mm": 4.8, "sinks": True},
        ),
        "rough, a check weight that can't be": at(
            "rough_downforce", {"way": "check weight", "weight_g": 2.0, "shown_gf": 9.0}
        ),
        "height, right": at("arm_height", heights(0.0), heights(0.1)),
        "height, high": at("arm_height", heights(3.0), OBEY, heights(0.2)),
        "height, low": at("arm_height", heights(-3.0), OBEY, heights(-0.1), heights(0.0)),
        "height, nothing answers": at("arm_height", *wind),
        "height, fixed": at("arm_height", heights(2.0), heights(2.0), height={"control": "none"}),
        "height, fixed and low": at(
            "arm_height", heights(-2.0), heights(-2.0), height={"control": "none"}
        ),
        "height, a collar": at(
            "arm_height",
            heights(2.0),
            OBEY,
            heights(0.0),
            height={"control": "collar", "mm_per_turn": 1.0},
        ),
        "height, shims": at(
            "arm_height", heights(-2.0), OBEY, heights(0.0), height={"control": "shims"}
        ),
        "height, shims and high": at("arm_height", heights(2.0), height={"control": "shims"}),
        "height, no travel": at(
            "arm_height",
            heights(-4.0),
            height={"control": "pillar", "travel_up_mm": 1.0, "travel_down_mm": 1.0},
        ),
        "height, places 40 apart": at("arm_height", {**heights(1.0), "spacing_mm": 40.0}),
        "height, an angle": at("arm_height", {"way": "tube angle", "pitch_deg": 0.0}),
        "height, readings apart": at("arm_height", heights(0.0), heights(4.0), heights(0.0)),
        "aligned": at("alignment", *[protractor(0.0, 0.0)] * 4),
        "aligned, too long": at("alignment", protractor(2.0, 0.0), OBEY, protractor(0.0, 0.0)),
        "aligned, turned": at("alignment", protractor(0.0, 3.0), OBEY, protractor(0.0, 0.0)),
        "aligned, both": at("alignment", protractor(-2.0, -3.0), OBEY, protractor(0.1, 0.1)),
        "aligned, nothing answers": at(
            "alignment", protractor(2.0, 0.0), OBEY, protractor(2.0, 0.0), OBEY
        ),
        "aligned, fixed holes": at("alignment", protractor(2.0, 0.0), head={"kind": "fixed"}),
        "aligned, a base that slides": at(
            "alignment", protractor(2.0, 0.0), head={"kind": "fixed", "base_slides": True}
        ),
        "aligned, a landing alone": at("alignment", {"way": "landing", "landing_mm": 1.5}),
        "aligned, angles alone": at(
            "alignment", {"way": "angles", "inner_deg": 2.0, "outer_deg": 0.5}
        ),
        "aligned, no pivot": at(
            "alignment",
            {"way": "path", "inner_landing_mm": 1.0, "outer_landing_mm": 1.0, "head_deg": 0.0},
            OBEY,
            arm=PARALLEL,
        ),
        "aligned, screws tightened": at(
            "alignment",
            protractor(2.0, 0.0),
            OBEY,
            protractor(0.0, 0.0),
            part(Control.SCREWS, 1.0, ""),
            protractor(0.0, 0.0),
        ),
        "upright": at("tilt", gaps(2.0, 2.0), gaps(2.0, 2.05)),
        "tilt to the left": at("tilt", gaps(3.0, 2.0), gaps(3.0, 2.0), OBEY, gaps(2.0, 2.0)),
        "tilt, nothing answers": at(
            "tilt", gaps(3.0, 2.0), OBEY, gaps(3.0, 2.0), OBEY, gaps(3.0, 2.0)
        ),
        "tilt, the body rests on the record": at("tilt", gaps(0.0, 0.0)),
        "tilt, gaps of 10 and 0": at("tilt", gaps(10.0, 0.0)),
        "tilt, fixed": at("tilt", *[gaps(3.0, 2.0)] * 3, tilt={"control": "none"}),
        "tilt, a shim": at("tilt", *[gaps(2.0, 3.0)] * 3, OBEY, tilt={"control": "shim"}),
        "tilt by a mirror": at(
            "tilt", {"way": "mirror", "lean": "upright"}, {"way": "mirror", "lean": "upright"}
        ),
        "tilt by bands": at("tilt", leaks(0.0, -25.0, -22.0), OBEY, leaks(2.0, -27.0, -26.0)),
        "tilt by bands, the best outside": at(
            "tilt", leaks(0.0, -20.0, -20.0), leaks(1.0, -21.5, -21.5), leaks(2.0, -23.5, -23.5)
        ),
        "tilt by bands, the best inside": at(
            "tilt",
            *(leaks(s, d, d) for s, d in ((-2.0, -25.0), (0.0, -35.0), (2.0, -25.0))),
            leaks(0.0, -35.0, -35.0),
        ),
        "tilt by bands, fixed": at("tilt", leaks(0.0, -25.0, -22.0), tilt={"control": "none"}),
        "skating at the mark": at("skating", {"way": "setting", "setting": 2.0}),
        "skating off the mark": at("skating", {"way": "setting", "setting": 1.0}, OBEY),
        "skating by ear": at(
            "skating", ear(1.0, "right"), OBEY, ear(2.0, "together"), ear(2.75, "left")
        ),
        "skating, clean": at("skating", ear(2.0, "neither")),
        "skating, contradicted": at("skating", ear(1.0, "left"), ear(2.5, "right")),
        "skating, at its end": at("skating", ear(2.0, "right"), ear(3.0, "right")),
        "skating, no such mark": at("skating", {"way": "setting", "setting": 7.0}),
        "skating, none": at("skating", skating={"control": "none"}),
        "skating, no pivot": at("skating", arm=PARALLEL),
        "final, right": at("final_downforce", EMPTY, scale(2.0), scale(2.01), scale(1.99)),
        "final, on trust": at("final_downforce", scale(2.0), scale(2.01), scale(1.99)),
        "final, too much": at("final_downforce", EMPTY, *[scale(2.3)] * 3, OBEY, *[scale(2.0)] * 3),
        "final, too little": at("final_downforce", EMPTY, *[scale(1.7)] * 3, OBEY, scale(1.7)),
        "final, apart": at("final_downforce", EMPTY, scale(1.8), scale(2.2), scale(2.0)),
        "final, stop": at("final_downforce", EMPTY, *[scale(4.0)] * 2),
        "final, a coarse scale": at(
            "final_downforce", EMPTY, *[scale(2.0)] * 3, bench={"scale_read_gf": 0.1}
        ),
        "speed, standing": at("speed", strobe(0.0), strobe(0.0)),
        "speed, fast": at("speed", bars(60.0), OBEY, strobe(0.0)),
        "speed, slow": at("speed", bars(60.0, "against"), OBEY, bars(2.0, "against")),
        "speed, nothing answers": at("speed", bars(60.0), OBEY, bars(60.0), OBEY, bars(60.0)),
        "speed, it goes the other way": at("speed", bars(60.0), OBEY, bars(120.0)),
        "speed, cold": at("speed", bars(60.0, minutes_running=1.0)),
        "speed by turns": at("speed", timed, OBEY),
        "speed, too fast to count": at("speed", {"way": "too fast to count"}),
        "speed, fixed": at("speed", bars(60.0), bars(60.0), platter={"trim": "none"}),
        "speed, buttons": at("speed", bars(60.0), OBEY, platter={"trim": "electronic"}),
        "speed, readings apart": at("speed", bars(0.0), bars(60.0), bars(0.0)),
        "speed, a wrong one": at("speed", {**strobe(0.0), "speed_rpm": 78.0}),
    }


def glass(marked: float, other: float, direction: str = "left-right") -> Read:
    return {"way": "water", "direction": direction, "marked_mm": marked, "other_mm": other}


def ruled(gap: float, direction: str) -> Read:
    return {"way": "ruler", "direction": direction, "gap_mm": gap}


def weight(grams: float, shown: float) -> Read:
    return {"way": "check weight", "weight_g": grams, "shown_gf": shown}


def dialled(mark: float, *, floated: bool = True, zeroed: bool = True, sinks: bool = True) -> Read:
    return {
        "way": "float and dial",
        "floated": floated,
        "zeroed": zeroed,
        "dial_gf": mark,
        "sinks": sinks,
    }


def angled(inner: float, outer: float) -> Read:
    return {"way": "angles", "inner_deg": inner, "outer_deg": outer}


def landed(beyond: float) -> Read:
    return {"way": "landing", "landing_mm": beyond}


def path(inner: float, outer: float, head: float) -> Read:
    return {
        "way": "path",
        "inner_landing_mm": inner,
        "outer_landing_mm": outer,
        "head_deg": head,
    }


def tapered(front: float, rear: float, edge: str = "top") -> Read:
    return {
        "way": "tapered tube",
        "edge": edge,
        "front_mm": front,
        "front_diameter_mm": 8.0,
        "rear_mm": rear,
        "rear_diameter_mm": 12.0,
        "spacing_mm": 180.0,
    }


def mirrored(lean: str, angle: float = 1.0) -> Read:
    return {"way": "mirror", "lean": lean, "angle_deg": angle}


def looked(control: str, where: str = "") -> Read:
    return {"way": "control checked", "control": control, "where": where}


def stands(setting: float) -> Read:
    return {"way": "setting", "setting": setting}


FOUR_FEET = {
    "feet": [
        {"name": name, "x_mm": x, "y_mm": y}
        for name, x, y in (
            ("front left", -180.0, -140.0),
            ("front right", 180.0, -140.0),
            ("rear left", -180.0, 140.0),
            ("rear right", 180.0, 140.0),
        )
    ]
}
NO_KIT: dict[str, Any] = {
    "has_level": False,
    "has_scale": False,
    "has_gap_gauge": False,
    "has_strobe_lamp": False,
    "has_test_record": False,
}
NOTCHES: dict[str, Any] = {
    "control": "thread weight",
    "thread_weight_g": 3.0,
    "notch_levers_mm": (8.0, 11.0, 14.0),
}
WARM = {"minutes_running": 15.0}
UNDERHUNG = {"kind": "pivoted straight", "effective_length_mm": 212.0, "offset_deg": 0.0}


def rare() -> dict[str, Situation]:
    """Return what happens on rarer days."""
    end = {"way": "bubble at its end", "direction": "left-right", "toward": "marked"}
    across = [bubble("left-right", 5.0), bubble("front-back", 0.0)]
    both_ways = (*both(0.0, 6.0), {**bubble("front-back", -6.0), "turned": True})
    plug = {
        "way": "plug-in checklist",
        **dict.fromkeys(
            ("amplifier_off", "guard_on", "arm_locked", "pushed_home", "lock_closed"), True
        ),
    }
    plugged = cartridge(mounting="plug-in")
    return {
        "level by a glass of water": at(
            "level", glass(40.0, 41.0), glass(40.0, 40.0, "front-back")
        ),
        "level by a ruler": at("level", ruled(0.6, "left-right"), ruled(0.0, "front-back"), OBEY),
        "level, front to back first": at("level", bubble("front-back", -4.0)),
        "level, one of three does not fit": at(
            "level", *both(2.0, 0.0), bubble("diagonal back right", -6.0)
        ),
        "level near the limit": at("level", *both(1.9, 0.0)),
        "level on four feet": at("level", *both(4.0, 0.0), OBEY, *both(0.1, 0.0), plinth=FOUR_FEET),
        "level with feet that do not turn, near": at("level", *both(0.5, 0.5), plinth=FIXED_FEET),
        "level, its own error known": at("level", *both_ways, OBEY, *both(0.0, 0.0)),
        "level at its end, twice": at("level", end, OBEY, end, end),
        "level, worse than before": at("level", *across, OBEY, *both(10.0, 0.0)),
        "mounted, a plug-in": at("mount", plug, fitted=plugged, head={"kind": "plug-in"}),
        "mounted, not locked": at(
            "mount", {**plug, "lock_closed": False}, fitted=plugged, head={"kind": "plug-in"}
        ),
        "mounted, the other list": at("mount", CHECKED, fitted=plugged, head={"kind": "plug-in"}),
        "mounted, it does not fit": at("mount", CHECKED, fitted=plugged),
        "mounted, no guard": at(
            "mount", {**CHECKED, "guard_on": False}, fitted=cartridge(has_guard=False)
        ),
        "mounted, the guard is off": at("mount", {**CHECKED, "guard_on": False}),
        "mounted, nothing ticked": at("mount", {"way": "checklist", "guard_on": True}),
        "mounted in mono": at("mount", {**CHECKED, "wiring": "mono", "strap": "kept"}),
        "mounted, weighed apart": at(
            "mount",
            {"way": "weighed", "weighed_g": 6.5},
            {"way": "weighed", "weighed_g": 9.0},
            CHECKED,
        ),
        "mounted, too light": at(
            "mount",
            CHECKED,
            OBEY,
            CHECKED,
            fitted=cartridge(mass_g=1.0, hardware_g=0.5),
            arm={"lightest_cartridge_g": 4.0, "heaviest_cartridge_g": 12.0},
        ),
        "mounted, at the end of the balance": at(
            "mount",
            {"way": "weighed", "weighed_g": 12.0},
            CHECKED,
            arm={"lightest_cartridge_g": 4.0, "heaviest_cartridge_g": 12.0},
        ),
        "mounted, nuts": at("mount", CHECKED, fitted=cartridge(mounting="through holes")),
        "mounted, load too great": at(
            "mount",
            CHECKED,
            fitted=cartridge(inductance_mh=500.0, load_min_pf=100.0, load_max_pf=200.0),
            amplifier={"input_pf": 250.0},
            arm={"cable_pf": 150.0},
        ),
        "mounted, compliance at 100 Hz": at(
            "mount", CHECKED, fitted=cartridge(compliance_kind="dynamic 100 Hz", compliance=9.0)
        ),
        "rough, a scale checked": at("rough_downforce", EMPTY, weight(2.0, 2.02), scale(2.0)),
        "rough, a scale that reads high": at(
            "rough_downforce", EMPTY, weight(2.0, 2.2), scale(2.2)
        ),
        "rough, a scale that shows nothing": at(
            "rough_downforce", EMPTY, weight(2.0, 0.0), scale(2.0)
        ),
        "rough, check weights apart": at(
            "rough_downforce", weight(2.0, 2.0), weight(2.0, 2.6), scale(2.0)
        ),
        "rough, not zeroed": at(
            "rough_downforce", {"way": "empty pan", "shown_gf": 0.3}, scale(2.3)
        ),
        "rough, near the maximum": at("rough_downforce", scale(2.19)),
        "rough, near the minimum": at("rough_downforce", scale(1.8)),
        "rough, perhaps past the stop": at("rough_downforce", scale(3.29)),
        "rough, a coarse scale": at("rough_downforce", scale(2.0), bench={"scale_read_gf": 0.3}),
        "rough, the pan is high": at("rough_downforce", {**scale(2.0), "pan_height_mm": 6.0}),
        "rough by the dial": at("rough_downforce", dialled(2.0), bench=NO_KIT),
        "rough by the dial, set too high": at("rough_downforce", dialled(3.0), bench=NO_KIT),
        "rough by the dial, past the stop": at("rough_downforce", dialled(4.0), bench=NO_KIT),
        "rough by the dial, not floated": at(
            "rough_downforce", *[dialled(2.0, floated=False)] * 3, bench=NO_KIT
        ),
        "rough by the dial, not at zero": at(
            "rough_downforce", dialled(2.0, zeroed=False), bench=NO_KIT
        ),
        "rough by the dial, it stays up": at(
            "rough_downforce", dialled(2.0, sinks=False), bench=NO_KIT
        ),
        "rough by the dial, a narrow range": at(
            "rough_downforce",
            dialled(2.0),
            bench=NO_KIT,
            fitted=cartridge(downforce_min_gf=1.97, downforce_max_gf=2.03),
        ),
        "rough, too much and nothing answers": at(
            "rough_downforce",
            *(scale(2.6), OBEY, scale(2.6), looked("counterweight")),
            *(looked("counterweight", "floated anew"), scale(0.0), OBEY, scale(1.1), OBEY),
        ),
        "rough, too much and it goes the other way": at(
            "rough_downforce", scale(2.6), OBEY, scale(2.9), looked("counterweight"), OBEY
        ),
        "rough, it floats and floats": at(
            "rough_downforce",
            *(scale(0.0), OBEY, scale(0.0), looked("counterweight")),
            *(looked("counterweight", "floated anew"), scale(0.0), OBEY, scale(0.0)),
            *(looked("counterweight"), OBEY, scale(0.0)),
        ),
        "rough, no way to tell": at(
            "rough_downforce",
            scale(2.6),
            bench=NO_KIT,
            arm={"counterweight_g": None, "counterweight_mm_per_turn": None},
        ),
        "rough, the dial the other way": at(
            "rough_downforce", scale(1.4), OBEY, scale(1.0), arm={"balance": "dynamic"}
        ),
        "rough, an unknown thread": at(
            "rough_downforce", scale(1.2), OBEY, scale(1.6), arm={"counterweight_g": None}
        ),
        "rough, a weight that slides": at(
            "rough_downforce",
            *(scale(2.8), OBEY, scale(2.3), OBEY, scale(2.0)),
            arm={"counterweight_mm_per_turn": None},
        ),
        "final, a weight that slides": at(
            "final_downforce",
            *(EMPTY, *[scale(2.06)] * 3, OBEY, *[scale(1.96)] * 3),
            arm={"counterweight_mm_per_turn": None},
        ),
        "final, scattered": at(
            "final_downforce", EMPTY, *(scale(one) for one in (1.95, 2.05, 1.97, 2.04, 1.99, 2.02))
        ),
        "final, above the maximum": at(
            "final_downforce", EMPTY, *[scale(2.3)] * 3, OBEY, scale(2.3), scale(2.3)
        ),
        "final by the dial": at("final_downforce", dialled(2.0), bench=NO_KIT),
        "final by the dial, off": at("final_downforce", dialled(1.4), bench=NO_KIT),
        "final, a scale that shows nothing": at("final_downforce", EMPTY, weight(2.0, 0.0)),
        "final, moved first": at(
            "final_downforce", part(Control.COUNTERWEIGHT, 0.5, "turns"), EMPTY, scale(2.1)
        ),
        "final, near the limit": at("final_downforce", EMPTY, *[scale(2.05)] * 4),
        "final, one apart": at("final_downforce", EMPTY, scale(2.0), scale(2.0), scale(2.3)),
        "final, a scale not zeroed": at(
            "final_downforce", {"way": "empty pan", "shown_gf": 0.2}, *[scale(2.2)] * 3
        ),
        "height by a tapered tube": at(
            "arm_height", *[tapered(27.0, 31.0)] * 2, OBEY, tapered(27.0, 29.0)
        ),
        "height by its lower edge": at("arm_height", *[tapered(20.0, 16.0, "bottom")] * 2, OBEY),
        "height, steep": at("arm_height", heights(25.0), heights(25.0)),
        "height, a steep angle": at("arm_height", {"way": "tube angle", "pitch_deg": 9.0}),
        "height, the other way": at("arm_height", *[heights(2.0)] * 2, OBEY, *[heights(4.0)] * 2),
        "height, fixed and very high": at(
            "arm_height", heights(9.0), heights(9.0), height={"control": "none"}
        ),
        "height near the limit": at("arm_height", heights(0.4), heights(0.4), heights(0.4)),
        "height, shims taken out": at(
            "arm_height",
            *[heights(2.0)] * 2,
            OBEY,
            heights(0.0),
            height={"control": "shims", "travel_down_mm": 5.0},
        ),
        "height by angle": at("arm_height", *[{"way": "tube angle", "pitch_deg": 1.0}] * 2, OBEY),
        "aligned, one reading apart": at(
            "alignment", protractor(0.0, 0.0), protractor(0.0, 0.0), protractor(2.5, 0.0)
        ),
        "aligned by landing, then angles": at(
            "alignment", landed(1.5), OBEY, landed(0.0), angled(0.0, 0.0)
        ),
        "aligned by landing, right": at("alignment", landed(0.0), landed(0.0)),
        "aligned by landing, fixed holes": at(
            "alignment", landed(0.1), angled(0.1, 0.0), head={"kind": "fixed"}
        ),
        "aligned by angles": at("alignment", *[angled(0.0, 0.0)] * 3),
        "aligned, the distance measured": at(
            "alignment", {"way": "pivot distance", "distance_mm": 222.5}, protractor(0.0, 0.0)
        ),
        "aligned, slots too short": at(
            "alignment",
            *[protractor(-6.0, 0.0)] * 2,
            head={"slot_forward_mm": 2.0, "slot_back_mm": 2.0},
        ),
        "aligned, a path that turns": at("alignment", path(0.0, 0.0, 2.0), arm=PARALLEL),
        "aligned, a path that is right": at("alignment", *[path(0.0, 0.0, 0.0)] * 3, arm=PARALLEL),
        "aligned, underhung": at("alignment", landed(1.0), OBEY, landed(0.0), arm=UNDERHUNG),
        "tilt, gaps apart": at("tilt", gaps(2.0, 2.0), gaps(3.5, 2.0)),
        "tilt, in inches": at("tilt", gaps(0.08, 0.08)),
        "tilt, it touches on one side": at("tilt", gaps(0.0, 1.0), gaps(0.0, 1.0)),
        "tilt, a collar": at("tilt", *[gaps(2.0, 3.0)] * 3, OBEY, tilt={"control": "collar"}),
        "tilt, the other way": at(
            "tilt", *[gaps(3.0, 2.0)] * 2, OBEY, gaps(4.0, 2.0), gaps(4.0, 2.0)
        ),
        "tilt near the limit": at("tilt", gaps(2.25, 2.0)),
        "tilt by a mirror, left high": at("tilt", *[mirrored("left high", 2.0)] * 3, OBEY),
        "tilt by a mirror, right high": at("tilt", *[mirrored("right high", 2.0)] * 3, OBEY),
        "tilt, fixed and near": at("tilt", *[gaps(2.1, 2.0)] * 3, tilt={"control": "none"}),
        "tilt, a plug-in": at(
            "tilt",
            *[gaps(3.0, 2.0)] * 3,
            fitted=plugged,
            head={"kind": "plug-in"},
            tilt={"control": "shim"},
        ),
        "tilt by bands, channels apart": at(
            "tilt",
            {**leaks(0.0, -25.0, -25.0), "left_band_left_db": 3.0},
            {**leaks(2.0, -25.0, -25.0), "left_band_left_db": 3.0},
        ),
        "tilt by bands, leads exchanged": at("tilt", leaks(0.0, 20.0, 20.0)),
        "tilt by bands, fixed and upright": at(
            "tilt", leaks(0.0, -40.0, -40.0), tilt={"control": "none"}
        ),
        "skating by notches": at("skating", stands(0.0), OBEY, stands(3.0), skating=NOTCHES),
        "skating, too heavy a weight": at(
            "skating", stands(2.0), skating={**NOTCHES, "thread_weight_g": 20.0}
        ),
        "skating by ear, balanced": at(
            "skating",
            *(
                ear(mark, broke)
                for mark, broke in (
                    (1.0, "right"),
                    (2.0, "together"),
                    (3.0, "left"),
                    (2.0, "together"),
                )
            ),
        ),
        "skating by ear, at nothing": at("skating", ear(1.0, "left"), OBEY, ear(0.0, "left")),
        "skating by recording": at("skating", recorded(2.0, 0.8), OBEY, *[recorded(2.75, 0.0)] * 3),
        "skating by recording, the left first": at("skating", recorded(2.0, -1.5), OBEY),
        "skating by recording, at its end": at("skating", recorded(3.0, 1.5)),
        "skating by recording, nothing answers": at(
            "skating", recorded(1.0, 1.5), OBEY, recorded(2.5, 1.5), recorded(2.5, 1.5)
        ),
        "skating by recording, then by ear": at("skating", recorded(2.0, 1.5), ear(2.0, "right")),
        "skating by recording, notches": at(
            "skating", recorded(1.0, 1.5), OBEY, recorded(3.0, 0.4), skating=NOTCHES
        ),
        "skating by ear, heard twice apart": at(
            "skating", ear(2.0, "left"), ear(2.0, "right"), ear(2.0, "together")
        ),
        "skating, fluid": at("skating", skating={"control": "fluid"}),
        "skating, no notch": at("skating", skating={**NOTCHES, "notch_levers_mm": ()}),
        "skating, a dial that begins past its end": at(
            "skating", skating={"control": "dial", "step_gf": 2.0, "highest_gf": 1.0}
        ),
        "skating, underhung": at("skating", stands(1.0), OBEY, stands(0.0), arm=UNDERHUNG),
        "skating, no answer": at("skating", stands(1.0), OBEY, stands(1.0), OBEY, stands(1.0)),
        "speed, slower in buttons": at(
            "speed", bars(60.0, "against"), OBEY, platter={"trim": "electronic"}
        ),
        "speed, the trim of unknown effect": at(
            "speed", bars(60.0), OBEY, bars(20.0), platter={"rpm_per_turn": None}
        ),
        "speed, one trim for two": at(
            "speed",
            bars(60.0),
            {**bars(60.0), "speed_rpm": 45.0},
            OBEY,
            platter={"one_trim_for_all": True},
        ),
        "speed, two good": at(
            "speed", strobe(0.0), {"way": "readout", "rpm": 45.0, "speed_rpm": 45.0, **WARM}
        ),
        "speed, the second alone": at("speed", {**strobe(0.0), "speed_rpm": 45.0}),
        "speed, far off": at("speed", {"way": "readout", "rpm": 39.0, "minutes_running": 15.0}),
        "speed, bars miscounted": at("speed", bars(300.0)),
        "speed, bars not counted": at("speed", {**bars(0.0), "direction": "with"}),
        "speed by a readout": at(
            "speed", *[{"way": "readout", "rpm": 33.6, "minutes_running": 15.0}] * 2, OBEY
        ),
        "speed by few turns": at(
            "speed", {"way": "timed turns", "turns": 10, "seconds": 18.0, "minutes_running": 15.0}
        ),
        "speed, fixed and near": at("speed", *[bars(18.0)] * 3, platter={"trim": "none"}),
        "speed, fixed and right": at("speed", strobe(0.0), strobe(0.0), platter={"trim": "none"}),
        "speed by a tone": at("speed", tone(0.9, **VARIES), OBEY),
        "speed by a tone, near": at("speed", tone(0.3, **VARIES)),
        "speed by a tone that varies": at("speed", strobe(0.0), tone(0.0, **VARIES)),
        "speed by a tone of another speed": at("speed", tone(35.0)),
        "speed, trimmed first": at("speed", part(Control.SPEED, 0.5, "turns")),
    }


def approved() -> dict[str, str]:
    """Return what was read and kept, by the names of the situations."""
    blocks = APPROVED.read_text(encoding="utf-8").split("\n# ")
    pairs = (block.removeprefix("# ").partition("\n") for block in blocks)
    return {name: rest.strip() for name, _, rest in pairs}


def shown(one: Situation) -> str:
    """Return a situation as it stands in the file."""
    return "\n".join(f"{number}. {line}" for number, line in enumerate(played(one)))


if __name__ == "__main__":
    text = "\n\n".join(f"# {name}\n{shown(one)}" for name, one in situations().items()) + "\n"
    if "--write" in sys.argv:
        APPROVED.write_text(text, encoding="utf-8")
    else:
        print(text)
