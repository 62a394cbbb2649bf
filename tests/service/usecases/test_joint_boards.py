"""Several orders out of shared boards: counts equal the orders, every part on its board, no board more than apart."""

from __future__ import annotations

import csv
import io
import zipfile
from collections import Counter
from dataclasses import replace

import ezdxf
import pytest
from shapely import Polygon, box

from service.orders.errors import ConflictError, InvalidError, NotAllowedError, NotFoundError
from service.orders.machine import Machine
from service.usecases import approving, joint_boards, machining, producing
from service.usecases.answers import OrderAggregate
from tests.service.usecases.world import World, shown

KERF = Machine().kerf


def released(world: World, quantity: int) -> OrderAggregate:
    whole = world.submit(world.upload(world.place(quantity=quantity)))
    approving.offer_proofs(world.ctx, world.maker, whole.order.id, shown(whole))
    done = approving.find_feasible(
        world.ctx, world.maker, whole.order.id, shown(world.sign(world.look(whole)))
    )
    return producing.release(world.ctx, world.maker, done.order.id, done.order.revision, shown(done))


def test_two_orders_share_their_boards(world: World):
    first, second = released(world, 3), released(world, 2)
    made = joint_boards.joint_sheets(world.ctx, world.helper, (first.order.id, second.order.id))
    with zipfile.ZipFile(io.BytesIO(made)) as opened:
        files = {name: opened.read(name) for name in opened.namelist()}
    rows = [
        row
        for name in files
        if name.endswith("parts-list.csv")
        for row in csv.DictReader(io.StringIO(files[name].decode("utf-8-sig")))
    ]
    assert Counter(row["order"] for row in rows) == {"1": 3 * 3, "2": 2 * 3}
    of_order = {number: {row["board"] for row in rows if row["order"] == number} for number in ("1", "2")}
    assert of_order["1"] & of_order["2"], "one board at least holds parts of both"
    drawn = [ezdxf.read(io.StringIO(data.decode())) for name, data in files.items() if name.endswith(".dxf")]
    boards = [
        Polygon(each.get_points("xy")) for bed in drawn for each in bed.query("LWPOLYLINE[layer=='BOARD']")
    ]
    assert len(boards) == len({row["board"] for row in rows})
    for bed in drawn:
        edges = [
            Polygon(each.get_points("xy")) for each in bed.query("LWPOLYLINE[layer=='STRAIGHT_CUT_THROUGH']")
        ]
        grounds = [Polygon(each.get_points("xy")) for each in bed.query("LWPOLYLINE[layer=='BOARD']")]
        assert all(any(ground.buffer(1e-6).covers(edge) for ground in grounds) for edge in edges)
        for at, edge in enumerate(edges):
            assert all(box(*edge.bounds).distance(box(*other.bounds)) >= KERF - 1e-6 for other in edges[:at])
    labels = {name for name in files if name.endswith("labels.pdf")}
    assert labels == {"order-00001-labels.pdf", "order-00002-labels.pdf"}
    again = joint_boards.joint_sheets(world.ctx, world.maker, (first.order.id, second.order.id))
    assert again == made, "the same orders give the same bytes"


def test_what_cannot_share_is_refused_in_words(world: World):
    first, draft = released(world, 1), world.place()
    ask = joint_boards.joint_sheets
    with pytest.raises(ConflictError, match="release it first"):
        ask(world.ctx, world.maker, (first.order.id, draft.order.id))
    with pytest.raises(InvalidError):
        ask(world.ctx, world.maker, (first.order.id, first.order.id))
    with pytest.raises(NotFoundError):
        ask(world.ctx, world.stranger, (first.order.id,))
    with pytest.raises(NotAllowedError):
        ask(world.ctx, world.client(first.order.id), (first.order.id,))
    machining.save_machine(world.ctx, world.maker, replace(Machine(), kerf=8.0), 0)
    second = released(world, 1)
    with pytest.raises(ConflictError, match="different settings"):
        ask(world.ctx, world.maker, (first.order.id, second.order.id))
