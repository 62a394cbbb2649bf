"""Lists, search and loaders: right, walled off, and in a number of statements that does not grow."""

from __future__ import annotations

from contextlib import contextmanager
from dataclasses import asdict, replace
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from sqlalchemy import event

from service.orders.actors import Scope
from service.orders.errors import InvalidError, NotAllowedError, NotFoundError
from service.orders.order import Contact
from service.usecases import looking, ordering
from service.usecases.commands import LineContent, OrderFilter, PageAsk

from .world import World, content, only


@contextmanager
def counted(world: World):
    """The SELECT statements sent meanwhile."""
    seen: list[str] = []

    def note(_connection, _cursor, statement, *_more):
        if statement.lstrip().upper().startswith("SELECT"):
            seen.append(statement)

    event.listen(world.database.engine, "before_cursor_execute", note)
    try:
        yield seen
    finally:
        event.remove(world.database.engine, "before_cursor_execute", note)


def place(world: World, name="Imke Harrowdale", due: date | None = None, note=""):
    contact = Contact(name, "imke@quillfern.example", "", "Quillfern")
    asked = replace(content(), contact=contact, needed_by=due, note=note)
    return ordering.place_order(world.ctx, world.visitor, asked).whole


def numbers(world: World, page_size: int = 100, **wanted):
    found, after = [], None
    while True:
        page = looking.list_orders(world.ctx, world.maker, OrderFilter(**wanted), PageAsk(page_size, after))
        found += [order.number for order in page.items]
        assert len(page.cursors) == len(page.items) <= page_size
        if not page.more:
            return found
        after = page.cursors[-1]


@pytest.mark.parametrize("size", [1, 2, 3, 7, 100])
def test_pages_put_together_are_the_whole_list(world: World, size):
    days = [date(2026, 6, day) if day % 3 else None for day in range(1, 8)]
    for day in days:
        place(world, due=day)
    assert numbers(world, size) == [7, 6, 5, 4, 3, 2, 1]
    by_due = [number for number, day in enumerate(days, 1) if day] + [3, 6]
    assert numbers(world, size, order_by="needed-by") == by_due


def test_a_cursor_is_good_for_its_own_list_only(world: World):
    for _ in range(3):
        place(world)
    page = looking.list_orders(world.ctx, world.maker, page=PageAsk(1))
    with pytest.raises(InvalidError):
        looking.list_orders(
            world.ctx, world.maker, OrderFilter(order_by="needed-by"), PageAsk(1, page.cursors[0])
        )
    with pytest.raises(InvalidError):
        looking.list_orders(world.ctx, world.maker, OrderFilter(order_by="price"))


def test_orders_are_found_by_words_states_and_verdicts(world: World):
    first = place(world, "Imke Harrowdale", note="Für den Rosengarten")
    second = place(world, "Corvin Ashmere")
    world.upload(second)
    assert numbers(world, words="harrow") == [1]
    assert numbers(world, words="FUR rosen") == [1]
    assert numbers(world, words="quill") == [2, 1]
    assert numbers(world, words="quill corvin") == [2]
    assert numbers(world, words="crest") == [2]
    assert numbers(world, words="2") == [2]
    assert numbers(world, words="arrow") == []
    assert numbers(world, words="%") == []
    assert numbers(world, carving_states=("checked", "no-art")) == [2, 1]
    assert numbers(world, carving_states=("checked",)) == [2]
    assert numbers(world, verdicts=("carves",)) == [2]
    assert numbers(world, verdicts=("will-not-carve",)) == []
    world.submit(second)
    assert numbers(world, states=("submitted",)) == [2]
    assert numbers(world, states=("submitted", "draft")) == [2, 1]
    assert numbers(world, states=("submitted", "draft"), words="imke harrowdale") == [1]
    assert numbers(world, states=("released",)) == []
    assert looking.count_states(world.ctx, world.helper) == {
        "draft": 1, "submitted": 1, "released": 0, "in-production": 0, "done": 0, "cancelled": 0,
    }  # fmt: skip
    assert first.order.number == 1


