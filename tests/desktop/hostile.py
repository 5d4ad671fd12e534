"""A library with foreign words wherever it keeps any, and which texts those are."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import Any, Final, NamedTuple

from pydantic import BaseModel

from core.fitting import (
    Finished,
    Gain,
    HeadshellUsed,
    HoursRead,
    MoveMade,
    NoteWritten,
    Planned,
    ReadingTaken,
    Reopened,
    Start,
    StepAccepted,
    Verdict,
    Withdrawn,
)
from core.fitting.assessment import Control, MovePart
from core.records import (
    BandUse,
    Customer,
    CutRecord,
    Headshell,
    Job,
    RecordBand,
    RecordPlayed,
    Service,
    ServicePart,
)
from core.records.picture import PictureOf
from core.steps.speed import Tone
from core.steps.speed.tone import RecordedTone
from core.store import Library
from core.store.jpeg import Content
from tests.arms import two_arms
from tests.desktop.kit import finished
from tests.examples import cartridge
from tests.jpegs import jpeg

CONTENT: Final = Content.of(jpeg(640, 480), jpeg())


class Hostile(NamedTuple):
    """What the library holds, and every record and entry in which words stand."""

    deck: str
    cartridge: str
    headshell: str
    record: str
    job: str
    fittings: tuple[str, ...]
    """The first is finished, the others are open."""
    kept: tuple[BaseModel, ...]


def hostile_in_everything(library: Library, words: str) -> Hostile:
    """Put words into every text that a person or a document can bring."""
    line = words[:110].strip()
    deck_id = library.keep_deck(_deck(words, line), who=line).id
    cartridge_id = library.keep_cartridge(cartridge(name=line, notes=words), who=line).id
    shell = Headshell(name=line, mass_g=9.0, fits=line, notes=words)
    shell_id = library.keep_headshell(shell, who=line).id
    cut = CutRecord(
        name=line, notes=words, bands=(RecordBand(label=line, kind=BandUse.SPEED, hz=3150.0),)
    )
    record_id = library.keep_test_record(cut, who=line).id
    person = Customer(name=line, contact=line)
    person_id = library.keep_customer(person, who=line).id
    said = dict.fromkeys(("stylus_seen", "noises", "notes", "missing", "accessories"), words)
    job = Job(number=line[:40].strip(), brought=line, customer=person_id, **said)
    job_id = library.keep_job(job, who=line).id
    service = Service(deck=deck_id, part=ServicePart.BELT, day="2026-01-02", done=line)
    library.service.add(service, who=line)
    done = finished(library, deck_id, cartridge_id)
    library.append(done, HoursRead(hours=3.0, note=line), who=line)
    open_one = finished(library, deck_id, cartridge_id, until="tilt", finish=False)
    library.give_job(open_one, job_id, who=line)
    begun = library.start_fitting(deck_id, cartridge_id, who=line)
    played = RecordPlayed(id=record_id, record=cut)
    read = _tone(line, played)
    first = NoteWritten(text=words)
    sign = line[:40].strip()
    start = Start(step="level", key=sign, predicted=0.0, half_width=1.0, unit=sign, reason=words)
    gain = Gain(
        step="level",
        control=Control.COUNTERWEIGHT,
        where=sign,
        value=1.0,
        half_width=0.1,
        unit=sign,
        samples=1,
    )
    moved = MovePart(control=Control.COUNTERWEIGHT, amount=0.1, unit=sign, where=sign)
    bodies: list[Any] = [
        HeadshellUsed.of(shell_id, shell),
        first,
        NoteWritten(step="level", text=words),
        Planned(from_fitting=done, starts=(start,), gains=(gain,)),
        StepAccepted(step="tilt", verdict=Verdict.MOVE, headline=words, reason=words),
        MoveMade(step="rough_downforce", parts=(moved,), note=words),
        ReadingTaken(step="speed", reading=read.model_dump(mode="json")),
        Finished(note=words),
        Reopened(reason=words),
    ]
    for body in bodies:
        library.append(open_one, body, who=line)
    noted = next(entry for entry in library.fitting(open_one).entries if entry.body == bodies[2])
    library.append(open_one, Withdrawn(entry=noted.id, reason=words), who=line)
    pictured = [
        (PictureOf.DECK, deck_id),
        (PictureOf.CARTRIDGE, cartridge_id),
        (PictureOf.JOB, job_id),
        (PictureOf.FITTING, open_one),
    ]
    pictures = [
        library.pictures.add(of, thing, CONTENT, who=line, day=date(2026, 1, 2), caption=line).thing
        for of, thing in pictured
    ]
    fitting = library.fitting(open_one)
    kept = (
        library.deck(deck_id).thing,
        library.cartridge(cartridge_id).thing,
        *(shell, cut, person, job, service, read, *pictures),
        *(fitting, library.fitting(done), library.fitting(begun.id)),
    )
    fittings = (done, open_one, begun.id)
    return Hostile(deck_id, cartridge_id, shell_id, record_id, job_id, fittings, kept)


def hostile_texts(kept: tuple[BaseModel, ...], words: str) -> set[str]:
    """Return where foreign words stand, each as ``Model.field``."""
    return {path for one in kept for path in _texts_of(one, words[:20].strip())}


def _texts_of(model: BaseModel, words: str) -> Iterator[str]:
    for name in type(model).model_fields:
        yield from _texts_in(f"{type(model).__name__}.{name}", getattr(model, name), words)


def _texts_in(path: str, value: Any, words: str) -> Iterator[str]:
    if isinstance(value, BaseModel):
        yield from _texts_of(value, words)
    elif isinstance(value, tuple):
        for one in value:
            yield from _texts_in(path, one, words)
    elif isinstance(value, str) and words in value:
        yield path


def _deck(words: str, line: str) -> Any:
    record = two_arms(line, owner_reference=line, notes=words, first_arm_name=line[:60].strip())
    feet = tuple(
        foot.model_copy(update={"name": f"{line[:36]}>{number}"})
        for number, foot in enumerate(record.plinth.feet)
    )
    (rear,) = record.further_arms
    return record.model_copy(
        update={
            "plinth": record.plinth.model_copy(update={"feet": feet}),
            "further_arms": (rear.model_copy(update={"name": f"{line[:57].strip()}>r"}),),
        }
    )


def _tone(line: str, played: RecordPlayed) -> Tone:
    band = {"kind": "speed", "side": "both", "hz": 3160, "start_s": 0, "end_s": 30, "level_db": -9}
    speed = {"hz": 3160, "nominal_hz": 3150.0, "start_s": 0.0, "seconds": 30.0}
    told = {"file": line, "seconds": 30.0, "channels": 2, "bands": [band], "speed": speed}
    return Tone(recorded=RecordedTone.model_validate(told | {"record": played}))
