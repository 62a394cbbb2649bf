"""An archive made again from what it holds: proofs drawn anew, every sheet, listing and wrapping written anew.

What an archive holds besides the bytes that come of this is not ours, whoever signed it.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from artwork.errors import EngineError
from artwork.layout_json import layout_from_json
from service.batches.approvals import Decisions
from service.batches.assemble import LISTING, PROOF, SIGNATURE, bag_folder, bag_info, order_folder, payload
from service.batches.bag import Bag
from service.batches.board_plan import boards_from_json
from service.batches.content import (
    ArtworkContent,
    BatchContent,
    CarvingContent,
    ModelContent,
    OrderContent,
    ShopContent,
)
from service.batches.drawn import FORMS, DrawnProof, draw, drawn_with
from service.batches.errors import DamagedFileError, NotApprovedError
from service.batches.order_sheets import order_sheets
from service.batches.record_file import record_file
from service.batches.sheet_names import is_made
from service.batches.terms import terms_from
from service.orders.machine import machine_from
from service.orders.units import Units

_MOMENT = "%Y-%m-%dT%H:%M:%S.%fZ"
_OWN = frozenset({"job-sheet.pdf", "cut-list.csv"})
_Carved = tuple[CarvingContent, str]
"""A carving, and its folder in the archive."""
ReadFile = Callable[[str], bytes]
"""Bytes of a file of the archive, by its path below ``data/``. KeyError."""


def container_fault(path: Path, names: Iterable[str], read: ReadFile, batch: Mapping[str, Any]) -> str | None:
    """Where the archive's wrapping is not the one that its own files would be given, in words.

    Args:
        path: of the archive.
        names: of its payload files below ``data/``, in the archive's order.
        read: their bytes.
        batch: the listing.
    """
    with path.open("rb") as file:
        place = 0
        for piece in _wrapped(names, read, batch):
            if file.read(len(piece)) != piece:
                return f"it holds other bytes than this program would have written, within {len(piece)} after {place}"
            place += len(piece)
        if file.read(1):
            return "bytes follow after its end"
    return None


def _wrapped(names: Iterable[str], read: ReadFile, batch: Mapping[str, Any]) -> Iterator[bytes]:
    bag = Bag(bag_folder(batch["batch"]))
    for name in names:
        data = read(name)
        yield from bag.add(name, data, hashlib.sha256(data).hexdigest())
    latest = max(order["released_at"] for order in batch["orders"])
    yield from bag.close(bag_info(batch["workshop"]["name"], batch["batch"], latest, batch["software"]))


def payload_faults(
    batch: Mapping[str, Any], record: list[Mapping[str, Any]], known: Decisions, read: ReadFile
) -> Iterator[str]:
    """Each file of the archive that is not what it is made to be from proofs, listing and record.

    Drawings are drawn anew where the programs that drew them are today's; else the digests that the release
    names stand for them.
    """
    source = _Source(batch, read, redrawn=drawn_with() == batch["drawn_with"])
    content = source.content()
    lines = [json.dumps(entry, ensure_ascii=False, sort_keys=True) for entry in record]
    expected = [file["path"] for file in batch["files"]] + [LISTING, SIGNATURE]
    made: list[str] = []
    try:
        for file in payload(content, known, record_file(lines), lambda _listing: read(SIGNATURE)):
            made.append(file.path)
            if not source.redrawn and file.path.endswith("/job-sheet.pdf"):
                continue
            if _digest(read, file.path) != file.sha256:
                yield f"{file.path} is not what this program makes of the batch's proofs and decisions"
    except NotApprovedError as error:
        yield str(error)
    except DamagedFileError as error:
        yield f"{error.what} is not in the archive"
    else:
        for path in sorted({*made} ^ {*expected}):
            yield f"{path} does not belong to what the batch is made of"


@dataclass(frozen=True)
class _Source:
    """An archive as what its batch was made of.

    Attributes:
        batch: the listing, format 2.
        read: files of the archive.
        redrawn: whether drawings are made again, or taken from the archive.
        made: sheets made again, by their digests.
    """

    batch: Mapping[str, Any]
    read: ReadFile
    redrawn: bool
    made: dict[str, bytes] = field(default_factory=dict)

    def content(self) -> BatchContent:
        """The values that the archive was made of, without the record."""
        batch, shop = self.batch, self.batch["workshop"]
        carvings = {
            order["id"]: [self._carving(each) for each in order["carvings"]] for order in batch["orders"]
        }
        orders = tuple(self._order(each, carvings[each["id"]]) for each in batch["orders"])
        by_digest = {file["sha256"]: file["path"] for file in batch["files"]}

        def blob(digest: str) -> bytes:
            return self.made[digest] if digest in self.made else self.read(by_digest[digest])

        return BatchContent(
            id=batch["batch"],
            shop=ShopContent(shop["key"], shop["name"], batch["software"], batch["drawn_with"]),
            orders=orders,
            carvings=(self._drawn(*each, order) for order in orders for each in carvings[order.id]),
            record=(),
            read=blob,
        )

    def _order(self, order: Mapping[str, Any], carvings: list[_Carved]) -> OrderContent:
        quote = order["quote"]
        content = OrderContent(
            id=order["id"],
            number=order["number"],
            client=order["client"],
            address=order["address"],
            lines=tuple(
                ModelContent(line["model"]["key"], line["model"]["name"], line["quantity"], line["note"])
                for line in order["lines"]
            ),
            terms=terms_from(order["terms"]),
            released_at=datetime.strptime(order["released_at"], _MOMENT).replace(tzinfo=UTC),
            machine=machine_from(order["machine"]),
            plan=tuple(order["plan"]),
            quote=None if quote is None else quote["facts"],
            part_of=order.get("part_of"),
            units=Units(order.get("units", Units.MM)),
            boards=boards_from_json(order["boards"]),
            models={key: layout_from_json(each) for key, each in order["models"].items()},
        )
        return replace(content, sheets=self._sheets(content, carvings))

    def _sheets(self, order: OrderContent, carvings: list[_Carved]) -> Mapping[str, str]:
        """The order's further sheets: those made of its boards made anew, contact sheets as they are listed."""
        folder = f"{order_folder(order)}/"
        mine = {
            file["path"].removeprefix(folder): file["sha256"]
            for file in self.batch["files"]
            if file["path"].startswith(folder)
        }
        sheets = {name: digest for name, digest in mine.items() if "/" not in name and name not in _OWN}
        if not self.redrawn:
            return sheets
        kept = {name: digest for name, digest in sheets.items() if not is_made(name)}
        for name, data in self._made(order, carvings).items():
            kept[name] = hashlib.sha256(data).hexdigest()
            self.made[kept[name]] = data
        return kept

    def _made(self, order: OrderContent, carvings: list[_Carved]) -> Mapping[str, bytes]:
        proofs = {
            carving.digest: DrawnProof(self.read(f"{folder}/{PROOF}"), carving.slat_name)
            for carving, folder in carvings
        }
        try:
            return order_sheets(order, proofs)
        except EngineError:
            return {}

    def _carving(self, carving: Mapping[str, Any]) -> _Carved:
        """A carving without its drawings, and its folder."""
        artwork, folder = carving["artwork"], str(carving["folder"])
        content = CarvingContent(
            id=carving["id"],
            order_id=carving["order"],
            line=carving["line"],
            model_key=carving["model"]["key"],
            model_name=carving["model"]["name"],
            slat_key=carving["slat"]["key"],
            slat_name=carving["slat"]["name"],
            piece=carving["piece"],
            pieces=carving["pieces"],
            proof_number=carving["proof"]["number"],
            digest=carving["proof"]["digest"],
            picture=carving["proof"]["picture"],
            check=json.loads(self.read(f"{folder}/carving.json"))["check"],
            waived=tuple(carving["accepted_remarks"]),
            artwork=None if artwork is None else ArtworkContent(artwork["name"], artwork["sha256"]),
            drawings={},
            text=carving["text"],
            mark=carving["mark"],
        )
        return content, folder

    def _drawn(self, carving: CarvingContent, folder: str, order: OrderContent) -> CarvingContent:
        if self.redrawn:
            drawings = draw(DrawnProof(self.read(f"{folder}/{PROOF}"), carving.slat_name), order.machine)
        else:
            drawings = {form: self.read(f"{folder}/art.{form}") for form in FORMS}
        return replace(carving, drawings=drawings)


def _digest(read: ReadFile, path: str) -> str:
    try:
        return hashlib.sha256(read(path)).hexdigest()
    except KeyError:
        return ""
