"""Versions of a drawing that carve, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.orders.versions import Version
from service.rest.responses.base import shown, shows
from service.rest.responses.orders import API
from service.rest.responses.work import CureBody, cure_body
from service.usecases.answers import VersionsOffered


@shows(Version, without=("outline", "picture", "difference"))
class VersionBody:
    """The drawing as it would be carved: it has passed the full check, and is chosen by its `code`.

    `changed_url` is `null` where the outline is the one that was sent.
    """

    picture_url: str
    changed_url: str | None


@shows(VersionsOffered, without=("key",))
class VersionsBody:
    """What is proposed for one carving; `versions` and `reason` are there once the state is `ready`,
    a first version often while the others are `working`."""

    sent_url: str | None
    versions: tuple[VersionBody, ...]
    sturdier: tuple[VersionBody, ...]
    others: tuple[CureBody, ...]


@dataclass(frozen=True)
class OrderVersionsBody:
    """What is proposed for some carvings of an order."""

    items: tuple[VersionsBody, ...]


def versions_body(offered: VersionsOffered) -> VersionsBody:
    """From what is proposed; pictures have addresses that change with what was asked."""
    base, named = f"{API}/carvings/{offered.carving_id}/versions", f"?of={offered.key[:12]}"
    return shown(
        VersionsBody,
        offered,
        sent_url=f"{base}/{offered.versions[0].code}/sent.webp{named}" if offered.versions else None,
        versions=tuple(_version(each, base, named) for each in offered.versions),
        sturdier=tuple(_version(each, base, named) for each in offered.sturdier),
        others=tuple(map(cure_body, offered.others)),
    )


def _version(version: Version, base: str, named: str) -> VersionBody:
    picture = f"{base}/{version.code}/carved.webp{named}"
    changed = None if version.difference is None else f"{base}/{version.code}/changed.webp{named}"
    return shown(VersionBody, version, picture_url=picture, changed_url=changed)