@given(data=st.data())
def test_every_filter_means_what_it_says(few_orders, data):
    world, facts = few_orders
    states = data.draw(st.lists(st.sampled_from(["draft", "submitted", "cancelled"]), unique=True))
    words = data.draw(st.sampled_from(["", "imke", "corv", "quillfern", "nobody", "im co", "1"]))
    first = data.draw(st.none() | st.dates(date(2026, 5, 1), date(2026, 7, 1)))
    last = data.draw(st.none() | st.dates(date(2026, 5, 1), date(2026, 7, 1)))
    by_due = data.draw(st.booleans())
    size = data.draw(st.sampled_from([1, 3, 50]))

    def wanted(order):
        due = order.needed_by or date.max
        text = f"{order.contact.name} {order.contact.email} {order.contact.organisation} {order.number}"
        found = text.casefold().replace("@", " ").replace(".", " ").split()
        return (
            (not states or order.state in states)
            and all(any(has.startswith(word) for has in found) for word in words.split())
            and (first is None or due >= first)
            and (last is None or due <= last)
        )

    key = (lambda o: (o.needed_by or date.max, o.number)) if by_due else (lambda o: -o.number)
    expected = [order.number for order in sorted(filter(wanted, facts), key=key)]
    asked = {
        "states": tuple(states), "words": words, "needed_from": first, "needed_until": last,
        "order_by": "needed-by" if by_due else "newest",
    }  # fmt: skip
    assert numbers(world, size, **asked) == expected


