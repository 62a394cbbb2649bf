"""Headers of answers, as the OpenAPI document declares them."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from service.access.rate_limit import Standing

Header = dict[str, Any]


def _header(words: str, **schema: Any) -> Header:
    return {"description": words, "schema": {"type": "string"} | schema}


HEADERS: Final[dict[str, Header]] = {
    "X-Request-Id": _header("Names this request in the workshop's log; say it when you ask for help."),
    "ETag": _header("Names exactly this body, in quotes (RFC 9110 §8.8.3); give it back in `If-Match`."),
    "Location": _header("Address of what was made.", format="uri-reference"),
    "Link": _header(
        '`rel="next"`: the page that follows, where there is one (RFC 8288); `rel="successor-version"`: what to call '
        "instead."
    ),
    "Retry-After": {
        "description": "Wait so many seconds before you ask again (RFC 9110 §10.2.3).",
        "schema": {"type": "integer", "minimum": 1},
    },
    "RateLimit-Policy": _header(
        "The limits that count here, each with its quota `q` within `w` seconds, of bytes where `qu` says so: uploads "
        "of one network (`uploads`) and those of one token (`uploads-of-token`) are counted in bytes "
        "(draft-ietf-httpapi-ratelimit-headers-11).",
        example='"logo-checks";q=120;w=3600',
    ),
    "RateLimit": _header(
        "What is left (`r`) of each of these limits, and after how many seconds (`t`) there is more; `Retry-After` "
        "goes before it.",
        example='"logo-checks";r=119;t=3600',
    ),
    "Deprecation": _header("Since when this is on its way out (RFC 9745).", example="@1796083200"),
    "Sunset": _header("From when on it may be gone (RFC 8594).", example="Wed, 01 Dec 2027 00:00:00 GMT"),
    "Cache-Control": _header("Who may keep it, and whether to ask again first (RFC 9111 §5.2)."),
    "Vary": _header("Headers of the request that the answer depends on (RFC 9110 §12.5.5)."),
    "Content-Language": _header("The language that its sentences are in (RFC 9110 §8.5)."),
    "Content-Encoding": _header("`br` or `gzip`, where `Accept-Encoding` takes it (RFC 9110 §8.4)."),
    "Upload-Offset": _header("How many bytes of the upload are here (tus 1.0.0).", type="integer"),
    "Upload-Length": _header("How many bytes the upload has (tus 1.0.0).", type="integer"),
    "Upload-Expires": _header("Until when the upload can be gone on with (tus 1.0.0)."),
    "Tus-Resumable": _header("The version of tus that is spoken: `1.0.0`."),
    "Tus-Version": _header("The versions of tus that are spoken."),
    "Tus-Extension": _header("The extensions of tus that are spoken."),
    "Tus-Max-Size": _header("The largest file, bytes.", type="integer"),
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


def limits_told(counted: Iterable[Standing]) -> dict[str, str]:
    """How much of the limits that were counted is left; the nearest to its end where one was counted twice."""
    worst = {
        each.limit.shown: each for each in sorted(counted, key=lambda each: each.left, reverse=True)
    }.values()
    if not worst:
        return {}
    return {
        "RateLimit-Policy": ", ".join(map(_policy, worst)),
        "RateLimit": ", ".join(
            f'"{each.limit.shown}";r={each.left * (each.limit.bytes_each or 1)};t={each.seconds}'
            for each in worst
        ),
    }


def _policy(each: Standing) -> str:
    unit = ';qu="content-bytes"' if each.limit.bytes_each else ""
    quota, window = each.limit.times * (each.limit.bytes_each or 1), round(each.limit.window.total_seconds())
    return f'"{each.limit.shown}";q={quota};w={window}{unit}'
