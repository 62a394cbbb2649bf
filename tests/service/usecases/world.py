"""A small installation for the tests: a real database, blobs, the engine, two workshops and their people."""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from tempfile import mkdtemp
from typing import Any

import numpy as np
import rfc8785
from shapely import Point
from sqlalchemy import asc, desc, select

from artwork.axis import study
from artwork.curves import Contour
from artwork.cut import Cut, Placement
from artwork.digest import facts as facts_of
from artwork.errors import EngineError
from artwork.findings import check as check_cut
from artwork.furniture import ModelLayout, PlacedSlat
from artwork.intake.foreign import Converted, Foreign
from artwork.jsonable import check_to_json
from artwork.outline import Outline
from artwork.slat_shape import SlatFigures, slat_outline
from artwork.workpiece import Allowances, Bit, KeepOut, Slat
from service.mail.outbox import StoredOutbox
from service.orders.actors import Actor, Client, Helper, Maker, Scope, ShopSite, System, Visitor
from service.orders.cuts import Circumstances
from service.orders.order import Carving, Contact
from service.orders.proofs import Shown
from service.orders.versions import Area, ChangeKind, ChangeUnit, VersionChange, VersionKind
from service.orders.work import JobKind, JobState
from service.orders.workshop import Workshop
from service.store.blobs import BlobDamagedError, BlobEntry, BlobMissingError
from service.store.engine import Database
from service.store.migrating import upgrade
from service.store.record_tables import jobs as job_rows
from service.usecases import (
    approving,
    artworks,
    computing,
    computing_boards,
    computing_programs,
    jobs,
    looking,
    ordering,
    producing,
    shop,
)
from service.usecases.answers import OrderAggregate
from service.usecases.commands import LineContent, OrderContent, Upload
from service.usecases.computing import JudgedCut, ReadArt
from service.usecases.computing_versions import FoundCure, FoundCures, FoundRepairs, FoundVersion, Laid
from service.usecases.context import Context
from service.work import programs

BITS = (Bit("v60"), Bit("v60-fine", tip_flat=0.1, diameter=6.35, height=5.5))
CREST = b"""<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">
<path d="M30 4 L56 30 L30 56 L4 30 Z"/></svg>"""
RING = b"""<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 100 100">
<circle cx="50" cy="50" r="40" fill="none" stroke="black" stroke-width="%s"/></svg>"""
BODIES = {
    JobKind.READ_ARTWORK: jobs.read_artwork_job,
    JobKind.PROVE: jobs.prove_job,
    JobKind.SUITE: jobs.suite_job,
    JobKind.VERSIONS: jobs.versions_job,
    JobKind.BATCH: jobs.batch_job,
}


class TestClock:
    """Stands still until told."""

    __test__ = False

    def __init__(self) -> None:
        self.at = datetime(2026, 5, 4, 9, 30, tzinfo=UTC)

    def now(self) -> datetime:
        return self.at

    def pass_by(self, **span: float) -> None:
        self.at += timedelta(**span)


class MemoryBlobs:
    """Blobs without a disk."""

    def __init__(self) -> None:
        self.kept: dict[str, bytes] = {}
        self.age = timedelta(0)

    def damage(self, digest: str) -> None:
        self.kept[digest] = b"!" + self.kept[digest][1:]

    def put(self, data: Any) -> str:
        whole = data if isinstance(data, bytes) else b"".join(data)
        digest = hashlib.sha256(whole).hexdigest()
        self.kept.setdefault(digest, whole)
        return digest

    def get(self, digest: str) -> bytes:
        if digest not in self.kept:
            raise BlobMissingError(digest)
        if hashlib.sha256(self.kept[digest]).hexdigest() != digest:
            raise BlobDamagedError(digest)
        return self.kept[digest]

    def part(self, digest: str, start: int, length: int) -> bytes:
        if digest not in self.kept:
            raise BlobMissingError(digest)
        return self.kept[digest][start : start + length]

    def size(self, digest: str) -> int | None:
        return len(self.kept[digest]) if digest in self.kept else None

    def delete(self, digest: str) -> None:
        self.kept.pop(digest, None)

    def entries(self) -> list[BlobEntry]:
        kept_at = TestClock().at - self.age
        return [BlobEntry(digest, len(data), kept_at) for digest, data in self.kept.items()]

    def clear_incoming(self, older_than: timedelta, now: datetime) -> int:
        return 0


