"""What the OpenAPI document says before and around the operations."""

from __future__ import annotations

from typing import Final

TAGS: Final = {
    "Questions": "What client and workshop write to each other about an order; each is told by mail.",
    "What is offered": "Workshops, their models and slats, and typefaces.",
    "Settings": "What a workshop sets: models, bits, allowances, help with figures.",
    "Prices and quotes": "Price lists, and what an order costs.",
    "Items at the bench": "Every slat of every piece, how far it is, and how it came out.",
    "Shop sites": "What a shop's own site needs besides: checks before there is an order, payments, many verdicts.",
    "Program check": "Machine programs held against what was signed.",
    "Test boards": "Boards that are cut and measured for the shop's own allowances.",
    "Signing in": "Sessions, links, passwords and the second step.",
    "People and tokens": "Accounts, API tokens, and links of orders.",
    "Orders": "Orders from the draft to the bench.",
    "Artwork and carvings": "Files, how they are read, how art is laid and cut.",
    "Lists and large pictures": "Runs of texts, and pictures over several slats.",
    "Proofs and decisions": "Proofs, and what people decide about them.",
    "Files": "Pictures, drawings, originals, archives.",
    "Background work": "What is done beside the answers, and how to follow it.",
    "Batches": "Released orders exported as archives.",
    "Record and privacy": "The record of decisions, export and erasure.",
    "Events and webhooks": "What happens in the workshop, as a list, as a stream, and sent to other programs.",
    "Upkeep": "Whether everything is well, and work that was given up.",
}

INTRODUCTION: Final = """\
Orders for engraved furniture: from a client's logo to approved, carveable art. All lengths are millimetres.

**Who asks.** `Authorization: Bearer …` with the secret of a client's link (one order) or with an API token (a
shop's own site). Browsers use the cookies of a signed-in person or of an opened link.

**Changes.** Whatever changes carries a strong `ETag` that begins with its revision. Send it back in
`If-Match`: without it the answer is 428, with an old one 412. Creating calls take `Idempotency-Key`: the
same call again gives the first answer and does nothing.

**Decisions** name what was shown: the carving, its proof's `digest` and the `picture`. If that is not the
current proof, nothing happens and the answer is 409 `not-current`.

**Problems** are `application/problem+json` (RFC 9457); each `type` is an address that explains it.
"""
