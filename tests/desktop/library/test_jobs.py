"""Jobs at the bench, by keyboard: made, worked on, found, handed over, and who brought them."""

from __future__ import annotations

from datetime import date, timedelta
from pathlib import Path

import pytest
from PySide6.QtCore import Qt
from PySide6.QtWidgets import QApplication, QLineEdit, QListWidget, QTableView, QWidget

from core.fitting import Finished, StepAccepted, Verdict, Work
from core.language import Numbers
from core.paper.bench_content import bench_content
from core.records import Customer, Job, JobState
from core.store import Library
from core.workflow.replay import journey_of
from core.workflow.work import STEPS_OF_WORK, work_asked
from desktop.library.job_page import JobPage
from desktop.library.jobs_page import HERE, JobsPage
from desktop.library.screen import LibraryScreen
from desktop.library.start_page import StartPage
from desktop.library.tables import DECKS, FINISHED
from desktop.shell.main_window import MainWindow
from desktop.widgets.language import said
from desktop.wizard import Wizard
from desktop.wizard.summary_page import SummaryPage
from tests.desktop.kit import (
    ALT,
    CTRL,
    RecordingMessages,
    focus,
    line_named,
    press,
    retype,
    settle,
    tab_to,
    words_of,
    write,
)

Key = Qt.Key
NAME = "Zebulon Quill-Xylander"
CONTACT = "0000 555 0199"


def day(after: int = 0) -> str:
    return (date.today() + timedelta(days=after)).isoformat()  # noqa: DTZ011 - of this bench


def start_page(window: MainWindow) -> StartPage:
    page = window.pages.currentWidget()
    assert isinstance(page, StartPage)
    return page


def job_page(window: MainWindow) -> JobPage:
    page = window.pages.currentWidget()
    assert isinstance(page, JobPage)
    return page


def jobs_page(window: MainWindow) -> JobsPage:
    page = window.pages.currentWidget()
    assert isinstance(page, JobsPage)
    return page


def field(page: JobPage, name: str) -> QLineEdit:
    stop = page.form.fields.entries[name].tab_stops()[0]
    assert isinstance(stop, QLineEdit)
    return stop


def everything_shown(root: QWidget) -> str:
    """Return every word that a page shows, cells of its lists too."""
    found = [words_of(root)]
    for table in root.findChildren(QTableView):
        model = table.model()
        found += [
            str(model.index(row, column).data(role) or "")
            for row in range(model.rowCount())
            for column in range(model.columnCount())
            for role in (Qt.ItemDataRole.DisplayRole, Qt.ItemDataRole.ToolTipRole)
        ]
    for listed in root.findChildren(QListWidget):
        found += [listed.item(row).text() for row in range(listed.count())]
    return "\n".join(found)


def test_a_job_is_made_worked_on_and_handed_over_by_keys(
    window: MainWindow, opened: Library
) -> None:
    """A new job at the start of a fitting, its summary, its page, the day it goes back."""
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    page = start_page(window)
    assert not page.for_customer.box.isChecked(), "closed for an owner at home"
    press(Key.Key_U, ALT)
    assert page.for_customer.box.isChecked()
    form, customer = page.for_customer.form, page.for_customer.customer
    assert form is not None
    assert customer is not None
    year = date.today().year  # noqa: DTZ011 - of this bench
    assert form.fields.entries["number"].answer().value == f"{year}-001"
    tab_to(form.fields.entries["brought"].tab_stops()[0])
    write("A deck in its box")
    press(Key.Key_Return)
    write(day(2))
    tab_to(customer.form.fields.entries["name"].tab_stops()[0])
    write(NAME)
    press(Key.Key_Return)
    write(CONTACT)
    press(Key.Key_S, ALT)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    (row,) = opened.jobs.rows()
    assert (row.number, row.promised, row.received) == (f"{year}-001", day(2), day())
    assert wizard.controller.fitting.job_id == row.id
    assert row.state is JobState.IN_PROGRESS
    kept = opened.jobs.records.get(row.id).thing
    assert opened.jobs.customers.get(kept.customer).thing == Customer(name=NAME, contact=CONTACT)
    assert window.windowTitle().startswith(f"Job {year}-001: ")
    wizard.go("summary")
    summary = wizard.page
    assert isinstance(summary, SummaryPage)
    assert f"Job {year}-001" in words_of(summary)
    opened.append(wizard.controller.fitting.id, Finished())

    press(Key.Key_J, CTRL)
    jobs = jobs_page(window)
    assert opened.jobs.rows()[0].state is JobState.READY
    tab_to(jobs.here.table)
    press(Key.Key_Return)
    page_of_job = job_page(window)
    press(Key.Key_D, ALT)
    jobs = jobs_page(window)
    (done,) = opened.jobs.rows()
    assert (done.handed_over, done.state) == (day(), JobState.HANDED_OVER)
    assert page_of_job is not window.pages.currentWidget()
    assert jobs.tabs.currentWidget() is jobs.gone, "the list follows it"
    press(Key.Key_Escape)
    assert isinstance(window.pages.currentWidget(), LibraryScreen)