class HereCompute:
    """The engine's work, done at once in this process; can be made to refuse or to fail."""

    def __init__(self) -> None:
        self.calls: list[str] = []
        self.trouble: dict[str, Exception] = {}

    def run(self, function: Callable[..., Any], *args: Any, **_how: Any) -> Any:
        self.calls.append(function.__name__)
        if function.__name__ in self.trouble:
            raise self.trouble[function.__name__]
        return function(*args)

    def convert(self, part: Foreign) -> Converted:
        return programs.convert(part)

    def run_each(self, function: Callable[..., Any], calls: Iterable[tuple[Any, ...]]) -> Any:
        return (self.run(function, *call) for call in calls)


DIAMOND = Outline(
    (Contour(np.array([[26.0, 0.0], [0.0, 26.0], [-26.0, 0.0], [0.0, -26.0]]), np.full((4, 2, 2), np.nan)),)
)


@cache
def _figures() -> dict[str, Any]:
    """A real check of the diamond, once, for those who print its figures."""
    cut = Cut(DIAMOND, slat("back-wide", 139.7, 600), Placement(0, 300, 1.0), BITS[0], Allowances())
    plain: dict[str, Any] = json.loads(json.dumps(check_to_json(check_cut(cut, study(DIAMOND)))))
    return plain


class CannedCompute(HereCompute):
    """Stands in for the engine where only the rules about its answers are tested.

    The verdict follows the size: below 1 it will not carve, above 1 there are two remarks. A file that begins
    with ``bad`` is refused.
    """

    def run(self, function: Callable[..., Any], *args: Any, **_how: Any) -> Any:
        self.calls.append(function.__name__)
        if function.__name__ in self.trouble:
            raise self.trouble[function.__name__]
        return getattr(self, function.__name__)(*args)

    def read_art(self, data: bytes, _name: str, wishes: Any, *_more: Any) -> ReadArt:
        if data.startswith(b"bad"):
            raise refusal("not-an-image")
        digest = hashlib.sha256(data + repr(wishes).encode()).hexdigest().encode()
        return ReadArt(b"outline " + digest, b"picture " + digest, "vector", "svg", {"remarks": []})

    def lay(self, _outline: bytes, at: Circumstances) -> Placement:
        left, low, right, high = at.slat.outline.bounds
        return Placement((left + right) / 2, (low + high) / 2, 1.0)

    def lay_largest(self, _outline: bytes, at: Circumstances, like: Placement) -> Placement:
        left, low, right, high = at.slat.outline.bounds
        return Placement((left + right) / 2, (low + high) / 2, 3.0, like.rotation_deg, like.mirrored)

    def judge(self, outline: bytes, at: Circumstances, placement: Placement, picture: bool) -> JudgedCut:
        told = facts_of(Cut(DIAMOND, at.slat, placement, at.bit, at.allowances)) | {"of": outline.decode()}
        facts = rfc8785.dumps(told)
        digest = hashlib.sha256(facts).hexdigest()
        verdict, remarks = "carves", ()
        if placement.scale < 1:
            verdict = "will-not-carve"
        elif placement.scale > 1:
            verdict, remarks = "carves-with-remarks", ("line-1", "tip-1")
        check = {**_figures(), "verdict": verdict, "sentence": verdict, "findings": []}
        return JudgedCut(facts, digest, verdict, f"It {verdict}.", check, remarks, b"preview " + facts)

    def find_cures(self, outline: bytes, at: Circumstances, placement: Placement, *_others: Any) -> Any:
        cures = (
            FoundCure("resize-1", "Make it larger.", outline, False, replace(placement, scale=1.0),
                      at.slat.key, at.bit.key, {"size_factor": 1 / placement.scale}),
            FoundCure("thicken-1", "Thicken it.", outline + b" thicker", True, replace(placement, scale=1.0),
                      at.slat.key, at.bit.key, {"thickening": 0.3}),
        )  # fmt: skip
        return FoundCures(cures, (("carve-background", "GEOSException: side location conflict"),))

    def find_first_repair(self, laid: Laid, *_others: Any) -> Any:
        outline, at, placement = laid.outline, laid.at, laid.placement
        change = VersionChange(ChangeKind.THICKENED, 0.4, ChangeUnit.MM, 3, (Area(0.0, 300.0, 4.0, 302.0),))
        version = FoundVersion(
            "as-placed", VersionKind.AS_PLACED, "3 strokes thickened by up to 0.40 mm.", (change,), 0.97, 0.2, 0.3,
            at.slat.key, at.bit.key, replace(placement, scale=1.0), 52.0, 52.0, "carves",
            outline + b" repaired", (outline, placement),
        )  # fmt: skip
        return FoundRepairs((version,), None)

    def find_turned_repair(self, _laid: Laid, *_others: Any) -> Any:
        return FoundRepairs((), None)

    def find_other_repairs(self, _laid: Laid, *_others: Any) -> Any:
        return FoundRepairs((), None)

    def find_sturdier(self, versions: Any, _seconds: float) -> Any:
        return [
            replace(
                each, code=f"{each.code}-sturdier", sturdier_of=each.code, outline=each.outline + b" sturdier",
                sentence=f"{each.sentence} All of it sturdier.",
            )
            for each, _, _ in versions
        ], []  # fmt: skip

    def draw_versions(self, _sent: Any, versions: Any) -> Any:
        return [(b"sent", b""), *((b"carved", b"changed" if before else b"") for _, before in versions)]

    # drawn for true: an archive is checked by drawing it again
    draw_one = staticmethod(computing.draw_one)
    draw_each = staticmethod(computing.draw_each)
    draw_order_sheets = staticmethod(computing.draw_order_sheets)
    draw_joint_sheets = staticmethod(computing.draw_joint_sheets)
    plan_boards = staticmethod(computing.plan_boards)
    # a program is held against what its digest names
    check_program = staticmethod(computing_programs.check_program)
    check_bed_program = staticmethod(computing_programs.check_bed_program)
    # test boards are laid out and fitted for true
    lay_out = staticmethod(computing_boards.lay_out)
    draw = staticmethod(computing_boards.draw)
    fit = staticmethod(computing_boards.fit)
    photograph = staticmethod(computing_boards.photograph)


