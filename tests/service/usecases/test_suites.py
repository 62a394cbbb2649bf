"""Runs of names and pictures over several slats, through the use cases, with the real engine."""

from __future__ import annotations

import io
import zipfile
from dataclasses import asdict, replace

import pytest

from artwork.lettering.field import Field
from service.orders.errors import ConflictError, InvalidError, NotFoundError
from service.orders.price_list import PriceEntry, PriceKind
from service.orders.record import EntryKind
from service.orders.suites import SuiteShown, WholeSuite
from service.orders.work import BatchState
from service.usecases import (
    approving,
    artworks,
    cutting,
    looking,
    ordering,
    pricing,
    privacy_and_audit,
    producing,
    sheets,
    suites,
)
from service.usecases.answers import OrderAggregate
from service.usecases.commands import Upload
from tests.service.usecases.test_pricing import PRICES
from tests.service.usecases.world import World, content

RULE = {"typeface": "heebo-bold", "cap_height": 40.0, "least_cap_height": 25.0, "tracking": 0.05}
NAMES = "Rosa\nEwan\nJo Quill\n"


def names_on(world: World, whole: OrderAggregate, texts: str = NAMES, **more: object) -> OrderAggregate:
    line = whole.lines[0].id
    asked = suites.NamesContent(line, "back-wide", RULE, texts, turn_deg=90.0, **more)  # type: ignore[arg-type]
    order = world.look(whole).order
    done = suites.set_names(world.ctx, world.client(order.id), order.id, order.revision, asked)
    world.work()
    return world.look(done)


def only(world: World, whole: OrderAggregate) -> WholeSuite:
    (found,) = suites.list_suites(world.ctx, world.client(whole.order.id), whole.order.id)
    return found


def seen(found: WholeSuite) -> SuiteShown:
    assert found.digest is not None
    return SuiteShown(found.suite.id, found.digest)


def approve(world: World, whole: OrderAggregate) -> OrderAggregate:
    order, client = whole.order.id, world.client(whole.order.id)
    shown = (seen(only(world, whole)),)
    approving.offer_proofs(world.ctx, world.maker, order, (), shown)
    kinds = {approving.kind_of(n) for p in world.look(whole).proofs for n in p.remarks}
    if kinds:
        approving.waive_together(world.ctx, client, shown[0], tuple(kinds), order)
    quote = pricing.get_quote(world.ctx, client, order).current
    approving.sign_off(world.ctx, client, order, (), quote.digest if quote else "", whole=shown)
    done = approving.find_feasible(world.ctx, world.maker, order, (), whole=shown)
    return producing.release(world.ctx, world.maker, order, done.order.revision, (), whole=shown)


def test_every_piece_has_its_own_text_judged_like_any_art(real_world: World):
    whole = names_on(real_world, real_world.place())
    found = only(real_world, whole)
    assert [(part.place, part.text) for part in found.parts] == [(1, "Rosa"), (2, "Ewan"), (3, "Jo Quill")]
    assert whole.lines[0].quantity == 3, "as many pieces as texts"
    assert [c.state for c in found.carvings] == ["checked"] * 3
    assert [p.pieces for p in whole.proofs] == [1, 1, 1]
    assert len({p.digest for p in whole.proofs}) == 3
    assert found.sentence.startswith("3 of 3 pieces will carve")
    assert real_world.blobs.get(whole.proofs[0].picture).startswith(b"\x89PNG")


def test_a_run_is_signed_judged_and_released_as_one_and_every_piece_is_in_the_batch(real_world: World):
    world = real_world
    texts = PriceEntry("text", PriceKind.PERSONALISED_PIECE, 700)
    pricing.save_prices(world.ctx, world.maker, replace(PRICES, entries=(*PRICES.entries, texts)), 0)
    whole = names_on(world, world.place())
    whole = world.submit(whole)
    released = approve(world, whole)
    assert released.order.state == "released"
    entries = looking.decisions_by_order_ids(world.ctx, world.maker, [whole.order.id])[0]
    signed = [e for e in entries if e.kind is EntryKind.SIGN_OFF]
    assert len(signed) == 3
    assert {e.facts["suite_digest"] for e in signed} == {only(world, whole).digest}
    quote = pricing.get_quote(world.ctx, world.maker, whole.order.id).signed
    assert quote is not None
    assert [(str(f.quantity), f.amount) for f in quote.quote.lines if f.entry == "text"] == [("3", 2100)]
    batch = producing.take_batch(world.ctx, world.maker, (whole.order.id,))
    world.work()
    batch = producing.get_batch(world.ctx, world.maker, batch.id)
    assert batch.state is BatchState.READY, batch.message
    with zipfile.ZipFile(io.BytesIO(world.blobs.get(batch.archive or ""))) as opened:
        files = opened.namelist()
    for ending in ("svg", "dxf", "pdf"):
        assert sum(name.endswith(f"art.{ending}") for name in files) == 3
    assert any(name.endswith("contact-sheet-1.pdf") for name in files)


