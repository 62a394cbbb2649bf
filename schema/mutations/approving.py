"""What people decide about proofs; each decision names what was shown."""

from __future__ import annotations

from dataclasses import asdict

import strawberry

from schema.context import Info
from schema.inputs import AcceptedInput, AcceptedKindsInput, PointInput, ShownInput, checked
from schema.mutations.ordering import SuitesShownInput, decided
from schema.mutations.outcome import OrderOutcome, change
from service.orders.actors import Actor
from service.rest.asks.cutting import ChangeRequestAsk, FeasibilityAsk, ProofsAsk, RejectionAsk, WaiverAsk
from service.rest.asks.prices import SignatureAsk
from service.usecases import approving
from service.usecases.answers import WholeOrder
from service.usecases.context import Context


@strawberry.type
class ApprovingMutations:
    """Part of the mutations."""

    @strawberry.mutation
    async def offer_proofs(
        self,
        info: Info,
        order_id: strawberry.ID,
        shown: list[ShownInput],
        whole: SuitesShownInput = None,
    ) -> OrderOutcome:
        """Put checked proofs before the client for signing."""

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(ProofsAsk, decided(shown, whole))
            return approving.offer_proofs(ctx, actor, order_id, ask.all_shown(), ask.all_whole())

        return await change(info.context, work)

    @strawberry.mutation
    async def sign_off(
        self,
        info: Info,
        order_id: strawberry.ID,
        shown: list[ShownInput],
        *,
        quote: str | None = None,
        whole: SuitesShownInput = None,
        accepted: list[AcceptedInput] | None = None,
        accepted_together: list[AcceptedKindsInput] | None = None,
        draft_revision: int | None = None,
    ) -> OrderOutcome:
        """Sign exactly these proofs, as the client; `quote` is the digest of the price agreed to. One act: a
        draft of `draftRevision` is sent to the maker with it, and remarks are accepted; refused in part, none of
        it has happened."""
        given = {
            **decided(shown, whole),
            "quote": quote,
            "accepted": [asdict(one) for one in accepted or []],
            "accepted_together": [asdict(one) for one in accepted_together or []],
            "draft_revision": draft_revision,
        }

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(SignatureAsk, given)
            return approving.sign_off(
                ctx,
                actor,
                order_id,
                ask.all_shown(),
                ask.quote or "",
                whole=ask.all_whole(),
                accepting=ask.accepting(),
                draft_revision=ask.draft_revision,
            )

        return await change(info.context, work)

    @strawberry.mutation
    async def find_feasible(
        self,
        info: Info,
        order_id: strawberry.ID,
        shown: list[ShownInput],
        words: str = "",
        whole: SuitesShownInput = None,
    ) -> OrderOutcome:
        """Judge these proofs feasible, as the maker."""
        given = {**decided(shown, whole), "words": words}

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(FeasibilityAsk, given)
            seen, together = ask.all_shown(), ask.all_whole()
            return approving.find_feasible(ctx, actor, order_id, seen, ask.words, whole=together)

        return await change(info.context, work)

    @strawberry.mutation
    async def waive_remarks(self, info: Info, shown: ShownInput, remarks: list[str]) -> OrderOutcome:
        """Accept named remarks of one proof, as the client; a finding that stops cannot be waived."""
        given = {"shown": asdict(shown), "remarks": remarks}

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(WaiverAsk, given)
            return approving.waive(ctx, actor, ask.shown.shown(), ask.remarks)

        return await change(info.context, work)

    @strawberry.mutation
    async def ask_for_change(
        self, info: Info, shown: ShownInput, words: str, place: PointInput | None = None
    ) -> OrderOutcome:
        """Ask for a change of one proof, perhaps pinned on a place, as the client."""
        given = {"shown": asdict(shown), "words": words, "place": [place.x, place.y] if place else None}

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(ChangeRequestAsk, given)
            return approving.ask_for_change(ctx, actor, ask.shown.shown(), ask.words, ask.place)

        return await change(info.context, work)

    @strawberry.mutation
    async def reject_proof(self, info: Info, shown: ShownInput, reason: str) -> OrderOutcome:
        """Reject one proof with a reason, as the maker."""
        given = {"shown": asdict(shown), "reason": reason}

        def work(ctx: Context, actor: Actor) -> WholeOrder:
            ask = checked(RejectionAsk, given)
            return approving.reject(ctx, actor, ask.shown.shown(), ask.reason)

        return await change(info.context, work)