@pytest.fixture(scope="module")
def few_orders(tmp_path_factory):
    from .world import CannedCompute, make_sqlite_world

    world = make_sqlite_world(tmp_path_factory.mktemp("few"), CannedCompute())
    for index in range(12):
        name = ("Imke Harrowdale", "Corvin Ashmere")[index % 2]
        due = date(2026, 5, 20) + timedelta(days=index // 3) if index % 4 else None
        order = place(world, name, due).order
        if index % 3 == 1:
            ordering.submit_order(world.ctx, world.maker, order.id, order.revision)
        if index % 3 == 2:
            ordering.cancel_order(world.ctx, world.maker, order.id, order.revision, "no")
    yield world, looking.list_orders(world.ctx, world.maker).items
    world.database.close()


def test_a_client_sees_one_order_and_nothing_else(world: World):
    mine, other = world.released(), world.released()
    client = world.client(mine.order.id)
    assert [order.id for order in looking.list_orders(world.ctx, client).items] == [mine.order.id]
    both = [mine.order.id, other.order.id, "nowhere"]
    assert [each and each.id for each in looking.orders_by_ids(world.ctx, client, both)] == [
        both[0],
        None,
        None,
    ]
    for load in (
        looking.lines_by_order_ids,
        looking.carvings_by_order_ids,
        looking.artworks_by_order_ids,
        looking.jobs_by_order_ids,
        looking.decisions_by_order_ids,
    ):
        one, two, three = load(world.ctx, client, both)
        assert one
        assert (two, three) == ((), ())
        assert load(world.ctx, world.stranger, both) == [(), (), ()]
    carvings = [only(mine).id, only(other).id]
    assert [bool(each) for each in looking.proofs_by_carving_ids(world.ctx, client, carvings)] == [
        True,
        False,
    ]
    for load, ids in (
        (looking.carvings_by_ids, carvings),
        (looking.artworks_by_ids, [mine.artworks[0].id, other.artworks[0].id]),
        (looking.readings_by_ids, [mine.readings[0].id, other.readings[0].id]),
        (looking.proofs_by_ids, [mine.proofs[0].id, other.proofs[0].id]),
    ):
        assert [bool(each) for each in load(world.ctx, client, ids)] == [True, False]
        assert load(world.ctx, world.stranger, ids) == [None, None]
        with pytest.raises(NotFoundError):
            load(world.ctx, world.visitor, ids)
        with pytest.raises(NotAllowedError):
            load(world.ctx, world.site(Scope.ORDERS_WRITE), ids)
    with pytest.raises(NotAllowedError):
        looking.count_states(world.ctx, client)


def test_files_are_handed_to_those_they_belong_to(world: World):
    mine, other = world.released(), world.released()
    client = world.client(mine.order.id)
    assert looking.reading_picture(world.ctx, client, mine.readings[0].id).content_type == "image/png"
    assert looking.proof_picture(world.ctx, client, mine.proofs[0].id).digest == mine.proofs[0].picture
    with pytest.raises(InvalidError):
        looking.proof_drawing(world.ctx, client, mine.proofs[0].id, "exe")
    for attempt in (
        lambda: looking.reading_picture(world.ctx, client, other.readings[0].id),
        lambda: looking.proof_picture(world.ctx, client, other.proofs[0].id),
        lambda: looking.artwork_file(world.ctx, client, other.artworks[0].id),
        lambda: looking.proof_drawing(world.ctx, client, other.proofs[0].id, "svg"),
    ):
        with pytest.raises(NotFoundError):
            attempt()
    with pytest.raises(NotAllowedError):
        looking.batch_file(world.ctx, client, "any")


def test_a_page_costs_the_same_statements_however_much_is_on_it(world: World):
    def read_page(first):
        page = looking.list_orders(world.ctx, world.maker, page=PageAsk(first)).items
        ids = [order.id for order in page]
        looking.lines_by_order_ids(world.ctx, world.maker, ids)
        carvings = looking.carvings_by_order_ids(world.ctx, world.maker, ids)
        looking.artworks_by_order_ids(world.ctx, world.maker, ids)
        looking.decisions_by_order_ids(world.ctx, world.maker, ids)
        proofs = [carving.proof_id for group in carvings for carving in group if carving.proof_id]
        return looking.proofs_by_ids(world.ctx, world.maker, proofs)

    for _ in range(4):
        world.submitted(("back-wide", "back-left"))
    with counted(world) as few:
        assert len(read_page(1)) == 2
    with counted(world) as many:
        assert len(read_page(4)) == 8
    assert len(few) == len(many) <= 6


def test_a_whole_order_costs_the_same_statements_however_much_is_in_it(world: World):
    small, large = world.place(("back-wide",)), world.place(("back-wide", "back-left"))
    line = LineContent("longwalk-bench", 1, ("back-wide", "back-left"))
    lines = tuple(line for _ in range(20))
    asked = replace(content(), lines=lines)
    large = ordering.amend_order(world.ctx, world.maker, large.order.id, 1, asdict(asked))
    assert len(large.carvings) == 40
    with counted(world) as few:
        looking.get_order(world.ctx, world.maker, small.order.id)
    with counted(world) as many:
        looking.get_order(world.ctx, world.maker, large.order.id)
    assert len(few) == len(many) == 6


def test_what_is_found_by_id_never_walks_a_whole_workshop(world: World):
    whole = world.released(("back-wide", "back-left"))
    ids = [whole.order.id]
    carvings, proofs = [c.id for c in whole.carvings], [p.id for p in whole.proofs]
    seen: list[tuple[str, object]] = []

    def note(_connection, _cursor, statement, parameters, *_more):
        if statement.lstrip().startswith("SELECT"):
            seen.append((statement, parameters))

    event.listen(world.database.engine, "before_cursor_execute", note)
    looking.get_order(world.ctx, world.maker, whole.order.id)
    for load in (
        looking.orders_by_ids,
        looking.lines_by_order_ids,
        looking.carvings_by_order_ids,
        looking.artworks_by_order_ids,
        looking.jobs_by_order_ids,
        looking.decisions_by_order_ids,
    ):
        load(world.ctx, world.maker, ids)
    looking.carvings_by_ids(world.ctx, world.maker, carvings)
    looking.proofs_by_carving_ids(world.ctx, world.maker, carvings)
    looking.proofs_by_ids(world.ctx, world.maker, proofs)
    event.remove(world.database.engine, "before_cursor_execute", note)
    assert len(seen) >= 15
    with world.database.engine.connect() as connection:
        for statement, parameters in seen:
            plan = connection.exec_driver_sql(f"EXPLAIN QUERY PLAN {statement}", parameters).all()
            steps = [row[3] for row in plan]
            assert not [step for step in steps if step.startswith("SCAN")], steps
            assert not [step for step in steps if "(workshop_id=?)" in step], steps