def test_what_cannot_be_carved_is_told_by_piece_and_stops_the_signature(real_world: World):
    world = real_world
    whole = world.submit(names_on(world, world.place(), "Rosa\nEwan 😀\n"))
    found = only(world, whole)
    assert [c.state for c in found.carvings] == ["checked", "refused"]
    assert [part.place for part in found.stopped] == [2]
    trouble = found.carvings[1].trouble
    assert trouble is not None and trouble.code == "missing-glyph"
    assert "U+1F600" in trouble.message and "at 6 of its 6" in trouble.message
    assert trouble.cure
    assert "cannot be made" in found.sentence
    assert found.digest is None
    with pytest.raises(ConflictError) as refused:
        approving.offer_proofs(
            world.ctx, world.maker, whole.order.id, (), (SuiteShown(found.suite.id, "0" * 64),)
        )
    assert refused.value.code == "not-current"
    mended = names_on(world, whole, "Rosa\nEwan\n")
    assert only(world, mended).digest is not None


def test_a_bad_list_is_told_by_its_rows_and_changes_nothing(real_world: World):
    whole = real_world.place()
    for given in ({"texts": "\n \n"}, {"texts": "x\n" * 501}, {"table": b'a;b\n"open\n'}):
        with pytest.raises(InvalidError):
            names_on(real_world, whole, given.pop("texts", ""), **given)  # type: ignore[arg-type]
    assert real_world.look(whole) == whole
    table = "\ufeffName;Year\r\nRosa;1999\r\n\r\nRosa;1999\r\n=Sum;2\r\n" + "x" * 500 + ";1\r\n"
    done = names_on(real_world, whole, "", table=table.encode(), columns=("name",))
    found = only(real_world, done)
    assert [part.text for part in found.parts] == ["Rosa", "Rosa", "=Sum"]
    assert any("Row 3" in problem for problem in found.suite.problems)
    assert any("Row 6" in problem for problem in found.suite.problems)


def test_pieces_of_a_run_are_not_changed_or_decided_on_alone(real_world: World):
    world = real_world
    whole = world.submit(names_on(world, world.place()))
    client, first = world.client(whole.order.id), whole.carvings[0]
    for change in (
        lambda: cutting.check_again(world.ctx, client, first.id, first.revision),
        lambda: artworks.upload_artwork(
            world.ctx, client, whole.order.id, Upload(b"<svg/>", "a.svg", "", (first.id,))
        ),
    ):
        with pytest.raises(ConflictError) as refused:
            change()
        assert refused.value.code == "part-of-suite"
    from tests.service.usecases.world import shown

    with pytest.raises(ConflictError) as refused:
        approving.offer_proofs(world.ctx, client, whole.order.id, shown(whole)[:1])
    assert refused.value.code == "part-of-suite"
    lines = (replace(content().lines[0], quantity=5, id=whole.lines[0].id),)
    with pytest.raises(ConflictError) as refused:
        ordering.amend_order(
            world.ctx, client, whole.order.id, whole.order.revision, asdict(replace(content(), lines=lines))
        )
    assert refused.value.code == "list-decides"


def test_other_settings_make_the_whole_run_stale_and_it_is_checked_again_as_a_whole(real_world: World):
    from service.usecases import shop

    world = real_world
    whole = world.submit(names_on(world, world.place(), place=Field(0.0, 300.0, 300.0, 60.0, 90.0)))
    before = only(world, whole)
    settings = shop.get_settings(world.ctx, world.maker).workshop
    asked = shop.WorkshopContent(settings.name, replace(settings.allowances, sanding=0.5), "v60", 365)
    shop.save_workshop(world.ctx, world.maker, asked, settings.revision)
    assert {c.state for c in only(world, whole).carvings} == {"stale"}
    again = world.look(whole)
    suites.check_suite(world.ctx, world.maker, before.suite.id, again.order.revision)
    world.work()
    after = only(world, whole)
    assert {c.state for c in after.carvings} == {"checked"}
    assert after.digest not in (None, before.digest)


