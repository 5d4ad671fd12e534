"""Asks about the days of a job that can't both be meant."""

from __future__ import annotations

from core.language import Name
from core.records import Job
from desktop.widgets.language import tr
from desktop.widgets.messages import Messages


class JobDays:
    """Asks once about a day promised before the day received; no day is refused for it."""

    def __init__(self, messages: Messages) -> None:
        self._messages = messages
        self._confirmed = ("", "")

    def are_meant(self, job: object) -> bool:
        """Whether the days of a job may be saved as they are; anything else has none."""
        if not isinstance(job, Job) or not job.received or not job.promised:
            return True
        days = job.received, job.promised
        if job.promised >= job.received or days == self._confirmed:
            return True
        answer = self._messages.ask(
            tr("jobs.page.promised_early"),
            tr("jobs.page.promised_early_question", promised=Name(days[1]), received=Name(days[0])),
            [tr("jobs.page.correct_the_days"), tr("jobs.page.save_all_the_same")],
            stays=0,
        )
        if answer == 1:
            self._confirmed = days
        return answer == 1
