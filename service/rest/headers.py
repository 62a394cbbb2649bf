"""Headers of answers, as the OpenAPI document declares them."""

from __future__ import annotations

from typing import Any, Final

Header = dict[str, Any]


def _header(words: str, **schema: Any) -> Header:
    return {"description": words, "schema": {"type": "string"} | schema}


HEADERS: Final[dict[str, Header]] = {
    "X-Request-Id": _header("Names this request in the workshop's log; say it when you ask for help."),
    "ETag": _header("Names exactly this body, in quotes (RFC 9110 §8.8.3); give it back in `If-Match`."),
    "Location": _header("Address of what was made.", format="uri-reference"),
    "Link": _header('`rel="next"`: the page that follows, where there is one (RFC 8288).'),
    "Retry-After": {
        "description": "Wait so many seconds before you ask again (RFC 9110 §10.2.3).",
        "schema": {"type": "integer", "minimum": 1},
    },
    "Content-Disposition": _header("Under which name to save it (RFC 6266)."),
    "Content-Range": _header("Which part of how much this is (RFC 9110 §14.4)."),
    "Accept-Ranges": _header("`bytes` where parts may be asked for (RFC 9110 §14.3)."),
    "WWW-Authenticate": _header("How to say who asks (RFC 9110 §11.6.1)."),
    "Idempotency-Replayed": _header(
        "`true` where this is the answer that the key had before: nothing was done."
    ),
}


def references(*names: str) -> dict[str, Header]:
    """Some of them, by reference."""
    return {name: {"$ref": f"#/components/headers/{name}"} for name in names}