def test_a_dropped_list_leaves_a_blank_slat(real_world: World):
    world = real_world
    whole = names_on(world, world.place())
    found = only(world, whole)
    client = world.client(whole.order.id)
    done = suites.drop_suite(world.ctx, client, found.suite.id, whole.order.revision)
    assert [(c.piece, c.state) for c in done.carvings] == [(None, "no-art")]
    assert suites.list_suites(world.ctx, client, whole.order.id) == ()


def test_the_contact_sheet_shows_the_digest_that_is_signed(real_world: World):
    import pypdfium2

    world = real_world
    whole = names_on(world, world.place())
    found = only(world, whole)
    sheet = sheets.names_sheet(world.ctx, world.client(whole.order.id), found.suite.id)
    document = pypdfium2.PdfDocument(sheet)
    text = document[0].get_textpage().get_text_range()
    document.close()
    assert found.digest is not None
    assert found.digest in text
    page = sheets.names_page(world.ctx, world.maker, found.suite.id, 1)
    assert page.startswith(b"\x89PNG")
    with pytest.raises(NotFoundError):
        sheets.names_page(world.ctx, world.maker, found.suite.id, 9)


def test_lists_are_their_orders_own(real_world: World):
    world = real_world
    whole, other = names_on(world, world.place()), world.place()
    found = only(world, whole)
    for actor in (world.client(other.order.id), world.stranger, world.visitor):
        with pytest.raises(NotFoundError):
            suites.get_suite(world.ctx, actor, found.suite.id)
        with pytest.raises(NotFoundError):
            sheets.names_sheet(world.ctx, actor, found.suite.id)


WIDE = (
    b'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 200 120">'
    b'<path d="M0 0H200V30H0Z M0 80H200V120H0Z"/></svg>'
)


def laid_across(world: World, data: bytes) -> OrderAggregate:
    """An order that was sent in, with that picture over two slats."""
    whole = world.upload(world.place(("back-wide", "back-left")), data, "wide.svg")
    order, reading = whole.order, whole.readings[0].id
    asked = suites.AcrossContent(whole.lines[0].id, reading, ("back-wide", "back-left"))
    client = world.client(order.id)
    suites.lay_across(world.ctx, client, order.id, order.revision, asked)
    world.work()
    return world.submit(world.look(whole))


def test_one_picture_lies_over_several_slats_and_is_signed_as_one(real_world: World):
    world = real_world
    whole = laid_across(world, WIDE)
    found = only(world, whole)
    assert [c.state for c in found.carvings] == ["checked", "checked"], [c.trouble for c in found.carvings]
    assert {p.verdict for p in whole.proofs} <= {"carves", "carves-with-remarks"}
    assert found.suite.made["placement"]["scale"] > 0
    assert any("mm as drawn" in note for note in found.suite.made["notes"])
    assert approve(world, whole).order.state == "released"


def test_an_order_with_names_is_ordered_again_with_its_list(real_world: World):
    world = real_world
    whole = names_on(world, world.place())
    again = ordering.reorder(world.ctx, world.client(whole.order.id), whole.order.id).whole
    world.work()
    found = only(world, again)
    assert [part.text for part in found.parts] == ["Rosa", "Ewan", "Jo Quill"]
    assert {carving.state for carving in found.carvings} == {"checked"}
    before, after = only(world, whole), found
    cuts = [[p.digest for p in each.proofs if p is not None] for each in (before, after)]
    assert cuts[0] == cuts[1]


def test_a_clients_names_are_erased_with_the_client(real_world: World):
    world = real_world
    whole = names_on(world, world.place())
    privacy_and_audit.erase_client(world.ctx, world.maker, whole.order.id, whole.order.revision)
    assert suites.list_suites(world.ctx, world.maker, whole.order.id) == ()


def test_nobody_waits_to_write_while_the_files_of_a_list_reach_the_disk(real_world: World, monkeypatch):
    """Three hundred pieces are six hundred files, each flushed."""
    world = real_world
    whole, keep = world.place(), world.blobs.put
    while_writing: list[bool] = []

    def put(data: object) -> str:
        while_writing.append(world.database._writer.locked())
        return keep(data)

    monkeypatch.setattr(world.blobs, "put", put)
    names_on(world, whole)
    assert while_writing == [False] * 9  # outline, facts and picture of three pieces
