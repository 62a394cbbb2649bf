"""Proofs and what people decide about them; each decision names what was shown."""

from __future__ import annotations

from service.orders.errors import NotFound
from service.rest.asks.cutting import ChangeRequestAsk, FeasibilityAsk, ProofsAsk, RejectionAsk, WaiverAsk
from service.rest.asks.prices import SignatureAsk
from service.rest.bodies.orders import OrderBody, ProofBody, proof_body
from service.rest.doors.ordering import whole
from service.rest.operation import Answer, Call, Operation
from service.usecases import approving, looking

TAG = "Proofs and decisions"


def _get(call: Call) -> Answer:
    proof = looking.proofs_by_ids(call.ctx, call.actor, [call.path["proof"]])[0]
    if proof is None:
        raise NotFound("proof")
    return Answer(proof_body(proof))


def _list(call: Call) -> Answer:
    carving = call.path["carving"]
    if looking.carvings_by_ids(call.ctx, call.actor, [carving])[0] is None:
        raise NotFound("carving")
    proofs = looking.proofs_by_carving_ids(call.ctx, call.actor, [carving])[0]
    return Answer(tuple(proof_body(proof) for proof in proofs))


def _offer(call: Call) -> Answer:
    shown, together = call.ask.all_shown(), call.ask.all_whole()
    return whole(approving.offer_proofs(call.ctx, call.actor, call.path["order"], shown, together))


def _sign_off(call: Call) -> Answer:
    ask = call.ask
    signed = approving.sign_off(
        call.ctx,
        call.actor,
        call.path["order"],
        ask.all_shown(),
        ask.quote or "",
        whole=ask.all_whole(),
        accepting=ask.accepting(),
        draft_revision=ask.draft_revision,
    )
    return whole(signed)


def _find_feasible(call: Call) -> Answer:
    shown, words = call.ask.all_shown(), call.ask.words
    order, together = call.path["order"], call.ask.all_whole()
    return whole(approving.find_feasible(call.ctx, call.actor, order, shown, words, whole=together))


def _waive(call: Call) -> Answer:
    return whole(approving.waive(call.ctx, call.actor, call.ask.shown.shown(), call.ask.remarks))


def _ask_change(call: Call) -> Answer:
    ask = call.ask
    return whole(approving.ask_for_change(call.ctx, call.actor, ask.shown.shown(), ask.words, ask.place))


def _reject(call: Call) -> Answer:
    return whole(approving.reject(call.ctx, call.actor, call.ask.shown.shown(), call.ask.reason))


_REFUSALS = ("not-current", "wrong-state")

OPERATIONS = (
    Operation("GET", "/proofs/{proof}", "getProof", "Get a proof.", TAG, _get, gives=ProofBody),
    Operation(
        "GET",
        "/carvings/{carving}/proofs",
        "listProofs",
        "List every proof a carving ever had, newest first.",
        TAG,
        _list,
        gives=tuple[ProofBody, ...],
    ),
    Operation(
        "POST",
        "/orders/{order}/offers",
        "offerProofs",
        "Put checked proofs before the client for signing.",
        TAG,
        _offer,
        ask=ProofsAsk,
        gives=OrderBody,
        problems=("will-not-carve", *_REFUSALS),
    ),
    Operation(
        "POST",
        "/orders/{order}/sign-offs",
        "signOff",
        "Sign exactly these proofs, as the client.",
        TAG,
        _sign_off,
        ask=SignatureAsk,
        gives=OrderBody,
        problems=("remarks-open", "quote-changed", "no-price", "stale", "will-not-carve", *_REFUSALS),
        more="One act: a draft is sent to the maker with it where `draft_revision` names it, proofs not offered yet "
        "are, and remarks are accepted; where any of it is refused, none of it has happened. Where the workshop "
        "has prices, the signature names the quote it agrees to (`getQuote`).",
    ),
    Operation(
        "POST",
        "/orders/{order}/feasibility",
        "findFeasible",
        "Judge these proofs feasible, as the maker.",
        TAG,
        _find_feasible,
        ask=FeasibilityAsk,
        gives=OrderBody,
        problems=("will-not-carve", *_REFUSALS),
    ),
    Operation(
        "POST",
        "/waivers",
        "waiveRemarks",
        "Accept named remarks of one proof, as the client.",
        TAG,
        _waive,
        ask=WaiverAsk,
        gives=OrderBody,
        problems=_REFUSALS,
        more="A finding that stops cannot be waived.",
    ),
    Operation(
        "POST",
        "/change-requests",
        "askForChange",
        "Ask for a change of one proof, as the client.",
        TAG,
        _ask_change,
        ask=ChangeRequestAsk,
        gives=OrderBody,
        problems=_REFUSALS,
    ),
    Operation(
        "POST",
        "/rejections",
        "rejectProof",
        "Reject one proof with a reason, as the maker.",
        TAG,
        _reject,
        ask=RejectionAsk,
        gives=OrderBody,
        problems=_REFUSALS,
    ),
)