def test_a_job_and_its_customer_are_typed_on_the_page_of_the_job(
    window: MainWindow, opened: Library
) -> None:
    press(Key.Key_J, CTRL)
    press(Key.Key_N, ALT)
    page = job_page(window)
    assert focus() is field(page, "number")
    retype(field(page, "number"), "Bench 7")
    retype(field(page, "promised"), "1.3.2027")
    press(Key.Key_S, CTRL)
    assert focus() is field(page, "promised")
    assert focus().property("refused") is True
    press(Key.Key_S, CTRL)
    assert window.pages.currentWidget() is page, "what is no day is not saved"
    assert "1.3.2027 may be 2027-03-01 or 2027-01-03." in words_of(page)
    retype(field(page, "promised"), "tomorrow")
    press(Key.Key_S, CTRL)
    assert window.pages.currentWidget() is page
    assert "must be a day such as 2026-03-01" in words_of(page)
    retype(field(page, "promised"), "2027-3-1")
    press(Key.Key_S, CTRL)
    (row,) = opened.jobs.rows()
    assert (row.number, row.promised) == ("Bench 7", "2027-03-01")
    assert jobs_page(window).here.current_id == row.id
    tab_to(jobs_page(window).here.table)
    press(Key.Key_Return)
    page = job_page(window)
    contact = page.customer.form.fields.entries["contact"].tab_stops()[0]
    tab_to(contact)
    write(CONTACT)
    press(Key.Key_S, CTRL)
    assert window.pages.currentWidget() is page
    assert "A customer needs a name" in words_of(page), "a way to reach nobody"
    tab_to(page.customer.form.fields.entries["name"].tab_stops()[0])
    write(NAME)
    press(Key.Key_S, CTRL)
    customer = opened.jobs.records.get(row.id).thing.customer
    assert opened.jobs.customers.get(customer).thing.name == NAME


def test_a_second_job_of_a_customer_takes_who_is_on_file(
    window: MainWindow, opened: Library
) -> None:
    kept = opened.keep_customer(Customer(name=NAME, contact=CONTACT))
    window.show_job()
    page = job_page(window)
    tab_to(page.customer.form.fields.entries["name"].tab_stops()[0])
    write("zebu")
    settle()
    assert page.customer.on_file.isVisible()
    tab_to(page.customer.on_file)
    press(Key.Key_Down)
    press(Key.Key_Return)
    assert page.customer.typed() == (NAME, CONTACT)
    press(Key.Key_S, CTRL)
    (row,) = opened.jobs.rows()
    assert opened.jobs.records.get(row.id).thing.customer == kept.id
    assert len(opened.jobs.customers.rows()) == 1


