"""The mails of a day, for a timer such as cron."""

from __future__ import annotations

from argparse import ArgumentParser, ArgumentTypeError
from datetime import date
from typing import Any

from django.core.management.base import BaseCommand, CommandError
from django.utils import timezone

from repairs.mails.send import NoBaseUrl, Posted, send_mails, without_address


def day(text: str) -> date:
    try:
        return date.fromisoformat(text)
    except ValueError:
        raise ArgumentTypeError(f"'{text}' is no day; write one as 2026-05-04.") from None


class Command(BaseCommand):
    help = (
        "Send each person the weekly digest, and the mail on the day before, that they chose. "
        "Run it once a day, such as by cron in the morning; run again, it sends nothing twice."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument(
            "--on", type=day, metavar="DATE",
            help="the day to send for, as 2026-05-04; else today by MAKEGOOD_TIME_ZONE",
        )  # fmt: skip
        parser.add_argument("--dry-run", action="store_true", help="say what would be sent")

    def handle(self, *args: Any, on: date | None, dry_run: bool, **options: Any) -> None:
        now = timezone.now()
        on = on or timezone.localdate(now)
        try:
            done = send_mails(on, now, dry_run)
        except NoBaseUrl:
            raise CommandError(
                "MAKEGOOD_BASE_URL is not set, so the links in the mails would lead nowhere. "
                "Set it to where Makegood is opened, such as https://records.example.org."
            ) from None
        self.tell(done, on, dry_run)
        if done.failed:
            raise CommandError(f"{_mails(len(done.failed))} could not be sent; run it again.")

    def tell(self, done: Posted, on: date, dry_run: bool) -> None:
        for letter in done.sent:
            said = "Would send" if dry_run else "Sent"
            self.stdout.write(f"{said} to {letter.user.email}: {letter.subject}")
        for letter, why in done.failed:
            self.stderr.write(f"Not sent to {letter.user.email}: {letter.subject}. {why}")
        verb = "to send" if dry_run else "sent"
        self.stdout.write(
            f"{on:%-d %B %Y}: {_mails(len(done.sent))} {verb}, {len(done.earlier)} sent earlier."
        )
        if missing := without_address():
            people = "person has" if missing == 1 else "people have"
            self.stdout.write(f"{missing} {people} no mail address.")


def _mails(number: int) -> str:
    return f"{number} mail{'' if number == 1 else 's'}"
