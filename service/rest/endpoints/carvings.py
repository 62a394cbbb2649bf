"""Artwork and carvings: uploads, readings, placements, trials, cures, the maker's changes."""

from __future__ import annotations

from service.orders.errors import FieldError, InvalidError, NotFoundError
from service.orders.ids import is_id
from service.rest.endpoints.ordering import whole
from service.rest.operation import Answer, Bytes, Call, FormField, Operation, tagged
from service.rest.requests.cutting import (
    ByHandAsk,
    CarvingsQuery,
    CutAsk,
    PlacementAsk,
    PlaceQuery,
    TrialAsk,
    UseArtworkAsk,
    WishesAsk,
)
from service.rest.responses.by_hand import DrawingChangesBody, changes_body
from service.rest.responses.orders import CarvingBody, OrderBody, carving_body
from service.rest.responses.versions import OrderVersionsBody, versions_body
from service.rest.responses.work import CuresBody, JudgedBody, OrderCuresBody, cure_body, judged_body
from service.rest.use import Does, as_it_is, items, one
from service.usecases import artworks, by_hand, choosing, cutting, looking, versions
from service.usecases.commands import Upload

TAG = "Artwork and carvings"


def _upload(call: Call) -> Answer[OrderBody]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    carvings = tuple(part for value in sent.fields.get("carvings", ()) for part in value.split(",") if part)
    bad = [c for c in carvings if not is_id(c)]
    if bad:
        raise InvalidError(
            FieldError("carvings", "not-an-id", "Name the carvings by their ids, separated by commas.")
        )
    upload = Upload(sent.data, sent.name, sent.content_type, carvings)
    return whole(artworks.upload_artwork(call.ctx, call.actor, call.path["order"], upload, call.once))


def _get(call: Call) -> Answer[CarvingBody]:
    carving = looking.carvings_by_ids(call.ctx, call.actor, [call.path["carving"]])[0]
    if carving is None:
        raise NotFoundError("carving")
    reading, proof = None, None
    if carving.reading_id:
        reading = looking.readings_by_ids(call.ctx, call.actor, [carving.reading_id])[0]
    if carving.proof_id:
        proof = looking.proofs_by_ids(call.ctx, call.actor, [carving.proof_id])[0]
    return Answer(carving_body(carving, reading, proof), carving.revision)


def _try(call: Call) -> Answer[JudgedBody]:
    trial, picture = call.ask.value(), call.ask.picture
    return Answer(judged_body(cutting.try_cut(call.ctx, call.actor, call.path["carving"], trial, picture)))


def _changes(call: Call) -> Answer[DrawingChangesBody]:
    at = call.query.x, call.query.y
    found = by_hand.look_at_changes(call.ctx, call.actor, call.path["carving"], *at)
    return Answer(changes_body(found))


def _changes_picture(call: Call) -> Bytes:
    at = call.query.x, call.query.y
    made = by_hand.changes_picture(call.ctx, call.actor, call.path["carving"], *at)
    return Bytes(made, "image/webp", f"changes-{call.path['carving']}.webp")


def _order_versions(call: Call) -> Answer[OrderVersionsBody]:
    found = versions.list_order_versions(call.ctx, call.actor, call.path["order"], call.query.carvings)
    return Answer(OrderVersionsBody(tuple(map(versions_body, found))))


def _order_cures(call: Call) -> Answer[OrderCuresBody]:
    found = versions.list_order_cures(call.ctx, call.actor, call.path["order"], call.query.carvings)
    bodies = {carving: tuple(cure_body(cure) for cure in cures) for carving, cures in found.items()}
    return Answer(OrderCuresBody(bodies))


_CHANGES = ("stale", "wrong-state")
_REVISION = (
    "`If-Match` names the carving's revision: the `ETag` of `getCarving`, or its `revision` in quotes."
)

OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /orders/{order}/artworks",
        "uploadArtwork",
        "Upload a file and put it on carvings.",
        _upload,
        status=201,
        takes_file=True,
        fields={"carvings": FormField("ids of the carvings it is for, separated by commas", required=True)},
        once=True,
        problems=("wrong-state", "too-many-files", "no-space", "share-used"),
        more="Send a multipart form with the file in a part named `file` and carving ids in `carvings`, or "
        "the file itself with its name in `Content-Disposition` and `?carvings=` in the address. Reading, "
        "placing and proving go on in the background: follow `getOrderEvents`, or ask for the order again.",
    ),
    Operation(
        "GET /carvings/{carving}", "getCarving", "Get a carving with its current reading and proof.", _get
    ),
    Operation(
        "POST /carvings/{carving}/readings",
        "readAgain",
        "Read the carving's file again with other wishes.",
        Does(artworks.read_again, whole),
        graph="wishes",
        ask=WishesAsk,
        problems=_CHANGES,
        at_rest=_REVISION,
    ),
    Operation(
        "PUT /carvings/{carving}/artwork",
        "useArtwork",
        "Put a file that the order already has on the carving.",
        Does(artworks.use_artwork, whole),
        graph="",
        ask=UseArtworkAsk,
        problems=_CHANGES,
        at_rest=_REVISION,
    ),
    Operation(
        "POST /carvings/{carving}/trials",
        "tryCut",
        "Judge a cut at once, keeping nothing.",
        _try,
        ask=TrialAsk,
        problems=("no-outline", "slat-taken"),
    ),
    Operation(
        "PUT /carvings/{carving}/placement",
        "placeArt",
        "Lay the art; a new proof follows.",
        Does(cutting.place, whole),
        graph="placement",
        ask=PlacementAsk,
        problems=("no-outline", *_CHANGES),
        at_rest=_REVISION,
    ),
    Operation(
        "PATCH /carvings/{carving}/cut",
        "changeCut",
        "Change slat, bit, board or allowances; a new proof follows.",
        Does(cutting.change_cut, whole),
        graph="cut",
        ask=CutAsk,
        problems=("slat-taken", *_CHANGES),
        at_rest=_REVISION,
    ),
    Operation(
        "POST /carvings/{carving}/checks",
        "checkAgain",
        "Make a new proof of the same cut under today's settings.",
        Does(cutting.check_again, whole),
        graph="",
        problems=_CHANGES,
        at_rest=_REVISION,
    ),
    Operation(
        "GET /carvings/{carving}/cures",
        "listCures",
        "List what would make it carve, best first.",
        Does(versions.list_cures, items(CuresBody, cure_body)),
        problems=("no-outline",),
        more="Each has passed the full check.",
    ),
    Operation(
        "GET /orders/{order}/cures",
        "listOrderCures",
        "List what would make some carvings of an order carve, best first.",
        _order_cures,
        query=CarvingsQuery,
        problems=("no-outline",),
    ),
    Operation(
        "POST /carvings/{carving}/cures/{code}",
        "takeCure",
        "Take one cure; a new proof follows.",
        Does(choosing.apply_cure, whole),
        graph="",
        problems=("cure-gone", *_CHANGES),
        at_rest=_REVISION,
    ),
    Operation(
        "GET /carvings/{carving}/versions",
        "listVersions",
        "List versions of the drawing that carve, the least visible change first.",
        Does(versions.list_versions, one(versions_body)),
        more="They are worked out in the background once a proof stops: follow `getOrderEvents`, or ask again "
        "while the state is `working`. Each has passed the full check.",
    ),
    Operation(
        "GET /orders/{order}/versions",
        "listOrderVersions",
        "List versions that carve of some carvings of an order.",
        _order_versions,
        query=CarvingsQuery,
    ),
    Operation(
        "POST /carvings/{carving}/versions",
        "findVersions",
        "Have versions that carve worked out, where nobody has or it failed.",
        Does(versions.find_versions, one(versions_body)),
        graph="",
        problems=("no-outline", *_CHANGES),
    ),
    Operation(
        "POST /carvings/{carving}/versions/{code}",
        "chooseVersion",
        "Take a version in place of what was sent; a new proof follows.",
        Does(choosing.choose_version, whole),
        graph="",
        problems=("version-gone", *_CHANGES),
        more="What was sent is kept, and the record says what was changed and who chose it.",
        at_rest=_REVISION,
    ),
    Operation(
        "GET /carvings/{carving}/versions/{code}/{shown}.webp",
        "getVersionPicture",
        "Get a picture of a version.",
        Does(versions.version_picture, as_it_is),
        file=("image/webp",),
        more="`shown` is `carved` for what will be left in the wood, `changed` for what is carved anew and what no "
        "more, `sent` for the art as it was drawn.",
    ),
    Operation(
        "GET /carvings/{carving}/changes",
        "getDrawingChanges",
        "Get what is different from what was sent, place by place, and what is at a place.",
        _changes,
        query=PlaceQuery,
        problems=("no-outline",),
    ),
    Operation(
        "GET /carvings/{carving}/changes.webp",
        "getDrawingChangesPicture",
        "Get a picture of what is different from what was sent, the places numbered.",
        _changes_picture,
        query=PlaceQuery,
        file=("image/webp",),
        problems=("no-outline",),
        more="All of the drawing, or close around a place. It shows the `box` of `getDrawingChanges`.",
    ),
    Operation(
        "POST /carvings/{carving}/changes",
        "changeByHand",
        "Change one place of the drawing by hand; a new proof follows.",
        Does(by_hand.change_by_hand, whole),
        graph="change",
        ask=ByHandAsk,
        problems=("no-outline", "refused", *_CHANGES),
        more="What lies outside the place keeps its exact curves. The full check says of the whole what stops, and the "
        "record says what was done.",
        at_rest=_REVISION,
    ),
    Operation(
        "DELETE /carvings/{carving}/version",
        "takeAsSent",
        "Go back to what was sent; a new proof follows.",
        Does(choosing.take_as_sent, whole),
        graph="",
        problems=("nothing-chosen", "slat-taken", *_CHANGES),
        at_rest=_REVISION,
    ),
)