def test_no_page_shows_a_customer_but_the_jobs_own_and_the_field_that_asks(
    window: MainWindow, opened: Library
) -> None:
    customer = opened.keep_customer(Customer(name=NAME, contact=CONTACT))
    job_id = opened.keep_job(Job(customer=customer.id, brought="A deck", promised=day(-1))).id
    deck_id, cartridge_id = opened.decks()[0].id, opened.cartridges()[0].id
    fitting = opened.start_fitting(deck_id, cartridge_id, job_id=job_id)

    def shown() -> str:
        settle()
        return everything_shown(window) + window.windowTitle()

    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    texts = []
    for tab in range(screen.tabs.count()):
        screen.tabs.setCurrentIndex(tab)
        texts.append(shown())
    assert screen.jobs.text() == "&Jobs: 1 overdue…"
    window.show_start(job_id=job_id)
    texts.append(shown())
    window.open_fitting(fitting.id)
    texts.append(shown())
    window.show_history(deck_id)
    texts.append(shown())
    window.show_jobs()
    texts.append(shown())
    assert "overdue by one day" in texts[-1]
    jobs = jobs_page(window)
    jobs.here.filter.setText("Zebulon")
    texts.append(shown())
    assert jobs.here.model.rowCount() == 0
    journey = journey_of(
        opened.deck(deck_id).thing, opened.cartridge(cartridge_id).thing, opened.fitting(fitting.id)
    )
    sheet = repr(bench_content(journey, Numbers()))
    assert opened.jobs.row(job_id).number in sheet
    for text in (*texts, sheet):
        assert "quill" not in text.casefold()
        assert "0199" not in text
    jobs.here.filter.clear()
    press(Key.Key_U, ALT)
    assert focus() is jobs.customer
    write("quill")
    settle()
    assert NAME in everything_shown(window)
    press(Key.Key_Return)
    assert focus() is jobs.found
    press(Key.Key_Return)
    assert job_page(window).customer.typed() == (NAME, CONTACT)


def test_the_state_a_deck_came_in_is_asked_for_where_its_job_is_begun(
    window: MainWindow, opened: Library
) -> None:
    """It could be noted only on the page of the job, after the fitting was begun."""
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    page = start_page(window)
    press(Key.Key_U, ALT)
    form = page.for_customer.form
    assert form is not None
    for name in ("stylus_seen", "noises", "missing"):
        tab_to(form.fields.entries[name].tab_stops()[0])
        write(f"{name} noted")
    press(Key.Key_S, ALT)
    job = opened.jobs.records.get(opened.jobs.rows()[0].id).thing
    assert job.stylus_seen == "stylus_seen noted"
    assert (job.noises, job.missing) == ("noises noted", "missing noted")


@pytest.mark.parametrize(
    ("contact", "typed"),
    [("030 12 34", "0301234"), ("0301234", "030 12 34"), ("030/12-34", "030 1234")],
)
def test_a_telephone_number_is_found_however_its_digits_are_set_apart(
    window: MainWindow, opened: Library, contact: str, typed: str
) -> None:
    customer = opened.keep_customer(Customer(name=NAME, contact=contact))
    opened.keep_customer(Customer(name="A. Nother", contact="3 Long Street, 0199 Town"))
    opened.keep_job(Job(number="A 7", customer=customer.id, brought="A deck"))
    window.show_jobs()
    jobs = jobs_page(window)
    press(Key.Key_U, ALT)
    write(typed)
    assert [jobs.found.item(at).text() for at in range(jobs.found.count())] == [
        f"{NAME}: A 7, A deck (Received)"
    ]


def test_one_letter_of_a_customer_says_that_another_is_wanted(
    window: MainWindow, opened: Library
) -> None:
    opened.keep_job(Job(brought="A deck"))
    window.show_jobs()
    jobs = jobs_page(window)
    press(Key.Key_U, ALT)
    write("q")
    assert jobs.found.isVisible()
    assert "two letters or more" in jobs.found.item(0).text()


def test_a_list_that_finds_no_deck_offers_to_look_among_the_customers(
    window: MainWindow, opened: Library
) -> None:
    """A name typed in the list's own field found nothing, and nothing said where names are."""
    customer = opened.keep_customer(Customer(name=NAME, contact=CONTACT))
    opened.keep_job(Job(customer=customer.id, brought="A deck"))
    window.show_jobs()
    jobs = jobs_page(window)
    jobs.here.filter.setText("nobody of this name")
    settle()
    offered = jobs.here.nothing.offered
    assert not offered.isVisible()
    jobs.here.filter.setText("Zebulon")
    settle()
    assert offered.isVisible()
    offered.click()
    assert focus() is jobs.customer
    assert NAME in jobs.found.item(0).text()


