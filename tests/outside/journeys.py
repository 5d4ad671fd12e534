"""Whole fittings in short: what an entry does to the steps, to the gate of the stylus, and why.

    python -m tests.outside.journeys --write

writes ``journeys.txt`` anew; read each line that changed before you keep it. A letter stands for
each step's state, in their order: ``-`` closed, ``.`` to do, ``h`` in hand, ``D`` done, ``K`` kept
by choice, ``!`` to be checked again, ``x`` not asked for.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from core.fitting import (
    Body,
    ChoiceMade,
    Control,
    Journey,
    MoveMade,
    MovePart,
    NoteWritten,
    ReadingTaken,
    StepAccepted,
    StepState,
    Work,
    WorkAsked,
)
from core.records import Cartridge, Deck
from core.steps import STEP_NAMES
from core.workflow.refusals import why_refused
from core.workflow.summary import outcomes_of, work_of
from core.workflow.work import STEPS_OF_WORK
from tests.examples import cartridge
from tests.outside.situations import bent, heights, part, scale
from tests.outside.told import pinned
from tests.worked import CHECKED, LEFT, Bench, Read, bubble

APPROVED = Path(__file__).with_suffix(".txt")

LETTERS = {
    StepState.CLOSED: "-",
    StepState.TO_DO: ".",
    StepState.IN_HAND: "h",
    StepState.DONE: "D",
    StepState.KEPT: "K",
    StepState.CHECK_AGAIN: "!",
    StepState.NOT_ASKED: "x",
}


def reads(step: str, *readings: Read) -> list[Body]:
    return [ReadingTaken(step=step, reading=one) for one in readings]


def moves(step: str, *parts: MovePart) -> Body:
    return MoveMade(step=step, parts=parts)


def asked(work: Work) -> Body:
    return WorkAsked(work=work, steps=STEPS_OF_WORK[work])


def accepts(*steps: str, reason: str = "") -> list[str]:
    """Return orders to accept steps as they then stand."""
    return [f"accept {step}{' because ' + reason if reason else ''}" for step in steps]


def done(*steps: str) -> list[Body | str]:
    """Return orders to read these steps as right, so often as is asked, and to accept them."""
    return [f"work {step}" for step in steps]


ALL = STEP_NAMES
UNTIL_TILT = ALL[: ALL.index("skating")]


def fittings() -> dict[str, tuple[list[Body | str], Deck, Cartridge]]:
    """Return them by what they are: entries, and orders to accept a step as it stands."""
    on, fitted = pinned(bench={"scale_gain_error": 0.5}), cartridge()
    pillar = part(Control.PILLAR, 3.0, "mm")
    told: dict[str, list[Body | str]] = {
        "from first to last": done(*ALL),
        "a step left out of its turn": [
            *done("level", "mount"),
            *reads("arm_height", heights(0.0)),
            *reads("rough_downforce", scale(2.0)),
            *reads("arm_height", heights(0.0)),
        ],
        "the stylus before it was weighed": [
            *done("level", "mount"),
            *reads("alignment", *LEFT["alignment"]),
        ],
        "too heavy for the stylus": [
            *done("level", "mount"),
            *reads("rough_downforce", scale(4.0)),
            *accepts("rough_downforce", reason="it will do"),
            *reads("alignment", *LEFT["alignment"]),
        ],
        "mounted loose and kept so": [
            *done("level"),
            *reads("mount", {**CHECKED, "screws_snug": False}),
            *accepts("mount", reason="only one screw here"),
            *done("rough_downforce"),
            *reads("arm_height", *LEFT["arm_height"]),
            *accepts("arm_height", reason="it looks right"),
            *reads("alignment", *LEFT["alignment"]),
            *reads("mount", CHECKED),
            *accepts("mount"),
            *reads("alignment", *LEFT["alignment"]),
        ],
        "kept though it is out": [
            *reads("level", bubble("front-back", 6.0), bubble("left-right", 0.0)),
            *accepts("level"),
            *accepts("level", reason="an old shelf"),
            *reads("mount", *LEFT["mount"]),
        ],
        "kept, then read again": [
            *reads("level", bubble("front-back", 6.0), bubble("left-right", 0.0)),
            *accepts("level", reason="an old shelf"),
            *reads("level", bubble("front-back", 0.0)),
            *accepts("level"),
        ],
        "read again after it was accepted": [
            *done("level"),
            *reads("level", bubble("front-back", 8.0)),
        ],
        "the pillar moved after alignment": [
            *done(*UNTIL_TILT),
            moves("arm_height", pillar),
            *reads("arm_height", heights(0.0)),
            *reads("alignment", *LEFT["alignment"]),
        ],
        "the weight turned after it was weighed": [
            *done("level", "mount", "rough_downforce"),
            moves("rough_downforce", part(Control.COUNTERWEIGHT, 1.0, "turns")),
            *reads("alignment", *LEFT["alignment"]),
            *reads("rough_downforce", scale(2.05)),
        ],
        "the cartridge exchanged at the end": [
            *done(*ALL),
            moves("mount", part(Control.CARTRIDGE, 1.0, "")),
        ],
        "the screws tightened after alignment": [
            *done(*UNTIL_TILT),
            moves("alignment", part(Control.SCREWS, 1.0, "")),
            *reads("alignment", *LEFT["alignment"]),
        ],
        "a thicker record at the end": [
            *done(*ALL),
            moves("arm_height", part(Control.RECORD, 2.0, "mm")),
        ],
        "a foot turned at the end": [
            *done(*ALL),
            moves("level", part(Control.FOOT, 1.0, "turns", "rear")),
        ],
        "the head rolled at the end": [
            *done(*ALL),
            moves("tilt", part(Control.TILT, 3.0, "°")),
        ],
        "the cartridge slid at the end": [
            *done(*ALL),
            moves("alignment", part(Control.SLIDE, 2.0, "mm")),
        ],
        "the cartridge slid a little at the end": [
            *done(*ALL),
            moves("alignment", part(Control.SLIDE, 0.1, "mm")),
        ],
        "the weight turned a little at the end": [
            *done(*ALL),
            moves("final_downforce", part(Control.COUNTERWEIGHT, 0.125, "turns")),
            *reads("final_downforce", scale(2.05)),
        ],
        "final downforce far from the rough one": [
            *done(*ALL[:-2]),
            moves("final_downforce", part(Control.COUNTERWEIGHT, 0.4, "turns")),
            *reads("final_downforce", scale(2.17), scale(2.17), scale(2.17)),
            *accepts("final_downforce", reason="as it is"),
        ],
        "final downforce out of the maker's range": [
            *done(*ALL[:-2]),
            *reads("final_downforce", scale(2.4)),
            *reads("skating", *LEFT["skating"]),
            *reads("tilt", *LEFT["tilt"]),
        ],
        "a note and a choice that is none": [
            NoteWritten(step="level", text="an old shelf"),
            ChoiceMade(step="alignment", choices={"criterion": "nobody's"}),
        ],
        "just the downforce": [
            asked(Work.DOWNFORCE),
            *reads("final_downforce", scale(2.3)),
            moves("final_downforce", part(Control.COUNTERWEIGHT, -0.7, "turns")),
            *reads("final_downforce", scale(2.0)),
        ],
        "just the speed": [asked(Work.SPEED), *done("speed")],
        "a check-up": [
            asked(Work.CHECK_UP),
            *reads("level", bubble("front-back", 6.0), bubble("left-right", 0.0)),
            *reads("rough_downforce", scale(2.0)),
        ],
    }
    return {name: (acts, on, fitted) for name, acts in told.items()}


def stands(journey: Journey) -> str:
    """Return how all steps stand, the gate, and what sends one back."""
    lines = ["".join(LETTERS[status.state] for status in journey.statuses)]
    gate = journey.gate
    lines[0] += " open" if gate.is_open else f" shut: {bent(gate.reason)}"
    for status in journey.statuses:
        for one in status.disturbances:
            change = "unknown" if one.change is None else f"{one.change:+.2g}"
            back = " sends it back" if one.sends_back else ""
            lines.append(f"{status.step} {one.key} {change}{back}")
        if status.state in (StepState.KEPT, StepState.CHECK_AGAIN):
            why = status.reason if isinstance(status.reason, str) else status.reason.key
            lines.append(f"{status.step}: {why}")
    return "\n  ".join(lines)


def comes_to(journey: Journey) -> list[str]:
    """Return what the summary says of steps in which something was done."""
    lines = [f"  asked: {bent(one)}" for one in work_of(journey)]
    for one in outcomes_of(journey):
        if not journey.status(one.step).trials:
            continue
        pairs = [
            f"{pair.either.key}{' found' if pair.before else ''}{' left' if pair.after else ''}"
            f"{' foretold' if pair.foretold else ''}"
            for pair in one.figures
        ]
        words = [f"  {one.step}", one.shown_state.value, one.shown_verdict.value, *pairs]
        words += [f"{one.moves} moves"] if one.moves else []
        words += ["overruled"] if one.was_overridden else []
        words += ["left"] if one.was_left else []
        lines.append(", ".join(words) + "".join(f"; {bent(doubt)}" for doubt in one.doubts))
    return lines


def played(acts: list[Body | str], on: Deck, fitted: Cartridge) -> Iterator[str]:
    """Yield how a fitting stands where an entry changes that, or is refused; then its summary."""
    bench = Bench(on, fitted)
    before = stands(bench.journey)
    shown_first = False
    for act in acts:
        if isinstance(act, str) and act.startswith("work "):
            bench.work(act.removeprefix("work "), LEFT[act.removeprefix("work ")])
            before = stands(bench.journey)
            continue
        if not shown_first:
            yield f"at first: {before}"
            shown_first = True
        if isinstance(act, str):
            _, step, *reason = act.split(" ", 2)
            verdict = bench.journey.status(step).assessment.verdict
            said = " ".join(reason).removeprefix("because ")
            body: Body = StepAccepted(step=step, verdict=verdict, reason=said)
            name = act
        else:
            body = act
            name = " ".join([type(act).__name__, getattr(act, "step", "")]).strip()
        refusal = why_refused(bench.journey, body)
        if refusal is not None:
            yield f"{name} refused: {bent(refusal)}"
            continue
        bench.keep(body)
        now = stands(bench.journey)
        if now != before:
            yield f"{name}: {now}"
        before = now
    yield "\n".join([f"in the end: {before}", *comes_to(bench.journey)])


def shown(name: str) -> str:
    """Return a fitting as it stands in the file."""
    return "\n".join(played(*fittings()[name]))


def approved() -> dict[str, str]:
    """Return what was read and kept, by the names of the fittings."""
    blocks = APPROVED.read_text(encoding="utf-8").split("\n# ")
    pairs = (block.removeprefix("# ").partition("\n") for block in blocks)
    return {name: rest.strip() for name, _, rest in pairs}


if __name__ == "__main__":
    text = "\n\n".join(f"# {name}\n{shown(name)}" for name in fittings()) + "\n"
    if "--write" in sys.argv:
        APPROVED.write_text(text, encoding="utf-8")
    else:
        print(text)
