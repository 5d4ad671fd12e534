"""``setdown paper``: sheets into a PDF file, with no window and no display."""

from __future__ import annotations

import argparse
import difflib
import os
import sys
from collections.abc import Iterable
from datetime import UTC, datetime
from pathlib import Path
from typing import Final

from pydantic import ValidationError

from core.fitting import ChoiceMade, Fitting
from core.history import timeline_of
from core.language import Message, Name, Numbers, Series, cautions, day_of, message
from core.maintenance.due import due_of
from core.maintenance.gathering import check_kept, on_arms_of
from core.maintenance.search import DueSearch
from core.maintenance.service_due import counting
from core.paper.bench_sheet import bench_sheets
from core.paper.check_lines import Measured, judge_scale
from core.paper.customer_sheet import Addressed, customer_sheets
from core.paper.due_sheet import DueRow, due_sheets
from core.paper.fitting_sheets import ProtractorKind, protractor_sheets
from core.paper.history_sheet import history_sheets
from core.paper.kept_pictures import pictures_of
from core.paper.letterhead import letterhead_of
from core.paper.lettering import Measure
from core.paper.printer_scale import PrinterScale, keep_scale, scale_of
from core.paper.sheet import PaperProblem, PaperSize, Sheet
from core.paper.strobe_disc import CAUTIONS, disc_sheet
from core.records import FIRST_ARM, Deck, MountedArm, arms_of, first_arm, seen_with_arm
from core.steps import alignment
from core.store import Library, LibraryProblem, Stored, default_library_path
from core.swap import past_of
from core.workflow import journey_of, sentence_of

_MOST_NAMED: Final = 5
WRONG = 2
"""Exit code when nothing was written: one sentence on the error stream says why."""


def run(parsed: argparse.Namespace) -> int:
    """Write the sheets asked for and return the exit code."""
    os.environ["QT_QPA_PLATFORM"] = "offscreen"  # before Qt: a script has no display
    from desktop.paper.application import needed_application  # imported here: for the line above

    application = needed_application()
    try:
        return _run(parsed)
    except (PaperProblem, LibraryProblem) as problem:
        sys.stderr.write(f"{problem.sentence} {problem.remedy}".strip() + "\n")
        return WRONG
    finally:
        del application


def _run(parsed: argparse.Namespace) -> int:
    from desktop.paper.painter import FontMeasure
    from desktop.paper.pdf import write_pdf
    from desktop.widgets.locale_numbers import numbers_of

    numbers = numbers_of(getattr(parsed, "locale", None) or "")
    size, measure = PaperSize(parsed.paper), FontMeasure()
    measured = getattr(parsed, "measured", None)
    with _library(parsed, writes=measured is not None) as library:
        if parsed.what == "due":
            title = "due"
            sheets = _due(library, size, numbers, measure)
        else:
            deck = _deck(library, parsed.deck)
            title = deck.thing.name
            sheets = _sheets(parsed, library, deck, size, numbers, measure)
        factor, keeps = _scale(parsed, library, numbers)
        if library.address.may_be_library(parsed.out.expanduser()):
            raise PaperProblem(
                message("command_line.print.is_library", path=Name(str(parsed.out))),
                message("command_line.print.is_library_todo"),
            )
        write_pdf(parsed.out, sheets, title=f"{sheets[0].title} – {title}", factor=factor)
        if keeps is not None:
            keep_scale(library, keeps)
    written = message("command_line.print.written", path=Name(str(parsed.out)), count=len(sheets))
    words = [numbers.text(written)]
    if any(sheet.is_true_scale for sheet in sheets):
        words.append(numbers.text(message("command_line.print.at_full_size")))
    if parsed.what == "strobe":
        known = cautions()
        words.extend(f"{known[key].title}. {known[key].text}" for key in CAUTIONS)
    _say("\n".join((*words, "")))
    return 0


def _say(words: str) -> None:
    """Say what was written; where that can't be said, beside the faults: cautions stand in it."""
    try:
        if sys.stdout is not None:  # it was not closed beforehand
            sys.stdout.write(words)
            sys.stdout.flush()
            return
    except BrokenPipeError:  # whoever reads has read enough
        raise
    except OSError:  # what it goes to is full
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())  # or the end says it again
    if sys.stderr is not None:
        sys.stderr.write(words)