def test_a_finished_job_says_that_its_steps_are_finished(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(brought="A deck")).id
    opened.keep_job(Job(brought="Not begun", promised=day(-3)))
    fitting = opened.start_fitting(opened.decks()[0].id, opened.cartridges()[0].id, job_id=job_id)
    opened.append(fitting.id, Finished())
    window.show_jobs()
    model = jobs_page(window).here.model
    place = [column.key for column in HERE.columns].index("step")
    assert [model.index(row, place).data() or "" for row in range(2)] == ["", "Finished"]


def test_handing_over_is_undone_from_the_list_and_from_the_page_of_the_job(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(number="A 7", brought="A deck")).id
    window.show_jobs()
    jobs_page(window).here.buttons["hand_over"].click()
    assert opened.jobs.row(job_id).handed_over == day()
    jobs = jobs_page(window)
    assert jobs.undo_bar.text == "Job A 7 is handed over."
    jobs.undo_bar.undo_button.click()
    assert opened.jobs.row(job_id).handed_over == ""
    assert jobs.undo_bar.text == "Job A 7 is here again."
    assert jobs.here.model.rowCount() == 1

    window.show_job(job_id)
    press(Key.Key_D, ALT)
    assert opened.jobs.row(job_id).handed_over == day()
    press(Key.Key_Z, CTRL)
    assert opened.jobs.row(job_id).handed_over == ""


def test_undo_leaves_a_job_alone_whose_day_was_changed_since(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(number="A 7", brought="A deck")).id
    window.show_jobs()
    jobs = jobs_page(window)
    jobs.here.buttons["hand_over"].click()
    opened.keep_job(Job(number="A 7", brought="A deck", handed_over=day(-1)), id=job_id)
    jobs.acts.undo()
    assert opened.jobs.row(job_id).handed_over == day(-1)
    assert "changed since" in jobs.undo_bar.text


def test_jobs_handed_over_show_the_day_they_went(window: MainWindow, opened: Library) -> None:
    opened.keep_job(Job(brought="A deck", received=day(-9), handed_over=day(-4)))
    window.show_jobs()
    jobs = jobs_page(window)
    jobs.tabs.setCurrentWidget(jobs.gone)
    model = jobs.gone.model
    across = Qt.Orientation.Horizontal
    titles = [model.headerData(at, across) for at in range(model.columnCount())]
    assert model.index(0, titles.index("Handed over")).data() == day(-4)
    jobs.gone.filter.setText(day(-4))
    settle()
    assert model.rowCount() == 1


def test_forgetting_asks_first_says_what_of_backups_and_shows_the_day(
    window: MainWindow, opened: Library, messages: RecordingMessages
) -> None:
    customer = opened.keep_customer(Customer(name=NAME, contact=CONTACT))
    job_id = opened.keep_job(Job(customer=customer.id, accessories="lid")).id
    window.show_job(job_id)
    page = job_page(window)
    messages.answers = [2]
    press(Key.Key_G, ALT)
    assert "Older backups hold the name" in messages.asked[-1].sentence
    assert messages.asked[-1].choices[messages.asked[-1].enter] == "&Keep them", "Enter is safe"
    assert opened.jobs.customers.get(customer.id).thing.name == NAME
    backups = opened.address.backups
    assert backups is not None
    backup = backups.make().path
    messages.answers = [1]
    press(Key.Key_G, ALT)
    assert NAME.encode() not in backup.read_bytes()
    window.activateWindow()  # as a window manager does once the dialog of the progress is gone
    settle()
    assert focus() is field(page, "number")
    assert f"Forgotten on {day()}." in words_of(page)
    assert NAME not in words_of(page)
    assert opened.jobs.records.get(job_id).thing.accessories == "lid"
    press(Key.Key_Escape)
    assert isinstance(window.pages.currentWidget(), JobsPage), "nothing is left unsaved"


