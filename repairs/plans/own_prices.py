"""What the like has cost on a property before; nothing where nothing is recorded."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal

from django.db.models import Max, Q, Sum

from materials.money import show_money
from properties.models import Member
from repairs.costs.prices import index_of
from repairs.life_cycle.price_index import YearMissing, newest_year, todays_minor
from repairs.models import CostLine, Repair
from repairs.models.costs import CostLineQuerySet

MOST_READ = 200
KINDS = (Repair.Kind.REPAINT, Repair.Kind.RESIN, Repair.Kind.SPLICE, Repair.Kind.REPLACEMENT)


@dataclass(frozen=True)
class OwnPrice:
    """What was paid, in minor units of the property's currency, and what that is in the money of
    the year `money_of`; None where the price index does not reach, `remark` then says why."""

    minor: int
    currency: str
    paid_on: date
    what: str
    todays_minor: int | None = None
    money_of: int | None = None
    remark: str = ""

    @property
    def best_minor(self) -> int:
        """In today's money if that is known, else as it was paid."""
        return self.minor if self.todays_minor is None else self.todays_minor

    @property
    def words(self) -> str:
        paid = f"{show_money(self.minor, self.currency)}, {self.what}, {self.paid_on:%-d %B %Y}"
        if self.todays_minor is None:
            return f"{paid}, as it was paid"
        return f"{paid}; {show_money(self.todays_minor, self.currency)} in money of {self.money_of}"


@dataclass(frozen=True)
class OwnPrices:
    """`repair`, `splice` and `replacement` without access, `repaint` with it, as a plan's options
    count them."""

    repaint: OwnPrice | None = None
    access: OwnPrice | None = None
    repair: OwnPrice | None = None
    splice: OwnPrice | None = None
    replacement: OwnPrice | None = None


@dataclass(frozen=True)
class _Paid:
    minor: int
    on: date
    what: str


def last_prices(member: Member, on: date, told: CostLineQuerySet | None = None) -> OwnPrices:
    """The last cost of each, up to a day: of this member, else of one of its kind on the
    property; access also of its elevation. `told` are the lines that the reader may see, those
    of the present owner if not given."""
    place = member.building.property
    lines = (CostLine.objects.of_current_owner() if told is None else told).filter(
        building__property=place, counts_on__lte=on
    )
    done, access = _last_done(member, lines), _last_access(member, lines)
    index = index_of(place.currency)

    def price(paid: _Paid | None) -> OwnPrice | None:
        return None if paid is None else _in_todays(paid, place.currency, on, index)

    return OwnPrices(
        repaint=price(done.get(Repair.Kind.REPAINT)),
        access=price(access),
        repair=price(done.get(Repair.Kind.RESIN)),
        splice=price(done.get(Repair.Kind.SPLICE)),
        replacement=price(done.get(Repair.Kind.REPLACEMENT)),
    )


def _last_done(member: Member, lines: CostLineQuerySet) -> dict[str, _Paid]:
    """The last of each kind, its own member's before those of its kind."""
    is_access = Q(kind=CostLine.Kind.ACCESS)
    found = (
        lines.filter(repair__kind__in=KINDS, repair__member__kind=member.kind)
        .exclude(repair__state=Repair.State.WITHDRAWN)
        .order_by("-repair__began_at", "-repair")
        .values_list("repair__kind", "repair__member", "repair", "repair__began_at")
        .annotate(
            whole=Sum("home_minor"),
            work=Sum("home_minor", filter=~is_access),
            last=Max("counts_on"),
        )
    )
    like = f"of a {member.get_kind_display().lower()} on this property"
    chosen: dict[str, tuple[bool, _Paid]] = {}
    for kind, of, _, _, whole, work, last in found[:MOST_READ]:
        minor, own = whole if kind == Repair.Kind.REPAINT else work, of == member.pk
        if not minor or minor <= 0 or (kind in chosen and (chosen[kind][0] or not own)):
            continue
        name = f"the last {Repair.Kind(kind).label.lower()} {'of this member' if own else like}"
        chosen[kind] = own, _Paid(minor, last, name)
    return {kind: paid for kind, (_, paid) in chosen.items()}


def _last_access(member: Member, lines: CostLineQuerySet) -> _Paid | None:
    """Lines of one repair or of one shared cost are one access; what was taken back is none."""
    near = Q(member=member)
    if member.elevation_id is not None:
        near |= Q(member__elevation=member.elevation_id)
    found = lines.filter(near, kind=CostLine.Kind.ACCESS).order_by("-counts_on", "-pk")
    groups: dict[tuple[object, ...], list[CostLine]] = defaultdict(list)
    for line in found[:MOST_READ]:
        alone = None if line.repair_id or line.shared_id else line.reverses_id or line.pk
        groups[line.member_id, line.repair_id, line.shared_id, alone].append(line)
    paid = [group for group in groups.values() if _sum(group) > 0]
    own = [group for group in paid if group[0].member_id == member.pk]
    if not paid:
        return None
    group = (own or paid)[0]
    what = "the last access to this member" if own else "the last access on its elevation"
    return _Paid(_sum(group), max(line.counts_on for line in group), what)


def _sum(lines: Iterable[CostLine]) -> int:
    return sum(line.home_minor for line in lines)


def _in_todays(paid: _Paid, currency: str, on: date, index: Mapping[int, Decimal]) -> OwnPrice:
    """In the money of the newest year that the index has, up to the day; what was paid in the
    year of the day is in its money already."""
    plain = OwnPrice(paid.minor, currency, paid.on, paid.what)
    money_of = on.year if paid.on.year == on.year else newest_year(index, on.year)
    if money_of is None:
        return plain
    try:
        today = todays_minor(paid.minor, paid.on.year, on.year, index)
    except YearMissing as missing:
        return replace(plain, remark=str(missing))
    return replace(plain, todays_minor=today, money_of=money_of)
