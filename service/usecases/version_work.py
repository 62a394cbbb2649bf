"""Working out versions of a drawing that carve: in the background, once for the same cut."""

from __future__ import annotations

import logging
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from artwork.errors import EngineError
from artwork.jsonable import bit_to_json, slat_to_json
from artwork.repair.values import foremost, much_larger_turned
from service.access import rate_limit
from service.metering import FAILED_PROPOSALS
from service.orders.actors import System
from service.orders.chain import canonical_digest
from service.orders.cuts import circumstances
from service.orders.order import Carving
from service.orders.proofs import Proof
from service.orders.versions import KeptCure, NoVersion, Version, VersionKind, VersionSet
from service.orders.work import JobKind
from service.store import art, orders, shop, versions
from service.store.tenant_scope import TenantScope
from service.usecases import computing_versions
from service.usecases.blob_refs import add_blob_refs, put_all
from service.usecases.computing_versions import FoundCure, FoundCures, FoundRepairs, FoundVersion, Laid
from service.usecases.context import Context
from service.usecases.drawing import cut_of
from service.usecases.in_hand import InHand
from service.usecases.opened import OpenOrder, open_order
from service.usecases.progress import Progress

ALIKE = 0.03
"""Two versions whose sizes differ by no more than this share look the same."""
SPARE_CPU_SECONDS = 30.0
"""What a computation may take beyond the time for repairs before it is stopped: the last step, pictures, cures."""

log = logging.getLogger("slatproof.versions")


def question_about(hand: InHand, proof_digest: str) -> str:
    """Names all that the versions of a cut depend on: the cut, the slats and the bits that it could have instead."""
    at = circumstances(hand.carving, hand.line, hand.settings)
    return canonical_digest(
        {
            "cut": proof_digest,
            "slats": [slat_to_json(each) for each in hand.other_slats(at)],
            "bits": [bit_to_json(each) for each in hand.other_bits(at)],
        }
    )


def ask_versions(opened: OpenOrder, carving: Carving, proof: Proof, whence: str) -> None:
    """Have versions worked out for a proof that stops, or that has flat bottoms, within the budgets of them."""
    floors = proof.check["figures"]["floor_area"] > 0
    if proof.verdict == "carves" or (proof.verdict == "carves-with-remarks" and not floors):
        return
    waits = [
        rate_limit.count_attempt(opened.connection, *budget, opened.now)
        for budget in version_budgets(opened.order.id, whence)
    ]
    if not any(waits):
        opened.ask(JobKind.VERSIONS, carving.id, proof=proof.id)


def version_budgets(order_id: str, whence: str) -> list[tuple[rate_limit.Limit, str]]:
    """What counts versions of an order; ``whence``: digest of the network they are asked from, empty for none."""
    network = [(rate_limit.VERSIONS_NETWORK, whence)] if whence else []
    return [(rate_limit.VERSIONS, order_id), *network]


def make_versions(ctx: Context, payload: Mapping[str, Any], progress: Progress) -> None:
    """The body of :func:`service.usecases.jobs.versions_job`."""
    asked = _asked(ctx, payload)
    if asked is None:
        return  # overtaken
    if _known(ctx, payload["workshop"], asked.key):
        _keep(ctx, payload, asked, None)  # another order had them made
        return
    pictures = _Pictures(ctx, asked)
    turned = _turned(ctx, asked, progress)
    if turned is not None and turned.versions:
        _keep(ctx, payload, asked, _made(pictures, progress, FoundCures((), ()), turned, part=0.1))
    first = _first(ctx, asked, progress)
    if turned is not None:
        first = turned.with_more(first)
    if first.versions:
        _keep(ctx, payload, asked, _made(pictures, progress, FoundCures((), ()), first, part=0.25))
    cures = _cures(ctx, asked, progress)
    repairs = first if first.enough else first.with_more(_repairs(ctx, asked, progress, turned))
    if len(repairs.versions) > len(first.versions):  # nobody waits for the sturdier ones to see the others
        _keep(ctx, payload, asked, _made(pictures, progress, cures, repairs, part=0.7))
    _keep(ctx, payload, asked, _made(pictures, progress, cures, repairs))


def _keep(
    ctx: Context,
    payload: Mapping[str, Any],
    asked: _Asked,
    made: tuple[VersionSet, list[tuple[str, bytes]]] | None,
) -> None:
    """Store what there is; whoever looks at the order learns of it."""
    with open_order(ctx, System(payload["workshop"]), asked.hand.carving.order_id, "prove") as opened:
        if opened.order.erased_at is None:
            if made is not None:
                found, files = made
                add_blob_refs(ctx, opened.connection, *files)
                versions.keep_set(opened.connection, found)
            opened.changed()


def _known(ctx: Context, workshop_id: str, key: str) -> bool:
    with ctx.store.reading() as connection:
        return any(each.whole for each in versions.sets_by_keys(connection, workshop_id, [key]))


