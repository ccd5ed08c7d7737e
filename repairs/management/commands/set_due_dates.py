"""All dates set by a rule, set anew by the rules as they stand; for a timer such as cron."""

from __future__ import annotations

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand
from django.utils import timezone

from properties.models import Member
from repairs.due.bulk import dates_anew
from repairs.due.bulk_summary import summary_of
from repairs.due.bulk_write import write


class Command(BaseCommand):
    help = (
        "Set every due date that a rule set to the day that the rules give now, and a first look "
        "at members that have none. Dates set by a person or by ratings stand. Run again, it "
        "changes nothing; run daily, it also follows members as they age."
    )

    def add_arguments(self, parser: ArgumentParser) -> None:
        parser.add_argument("--dry-run", action="store_true", help="say what would change")

    def handle(self, *args: Any, dry_run: bool, **options: Any) -> None:
        changes = dates_anew(Member.objects.all(), timezone.localdate())
        if not dry_run:
            self.stdout.write(write(changes, None).in_words())
            return
        summary = summary_of(changes)
        self.stdout.write(" ".join([summary.lead(), *summary.notes()]))