class RowsAreEnough:
    """The queue of these tests: the job's row, which is written in the same transaction, is all they need."""

    def __init__(self) -> None:
        self.asked: list[tuple[str, str]] = []
        self.payloads: list[Any] = []

    def enqueue(self, connection: Any, kind: str, key: str, payload: Any) -> None:
        assert connection.in_transaction()
        assert payload["job"] == key
        self.asked.append((kind, key))
        self.payloads.append(payload)


def slat(key: str, width: float, length: float, **more: Any) -> Slat:
    screws = tuple(KeepOut(Point(0, y).buffer(4.5), "screw hole") for y in (40, length - 40))
    return Slat(
        key, key.replace("-", " "), slat_outline(SlatFigures(width, length)), 25.4, keep_outs=screws, **more
    )


@cache
def bench() -> ModelLayout:
    return ModelLayout(
        key="longwalk-bench",
        name="Longwalk bench",
        words="A garden bench.",
        slats=(
            PlacedSlat(slat("back-wide", 139.7, 600), 0, 0),
            PlacedSlat(slat("back-left", 88.9, 600), -130, 0),
            PlacedSlat(slat("leg", 88.9, 400), 0, 0, carries_art=False),
        ),
    )


@cache
def _template() -> Path:
    path = Path(mkdtemp(prefix="slatproof-test-")) / "template.db"
    database = Database(f"sqlite:///{path}")
    upgrade(database)
    with database.engine.connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    database.close()
    return path


