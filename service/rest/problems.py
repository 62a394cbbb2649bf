"""Every answer other than yes, as ``application/problem+json`` (RFC 9457), and the types there are."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from starlette.responses import JSONResponse

from service.language.chosen import language
from service.language.phrasebook import told
from service.metering import REFUSALS
from service.orders.errors import (
    ConflictError,
    DomainError,
    FieldError,
    InvalidError,
    NotAllowedError,
    NotFoundError,
    StaleError,
    TooManyError,
)

MEDIA_TYPE = "application/problem+json"
BASE = "/problems/"


@dataclass(frozen=True)
class Kind:
    """One type of problem: what its URI means for good.

    Attributes:
        code: the last part of its URI.
        status: HTTP status it comes with.
        title: the same words every time.
        meaning: what happened and what helps, for the person who reads the reference.
    """

    code: str
    status: int
    title: str
    meaning: str

    @property
    def uri(self) -> str:
        """The type URI, relative to wherever the service is reached."""
        return BASE + self.code


def _kinds(*rows: tuple[str, int, str, str]) -> dict[str, Kind]:
    return {row[0]: Kind(*row) for row in rows}


KINDS = _kinds(
    ("bad-request", 400, "The request cannot be read", "Its JSON, form or headers are not well formed."),
    ("unauthenticated", 401, "Nobody is signed in", "Send a token, open the client's link, or sign in."),
    (
        "not-allowed",
        403,
        "You may not do this",
        "You may see this, but someone else has to do it; `detail` says who.",
    ),
    (
        "other-name",
        421,
        "The request is for another name",
        "Use the address the service was given; its owner sets it (SLATPROOF_PUBLIC_URL, SLATPROOF_ALLOWED_HOSTS).",
    ),
    (
        "other-site",
        403,
        "The request came from another site",
        "Open the page here again and send it from there.",
    ),
    (
        "not-found",
        404,
        "There is no such thing",
        "It does not exist, or it is not yours: both look the same.",
    ),
    ("method-not-allowed", 405, "This address does not take that method", "See `Allow`."),
    (
        "not-acceptable",
        406,
        "There is no such form",
        "Ask for one of the content types that the reference lists.",
    ),
    (
        "stale",
        412,
        "It has changed since you looked",
        "Load it again, look, and send the new `ETag` in `If-Match`.",
    ),
    (
        "too-large",
        413,
        "This is more than one request may hold",
        "Send less; `detail` says how much is taken.",
    ),
    (
        "unsupported-type",
        415,
        "This content type is not taken",
        "Send one of the types that the reference lists.",
    ),
    ("range-not-satisfiable", 416, "The file has no such part", "Ask for a part within the file's length."),
    (
        "invalid",
        422,
        "What was sent cannot be used",
        "`problems` names each field, what is wrong and what to do.",
    ),
    (
        "key-reused",
        422,
        "The idempotency key was used for something else",
        "Take a new key for a new request.",
    ),
    (
        "other-tus",
        412,
        "Another version of tus is spoken here",
        "Say `Tus-Resumable: 1.0.0`; `Tus-Version` names what is spoken.",
    ),
    (
        "other-offset",
        409,
        "The upload is at another place",
        "Ask with HEAD how far it came, and go on from `Upload-Offset`.",
    ),
    ("precondition-required", 428, "Say which revision you saw", "Send the `ETag` you got in `If-Match`."),
    ("too-many", 429, "Too many requests", "Wait as long as `Retry-After` says."),
    (
        "fault",
        500,
        "Something went wrong here",
        "It is not your doing; tell the workshop the `request` number.",
    ),
    (
        "overloaded",
        503,
        "Too much to do at the moment",
        "Nothing was changed; try again after `Retry-After`.",
    ),
    (
        "files-away",
        503,
        "Files cannot be reached at the moment",
        "Pictures cannot be shown and no file can be taken in; everything else goes on. Nothing was changed; try again "
        "after `Retry-After`.",
    ),
    (
        "wrong-state",
        409,
        "Not from where it stands now",
        "The order or carving is not in a state to do this from.",
    ),
    (
        "item-moved",
        409,
        "Somebody ticked it already",
        "`detail` says how far the item is, who ticked it and when. Look at it again before you tick anything more.",
    ),
    (
        "item-broken",
        409,
        "This board was made again",
        "Tick the board that was made instead; put the broken one's label away.",
    ),
    (
        "other-machine",
        409,
        "Released for different machines",
        "Recall and release them again under today's settings, or cut them apart.",
    ),
    ("nothing-to-remake", 409, "No board is to be made again", "Say that one broke first (`remakeItem`)."),
    ("already-remade", 409, "It is made again already", "`detail` names the board that is made instead."),
    (
        "not-current",
        409,
        "Another proof is current",
        "What you were shown is not the current proof. Look again.",
    ),
    (
        "not-approved",
        409,
        "Not everything is approved",
        "Each carving needs the maker's and the client's yes first.",
    ),
    ("not-paid", 409, "Not paid", "The workshop releases what is paid: its site or its maker says what is."),
    ("not-an-order", 409, "This is no order", "Make an order of the check first; tests are never made."),
    (
        "site-number-taken",
        409,
        "Another order has this number",
        "Give another number, or do not ask for it to be the only one.",
    ),
    ("remarks-open", 409, "Remarks are still open", "Accept each remark by its name before signing."),
    (
        "no-outline",
        409,
        "There is nothing to carve yet",
        "Wait until the artwork is read, or send other artwork.",
    ),
    ("version-gone", 409, "This version is not on offer any more", "Ask for the versions again."),
    ("nothing-chosen", 409, "What was sent is carved as it is", "There is nothing to undo."),
    ("cure-gone", 409, "This cure is not on offer any more", "Ask for the cures again."),
    ("slat-taken", 409, "The slat carries art already", "Choose another slat."),
    ("will-not-carve", 409, "The proof does not carve", "Take one of the cures, or change the cut, first."),
    (
        "not-released",
        409,
        "Not released",
        "Only released orders go into a batch, and only their boards are made.",
    ),
    ("nothing-to-accept", 409, "Nothing to accept", "The settings are as the board proposes them already."),
    (
        "not-signed",
        409,
        "Nothing was signed",
        "A program is held against what the client signed: have the proof signed first.",
    ),
    ("too-many-carvings", 409, "Too many carvings", "Name those that the program may be."),
    ("not-ready", 409, "Not ready yet", "The batch is still being put together; ask again in a moment."),
    (
        "not-given-up",
        409,
        "This work is not given up",
        "It is under way, done, or somebody asked for it again already.",
    ),
    ("in-hand", 409, "The order is being made", "Recall or finish it first."),
    (
        "erased",
        409,
        "The art was erased",
        "The client asked for it, or nobody went on with the order in time.",
    ),
    (
        "no-space",
        507,
        "The workshop has no room for more",
        "Please tell them, or try again later. What is there already can be read, signed and decided on.",
    ),
    (
        "share-used",
        507,
        "The workshop's share of files is used up",
        "Its host keeps no more files for it. What is there already can be read, signed and decided on.",
    ),
    (
        "no-board",
        409,
        "A part does not come out of the workshop's boards",
        "Plan its material by hand, or set other boards in the machine's settings.",
    ),
    ("model-retired", 409, "This model is not made any more", "Choose another model."),
    ("key-taken", 409, "The key is taken", "Choose another key."),
    ("usual-bit", 409, "This is the usual bit", "Make another bit the usual one first."),
    (
        "wrong-password",
        403,
        "The address or the password is not right",
        "Check both; or have a link mailed to set a new password.",
    ),
    (
        "code-needed",
        403,
        "A code is needed as well",
        "This account signs in with a code from an app; send it as `code`.",
    ),
    (
        "wrong-code",
        403,
        "The code is not right",
        "Each code is good once, for half a minute. Wait for the next one, or take one kept for a bad day.",
    ),
    (
        "second-step-due",
        403,
        "Your second step is not set up",
        "Everybody who signs in here needs one. `beginSecondStep` and `confirmSecondStep` are open; all else is then.",
    ),
    (
        "second-step-off",
        409,
        "You have no second step yourself",
        "Set up your own before you ask one of everybody: it would shut you out.",
    ),
    ("second-step-on", 409, "A code is asked for already", "Take the second step away first."),
    (
        "known-address",
        409,
        "There is an account with that address",
        "Change that one, or take another address.",
    ),
    ("last-maker", 409, "The workshop needs a maker", "Make somebody else a maker first."),
    ("yourself", 409, "Not for yourself", "Ask another maker to do this."),
    ("refused", 409, "The engine does not take it", "`code` says what it is, `detail` what would help."),
    (
        "proof-stale",
        409,
        "The proof is out of date",
        "The workshop's settings changed; have it checked again.",
    ),
    ("bit-gone", 409, "The workshop no longer has this bit", "Choose another bit."),
    ("slat-gone", 409, "The workshop no longer makes this slat", "Choose another model or slat."),
    ("no-art", 409, "The slat has no artwork yet", "Send a file first."),
    ("too-many-files", 409, "The order has as many files as it may", "Use one of those it has."),
    ("ended", 409, "This mark is not carved any more", "Make a new version of it."),
    ("already-approved", 409, "This version is approved already", "There is nothing more to do."),
    ("not-a-draft", 409, "Not from a client's order", "Draw the mark in a draft of the workshop's own."),
    ("mark-changed", 409, "The mark's cut has changed", "Approve a new version of the mark, or end it."),
    ("quote-changed", 409, "The quote has changed", "Look at the new quote; `detail` says what it changes."),
    (
        "part-of-suite",
        409,
        "This is part of a whole",
        "A list's pieces, and a large picture's slices, are changed and decided on together.",
    ),
    ("list-decides", 409, "The list says how many pieces there are", "Change the list, or take it off."),
    (
        "too-many-webhooks",
        409,
        "The workshop has as many webhooks as it may",
        "Drop one that is not used any more.",
    ),
    ("no-price", 409, "There is no price for this yet", "The workshop has to add one to its price list."),
)


def answer(
    kind: Kind,
    detail: str = "",
    *,
    problems: tuple[FieldError, ...] = (),
    headers: dict[str, str] | None = None,
    **more: Any,
) -> JSONResponse:
    """One problem as a response, with what its kind means where it has no words of its own.

    It is in the language spoken now, as far as its sentences are in the catalogue.
    """
    REFUSALS.labels("rest", kind.code).inc()
    body: dict[str, Any] = {"type": kind.uri, "title": told(kind.title), "status": kind.status}
    body["detail"] = told(detail or kind.meaning)
    if problems:
        body["problems"] = [{"field": p.field, "code": p.code, "message": told(p.message)} for p in problems]
    body |= more
    spoken = {"Content-Language": language(), "Vary": "Accept-Language"}
    kept = {"Cache-Control": "no-store"}
    return JSONResponse(body, kind.status, headers=kept | spoken | (headers or {}), media_type=MEDIA_TYPE)


def refused(error: DomainError) -> JSONResponse:  # noqa: PLR0911 - one return a row
    """The answer to an error of the use cases."""
    match error:
        case NotFoundError():
            return answer(KINDS["not-found"], str(error))
        case NotAllowedError():
            return answer(KINDS["not-allowed"], str(error))
        case InvalidError():
            return answer(KINDS["invalid"], str(error), problems=error.problems)
        case StaleError():
            return answer(KINDS["stale"], str(error), current=error.current)
        case ConflictError():
            known = KINDS.get(error.code)
            if known is not None:
                return answer(known, str(error))
            return answer(KINDS["refused"], str(error), code=error.code)
        case TooManyError():
            seconds = str(max(1, round(error.retry_after)))
            return answer(KINDS["too-many"], str(error), headers={"Retry-After": seconds})
    raise TypeError(type(error))