def test_fittings_are_added_to_a_job_and_taken_out(window: MainWindow, opened: Library) -> None:
    job_id = opened.keep_job(Job(number="A 1")).id
    fitting = opened.start_fitting(opened.decks()[0].id, opened.cartridges()[0].id)
    window.show_job(job_id)
    page = job_page(window)
    press(Key.Key_A, ALT)
    assert opened.fitting(fitting.id).job_id == job_id
    assert page.fittings.count() == 1
    press(Key.Key_U, ALT)
    assert opened.fitting(fitting.id).job_id == ""
    press(Key.Key_T, ALT)
    start = start_page(window)
    assert start.for_customer.jobs.currentData() == job_id
    start.pick(opened.decks()[0].id, opened.cartridges()[0].id)
    press(Key.Key_S, ALT)
    assert opened.fittings(job_id=job_id)


def test_two_windows_change_one_job_and_both_are_shown(window: MainWindow, opened: Library) -> None:
    customer = opened.keep_customer(Customer(name=NAME))
    job_id = opened.keep_job(Job(number="A 1", customer=customer.id)).id
    window.show_job(job_id)
    page = job_page(window)
    retype(field(page, "brought"), "mine")
    theirs = opened.jobs.records.get(job_id).thing.model_copy(update={"brought": "theirs"})
    opened.keep_job(theirs, id=job_id, who="Bo")
    press(Key.Key_S, CTRL)
    assert page.comparison is not None
    assert [one.label for one in page.comparison.versions.differences] == ["Brought in"]
    press(Key.Key_Escape)
    assert page.comparison is None
    assert opened.jobs.records.get(job_id).thing.brought == "theirs", "nothing is passed over"
    assert field(page, "brought").text() == "mine", "nor lost"


def test_what_is_typed_of_a_job_outlives_the_form_of_a_new_deck(
    window: MainWindow, opened: Library
) -> None:
    window.show_start()
    page = start_page(window)
    page.for_customer.box.setChecked(True)
    form, customer = page.for_customer.form, page.for_customer.customer
    assert form is not None
    assert customer is not None
    retype(line_named(form, "Brought in"), "A deck")
    retype(line_named(customer.form, "Customer"), NAME)
    press(Key.Key_N, ALT)
    assert not isinstance(window.pages.currentWidget(), StartPage)
    press(Key.Key_Escape)
    again = start_page(window)
    assert again is not page
    assert again.for_customer.form is not None
    assert again.for_customer.customer is not None
    assert again.for_customer.form.fields.entries["brought"].answer().value == "A deck"
    assert again.for_customer.customer.typed() == (NAME, "")


def test_a_number_another_window_took_meanwhile_is_the_next_one(
    window: MainWindow, opened: Library
) -> None:
    window.show_job()
    year = date.today().year  # noqa: DTZ011 - of this bench
    opened.keep_job(Job())
    press(Key.Key_S, CTRL)
    assert sorted(row.number for row in opened.jobs.rows()) == [f"{year}-001", f"{year}-002"]


def test_an_export_asks_about_customers_and_leaves_them_out_unless_told(
    window: MainWindow, opened: Library, messages: RecordingMessages, tmp_path: Path
) -> None:
    customer = opened.keep_customer(Customer(name=NAME))
    opened.keep_job(Job(customer=customer.id))
    window.show_library()
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    for answer, is_in in ((0, False), (1, True)):
        path = tmp_path / f"all-{answer}.json"
        messages.files, messages.answers = [path], [answer]
        screen.export_everything()
        assert (NAME in path.read_text()) is is_in
    path = tmp_path / "none.json"
    messages.files, messages.answers = [path], [None]
    screen.export_everything()
    assert not path.exists()


def test_an_owner_at_home_sees_nothing_of_jobs(window: MainWindow, opened: Library) -> None:
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    assert screen.jobs.isHidden()
    window.show_start()
    page = start_page(window)
    assert page.for_customer.form is None
    assert page.for_customer.jobs.isHidden()
    opened.keep_job(Job())
    window.show_start()
    assert not start_page(window).for_customer.box.isChecked(), "whoever wants a job ticks it"
    assert QApplication.focusWidget() is not None