@dataclass
class World:
    """The installation and its standing cast."""

    database: Database
    ctx: Context
    clock: TestClock
    blobs: MemoryBlobs
    compute: HereCompute
    queue: RowsAreEnough
    shop: Workshop
    other: Workshop
    maker: Maker = field(init=False)
    helper: Helper = field(init=False)
    stranger: Maker = field(init=False)

    def __post_init__(self) -> None:
        self.maker = Maker(self.shop.id, "account-maker", "Tamsin Oxbarrow", "10.0.0.1")
        self.helper = Helper(self.shop.id, "account-helper", "Wren Thistle", "10.0.0.2")
        self.stranger = Maker(self.other.id, "account-stranger", "Odo Fenwick", "10.0.0.9")

    @property
    def visitor(self) -> Visitor:
        return Visitor(self.shop.id, "192.0.2.7", "visit-1")

    def site(self, *scopes: Scope) -> ShopSite:
        return ShopSite(self.shop.id, "token-1", frozenset(scopes), "192.0.2.9")

    def client(self, order_id: str) -> Client:
        return Client(self.shop.id, order_id, "link-1", "192.0.2.7")

    def place(self, slats: tuple[str, ...] = ("back-wide",), quantity: int = 12) -> OrderAggregate:
        return ordering.place_order(self.ctx, self.visitor, content(slats, quantity)).whole

    def upload(self, whole: OrderAggregate, data: bytes = CREST, name: str = "crest.svg") -> OrderAggregate:
        upload = Upload(data, name, "image/svg+xml", tuple(each.id for each in whole.carvings))
        artworks.upload_artwork(self.ctx, self.client(whole.order.id), whole.order.id, upload)
        self.work()
        return self.look(whole)

    def submit(self, whole: OrderAggregate) -> OrderAggregate:
        order = self.look(whole).order
        return ordering.submit_order(self.ctx, self.client(order.id), order.id, order.revision)

    def submitted(self, slats: tuple[str, ...] = ("back-wide",), data: bytes = CREST) -> OrderAggregate:
        return self.submit(self.upload(self.place(slats), data))

    def offered(self, slats: tuple[str, ...] = ("back-wide",), data: bytes = CREST) -> OrderAggregate:
        whole = self.submitted(slats, data)
        return approving.offer_proofs(self.ctx, self.maker, whole.order.id, shown(whole))

    def sign(self, whole: OrderAggregate) -> OrderAggregate:
        client = self.client(whole.order.id)
        for proof in whole.proofs:
            if proof.remarks:
                approving.waive(self.ctx, client, one(proof), proof.remarks)
        return approving.sign_off(self.ctx, client, whole.order.id, shown(whole))

    def approved(self, slats: tuple[str, ...] = ("back-wide",)) -> OrderAggregate:
        whole = self.sign(self.offered(slats))
        return approving.find_feasible(self.ctx, self.maker, whole.order.id, shown(whole))

    def released(self, slats: tuple[str, ...] = ("back-wide",)) -> OrderAggregate:
        whole = self.approved(slats)
        order = whole.order
        return producing.release(self.ctx, self.maker, order.id, order.revision, shown(whole))

    def look(self, whole: OrderAggregate, actor: Actor | None = None) -> OrderAggregate:
        return looking.get_order(self.ctx, actor or self.maker, whole.order.id)

    def work(self, *, newest_first: bool = False) -> int:
        """Do all background work there is, and what it asks for; how many pieces."""
        done, way = 0, desc if newest_first else asc
        while True:
            with self.database.reading() as connection:
                waiting = connection.execute(
                    select(job_rows)
                    .where(job_rows.c.state == JobState.WAITING.value)
                    .order_by(way(job_rows.c.created_at), way(job_rows.c.id))
                ).all()
            if not waiting:
                return done
            for row in waiting:
                BODIES[JobKind(row.kind)](self.ctx, row.payload)
                done += 1


def content(slats: tuple[str, ...] = ("back-wide",), quantity: int = 12) -> OrderContent:
    return OrderContent(
        contact=Contact("Imke Harrowdale", "imke@quillfern.example", "", "Quillfern Botanical Garden"),
        lines=(LineContent("longwalk-bench", quantity, slats),),
        rights_granted=True,
    )


def one(proof: Any) -> Shown:
    return Shown(proof.carving_id, proof.digest, proof.picture)


def shown(whole: OrderAggregate) -> tuple[Shown, ...]:
    return tuple(one(proof) for proof in whole.proofs)


def only(whole: OrderAggregate) -> Carving:
    (carving,) = whole.carvings
    return carving


def states(whole: OrderAggregate) -> list[str]:
    return [carving.state.value for carving in whole.carvings]


def make_world(url: str, compute: HereCompute, *, prepare: bool = True) -> World:
    database = Database(url)
    if prepare:
        upgrade(database)
    clock, blobs, queue = TestClock(), MemoryBlobs(), RowsAreEnough()
    ctx = Context(database, blobs, queue, compute, clock, StoredOutbox(clock), "https://oxbarrow.example")
    shops = [
        shop.open_workshop(ctx, key, name, BITS[0], Allowances())
        for key, name in (("oxbarrow", "Oxbarrow Benchworks"), ("fenwick", "Fenwick Joinery"))
    ]
    for each in shops:
        system = System(each.id, "seed")
        shop.save_bit(ctx, system, BITS[1], 0)
        shop.save_model(ctx, system, bench(), {}, 0)
    return World(database, ctx, clock, blobs, compute, queue, *shops)


def make_sqlite_world(folder: Path, compute: HereCompute) -> World:
    path = folder / "world.db"
    shutil.copy(_template(), path)
    return make_world(f"sqlite:///{path}", compute, prepare=False)


def refusal(code: str) -> EngineError:
    return EngineError(code, "It cannot be used.", "Send another.")
