"""The listening at the end: kept, told with what to do, beside what was recorded, taken back."""

from __future__ import annotations

import pytest

from core.fitting import (
    BalanceHeard,
    ChannelsHeard,
    Fitting,
    HumHeard,
    ListeningCheck,
    PhaseHeard,
    Withdrawn,
)
from core.language import Numbers
from core.paper.bench_content import bench_content
from core.workflow.descriptions import described
from core.workflow.listening import listening_of
from core.workflow.refusals import why_refused
from tests.core.workflow.test_replay import Bench

ALL_RIGHT = ListeningCheck(
    channels=ChannelsHeard.RIGHT,
    phase=PhaseHeard.TOGETHER,
    balance=BalanceHeard.EVEN,
    hum=HumHeard.NONE,
)


def words(bench: Bench) -> list[str]:
    return [Numbers().text(line) for line in listening_of(bench.journey)]


def test_nobody_has_to_listen() -> None:
    assert words(Bench()) == []


def test_what_is_right_is_told_in_one_line_and_asks_for_nothing() -> None:
    bench = Bench()
    bench.enter(ALL_RIGHT)
    (told,) = words(bench)
    assert told.startswith("Listened at the end: each channel on its own side, both channels")
    assert told.endswith("together, balanced, no hum.")
    assert Numbers().text(described(ALL_RIGHT)) == told


@pytest.mark.parametrize(
    ("wrong", "do"),
    [
        ({"channels": ChannelsHeard.EXCHANGED}, "exchange the left and right plugs"),
        ({"phase": PhaseHeard.OPPOSED}, "compare each lead at the cartridge with its marks"),
        ({"balance": BalanceHeard.LEFT}, "Left louder: turn the volume down"),
        ({"balance": BalanceHeard.RIGHT}, "Right louder: turn the volume down"),
        ({"hum": HumHeard.HUMS}, "check the earth lead"),
    ],
)
def test_each_that_is_wrong_says_what_to_do_and_the_volume_down_first(
    wrong: dict[str, object], do: str
) -> None:
    bench = Bench()
    bench.enter(ALL_RIGHT.model_copy(update=wrong))
    _, told = words(bench)
    assert do in told
    assert "turn the volume down" in told


def test_hum_leaves_the_mains_to_a_licensed_person() -> None:
    bench = Bench()
    bench.enter(ListeningCheck(hum=HumHeard.HUMS))
    assert "mains side to a licensed person" in words(bench)[1]


def test_it_stands_on_the_bench_sheet_and_is_taken_back_like_every_entry() -> None:
    bench = Bench()
    entry = bench.enter(ALL_RIGHT)
    assert any("Listened at the end" in note for note in bench_content(bench.journey).notes)
    bench.enter(Withdrawn(entry=entry))
    assert words(bench) == []


def test_four_empty_answers_are_none() -> None:
    bench = Bench()
    refused = why_refused(bench.journey, ListeningCheck())
    assert Numbers().text(refused) == "Answer at least one of the four."
    assert why_refused(bench.journey, ALL_RIGHT) is None


def test_it_outlives_a_document() -> None:
    bench = Bench()
    bench.enter(ALL_RIGHT)
    again = Fitting.model_validate_json(bench.journey.fitting.model_dump_json())
    assert again.listened == ALL_RIGHT


def test_what_a_recording_told_stands_beside_it() -> None:
    bench = Bench()
    bench.through("final_downforce")
    bands = [
        {
            "kind": "separation",
            "side": side,
            "hz": 1000.0,
            "start_s": at,
            "end_s": at + 5.0,
            "level_db": level,
            "leak_db": -30.0,
            "leak_deg": 0.0,
        }
        for side, at, level in (("left", 0.0, -12.0), ("right", 6.0, -13.5))
    ]
    heard = {"hz": 3150.0, "nominal_hz": 3150.0, "start_s": 12.0, "seconds": 30.0}
    recorded = {"file": "side.wav", "channels": 2, "bands": bands, "speed": heard}
    recorded["faults"] = [{"fault": "hum"}]
    bench.read("speed", way="tone", recorded=recorded)
    bench.enter(ListeningCheck(hum=HumHeard.NONE))
    told = words(bench)
    # -12.0 and -13.5 dB: the left is 1.5 dB louder.
    assert "Recorded in side.wav: left 1.5\u00a0dB louder." in told
    assert any(line.startswith("Recorded in side.wav: It hums") for line in told)