@dataclass(frozen=True)
class _Asked:
    """A carving whose cut is asked about, as it stood when work on it began."""

    hand: InHand
    proof: Proof
    key: str
    outline: bytes
    laid: Laid

    def laid_like(self, version: FoundVersion, outline: bytes | None = None) -> Laid:
        """An outline on the slat, with the bit, of a version."""
        at = self.laid.at
        slats = {each.key: each for each in (at.slat, *self.hand.other_slats(at))}
        bits = {each.key: each for each in (at.bit, *self.hand.other_bits(at))}
        changed = replace(at, slat=slats[version.slat_key], bit=bits[version.bit_key])
        return Laid(outline or version.outline, changed, version.placement)


def _asked(ctx: Context, payload: Mapping[str, Any]) -> _Asked | None:
    reach = TenantScope(payload["workshop"])
    with ctx.store.reading() as connection:
        carvings = orders.carvings_by_ids(connection, reach, [payload["subject"]])
        if not carvings or carvings[0].proof_id != payload["proof"]:
            return None
        order_id = carvings[0].order_id
        lines = orders.lines_of_orders(connection, reach, [order_id])
        siblings = tuple(orders.carvings_of_orders(connection, reach, [order_id]))
        settings = shop.read_settings(connection, payload["workshop"])
        proof = art.proofs_by_ids(connection, reach, [payload["proof"]])[0]
        line = next(line for line in lines if line.id == carvings[0].line_id)
        hand = InHand(carvings[0], line, settings, siblings)
    outline = ctx.blobs.get(proof.outline)
    at, placement = cut_of(proof)
    return _Asked(hand, proof, question_about(hand, proof.digest), outline, Laid(outline, at, placement))


def _turned(ctx: Context, asked: _Asked, progress: Progress) -> FoundRepairs | None:
    """The version turned by a quarter, where that makes it much larger: nobody waits for others to see it."""
    figures = asked.proof.check["figures"]
    if asked.proof.verdict != "will-not-carve" or not much_larger_turned(
        figures["width"], figures["height"], asked.laid.at.slat
    ):
        return None
    progress.say("turned by a quarter", 0.02)
    return _computed(ctx, asked, computing_versions.find_turned_repair)


def _first(ctx: Context, asked: _Asked, progress: Progress) -> FoundRepairs:
    """The version that leaves the art where it is: mostly the best one, and known long before all others."""
    if asked.proof.verdict != "will-not-carve":
        return FoundRepairs((), None, enough=True)
    progress.say("thickening, opening, moving apart", 0.05)
    return _computed(ctx, asked, computing_versions.find_first_repair)


def _cures(ctx: Context, asked: _Asked, progress: Progress) -> FoundCures:
    progress.say("another size, place or bit", 0.3)
    hand, laid = asked.hand, asked.laid
    try:
        found = ctx.compute.run(
            computing_versions.find_cures,
            asked.outline,
            laid.at,
            laid.placement,
            hand.other_slats(laid.at),
            hand.other_bits(laid.at),
            **_how(ctx, asked),
        )
    except EngineError as error:
        return FoundCures((), (_failed(asked, "cures", error),))
    for proposal, why in found.failed:
        FAILED_PROPOSALS.labels(proposal).inc()
        log.warning("the proposal %s failed for carving %s: %s", proposal, hand.carving.id, why)
    return found


def _repairs(ctx: Context, asked: _Asked, progress: Progress, turned: FoundRepairs | None) -> FoundRepairs:
    progress.say("turned, on two lines, with another bit", 0.5)
    bits = asked.hand.other_bits(asked.laid.at)
    return _computed(ctx, asked, computing_versions.find_other_repairs, bits, turned)


def _sturdier(
    ctx: Context, asked: _Asked, progress: Progress, versions: Sequence[FoundVersion]
) -> Sequence[FoundVersion]:
    """Of each version whose outline was changed one with more to spare, as far as it is still the drawing."""
    laid = [(each, asked.laid_like(each), before) for each in versions if (before := _before(asked, each))]
    if not laid:
        return ()
    progress.say("making it sturdier", 0.75)
    try:
        found, failed = ctx.compute.run(
            computing_versions.find_sturdier, laid, ctx.repair_seconds, **_how(ctx, asked)
        )
    except EngineError as error:
        _failed(asked, "sturdier", error)
        return ()
    for why in failed:
        FAILED_PROPOSALS.labels("sturdier").inc()
        log.warning("a sturdier version failed for carving %s: %s", asked.hand.carving.id, why)
    return found


def _computed(ctx: Context, asked: _Asked, find: Callable[..., FoundRepairs], *more: Any) -> FoundRepairs:
    try:
        return ctx.compute.run(find, asked.laid, *more, ctx.repair_seconds, **_how(ctx, asked))
    except EngineError as error:
        _failed(asked, "repair", error)
        return FoundRepairs((), NoVersion(error.message, (error.cure,), None), enough=True)