def _library(parsed: argparse.Namespace, *, writes: bool) -> Library:
    """Open the library to look only, unless a scale is kept; never begin one under a wrong name."""
    told: Path | None = getattr(parsed, "library", None)
    if told is None and not default_library_path().exists():
        return Library.open(default_library_path())  # begun as the window does, with its starters
    path = (told or default_library_path()).expanduser()
    if not path.exists():
        raise PaperProblem(
            message("command_line.print.no_library", path=Name(str(path))),
            message("command_line.print.no_library_todo"),
        )
    return Library.open(path, getattr(parsed, "who", ""), read_only=not writes)


def _deck(library: Library, asked: str) -> Stored[Deck]:
    rows = library.decks()
    wanted = " ".join(asked.split()).casefold()
    found = [row for row in rows if row.id == asked]
    found = found or [row for row in rows if " ".join(row.name.split()).casefold() == wanted]
    present = [row for row in found if not row.archived] or found
    if len(present) == 1:
        return library.deck(present[0].id)
    if present:
        which = (
            f"{row.id}{f' ({row.owner_reference})' if row.owner_reference else ''}"
            for row in present
        )
        raise PaperProblem(
            message("command_line.print.decks", count=len(present), name=Name(asked)),
            message("command_line.print.decks_todo", numbers=_some(which)),
        )
    names = [row.name for row in rows if not row.archived]
    near = difflib.get_close_matches(asked, names, n=3, cutoff=0.4)
    remedy = message("command_line.print.no_decks")
    if near:
        remedy = message("command_line.print.near", names=_some(near))
    elif names:
        remedy = message("command_line.print.holds", names=_some(names))
    raise PaperProblem(
        message("command_line.print.no_deck", library=Name(str(library.address)), name=Name(asked)),
        remedy,
    )


def _some(words: Iterable[str]) -> Message:
    """Return the first few in a row, the others counted: a library may hold thousands."""
    listed = [Name(word) for word in words]
    first, more = Series(tuple(listed[:_MOST_NAMED]), ";"), len(listed) - _MOST_NAMED
    if more > 0:
        return message("command_line.print.some", first=first, more=more)
    return message("command_line.print.all", first=first)


def _all(words: Iterable[str]) -> Series:
    return Series(tuple(Name(word) for word in words), ";")


def _sheets(
    parsed: argparse.Namespace,
    library: Library,
    deck: Stored[Deck],
    size: PaperSize,
    numbers: Numbers,
    measure: Measure,
) -> tuple[Sheet, ...]:
    if parsed.what == "protractor":
        arm = _asked_arm(parsed, deck.thing) or _only_arm(deck.thing)
        return protractor_sheets(
            seen_with_arm(deck.thing, arm),
            _chosen(parsed, library, deck.id, arm.key),
            size,
            numbers,
            measure,
            kind=ProtractorKind(parsed.kind),
            tiled=parsed.large == "tiles",
            pivot_mm=parsed.pivot_to_spindle,
        )
    if parsed.what == "strobe":
        flashes = [*(parsed.flashes or ()), *(2.0 * hz for hz in parsed.mains or ())]
        speeds = tuple(parsed.speeds or ())
        sheet = disc_sheet(
            deck.thing, size, numbers, measure, flashes_hz=flashes, speeds_rpm=speeds
        )
        return (sheet,)
    if parsed.what == "history":
        only = _asked_arm(parsed, deck.thing)
        return _history(library, deck, only, (size, numbers, measure))
    fitting = library.fitting(_fitting_id(parsed, library, deck))
    deck_revision, cartridge_revision = fitting.revisions
    journey = journey_of(
        library.deck(fitting.deck_id, deck_revision).thing,
        library.cartridge(fitting.cartridge_id, cartridge_revision).thing,
        fitting,
    )
    pictures = pictures_of(library, fitting) if parsed.pictures else ()
    if parsed.what == "owner":
        kept = check_kept(library, fitting)
        to = Addressed(
            letterhead_of(library),
            next_check=parsed.next_check,
            pictures=pictures,
            kept_check=kept,
            job=library.jobs.of_fitting(fitting),
        )
        return customer_sheets(journey, size, numbers, measure, to)
    check = parsed.next_check or check_kept(library, fitting)
    return bench_sheets(journey, size, numbers, measure, next_check=check, pictures=pictures)


