"""A recall in the reader's units, as page and document show it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from decimal import Decimal

from django.utils.formats import date_format

from config.figures import Figure
from config.quantities import UnitSystem, show
from materials.lot_state import KINDS, amount_in_words
from materials.models import Lot
from repairs.stories.recall import NOT_RECORDED, Account, Affected, Use


@dataclass(frozen=True)
class ToldUse:
    use: Use
    amount: str
    mixed_on: str
    stage: str


@dataclass(frozen=True)
class ToldRow:
    row: Affected
    uses: tuple[ToldUse, ...]


@dataclass(frozen=True)
class ToldAccount:
    lot: Lot
    received: str
    in_repairs: Figure
    wasted: str
    not_placed: str
    not_linked: tuple[tuple[str, str], ...]
    remaining: str


def told_rows(rows: Iterable[Affected], system: UnitSystem | str) -> list[ToldRow]:
    return [
        ToldRow(
            row,
            tuple(
                ToldUse(
                    use,
                    _amount(use, system),
                    date_format(row.place.day_of(use.batch.mixed_at), "j F Y"),
                    use.stage.get_kind_display(),
                )
                for use in row.uses
            ),
        )
        for row in rows
    ]


def _amount(use: Use, system: UnitSystem | str) -> str:
    if use.amount is None:
        return NOT_RECORDED
    return show(use.amount, KINDS[Lot.Unit(use.unit)], system)


def told_accounts(accounts: Iterable[Account], system: UnitSystem | str) -> list[ToldAccount]:
    return [_account(each, system) for each in accounts]


def _account(account: Account, system: UnitSystem | str) -> ToldAccount:
    def told(amount: Decimal | None) -> str:
        return "" if amount is None else signed_words(account.lot, amount, system)

    not_linked = tuple((words, told(amount)) for words, amount in account.not_linked)
    others = [
        ("Received", told(account.received)),
        ("Waste of batches", told(account.wasted)),
        ("Mixed and not yet placed", told(account.not_placed)),
        *not_linked,
        ("Left in the stores", told(account.remaining)),
    ]
    return ToldAccount(
        lot=account.lot,
        received=told(account.received),
        in_repairs=Figure(
            value=told(account.in_repairs),
            name=f"In repairs, of lot {account.lot.number}",
            inputs=tuple((name, words) for name, words in others if words),
            formula="what each batch took, split over its stages by the weight that went into "
            "each" + ("; received − all the others" if account.received is not None else ""),
            source="the lot's own ledger and the shares of its batches",
        ),
        wasted=told(account.wasted),
        not_placed=told(account.not_placed),
        not_linked=not_linked,
        remaining=told(account.remaining),
    )


def signed_words(lot: Lot, amount: Decimal, system: UnitSystem | str) -> str:
    words = amount_in_words(lot, abs(amount), system)
    return f"−{words}" if amount < 0 else words
