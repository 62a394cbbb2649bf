"""From an order as stored to its quote, its boards and its days."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from artwork.workpiece import Allowances
from seeds.shop import load
from service.boards.order_work import area_of, order_parts, order_works
from service.boards.schedule import Pace, PieceWork, cut_out_minutes
from service.boards.stock import Stock
from service.boards.wood_plan import plan_wood
from service.orders.order import Carving, Line
from service.orders.proofs import Proof
from service.orders.quote import quote
from service.orders.quoting import quoted_lines
from service.orders.states import CarvingState
from service.orders.workshop import Settings, ShopBit, ShopModel, Workshop
from tests.service.orders.test_quote import PRICES

SHOP = load()
SETTINGS = Settings(
    Workshop("w", "w", "Oxbarrow Benchworks", 1, Allowances(), "v60", 365),
    tuple(ShopModel(model) for model in SHOP.models),
    tuple(ShopBit(bit) for bit in SHOP.bits),
)
LINES = (
    Line(id="l2", order_id="o", position=1, model_key="fernhollow-chair", quantity=3),
    Line(id="l1", order_id="o", position=0, model_key="longwalk-bench", quantity=4),
)


def carving(key: str, line: str, slat: str, piece: int | None, proof_id: str | None) -> Carving:
    return Carving(
        id=key, order_id="o", line_id=line, slat_key=slat, piece=piece, revision=1,
        state=CarvingState.CHECKED,
        artwork_id=None, reading_id=None, outline=None, outline_note="", placement=None, bit_key=None,
        thickness=None, proof_id=proof_id,
    )  # fmt: skip


def proof(key: str, carving_id: str, minutes: float, pieces: int) -> Proof:
    return Proof(
        id=key, order_id="o", carving_id=carving_id, number=1, digest="d", basis="b", facts={}, outline="o",
        picture="p",
        pieces=pieces, verdict="carves", sentence="", check={"figures": {"minutes": minutes}}, remarks=(),
        waived=(), signed_at=None, judged_at=None, stale_because="", made_at=datetime(2027, 3, 1, tzinfo=UTC),
    )  # fmt: skip


CARVINGS = (
    carving("c1", "l1", "back-rail", None, "p1"),
    carving("c2", "l2", "back-centre", 1, "p2"),
    carving("c3", "l2", "back-centre", 2, "p3"),
    carving("c4", "l2", "seat-front", None, None),
)
PROOFS = (
    proof("p0", "c1", 99.0, 4),  # an earlier one
    proof("p1", "c1", 32.5, 4),
    proof("p2", "c2", 10.0, 1),
    proof("p3", "c3", 12.0, 1),
)


def test_only_current_proofs_are_counted_line_by_line():
    found = quoted_lines(LINES, CARVINGS, PROOFS, SETTINGS, {"c2": 1, "c3": 1})
    assert [(line.model_key, line.quantity) for line in found] == [
        ("longwalk-bench", 4),
        ("fernhollow-chair", 3),
    ]
    rail, wide = found[0].carved[0], found[1].carved[0]
    assert (rail.slat_key, rail.pieces, rail.minutes, rail.personalised) == ("back-rail", 4, 130.0, 0)
    assert (wide.slat_key, wide.pieces, wide.minutes, wide.personalised) == ("back-centre", 2, 22.0, 2)
    assert len(found[1].carved) == 1  # nothing is judged on the seat's front yet
    made = quote(found, PRICES)
    assert made.total == 519_600 + 18_000 + 12_350 + 179_700 + 3_600 + 2_090 + 1_400 + 6_000


def test_boards_are_those_of_every_piece():
    parts = order_parts(LINES, SETTINGS)
    chair, bench = SHOP.model("fernhollow-chair"), SHOP.model("longwalk-bench")
    wanted = 3 * sum(part.count for part in chair.parts) + 4 * sum(part.count for part in bench.parts)
    assert len({part.key for part in parts}) == len(parts) == wanted
    plan = plan_wood(parts, [(Stock(), ())])
    assert plan.whole >= plan.bound > 20
    assert len(plan.boards) == plan.whole


def base(work: PieceWork) -> float:
    """The bench's own minutes on a piece, without loading."""
    return {model.name: model.shop_minutes for model in SHOP.models}[work.name]


def test_work_counts_every_board_and_pieces_carved_alike_together():
    pace = Pace(load_minutes=4.0, change_minutes=3.0, boards_a_bed=6)
    assert pace.board_minutes == 5.0
    works = order_works(LINES, CARVINGS, PROOFS, SETTINGS, pace, boards=30)
    assert sum(work.pieces * (work.bench - base(work)) for work in works) == pytest.approx(30 * 5.0)
    chair, bench = SHOP.model("fernhollow-chair"), SHOP.model("longwalk-bench")
    loaded = works[0].bench - chair.shop_minutes
    cut = cut_out_minutes(chair.parts, pace) + loaded
    assert [(work.pieces, round(work.machine - cut, 6)) for work in works[:3]] == [
        (1, 0.0),
        (1, 10.0),
        (1, 12.0),
    ]
    assert works[3].pieces == 4
    longer = works[3].bench - bench.shop_minutes
    assert works[3].machine == pytest.approx(32.5 + longer + cut_out_minutes(bench.parts, pace))
    assert longer / loaded == pytest.approx(area_of(bench) / area_of(chair))
    assert sum(work.pieces for work in works) == 7


def test_a_model_the_workshop_does_not_know_is_an_error_of_the_caller():
    stranger = (Line(id="l", order_id="o", position=0, model_key="no-such", quantity=1),)
    for call in (
        lambda: quoted_lines(stranger, (), (), SETTINGS),
        lambda: order_parts(stranger, SETTINGS),
        lambda: order_works(stranger, (), (), SETTINGS, Pace(), boards=1),
    ):
        with pytest.raises(KeyError):
            call()
