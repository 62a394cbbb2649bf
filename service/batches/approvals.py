"""Whether the record of decisions really lets a carving go: one rule, for exporting and for verifying."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from typing import Any

from service.batches.released import MADE, WORDS
from service.orders.record import EntryKind

_VOIDS_APPROVAL = frozenset({EntryKind.CHANGE_REQUEST, EntryKind.REJECTION})
_VOIDS_RELEASE = frozenset({EntryKind.RECALL, EntryKind.CANCELLATION})
_OF_THE_ORDER = _VOIDS_RELEASE | {EntryKind.RELEASE}


@dataclass(frozen=True)
class Decision:
    """What the rule needs of one entry of the record.

    Attributes:
        number: of the entry.
        kind: what was decided.
        order_id, carving_id, digest, picture, facts: as in the entry.
    """

    number: int
    kind: EntryKind
    order_id: str | None
    carving_id: str | None
    digest: str | None
    picture: str | None
    facts: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Claim:
    """What is about to be cut, and so must have been approved.

    Attributes:
        order_id, carving_id: which carving.
        digest, picture: of the proof it says it is.
        mark: whether it is the workshop's own mark, which its maker approves for all orders.
        made: what is about to leave, by the names that a release gives it (:mod:`service.batches.released`).
    """

    order_id: str
    carving_id: str
    digest: str
    picture: str
    mark: bool = False
    made: Mapping[str, Any] = field(default_factory=dict)


class Decisions:
    """The decisions of a record, found by order and by carving.

    Args:
        record: in any order; their numbers say which came first.
    """

    def __init__(self, record: Iterable[Decision]) -> None:
        self._orders: dict[str | None, list[Decision]] = defaultdict(list)
        self._carvings: dict[str | None, list[Decision]] = defaultdict(list)
        self._programs: dict[tuple[str | None, str | None], Decision] = {}
        for decision in record:
            if decision.kind is EntryKind.PROGRAM_CHECK:
                key = decision.order_id, decision.digest
                if key not in self._programs or self._programs[key].number < decision.number:
                    self._programs[key] = decision
            elif decision.kind in _OF_THE_ORDER:
                self._orders[decision.order_id].append(decision)
            else:
                self._carvings[decision.carving_id].append(decision)

    def program_of(self, order_id: str, digest: str) -> Decision | None:
        """The last check of a machine program against that proof; ``None`` where none was checked."""
        return self._programs.get((order_id, digest))

    def missing(self, claim: Claim) -> Iterator[str]:
        """What is lacking for that carving to be cut, in words; nothing when it may.

        What was decided of a carving before pieces of it were made an order of their own holds for them there.
        Sign-off and feasibility must name this very proof and come after the last change request and
        rejection of the carving; the sign-off must name the picture too. The order's release must come after
        both, and no recall or cancellation after it. What these say of drawings, check, pieces and order must
        be what leaves; entries of before that was said hold nothing of it. A mark has its own approval in
        place of the two, not ended before the release, which must name the mark.
        """
        if claim.mark:
            yield from self._missing_of_mark(claim)
            return
        own = list(self._own(claim.order_id, claim.carving_id))
        of_order = [
            each for each in self._orders[claim.order_id] if each.carving_id in {None, claim.carving_id}
        ]
        proof = [each for each in own if each.digest == claim.digest]
        voided = _last(own, _VOIDS_APPROVAL)
        seen = [each for each in proof if each.picture == claim.picture]
        signed = _last(seen, {EntryKind.SIGN_OFF})
        feasible = _last(proof, {EntryKind.FEASIBILITY})
        naming = [each for each in of_order if each.digest in {None, claim.digest}]
        released = _last(naming, {EntryKind.RELEASE})
        if signed <= voided:
            yield "the client has not signed this proof with this picture"
        if feasible <= voided:
            yield "the maker has not found this proof feasible"
        if released < max(signed, feasible, 1):
            yield "the order was not released after both approvals"
        elif _last(of_order, _VOIDS_RELEASE) > released:
            yield "the release was taken back"
        yield from _other_than(seen, signed, claim, "signed", ("check",))
        yield from _other_than(naming, released, claim, "released", MADE)

    def _own(self, order_id: str, carving_id: str, before: float = math.inf) -> Iterator[Decision]:
        """The decisions that hold for a carving: its own, and until it was split off those of the one it comes from."""
        for each in self._carvings[carving_id]:
            if each.order_id != order_id or each.number >= before:
                continue
            yield each
            if each.kind is EntryKind.SPLIT and {"order", "of"} <= each.facts.keys():
                yield from self._own(each.facts["order"], each.facts["of"], each.number)

    def _missing_of_mark(self, claim: Claim) -> Iterator[str]:
        own = [each for each in self._carvings[claim.carving_id] if each.order_id is None]
        this = [each for each in own if (each.digest, each.picture) == (claim.digest, claim.picture)]
        of_order = self._orders[claim.order_id]
        named = [
            each for each in of_order if (each.carving_id, each.digest) == (claim.carving_id, claim.digest)
        ]
        approved, released = _last(this, {EntryKind.MARK_APPROVAL}), _last(named, {EntryKind.RELEASE})
        if not approved:
            yield "the maker has not approved this version of the mark with this picture"
        if released < max(approved, 1):
            yield "the order was not released with this mark after its approval"
        elif any(each.kind is EntryKind.MARK_END and each.number < released for each in own):
            yield "the mark had ended before the release"
        elif (
            _last([each for each in of_order if each.carving_id in {None, claim.carving_id}], _VOIDS_RELEASE)
            > released
        ):
            yield "the release was taken back"
        yield from _other_than(named, released, claim, "released", MADE)


def _other_than(
    decisions: Iterable[Decision], number: int, claim: Claim, what: str, names: Iterable[str]
) -> Iterator[str]:
    """What leaves otherwise than the decision of that number says."""
    facts = next((each.facts for each in decisions if each.number == number), {})
    for name in names:
        if name in facts and name in claim.made and facts[name] != claim.made[name]:
            yield f"{WORDS[name]} is not what was {what}"


def _last(decisions: Iterable[Decision], kinds: Iterable[EntryKind]) -> int:
    """Number of the last decision of those kinds, 0 for none."""
    wanted = frozenset(kinds)
    return max((each.number for each in decisions if each.kind in wanted), default=0)
