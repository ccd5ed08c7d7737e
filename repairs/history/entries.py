"""The diary: everything dated that happened at a property, in order, from one query.

Each kind of thing that happens is a small query with the same columns; their union is put in
order and cut into pages by the database, so that the number of queries never grows."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import models
from django.db.models import Count, F, OuterRef, QuerySet, Subquery, Value
from django.db.models.functions import Cast, Coalesce, Concat, NullIf, Trim, TruncDate

from properties.models import Building, Defect, Member, MoistureReading, Ownership, Property
from repairs.models import CostLine, Inspection, KeptRemark, Photograph, Repair, SignOff

from .scope import Scope

TYPES: dict[str, models.Field[Any, Any]] = {
    "on": models.DateField(),
    "rank": models.IntegerField(),
    "at": models.DateTimeField(),
    "what": models.CharField(),
    "key": models.BigIntegerField(),
    "member": models.BigIntegerField(),
    "mark": models.CharField(),
    "place": models.CharField(),
    "code": models.CharField(),
    "state": models.CharField(),
    "zone": models.CharField(),
    "who": models.CharField(),
    "text": models.TextField(),
    "other_on": models.DateField(),
    "amount": models.BigIntegerField(),
    "photographs": models.IntegerField(),
    "entered_at": models.DateTimeField(),
}
# What may be chosen on the page, and which entries each choice holds.
SUBJECTS = {
    "owners": ("Owners and buildings", ("owner", "given_up", "demolished", "removed")),
    "defects": ("Defects", ("found", "cause", "closed")),
    "moisture": ("Moisture", ("moisture",)),
    "repairs": ("Repairs", ("repair", "failed", "released")),
    "sign_offs": ("Sign-offs", ("sign_off",)),
    "inspections": ("Inspections", ("inspection",)),
    "costs": ("Costs", ("cost",)),
}
SUBJECT_CHOICES = [(value, label) for value, (label, _) in SUBJECTS.items()]


@dataclass(frozen=True)
class Happening:
    """One dated line as the database tells it; `entry_words` puts it into sentences."""

    on: date
    rank: int
    at: datetime | None
    what: str
    key: int
    member: int | None
    mark: str
    place: str
    code: str
    state: str
    zone: str
    who: str
    text: str
    other_on: date | None
    amount: int | None
    photographs: int
    entered_at: datetime | None


def happenings(scope: Scope, subject: str = "", newest_first: bool = False) -> QuerySet[Any, Any]:
    """Rows of values, in order; `read` makes them happenings. Sliceable."""
    wanted = SUBJECTS[subject][1] if subject in SUBJECTS else None
    parts = [rows for what, rows in _parts(scope) if wanted is None or what in wanted]
    if not parts:
        return Ownership.objects.none().values_list("pk")
    union = parts[0].union(*parts[1:], all=True) if len(parts) > 1 else parts[0]
    order = ["h_on", "h_rank", "h_at", "h_what", "h_key"]
    return union.order_by(*(f"-{name}" for name in order) if newest_first else order)


def days(scope: Scope, subject: str = "") -> list[date]:
    """The day of every happening, oldest first: how many there are, and in which years."""
    rows = happenings(scope, subject).order_by("h_on").values_list("h_on", flat=True)
    return list(rows)


def read(rows: Any) -> list[Happening]:
    return [Happening(*row) for row in rows]


def _parts(scope: Scope) -> Iterator[tuple[str, QuerySet[Any, Any]]]:
    if scope.member is None:
        yield from _of_the_place(scope)
    yield from _of_defects(scope)
    yield from _of_repairs(scope)
    inspections = Inspection.objects.filter(**_here(scope, "member__"))
    yield "inspection", _rows(
        scope, inspections, "inspection", 60, F("looked_on"), member="member__",
        code=F("result"), zone=F("zone"), text=F("notes"), who=_name("looked_by"),
        other_on=F("due__due_on"), entered_at=F("entered_at"),
        photographs=_photographs("inspection"),
    )  # fmt: skip
    if scope.costs:
        yield "cost", _costs(scope)


def _of_the_place(scope: Scope) -> Iterator[tuple[str, QuerySet[Any, Any]]]:
    own = {"property": scope.of}
    yield "owner", _rows(
        scope, Ownership.objects.filter(**own), "owner", 0, F("from_on"),
        who=F("owner__name"), text=F("note"), other_on=F("to_on"),
    )  # fmt: skip
    yield "given_up", _rows(
        scope, Property.objects.filter(pk=scope.of.pk), "given_up", 90, F("given_up_on"),
        text=F("given_up_reason"),
    )  # fmt: skip
    yield "demolished", _rows(
        scope, Building.objects.filter(**own), "demolished", 80, F("demolished_on"),
        place=F("name"),
    )  # fmt: skip


def _of_defects(scope: Scope) -> Iterator[tuple[str, QuerySet[Any, Any]]]:
    members = Member.objects.filter(**_here(scope, ""))
    yield "removed", _rows(
        scope, members, "removed", 70, F("removed_on"), member="self",
        code=F("kind"), text=F("removed_reason"), state=_or_empty("superseded_by__mark"),
    )  # fmt: skip
    defects = Defect.objects.filter(**_here(scope, "member__"))
    facts: dict[str, Any] = {"member": "member__", "code": F("kind"), "zone": F("zone")}
    yield "found", _rows(
        scope, defects, "found", 10, F("found_on"), who=F("found_by"), text=F("notes"),
        state=F("cause"), entered_at=_first_recorded(Defect),
        photographs=_photographs("defect"), **facts,
    )  # fmt: skip
    yield "cause", _rows(
        scope, defects, "cause", 20, F("cause_put_right_on"), state=F("cause"),
        text=F("cause_note"), **facts,
    )  # fmt: skip
    yield "closed", _rows(scope, defects, "closed", 75, F("closed_on"), state=F("state"), **facts)
    readings = MoistureReading.objects.filter(**_here(scope, "member__"))
    yield "moisture", _rows(
        scope, readings, "moisture", 30, _day("taken_at", scope), at=F("taken_at"),
        member="member__", zone=F("zone"), who=F("taken_by"), text=F("note"),
        code=_text("raw_pct"), state=Coalesce(_text("corrected_pct"), Value("")),
        entered_at=_first_recorded(MoistureReading),
    )  # fmt: skip


def _of_repairs(scope: Scope) -> Iterator[tuple[str, QuerySet[Any, Any]]]:
    repairs = Repair.objects.standing().filter(**_here(scope, "member__"))
    facts: dict[str, Any] = {"member": "member__", "code": F("kind"), "zone": F("zone")}
    yield "repair", _rows(
        scope, repairs, "repair", 30, _day("began_at", scope), at=F("began_at"),
        state=F("relation"), who=F("done_by"), text=F("notes"), other_on=_day("ended_at", scope),
        entered_at=F("entered_at"), photographs=_photographs("repair"), **facts,
    )  # fmt: skip
    yield "failed", _rows(scope, repairs, "failed", 65, F("failed_on"), **facts)
    told = {"repair__in": repairs}
    about: dict[str, Any] = {"key": F("repair"), "member": "repair__member__"}
    yield "released", _rows(
        scope, KeptRemark.objects.filter(**told), "released", 55, F("released_on"),
        code=F("found"), text=F("released_word"), who=_name("released_by", ""), **about,
    )  # fmt: skip
    yield "sign_off", _rows(
        scope, SignOff.objects.filter(**told), "sign_off", 50, F("signed_on"),
        code=F("verdict"), state=Coalesce(_text("stage__position"), Value("")),
        zone=F("role"), who=F("name"), text=F("note"), entered_at=F("entered_at"), **about,
    )  # fmt: skip


def _costs(scope: Scope) -> QuerySet[Any, Any]:
    lines = CostLine.objects.filter(building__property=scope.of)
    if scope.member is not None:
        lines = lines.filter(member=scope.member)
    if scope.costs_from is not None:
        lines = lines.filter(counts_on__gte=scope.costs_from)
    return _rows(
        scope, lines, "cost", 95, F("counts_on"), member="member__", place=F("building__name"),
        code=F("kind"), state=F("borne_by"), who=F("supplier"), text=F("description"),
        other_on=F("worked_on"), amount=F("home_minor"), entered_at=F("entered_at"),
    )  # fmt: skip


def _rows(
    scope: Scope,
    found: QuerySet[Any],
    what: str,
    rank: int,
    on: Any,
    member: str = "",
    **columns: Any,
) -> QuerySet[Any, Any]:
    """One kind of happening in the columns of all; a column not given is empty."""
    columns |= {"on": on, "rank": Value(rank), "what": Value(what)}
    columns.setdefault("key", F("pk"))
    columns |= _place_columns(member, "place" in columns)
    columns |= {name: _or_empty(columns[name].name) for name in ("who", "text")
                if isinstance(columns.get(name), F)}  # fmt: skip
    blanks = {"rank": Value(0), "photographs": Value(0)}
    cast = {
        f"h_{name}": Cast(columns.get(name, blanks.get(name, _blank(kind))), kind)
        for name, kind in TYPES.items()
    }
    rows = found.order_by().annotate(**cast).filter(h_on__isnull=False)
    if scope.first is not None:
        rows = rows.filter(h_on__gte=scope.first)
    if scope.last is not None:
        rows = rows.filter(h_on__lte=scope.last)
    return rows.values_list(*cast)


def _place_columns(member: str, placed: bool) -> dict[str, Any]:
    if not member:
        return {}
    lead = "" if member == "self" else member
    columns = {"member": F(f"{lead}pk"), "mark": _or_empty(f"{lead}mark")}
    return columns if placed else {**columns, "place": _or_empty(f"{lead}building__name")}


def _blank(kind: models.Field[Any, Any]) -> Value:
    texts = isinstance(kind, models.CharField | models.TextField)
    return Value("" if texts else None)


def _here(scope: Scope, lead: str) -> dict[str, Any]:
    if scope.member is not None:
        return {f"{lead}pk": scope.member.pk}
    return {f"{lead}building__property": scope.of}


def _day(name: str, scope: Scope) -> TruncDate:
    """The date on site at an instant."""
    return TruncDate(name, tzinfo=scope.zone)


def _text(name: str) -> Cast:
    return Cast(name, models.CharField())


def _or_empty(name: str) -> Coalesce:
    return Coalesce(F(name), Value(""), output_field=models.TextField())


def _name(user: str, typed: str = "looked_by_name") -> Coalesce:
    """A person's name as typed, else the full name of the log-in."""
    text = models.TextField()
    full = Trim(Concat(
        _or_empty(f"{user}__first_name"), Value(" "), _or_empty(f"{user}__last_name"),
        output_field=text,
    ))  # fmt: skip
    if not typed:
        return Coalesce(full, Value(""), output_field=text)
    return Coalesce(NullIf(F(typed), Value("")), full, output_field=text)


def _first_recorded(model: Any) -> Subquery:
    """When a thing without its own day of entry first came into the record."""
    log = model.history.filter(id=OuterRef("pk"), history_type="+").order_by("history_date")
    return Subquery(log.values("history_date")[:1])


def _photographs(name: str) -> Coalesce:
    taken = Photograph.objects.filter(**{name: OuterRef("pk")}).order_by().values(name)
    return Coalesce(Subquery(taken.annotate(count=Count("pk")).values("count")), 0)