def test_a_job_with_unfinished_work_is_handed_over_only_when_asked_twice(
    window: MainWindow, opened: Library, messages: RecordingMessages
) -> None:
    job_id = opened.keep_job(Job(brought="A deck")).id
    asked = work_asked(Work.SPEED)
    decks, cartridges = opened.decks(), opened.cartridges()
    opened.start_fitting(decks[0].id, cartridges[0].id, job_id=job_id, work=asked)
    window.show_job(job_id)
    page = job_page(window)
    assert page.fittings.item(0).text().endswith(". Just speed")
    messages.answers = [0]
    press(Key.Key_D, ALT)
    assert messages.asked[-1].sentence == "A fitting of this job is not finished."
    assert opened.jobs.row(job_id).handed_over == ""
    messages.answers = [1]
    press(Key.Key_D, ALT)
    assert opened.jobs.row(job_id).handed_over == day()


def test_the_fold_for_a_customer_stays_closed_whatever_jobs_are_here(
    window: MainWindow, opened: Library
) -> None:
    opened.keep_job(Job(brought="A deck"))
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    fold = start_page(window).for_customer
    assert fold.box.checkState() is Qt.CheckState.Unchecked
    assert fold.form is None, "no field of it is made"
    assert not fold.jobs.isVisible()
    press(Key.Key_S, ALT)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    assert wizard.controller.fitting.job_id == ""
    assert len(opened.jobs.rows()) == 1


def test_the_box_for_a_customer_is_ticked_or_not_and_offers_the_jobs_that_are_here(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(brought="A deck")).id
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    fold = start_page(window).for_customer
    states = []
    for _ in range(3):
        press(Key.Key_U, ALT)
        states.append(fold.box.checkState())
    assert states == [Qt.CheckState.Checked, Qt.CheckState.Unchecked, Qt.CheckState.Checked]
    assert fold.jobs.isVisible()
    fold.jobs.setCurrentIndex(1)
    press(Key.Key_S, ALT)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    assert wizard.controller.fitting.job_id == job_id
    assert len(opened.jobs.rows()) == 1


def test_a_fold_that_a_person_opened_makes_the_job_though_it_is_empty(
    window: MainWindow, opened: Library
) -> None:
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    press(Key.Key_U, ALT)
    press(Key.Key_S, ALT)
    wizard = window.pages.currentWidget()
    assert isinstance(wizard, Wizard)
    (row,) = opened.jobs.rows()
    assert wizard.controller.fitting.job_id == row.id


def test_a_day_promised_before_it_came_is_asked_about_and_never_lost(
    window: MainWindow, opened: Library, messages: RecordingMessages
) -> None:
    job_id = opened.keep_job(Job(brought="A deck", received="2026-03-05")).id
    window.show_job(job_id)
    page = job_page(window)
    page.form.fields.entries["promised"].put("2026-03-01")
    messages.answers = [0]
    assert not page.save()
    assert "promised for 2026-03-01, but was received on 2026-03-05" in messages.asked[-1].sentence
    assert opened.jobs.row(job_id).promised == ""
    assert page.form.fields.entries["promised"].answer().value == "2026-03-01"
    messages.answers = [1]
    assert page.save()
    assert opened.jobs.row(job_id).promised == "2026-03-01"


def test_a_day_handed_over_before_it_came_is_refused_in_a_sentence(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(brought="A deck", received="2026-03-05")).id
    window.show_job(job_id)
    page = job_page(window)
    page.form.fields.entries["handed_over"].put("2026-03-01")
    assert not page.save()
    assert "handed over before it was received" in page.problem.text()
    assert opened.jobs.row(job_id).handed_over == ""
    assert page.form.fields.entries["handed_over"].answer().value == "2026-03-01"
    page.form.fields.entries["handed_over"].put("")
    assert page.save()


def test_a_job_handed_over_is_brought_back_only_from_the_archive_and_stays_handed_over(
    window: MainWindow, opened: Library
) -> None:
    job_id = opened.keep_job(Job(brought="A deck", received=day(-2), handed_over=day(-1))).id
    window.show_jobs()
    page = window.pages.currentWidget()
    assert isinstance(page, JobsPage)
    page.pick(job_id)
    back, away = page.gone.buttons["restore"], page.gone.buttons["archive"]
    assert not back.isEnabled()
    assert away.isEnabled()
    away.click()
    page.gone.archived.setChecked(True)
    page.pick(job_id)
    assert back.isEnabled()
    assert not away.isEnabled()
    assert "stay handed over" in back.toolTip()
    back.click()
    assert opened.jobs.row(job_id).handed_over == day(-1), "on this list again, not here"


