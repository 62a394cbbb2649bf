"""Readings, placements, cuts and decisions as they are asked for."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from artwork.cut import Placement
from artwork.intake.values import Wishes
from service.orders.by_hand import ByHand, HandChange
from service.orders.limits import MOST_ORDERS
from service.orders.proofs import Shown
from service.orders.suites import SuiteShown
from service.rest.requests.base import Ask, Digest, Id, Key, LongText, Millimetres, Reason, asked, asks
from service.usecases.commands import CutChange, Trial


class CarvingsQuery(Ask):
    """Some carvings of an order."""

    carvings: Annotated[tuple[Id, ...], Field(max_length=200, description="their ids")] = ()


PlacementAsk = asked(
    Placement,
    "PlacementAsk",
    "Where the art lies: its centre in slat mm, mm per outline unit, turned counter-clockwise.",
)


class CutAsk(Ask):
    """What to change of a cut; what is left out stays. Anything but `slat_key` is the maker's to change."""

    makes = CutChange

    slat_key: Key | None = None
    bit_key: Key | None = None
    thickness: Annotated[float | None, Field(gt=0, le=500, allow_inf_nan=False, description="mm")] = None
    allowances: Annotated[
        dict[str, bool | float] | None,
        Field(max_length=40, description="the whole set for this carving; empty takes the workshop's again"),
    ] = None


class TrialAsk(Ask):
    """A cut to be judged without keeping anything."""

    placement: PlacementAsk | None = None  # type: ignore[valid-type]
    change: CutAsk = CutAsk()
    largest: Annotated[
        bool, Field(description="lay it as large as fits, turned and mirrored as it would be without this")
    ] = False
    picture: Annotated[bool, Field(description="draw it too; takes longer")] = False

    def value(self) -> Trial:
        """As the use cases take it."""
        given = self.values()
        return Trial(given["placement"], given["change"], given["largest"])


Share = Annotated[float, Field(ge=0, le=1)]


@asks(Wishes, without=("largest_mm", "least_mark_mm"))
class WishesAsk(Ask):
    """How the file should be read."""

    makes = Wishes

    crop: Annotated[
        tuple[Share, ...] | None,
        Field(
            min_length=4,
            max_length=4,
            description="the part of the page that is read: left, top, right, bottom as shares of it",
        ),
    ] = None


class PlaceQuery(Ask):
    """A place of the drawing; none for all of it."""

    x: Annotated[Millimetres | None, Field(description="slat mm")] = None
    y: Annotated[Millimetres | None, Field(description="slat mm")] = None


class ByHandAsk(Ask):
    """One change of the drawing at one place. Widths are changed from junction to junction."""

    makes = ByHand

    kind: HandChange
    x: Annotated[Millimetres, Field(description="slat mm")]
    y: Annotated[Millimetres, Field(description="slat mm")]
    by: Annotated[
        float | None,
        Field(
            ge=-3,
            le=3,
            allow_inf_nan=False,
            description="mm that the stroke or the gap gets wider, below 0 narrower; null for what the check needs. "
            "Of `sturdier`: mm that the board may be more uneven than the allowances say",
        ),
    ] = None


class UseArtworkAsk(Ask):
    """Which of the order's files."""

    artwork_id: Id


class ShownAsk(Ask):
    """What the person had before their eyes: refused unless it is the current proof."""

    makes = Shown

    carving_id: Id
    digest: Digest
    picture: Digest


class SuiteShownAsk(Ask):
    """The whole list or picture that the person had before their eyes, by its digest."""

    makes = SuiteShown

    suite_id: Id
    digest: Digest


class ProofsAsk(Ask):
    """The proofs, and whole lists and large pictures, decided about; at least one of either."""

    shown: Annotated[tuple[ShownAsk, ...], Field(max_length=500, description="proofs decided about")] = ()
    whole: Annotated[
        tuple[SuiteShownAsk, ...],
        Field(max_length=100, description="whole lists and large pictures decided about"),
    ] = ()


class FeasibilityAsk(ProofsAsk):
    """The proofs judged feasible, and a word about it."""

    words: LongText = ""


class WaiverAsk(Ask):
    """Remarks of one proof that the client accepts, by name."""

    shown: ShownAsk
    remarks: Annotated[tuple[Annotated[str, Field(max_length=100)], ...], Field(min_length=1, max_length=500)]


class ChangeRequestAsk(Ask):
    """What the client wants changed, perhaps pinned on a place (slat mm)."""

    shown: ShownAsk
    words: Reason
    place: Annotated[
        tuple[Millimetres, Millimetres] | None, Field(description="what it is about, slat mm")
    ] = None


class RejectionAsk(Ask):
    """One proof that cannot be made as it is, and why."""

    shown: ShownAsk
    reason: Reason


class BatchAsk(Ask):
    """Which released orders."""

    order_ids: Annotated[tuple[Id, ...], Field(min_length=1, max_length=MOST_ORDERS)]