def _asked_arm(parsed: argparse.Namespace, deck: Deck) -> MountedArm | None:
    """Return the arm that was asked for, put away or not; None if none was."""
    if parsed.arm is None:
        return None
    arms = (first_arm(deck), *deck.further_arms) if deck.further_arms else ()
    wanted = " ".join(parsed.arm.split()).casefold()
    found = [one for one in arms if " ".join(one.name.split()).casefold() == wanted]
    if found:
        return found[0]
    todo = message("command_line.print.one_arm")
    if arms:
        todo = message("command_line.print.arms", names=_all(one.name for one in arms))
    raise PaperProblem(
        message("command_line.print.no_arm", deck=Name(deck.name), arm=Name(parsed.arm)), todo
    )


def _only_arm(deck: Deck) -> MountedArm:
    """Return the arm of a deck that has one in use."""
    arms = arms_of(deck)
    if len(arms) > 1:
        raise PaperProblem(
            message(
                "command_line.print.several_arms",
                deck=Name(deck.name),
                count=len(arms),
                names=_all(one.name for one in arms),
            ),
            message("command_line.print.several_arms_todo"),
        )
    return arms[0]


def _history(
    library: Library,
    deck: Stored[Deck],
    arm: MountedArm | None,
    how: tuple[PaperSize, Numbers, Measure],
) -> tuple[Sheet, ...]:
    key = None if arm is None else arm.key
    rows = library.fittings(deck_id=deck.id, arm_key=key, archived=False)
    pasts = [past_of(library, row.id) for row in rows]
    if not pasts:
        raise _no_fitting(deck)
    latest = max(pasts, key=lambda past: past.fitting.started_at)
    cartridge = library.cartridge(latest.fitting.cartridge_id).thing
    services = library.service.of_deck(deck.id)
    today = day_of(datetime.now(UTC))
    dues = due_of(
        deck.thing,
        cartridge,
        pasts,
        today,
        services=counting(services),
        on_arms=on_arms_of(library, deck.thing, rows),
    )
    head = letterhead_of(library)
    timeline = timeline_of(pasts)
    shown = deck.thing if arm is None else seen_with_arm(deck.thing, arm)
    return history_sheets(shown, timeline, dues, *how, letterhead=head, services=services)


def _due(
    library: Library, size: PaperSize, numbers: Numbers, measure: Measure
) -> tuple[Sheet, ...]:
    search = DueSearch(library)
    search.begin()
    while not search.is_done:
        search.go_on()
    today = day_of(datetime.now(UTC))
    known = {row.id: row for row in library.decks(archived=False)}
    rows = [
        DueRow(
            known[one.deck_id].name,
            known[one.deck_id].owner_reference,
            numbers.text(one.why),
            one.last,
            one.on,
        )
        for one in search.due(today)
        if one.deck_id in known
    ]
    return due_sheets(rows, today, size, numbers, measure, letterhead=letterhead_of(library))


def _no_fitting(deck: Stored[Deck]) -> PaperProblem:
    return PaperProblem(
        message("command_line.print.no_fitting", deck=Name(deck.thing.name)),
        message("command_line.print.no_fitting_todo"),
    )


