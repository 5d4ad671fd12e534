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
from core.history.timeline import timeline_of
from core.language import Numbers, cautions, day_of
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
from core.swap.past import past_of
from core.workflow.refusals import sentence_of
from core.workflow.replay import journey_of

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
                f"{parsed.out} is a library, or has the name of one, and is not written over.",
                "Give the PDF a name that ends in .pdf.",
            )
        write_pdf(parsed.out, sheets, title=f"{sheets[0].title} – {title}", factor=factor)
        if keeps is not None:
            keep_scale(library, keeps)
    pages = "1 page" if len(sheets) == 1 else f"{len(sheets)} pages"
    words = [f"{parsed.out}: {pages}."]
    if any(sheet.is_true_scale for sheet in sheets):
        words.append("Print it at 100 % and measure both check lines before you use it.")
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
        raise PaperProblem(f"There is no library {path}.", "Check the path for a slip.")
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
        which = _some(
            f"{row.id}{f' ({row.owner_reference})' if row.owner_reference else ''}"
            for row in present
        )
        raise PaperProblem(
            f"{len(present)} decks are called '{asked}'.", f"Give the number of one: {which}."
        )
    names = [row.name for row in rows if not row.archived]
    near = difflib.get_close_matches(asked, names, n=3, cutoff=0.4)
    remedy = f"Did you mean: {'; '.join(near)}?" if near else f"It holds: {_some(names)}."
    raise PaperProblem(
        f"The library {library.address} holds no deck called '{asked}'.",
        remedy if names else "It holds no deck at all.",
    )


def _some(words: Iterable[str]) -> str:
    """Return the first few in a row, the others counted: a library may hold thousands."""
    listed = list(words)
    more = len(listed) - _MOST_NAMED
    return "; ".join(listed[:_MOST_NAMED]) + (f"; and {more} more" if more > 0 else "")


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
    names = "; ".join(one.name for one in arms)
    raise PaperProblem(
        f"'{deck.name}' has no arm called '{parsed.arm}'.",
        f"It has: {names}." if names else "It has one arm: leave --arm out.",
    )


def _only_arm(deck: Deck) -> MountedArm:
    """Return the arm of a deck that has one in use."""
    arms = arms_of(deck)
    if len(arms) > 1:
        names = "; ".join(one.name for one in arms)
        raise PaperProblem(
            f"'{deck.name}' has {len(arms)} arms: {names}.", "Say which with --arm NAME."
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
        f"'{deck.thing.name}' has no fitting yet, so there is nothing to report.",
        "Start one in the program first.",
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
            "Own null radii were asked for and not given.",
            "Give both: --null-radii INNER_MM OUTER_MM.",
        )
    try:
        return alignment.AlignmentChoices.model_validate(values)
    except ValidationError as error:
        raise PaperProblem(
            f"No arm can be aligned to these radii: {sentence_of(error)}.",
            "Give the inner radius first, then the outer, in millimetres.",
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
            f"'{deck.thing.name}' has no fitting with the number '{parsed.fitting}'.",
            f"It has: {_some(row.id for row in rows) or 'none yet'}.",
        )
    if parsed.cartridge:
        wanted = " ".join(parsed.cartridge.split()).casefold()
        of_it = [row for row in rows if " ".join(row.cartridge_name.split()).casefold() == wanted]
        if not of_it and rows:
            names = _some(dict.fromkeys(row.cartridge_name for row in rows))
            raise PaperProblem(
                f"'{deck.thing.name}' was never fitted with '{parsed.cartridge}'.",
                f"It was fitted with: {names}.",
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
            sys.stderr.write(
                f"No scale is kept for a printer '{printer}', so this is drawn at 100 %. Measure "
                "its check lines and give them with --measured.\n"
            )
        return factor, None
    if not printer:
        raise PaperProblem(
            "A measured scale is kept under its printer's name, and none was given.",
            "Give it with --printer NAME.",
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