def _how(ctx: Context, asked: _Asked) -> dict[str, Any]:
    """It lets everybody else's work go first, and is stopped where it takes far longer than it may."""
    return {
        "about": asked.proof.outline,
        "gentle": True,
        "cpu_seconds": ctx.repair_seconds + SPARE_CPU_SECONDS,
    }


def _failed(asked: _Asked, proposal: str, error: EngineError) -> tuple[str, str]:
    FAILED_PROPOSALS.labels(proposal).inc()
    log.warning("%s failed for carving %s: %s", proposal, asked.hand.carving.id, error)
    return proposal, str(error)


class _Pictures:
    """Pictures of what was sent and of versions: each is drawn once, however often what there is is kept."""

    def __init__(self, ctx: Context, asked: _Asked) -> None:
        self.ctx, self.asked = ctx, asked
        self.sent = b""
        self._of: dict[FoundVersion, tuple[bytes, bytes]] = {}

    def of(self, versions: Sequence[FoundVersion]) -> list[tuple[bytes, bytes]]:
        """Of each version what will be carved, and what is different; empty where nothing of its outline is."""
        ctx, asked = self.ctx, self.asked
        new = [each for each in versions if each not in self._of]
        if new or not self.sent:
            pairs = [(asked.laid_like(each), _before(asked, each)) for each in new]
            drawn = ctx.compute.run(computing_versions.draw_versions, asked.laid, pairs, **_how(ctx, asked))
            self.sent = drawn[0][0]
            self._of |= zip(new, drawn[1:], strict=True)
        return [self._of[each] for each in versions]


def _made(
    pictures: _Pictures,
    progress: Progress,
    cures: FoundCures,
    repairs: FoundRepairs,
    *,
    part: float = 1.0,
) -> tuple[VersionSet, list[tuple[str, bytes]]]:
    """What is kept, and the files that it names.

    Args:
        pictures, progress: of the work.
        cures, repairs: what was found.
        part: how much of the work is done; less than 1 where more is to follow.
    """
    ctx, asked = pictures.ctx, pictures.asked
    whole = part == 1.0
    stops = asked.proof.verdict == "will-not-carve"
    found = [*repairs.versions, *(cure.version for cure in cures.cures if cure.version and stops)]
    ranked = _different(sorted(found, key=lambda version: version.cost))
    shown = foremost(ranked, lambda version: version.kind is VersionKind.AS_PLACED)
    every = [*shown, *(_sturdier(ctx, asked, progress, shown) if whole else ())]
    progress.say("drawing what will be left", 0.85 if whole else part)
    drawn = pictures.of(every)
    files = [asked.outline, pictures.sent, *(data for pair in drawn for data in pair if data)]
    files += [*(each.outline for each in every), *(each.outline for each in cures.cures)]
    of = put_all(ctx, files)
    made = tuple(
        _version(asked, each, of, carved, changed)
        for each, (carved, changed) in zip(every, drawn, strict=True)
    )
    kept = VersionSet(
        key=asked.key,
        workshop_id=asked.hand.settings.workshop.id,
        outline=of[asked.outline],
        sent=of[pictures.sent],
        versions=made[: len(shown)],
        cures=tuple(_cure(each, of) for each in cures.cures),
        reason=repairs.reason if not shown else None,
        made_at=ctx.clock.now(),
        whole=whole,
        sturdier=made[len(shown) :],
    )
    return kept, [(digest, data) for data, digest in of.items()]


def _different(versions: Sequence[FoundVersion]) -> list[FoundVersion]:
    """Without those that look like one before: a drawing turned either way, say."""
    found: list[FoundVersion] = []
    for one in versions:
        if not any(_alike(one, other) for other in found):
            found.append(one)
    return found


def _alike(one: FoundVersion, other: FoundVersion) -> bool:
    same = (one.outline, one.slat_key, one.bit_key) == (other.outline, other.slat_key, other.bit_key)
    sizes = ((one.width, other.width), (one.height, other.height))
    return same and all(abs(mine - theirs) <= ALIKE * theirs for mine, theirs in sizes)


def _before(asked: _Asked, version: FoundVersion) -> Laid | None:
    if version.before is None:
        return None
    outline, placement = version.before
    return replace(asked.laid_like(version, outline), placement=placement)


def _version(
    asked: _Asked, found: FoundVersion, of: Mapping[bytes, str], carved: bytes, changed: bytes
) -> Version:
    named = {name: getattr(found, name) for name in _SAME}
    return Version(
        **named,
        outline=of[found.outline],
        changed=found.outline != asked.outline,
        picture=of[carved],
        difference=of[changed] if changed else None,
    )


_SAME = (
    *("code", "kind", "sentence", "changes", "likeness", "farthest_mm", "cost", "slat_key", "bit_key"),
    *("placement", "width", "height", "verdict", "sturdier_of"),
)


def _cure(found: FoundCure, of: Mapping[bytes, str]) -> KeptCure:
    return KeptCure(
        found.code,
        found.sentence,
        of[found.outline],
        found.changed,
        found.placement,
        found.slat_key,
        found.bit_key,
        found.change,
    )
