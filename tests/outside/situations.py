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
