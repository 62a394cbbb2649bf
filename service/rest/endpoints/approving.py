"""Proofs and what people decide about them; each decision names what was shown."""

from __future__ import annotations

from datetime import date

from service.orders.errors import NotFoundError
from service.rest.deprecation import Deprecated
from service.rest.endpoints.ordering import whole
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.cutting import ChangeRequestAsk, FeasibilityAsk, ProofsAsk, RejectionAsk, WaiverAsk
from service.rest.requests.prices import SignatureAsk
from service.rest.responses.orders import ProofBody, ProofsBody, proof_body
from service.rest.use import Does
from service.usecases import approving, looking

TAG = "Proofs and decisions"


def _get(call: Call) -> Answer[ProofBody]:
    proof = looking.proofs_by_ids(call.ctx, call.actor, [call.path["proof"]])[0]
    if proof is None:
        raise NotFoundError("proof")
    return Answer(proof_body(proof))


def _proofs(call: Call) -> tuple[ProofBody, ...]:
    carving = call.path["carving"]
    if looking.carvings_by_ids(call.ctx, call.actor, [carving])[0] is None:
        raise NotFoundError("carving")
    proofs = looking.proofs_by_carving_ids(call.ctx, call.actor, [carving])[0]
    return tuple(proof_body(proof) for proof in proofs)


def _bare_list(call: Call) -> Answer[tuple[ProofBody, ...]]:
    return Answer(_proofs(call))


def _list(call: Call) -> Answer[ProofsBody]:
    found = _proofs(call)
    return Answer(ProofsBody(found, len(found)))


_REFUSALS = ("not-current", "wrong-state")

OPERATIONS = tagged(
    TAG,
    Operation("GET /proofs/{proof}", "getProof", "Get a proof.", _get),
    Operation(
        "GET /carvings/{carving}/proof-history",
        "getProofHistory",
        "List every proof a carving ever had, newest first.",
        _list,
    ),
    Operation(
        "GET /carvings/{carving}/proofs",
        "listProofs",
        "List every proof a carving ever had, newest first, as a bare array.",
        _bare_list,
        deprecated=Deprecated(
            date(2026, 12, 1),
            date(2027, 12, 1),
            "/carvings/{carving}/proof-history",
            "Call `getProofHistory`, whose body can hold more than a list.",
        ),
    ),
    Operation(
        "POST /orders/{order}/offers",
        "offerProofs",
        "Put checked proofs before the client for signing.",
        Does(approving.offer_proofs, whole),
        graph="",
        ask=ProofsAsk,
        problems=("will-not-carve", *_REFUSALS),
    ),
    Operation(
        "POST /orders/{order}/sign-offs",
        "signOff",
        "Sign exactly these proofs, as the client.",
        Does(approving.sign_off, whole),
        graph="",
        ask=SignatureAsk,
        problems=("remarks-open", "quote-changed", "no-price", "stale", "will-not-carve", *_REFUSALS),
        more="One act: a draft is sent to the maker with it where `draft_revision` names it, proofs not offered yet "
        "are, and remarks are accepted; where any of it is refused, none of it has happened. Where the workshop "
        "has prices, the signature names the quote it agrees to (`getQuote`).",
    ),
    Operation(
        "POST /orders/{order}/feasibility",
        "findFeasible",
        "Judge these proofs feasible, as the maker.",
        Does(approving.find_feasible, whole),
        graph="",
        ask=FeasibilityAsk,
        problems=("will-not-carve", *_REFUSALS),
    ),
    Operation(
        "POST /waivers",
        "waiveRemarks",
        "Accept named remarks of one proof, as the client.",
        Does(approving.waive, whole),
        graph="",
        ask=WaiverAsk,
        problems=_REFUSALS,
        more="A finding that stops cannot be waived.",
    ),
    Operation(
        "POST /change-requests",
        "askForChange",
        "Ask for a change of one proof, as the client.",
        Does(approving.ask_for_change, whole),
        graph="",
        ask=ChangeRequestAsk,
        problems=_REFUSALS,
    ),
    Operation(
        "POST /rejections",
        "rejectProof",
        "Reject one proof with a reason, as the maker.",
        Does(approving.reject, whole),
        graph="",
        ask=RejectionAsk,
        problems=_REFUSALS,
    ),
)
