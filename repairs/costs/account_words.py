"""A cost account in one sentence."""

from __future__ import annotations

from materials.money import show_money
from repairs.costs.account import CostAccount
from repairs.costs.charts import total_in_words


def account_in_words(account: CostAccount) -> str:
    """The total as paid, and in today's money as far as the price index reaches."""
    todays, words = account.todays, total_in_words(account.report)
    if not todays.has_some:
        return words
    sum_ = show_money(todays.covered_minor, account.currency)
    if not todays.missing:
        return f"{words} That is {sum_} in money of {todays.money_of}."
    return (
        f"{words} Without {todays.missing_in_words()}, for which the price index has no figure, "
        f"it is {sum_} in money of {todays.money_of}."
    )
