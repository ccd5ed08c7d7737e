"""How long 100,000 repairs last: the estimate beside scipy's, and the page's report beside the
plain reading of the same rows."""

from __future__ import annotations

import warnings
from collections.abc import Iterator

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from repairs.lives.chart import chart_of
from repairs.lives.report import Chosen, lives_report
from repairs.lives.rows import COLUMNS
from repairs.models import Repair
from repairs.survival import CONFIDENCE, survival
from tests.benchmarks.stopwatch import Ratio, compare


def lives_ratios() -> Iterator[Ratio]:
    with transaction.atomic(), warnings.catch_warnings():
        # scipy's band has no value before the first failure, and says so each time.
        warnings.simplefilter("ignore", RuntimeWarning)
        _let_some_fail()
        yield from _ratios()
        transaction.set_rollback(True)


def _ratios() -> Iterator[Ratio]:
    from scipy.stats import CensoredData, ecdf

    on = timezone.localdate()
    report = lives_report(Repair.objects.all(), on, Chosen())
    lives = report.groups[0].lives
    years, failed = [life.years for life in lives], [life.failed for life in lives]
    censored = [not each for each in failed]
    yield compare(
        f"survival curve of {len(lives):,} repairs, against scipy's with its band",
        lambda: survival(years, failed),
        lambda: ecdf(CensoredData.right_censored(years, censored)).sf.confidence_interval(
            CONFIDENCE, method="log-log"
        ),
    )
    yield compare(
        f"the same from the records, drawn, against reading {len(lives):,} rows",
        lambda: chart_of(lives_report(Repair.objects.all(), on, Chosen())),
        lambda: list(Repair.objects.order_by().values_list(*COLUMNS)),
    )


def _let_some_fail() -> None:
    """Every fifth repair, on this day; they began on many."""
    fifth = Repair.objects.alias(rest=F("pk") % 5).filter(rest=0)
    fifth.update(state=Repair.State.FAILED, failed_on=timezone.localdate())
