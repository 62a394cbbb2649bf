"""The workshop's own marks, as they are asked for."""

from __future__ import annotations

from service.rest.requests.base import Ask, Digest


class MarkApprovalAsk(Ask):
    """What the maker had before their eyes of a mark."""

    digest: Digest
    picture: Digest
