"""The rules for waiting: what a stage is laid on has cured, or its recoat window is open."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal

from repairs.curing import CureEstimate, RecoatWindow, cure_ready_at, recoat_window

from .facts import LayerFacts, StageFacts
from .remark import Remark
from .words import instant, short, span, stage

ON_RESIN = frozenset({"treat", "seal", "fill"})
COATING = frozenset({"prime", "paint"})
TRY_IT = "try a thumbnail on it or on the kept sample"


def layer_cure(layer: LayerFacts) -> CureEstimate:
    """Full cure of one layer, counted from mixing; below its sheet's lowest temperature it
    stands still."""
    sheet = layer.sheet
    return cure_ready_at(
        layer.mixed_at,
        sheet.cure_time,
        _sane(sheet.cure_at_c),
        _sane(layer.temperature_c),
        sheet.apply_min_c,
        sheet.activation_energy_kj_mol,
    )


def layer_window(layer: LayerFacts) -> RecoatWindow:
    """The recoat window of one layer, counted from when the last of it went on."""
    sheet = layer.sheet
    return recoat_window(
        layer.in_place_at,
        sheet.recoat_from,
        sheet.recoat_to,
        reference_c=_sane(sheet.cure_at_c),
        temperature_c=_sane(layer.temperature_c),
        minimum_c=sheet.apply_min_c,
        activation_kj_mol=sheet.activation_energy_kj_mol,
    )


def begun_before_cured(facts: StageFacts) -> list[Remark]:
    """Shaped, or laid over, before the layer below had cured where no recoat window is known."""
    if facts.kind == "shape":
        layers = [layer for layer in facts.below if layer.sheet.is_resin]
    elif facts.kind in ON_RESIN | COATING:
        layers = [
            layer
            for layer in _topmost(facts.below)
            if layer.sheet.recoat_from is None
            and layer.sheet.recoat_to is None
            and not (facts.kind in COATING and layer.sheet.is_resin)
        ]
    else:
        layers = []
    advice = (
        "Wait for the cure; the dust of resin not yet cured makes skin allergic."
        if facts.kind == "shape"
        else f"Wait for the cure. If it is done, {TRY_IT}, and open up what stayed soft."
    )
    return _too_early(facts, layers, "begun-before-cured", advice)


def painted_before_cure(facts: StageFacts) -> list[Remark]:
    """Primed or painted before every resin below had cured in full."""
    if facts.kind not in COATING:
        return []
    layers = [layer for layer in facts.below if layer.sheet.is_resin]
    return _too_early(
        facts,
        layers,
        "painted-before-cure",
        f"Paint over resin not cured wrinkles and stays soft: wait, {TRY_IT} before each coat, "
        "and strip what stays soft.",
    )


def cure_not_known(facts: StageFacts) -> list[Remark]:
    """Painted or shaped over a resin whose sheet gives no cure time."""
    if facts.kind not in COATING | {"shape"}:
        return []
    silent = [
        layer for layer in facts.below if layer.sheet.is_resin and layer.sheet.cure_time is None
    ]
    if not silent:
        return []
    sheet = silent[-1].sheet
    return [
        Remark(
            "cure-not-known",
            "note",
            f"No cure time is recorded for {short(sheet.product)}.",
            "",
            sheet.source,
            f"Enter it from the sheet; until then {TRY_IT}.",
            about=sheet.product,
        )
    ]


def begun_before_window(facts: StageFacts) -> list[Remark]:
    """Laid on before the recoat window of the layer below had opened."""
    layers = [layer for layer in _window_layers(facts) if layer.sheet.recoat_from is not None]
    windows = [(layer_window(layer), layer) for layer in layers]
    early = [
        (window, layer)
        for window, layer in windows
        if window.opens_at is None or facts.began_at < window.opens_at
    ]
    if not early:
        return []
    window, layer = max(early, key=lambda pair: _or_never(pair[0].opens_at, facts.began_at))
    found = f"{stage(facts.kind)} began on a layer that had not begun to set in the cold."
    limit = "the recoat window does not open while it is too cold"
    if window.opens_at is not None:
        wait = span(window.opens_at - facts.began_at)
        found = f"{stage(facts.kind)} began {wait} before the recoat window of {_layer(layer)}."
        limit = f"opens {instant(window.opens_at)}; {_phrase(window.basis)}"
    return [
        Remark(
            "begun-before-window",
            "warning",
            found,
            limit[:300],
            layer.sheet.source,
            "Wait for the window. If it is done, what lies below may stay soft: try the edge once "
            "the layer is hard.",
            holds=True,
        )
    ]


def recoat_missed(facts: StageFacts) -> list[Remark]:
    """Laid on after the recoat window of the layer below, with no wash and abrade recorded."""
    if facts.washed_and_abraded is True:
        return []
    late = [
        (window.closes_at, layer)
        for layer in _window_layers(facts)
        if (window := layer_window(layer)).closes_at is not None
        and facts.began_at > window.closes_at
    ]
    if not late:
        return []
    closed_at, layer = min(late, key=lambda pair: pair[0] or facts.began_at)
    assert closed_at is not None
    assert layer.sheet.recoat_to is not None
    after = span(facts.began_at - layer.in_place_at)
    done = (
        "no wash and abrading is recorded"
        if facts.washed_and_abraded is None
        else ("it was not washed and abraded")
    )
    return [
        Remark(
            "recoat-missed",
            "warning",
            f"{stage(facts.kind)} began {after} after {_layer(layer)} went on, and {done}.",
            f"within {span(layer.sheet.recoat_to)}, until {instant(closed_at)}",
            layer.sheet.source,
            "Wash with water, dry and abrade before the next layer, and record it. If it is done "
            "without, tap the layer once it is hard: a hollow sound means that it has let go.",
            holds=True,
        )
    ]


def wash_not_recorded(facts: StageFacts) -> list[Remark]:
    """On cured resin with no word of washing and abrading: a greasy film may lie on it."""
    if facts.washed_and_abraded is True or facts.kind not in ON_RESIN | COATING:
        return []
    cured = [
        layer
        for layer in _topmost(facts.below)
        if layer.sheet.is_resin
        and layer_cure(layer).ready(facts.began_at)
        and (facts.kind in COATING or layer.sheet.recoat_to is None)
    ]
    if not cured:
        return []
    return [
        Remark(
            "wash-not-recorded",
            "note",
            f"{stage(facts.kind)} on cured {short(cured[-1].sheet.product)}: no wash and abrading "
            "is recorded.",
            "",
            "common practice, no source",
            "Cured resin can carry a greasy film: wash with water, dry and abrade, and record it.",
        )
    ]


WAITING_RULES = (
    begun_before_cured, painted_before_cure, cure_not_known, begun_before_window, recoat_missed,
    wash_not_recorded,
)  # fmt: skip


def _topmost(layers: Sequence[LayerFacts]) -> list[LayerFacts]:
    last = max((layer.position for layer in layers), default=None)
    return [layer for layer in layers if layer.position == last]


def _window_layers(facts: StageFacts) -> list[LayerFacts]:
    """What a recoat window counts for: paint on resin waits for full cure instead."""
    if facts.kind not in ON_RESIN | COATING:
        return []
    return [
        layer
        for layer in _topmost(facts.below)
        if not (facts.kind in COATING and layer.sheet.is_resin)
    ]


def _too_early(
    facts: StageFacts, layers: Sequence[LayerFacts], code: str, advice: str
) -> list[Remark]:
    """One remark for the layer that is ready last."""
    early = [
        (estimate, layer)
        for layer in layers
        if layer.sheet.cure_time is not None
        and not (estimate := layer_cure(layer)).ready(facts.began_at)
    ]
    if not early:
        return []
    estimate, layer = max(early, key=lambda pair: _or_never(pair[0].ready_at, facts.began_at))
    found = f"{stage(facts.kind)} began while {_layer(layer)} stood still in the cold."
    limit = _phrase(estimate.basis)
    if estimate.ready_at is not None:
        wait = span(estimate.ready_at - facts.began_at)
        found = f"{stage(facts.kind)} began {wait} before {_layer(layer)} had cured."
        limit = f"cured about {instant(estimate.ready_at)}; {limit}"
    return [Remark(code, "warning", found, limit[:300], layer.sheet.source, advice, holds=True)]


def _layer(layer: LayerFacts) -> str:
    return f"the {short(layer.sheet.product)}"


def _phrase(sentence: str) -> str:
    return (sentence[:1].lower() + sentence[1:]).removesuffix(".")


def _or_never(moment: datetime | None, at: datetime) -> datetime:
    """A moment that does not come sorts last."""
    return moment or datetime.max.replace(tzinfo=at.tzinfo)


def _sane(celsius: Decimal | None) -> Decimal | None:
    """A temperature that the cure rule can reckon with; an absurd one counts as none."""
    return celsius if celsius is not None and -40 <= celsius <= 100 else None
