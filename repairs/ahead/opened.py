"""The figures of the years ahead that can be opened: what each was reckoned from, and how."""

from __future__ import annotations

from decimal import Decimal

from config.figures import Figure, figure
from materials.money import show_bare, show_money
from repairs.ahead.failing import EXPECTED_FAILURES
from repairs.ahead.figures import Job, Level, MoveEffect, Outlook
from repairs.ahead.money import NOMINAL, SUM_OF_BANDS, Band
from repairs.ahead.reserve import LEVEL_BUDGET, YEARLY_PAYMENT
from repairs.ahead.words import JOB, band_words, expected, percent_a_year
from repairs.due.words import capital

REPAIR = "repair"


def total_figures(outlook: Outlook) -> list[Figure]:
    """Level budget, peak and reserve, each to be opened."""
    level, currency, asked = outlook.level, outlook.currency, outlook.asked
    total = ("All years, today’s money", band_words(outlook.today, currency))
    years = ("Years", str(outlook.years))
    figures = [
        figure("All years, in today’s money", band_words(outlook.today, currency), SUM_OF_BANDS,
               *[(str(line.year), band_words(line.today, currency)) for line in outlook.lines]),
    ]  # fmt: skip
    if outlook.nominal is not None:
        rise = ("Prices rise", percent_a_year(asked.price_rise_pct or Decimal(0)))
        figures.append(
            figure("All years, in each year’s own money", band_words(outlook.nominal, currency),
                   NOMINAL, total, rise)
        )  # fmt: skip
    figures.append(
        figure("The same sum every year", band_words(level.budget, currency), LEVEL_BUDGET,
               total, years)
    )  # fmt: skip
    return [*figures, _peak_figure(level, currency), *_reserve_figures(outlook)]


def _peak_figure(level: Level, currency: str) -> Figure:
    over = level.peak.likely - level.budget.likely
    return Figure(
        value=f"{level.peak_year}: {band_words(level.peak, currency)}",
        name="The dearest year",
        inputs=(
            ("The same sum every year", show_money(level.budget.likely, currency)),
            ("Above it by", show_money(over, currency)),
        ),
        formula="The year with the highest likely cost in today’s money.",
        source="the table of the years above",
    )


def _reserve_figures(outlook: Outlook) -> list[Figure]:
    level, currency, asked = outlook.level, outlook.currency, outlook.asked
    inputs = (
        ("In the reserve to begin with", show_money(asked.reserve_minor, currency)),
        ("It earns", percent_a_year(asked.deposit_pct)),
        ("Prices rise", "not typed, reckoned with none" if asked.price_rise_pct is None
         else percent_a_year(asked.price_rise_pct)),
        *((f"Left at the end of {year}", show_money(minor, currency))
          for year, minor in level.balances),
    )  # fmt: skip
    wanted = f"{show_money(level.reserve, currency)} a year"
    high = f"{show_money(level.reserve_high, currency)} a year"
    return [
        figure("Into a reserve, at likely costs", wanted, YEARLY_PAYMENT, *inputs),
        figure("Into a reserve, at high costs", high, YEARLY_PAYMENT, *inputs[:3]),
    ]


def job_figure(job: Job, currency: str) -> Figure | None:
    """None where the job has no price."""
    if job.today is None:
        return None
    by = EXPECTED_FAILURES if job.kind == REPAIR and job.number < 1 else None
    return Figure(
        value=show_bare(job.today.likely, currency),
        name=f"{JOB[job.kind]}, {job.mark}" if job.mark else JOB[job.kind],
        inputs=(
            ("Low", show_money(job.today.low, currency)),
            ("Likely", show_money(job.today.likely, currency)),
            ("High", show_money(job.today.high, currency)),
            ("Of one", expected(job.number)),
        ),
        formula=by.words if by else "",
        symbols=by.symbols if by else "",
        source=f"{capital(job.money_from)}; {by.source}" if by else capital(job.money_from),
        holds=by.holds if by else "",
    )


SAVED = "All jobs of the asked years reckoned with the move and without it, one taken from other."


def saves_figure(effect: MoveEffect, currency: str) -> Figure | None:
    """What a move saves, or costs more; None where nothing of it has a price."""
    if effect.saves is None:
        return None
    less = effect.saves.likely >= 0
    access = effect.access_saves
    size = Band(*(abs(each) for each in (effect.saves.low, effect.saves.likely, effect.saves.high)))
    return Figure(
        value=show_money(size.likely, currency),
        name="Saved, in today’s money" if less else "Dearer, in today’s money",
        inputs=(
            ("At low costs", show_money(effect.saves.low, currency)),
            ("As likely", show_money(effect.saves.likely, currency)),
            ("At high costs", show_money(effect.saves.high, currency)),
            ("Of that for access", "" if access is None else show_money(access.likely, currency)),
            ("Access visits less", expected(effect.access_visits_saved)),
            ("Jobs moved", str(effect.jobs)),
        ),
        formula=SAVED,
        source="own arithmetic, from the prices of these jobs",
    )