def test_a_day_promised_before_today_is_asked_about_where_a_fitting_begins(
    window: MainWindow, opened: Library, messages: RecordingMessages
) -> None:
    window.show_start(opened.decks()[0].id, opened.cartridges()[0].id)
    page = start_page(window)
    press(Key.Key_U, ALT)
    form = page.for_customer.form
    assert form is not None
    form.fields.entries["promised"].put(day(-3))
    messages.answers = [0]
    press(Key.Key_S, ALT)
    assert "is promised for" in messages.asked[-1].sentence
    assert window.pages.currentWidget() is page
    assert opened.jobs.rows() == ()
    messages.answers = [1]
    press(Key.Key_S, ALT)
    assert [row.promised for row in opened.jobs.rows()] == [day(-3)]


def test_the_day_a_job_came_is_a_column_to_choose_and_to_sort_by(
    window: MainWindow, opened: Library
) -> None:
    column = "Received"
    for came in ("2026-02-03", "2026-01-05", "2026-03-01"):
        opened.jobs.keep(Job(received=came), who="Ann", today=date(2026, 3, 2))
    window.show_jobs()
    records = jobs_page(window).here
    QApplication.processEvents()
    (place,) = (at for at, one in enumerate(records.spec.columns) if said(one.title) == column)
    assert records.table.isColumnHidden(place)
    (act,) = (one for one in records.columns.actions() if one.text() == column)
    act.setChecked(True)
    assert not records.table.isColumnHidden(place)
    records.table.horizontalHeader().setSortIndicator(place, Qt.SortOrder.AscendingOrder)
    days = [records.model.row_at(row).received for row in range(3)]
    assert days == ["2026-01-05", "2026-02-03", "2026-03-01"]
    records.filter.setText("2026-02")
    assert [records.model.row_at(row).received for row in range(records.model.rowCount())] == [
        "2026-02-03"
    ]


def test_a_passed_short_job_is_told_from_a_passed_whole_fitting(opened: Library) -> None:
    deck_id, cartridge_id = opened.decks()[0].id, opened.cartridges()[0].id
    for work, words in ((Work.SPEED, "Passed, short job"), (Work.CHECK_UP, "Passed")):
        one = opened.start_fitting(deck_id, cartridge_id, work=work_asked(work))
        for step in STEPS_OF_WORK[work]:
            opened.append(one.id, StepAccepted(step=step, verdict=Verdict.GOOD))
        opened.append(one.id, Finished())
        fittings, decks = opened.log.listing(finished=True), opened.deck_listing()
        rows = (
            (FINISHED, fittings.row(fittings.ids.index(one.id))),
            (DECKS, decks.rows([decks.ids.index(deck_id)])[0]),
        )
        for table, row in rows:
            told = next(column.text(row) for column in table.columns if column.key == "verdict")
            assert told == words, (table.name, work)


@pytest.mark.parametrize("has_jobs", [False, True])
def test_the_number_of_the_job_stands_in_the_lists_of_a_bench_with_jobs(
    window: MainWindow, opened: Library, has_jobs: bool
) -> None:
    deck_id, cartridge_id = opened.decks()[0].id, opened.cartridges()[0].id
    opened.start_fitting(deck_id, cartridge_id)
    if has_jobs:
        opened.jobs.keep(Job(brought="a deck"), who="Ann", today=date(2026, 3, 2))
    window.open_library(opened.address.path)
    screen = window.pages.currentWidget()
    assert isinstance(screen, LibraryScreen)
    for records in (screen.under_way, screen.finished):
        screen.tabs.setCurrentWidget(records)
        QApplication.processEvents()
        (place,) = (at for at, one in enumerate(records.spec.columns) if one.key == "job")
        assert records.table.isColumnHidden(place) is not has_jobs
