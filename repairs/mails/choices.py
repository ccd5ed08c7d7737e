"""Which mails a person gets: their own choice, else what is usual for their role."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta

from django.contrib.auth.models import User

from properties.models import Person
from properties.models.people import MailsTell, Weekday
from repairs.roles import CREW, VIEWERS, role_of


@dataclass(frozen=True)
class MailChoices:
    weekly: bool
    weekday: int
    day_before: bool
    tell: str

    def week_begins(self, on: date) -> date:
        """The last chosen weekday up to and with `on`: what a weekly mail is known by, so that a
        mail that was missed is made good by the next one, and never doubled."""
        return on - timedelta(days=(on.weekday() - self.weekday) % 7)


def choices_of(user: User) -> MailChoices:
    person: Person | None = getattr(user, "person", None)
    usual = usual_for(role_of(user))
    if person is None:
        return usual
    return MailChoices(
        usual.weekly if person.weekly_mail is None else person.weekly_mail,
        person.weekly_mail_day,
        usual.day_before if person.day_before_mail is None else person.day_before_mail,
        person.mails_tell or usual.tell,
    )


def usual_for(role: str) -> MailChoices:
    """Both mails, but none for those who only read. Crew hear of what they are to look at."""
    wanted = role != VIEWERS
    tell = MailsTell.OWN if role == CREW else MailsTell.EVERY
    return MailChoices(wanted, Weekday.MONDAY, wanted, tell)