def _chosen(
    parsed: argparse.Namespace, library: Library, deck_id: str, arm_key: str
) -> alignment.AlignmentChoices:
    """Return the alignment asked for, on top of the one chosen in the arm's last fitting."""
    values = (last_chosen(library, deck_id, arm_key) or alignment.AlignmentChoices()).model_dump()
    if parsed.alignment:
        values["criterion"] = parsed.alignment
    if parsed.grooves:
        values["grooves"] = parsed.grooves
    if parsed.groove_radii:
        values["grooves"] = "own"
        values["own_inner_mm"], values["own_outer_mm"] = parsed.groove_radii
    if parsed.null_radii:
        values["criterion"] = "own nulls"
        values["own_null_inner_mm"], values["own_null_outer_mm"] = parsed.null_radii
    elif parsed.alignment == "own nulls":
        raise PaperProblem(
            message("command_line.print.no_null_radii"),
            message("command_line.print.no_null_radii_todo"),
        )
    try:
        return alignment.AlignmentChoices.model_validate(values)
    except ValidationError as error:
        raise PaperProblem(
            message("command_line.print.no_such_radii", why=Name(sentence_of(error))),
            message("command_line.print.no_such_radii_todo"),
        ) from error


def last_chosen(
    library: Library, deck_id: str, arm_key: str = FIRST_ARM
) -> alignment.AlignmentChoices | None:
    """Return the alignment chosen in the last fitting on an arm of a deck; None if none was."""
    rows = library.fittings(deck_id=deck_id, arm_key=arm_key, limit=1)
    return _chosen_in(library.fitting(rows[0].id)) if rows else None


def _chosen_in(fitting: Fitting) -> alignment.AlignmentChoices | None:
    chosen = None
    for entry in fitting.counting():
        body = entry.body
        if isinstance(body, ChoiceMade) and body.step == alignment.NAME:
            try:
                chosen = alignment.AlignmentChoices.model_validate(body.choices)
            except ValidationError:
                continue
    return chosen


def _fitting_id(parsed: argparse.Namespace, library: Library, deck: Stored[Deck]) -> str:
    arm = _asked_arm(parsed, deck.thing)
    rows = library.fittings(deck_id=deck.id, arm_key=None if arm is None else arm.key)
    if parsed.fitting:
        if any(row.id == parsed.fitting for row in rows):
            return str(parsed.fitting)
        raise PaperProblem(
            message(
                "command_line.print.no_such_fitting",
                deck=Name(deck.thing.name),
                number=Name(parsed.fitting),
            ),
            message("command_line.print.fittings", numbers=_some(row.id for row in rows))
            if rows
            else message("command_line.print.no_fittings"),
        )
    if parsed.cartridge:
        wanted = " ".join(parsed.cartridge.split()).casefold()
        of_it = [row for row in rows if " ".join(row.cartridge_name.split()).casefold() == wanted]
        if not of_it and rows:
            names = _some(dict.fromkeys(row.cartridge_name for row in rows))
            raise PaperProblem(
                message(
                    "command_line.print.never_fitted",
                    deck=Name(deck.thing.name),
                    cartridge=Name(parsed.cartridge),
                ),
                message("command_line.print.fitted", names=names),
            )
        rows = tuple(of_it)
    if not rows:
        raise _no_fitting(deck)
    return rows[0].id


def _scale(
    parsed: argparse.Namespace, library: Library, numbers: Numbers
) -> tuple[float, PrinterScale | None]:
    """Return the factor to print with, and what to keep of the printer."""
    printer = getattr(parsed, "printer", "").strip()
    measured = getattr(parsed, "measured", None)
    kept = scale_of(library, printer) if printer else None
    factor = kept.factor if kept is not None else 1.0
    if measured is None:
        if printer and kept is None:
            unknown = message("command_line.print.no_scale", printer=Name(printer))
            sys.stderr.write(f"{numbers.text(unknown)}\n")
        return factor, None
    if not printer:
        raise PaperProblem(
            message("command_line.print.no_printer"),
            message("command_line.print.no_printer_todo"),
        )
    answer = judge_scale(Measured(measured[0], measured[1], factor), numbers)
    if answer.factor is None:
        raise PaperProblem(answer.sentence)
    sys.stdout.write(f"{answer.sentence}\n")
    found = PrinterScale(
        printer=printer,
        factor=answer.factor,
        accepted=answer.accepted,
        measured_x_mm=measured[0],
        measured_y_mm=measured[1],
        who=getattr(parsed, "who", ""),
    )
    return answer.factor, found
