"""The archive: checked by bagit, zipfile and our own verifier, and made wrong in many ways."""

from __future__ import annotations

import hashlib
import io
import json
import zipfile
from dataclasses import replace
from pathlib import Path

import bagit
import jsonschema
import pypdfium2
import pytest
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from service.batches.assemble import archive
from service.batches.errors import DamagedFileError, NotApprovedError
from service.batches.verify import verify
from service.orders.record import EntryKind
from tests.service.batches.making import SIGNER, Book, Shelf, batch_of, carving_of, joined, order_of

KEY = SIGNER.public_key().public_bytes_raw()


@pytest.fixture
def shelf() -> Shelf:
    return Shelf()


def written(tmp_path, data: bytes):
    path = tmp_path / "batch.zip"
    path.write_bytes(data)
    return path


def rewritten(data: bytes, change) -> bytes:
    """The archive with files changed: ``change(name, bytes)`` gives new bytes, ``None`` drops the file."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w") as new:
        for entry in old.infolist():
            body = change(entry.filename.split("/", 1)[1], old.read(entry))
            if body is not None:
                new.writestr(entry.filename, body)
    return out.getvalue()


def test_it_is_a_valid_bag_for_the_bagit_library(shelf, tmp_path) -> None:
    path = written(tmp_path, joined(archive(batch_of(shelf, orders=2), SIGNER)))
    with zipfile.ZipFile(path) as opened:
        assert opened.testzip() is None
        opened.extractall(tmp_path / "out")
    bag = bagit.Bag(str(tmp_path / "out" / "batch-b1"))
    bag.validate()
    assert bag.version_info == (1, 0)
    assert bag.info["Source-Organization"] == "Oxbarrow Benchworks"


def test_it_verifies_and_says_so_in_words(shelf, tmp_path) -> None:
    verdict = verify(written(tmp_path, joined(archive(batch_of(shelf, orders=2), SIGNER))), [KEY])
    assert verdict.sound, verdict.sentence
    assert "4 carvings, each signed, found feasible and released" in verdict.sentence
    assert verdict.signed_by


def test_every_carving_has_its_files_and_proof_json_is_what_was_signed(shelf) -> None:
    data = joined(archive(batch_of(shelf), SIGNER))
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        folder = "batch-b1/data/order-00007/001-back-centre"
        names = {name.removeprefix(folder + "/") for name in opened.namelist() if name.startswith(folder)}
        assert names == {"art.dxf", "art.pdf", "art.svg", "carving.json", "preview.png", "proof.json"}
        facts = json.loads(opened.read(f"{folder}/carving.json"))
        digest = hashlib.sha256(opened.read(f"{folder}/proof.json")).hexdigest()
        assert facts["proof"]["digest"] == digest


CHANGES = {
    "a changed drawing": ("art.svg", lambda b: b + b" ", "art.svg was changed or damaged"),
    "a missing drawing": ("art.pdf", lambda b: None, "art.pdf is missing"),
    "another preview": ("preview.png", lambda b: b"other", "preview.png is not the picture that was signed"),
    "another proof": ("proof.json", lambda b: b"{}", "proof.json is not the proof that was approved"),
    "a changed listing": (
        "batch.json",
        lambda b: b.replace(b"Quillfern", b"Quillfarm"),
        "batch.json does not fit its signature",
    ),
    "no signature": ("batch.sig.json", lambda b: b"{}", "holds no signature"),
    "a changed decision": (
        "record.json",
        lambda b: b.replace(b'"sign-off"', b'"offer"', 1),
        "was changed; it no longer gives its own digest",
    ),
    "a dropped decision": (
        "record.json",
        lambda b: json.dumps([e for e in json.loads(b) if e["number"] != 3]).encode(),
        "between entries 2 and 4 some are missing",
    ),
    "no record": ("record.json", lambda b: None, "record.json is missing"),
    "no listing": ("batch.json", lambda b: None, "batch.json is missing"),
    "broken json": ("batch.json", lambda b: b[:-20], "batch.json cannot be read"),
    "a changed manifest": ("manifest-sha256.txt", lambda b: b"0" * 64 + b[64:], "was changed or damaged"),
}


@pytest.mark.parametrize("what", CHANGES)
def test_it_says_what_is_wrong_with_a_changed_batch(shelf, tmp_path, what) -> None:
    ending, change, words = CHANGES[what]
    data = joined(archive(batch_of(shelf), SIGNER))
    bad = rewritten(
        data, lambda name, body: change(body) if name.endswith(ending) and name[0] != "t" else body
    )
    verdict = verify(written(tmp_path, bad), [KEY])
    assert not verdict.sound
    assert words in verdict.sentence
    assert not verdict.signed_by


def test_a_smuggled_file_and_a_truncated_archive_are_found(shelf, tmp_path) -> None:
    data = joined(archive(batch_of(shelf), SIGNER))
    out = io.BytesIO(data)
    with zipfile.ZipFile(out, "a") as opened:
        opened.writestr("batch-b1/data/extra.svg", b"<svg/>")
    assert "data/extra.svg is not listed" in verify(written(tmp_path, out.getvalue()), [KEY]).sentence
    assert "not a whole ZIP archive" in verify(written(tmp_path, data[:-50]), [KEY]).sentence
    assert not verify(written(tmp_path, b""), [KEY]).sound


def test_a_signature_by_somebody_else_is_told_from_the_workshops(shelf, tmp_path) -> None:
    other = Ed25519PrivateKey.from_private_bytes(b"x" * 32)
    path = written(tmp_path, joined(archive(batch_of(shelf), other)))
    assert "signed by another key" in verify(path, [KEY]).sentence
    assert verify(path).sound


def test_a_flipped_bit_in_any_file_is_found(shelf, tmp_path) -> None:
    data = joined(archive(batch_of(shelf, carvings=1), SIGNER))
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        places = [(e.filename, e.header_offset + 30 + len(e.filename)) for e in opened.infolist()]
    for name, place in places:
        bad = bytearray(data)
        bad[place] ^= 1
        verdict = verify(written(tmp_path, bytes(bad)), [KEY])
        assert not verdict.sound, name


def test_nothing_unapproved_is_exported(shelf) -> None:
    order = order_of(7)
    carving = carving_of(shelf, order, 1)
    content = batch_of(shelf, carvings=1)
    unsigned = replace(content, record=[e for e in content.record if e.kind is not EntryKind.SIGN_OFF])
    with pytest.raises(NotApprovedError, match="client has not signed"):
        joined(archive(replace(unsigned, carvings=[carving]), SIGNER))
    unjudged = replace(content, record=[e for e in content.record if e.kind is not EntryKind.FEASIBILITY])
    with pytest.raises(NotApprovedError, match="maker has not found"):
        joined(archive(replace(unjudged, carvings=[carving]), SIGNER))
    unreleased = replace(content, record=[e for e in content.record if e.kind is not EntryKind.RELEASE])
    with pytest.raises(NotApprovedError, match="not released"):
        joined(archive(replace(unreleased, carvings=[carving]), SIGNER))


@pytest.mark.parametrize("kind", [EntryKind.RECALL, EntryKind.CANCELLATION])
def test_a_release_taken_back_between_request_and_stream_stops_the_export(shelf, kind) -> None:
    content = batch_of(shelf, after=lambda book: book.enter(kind, "o7"))
    with pytest.raises(NotApprovedError, match="taken back"):
        joined(archive(content, SIGNER))


@pytest.mark.parametrize("kind", [EntryKind.CHANGE_REQUEST, EntryKind.REJECTION])
def test_a_later_objection_voids_both_approvals(shelf, kind) -> None:
    content = batch_of(shelf, after=lambda book: book.enter(kind, "o7", carving="o7-c1"))
    with pytest.raises(NotApprovedError, match=r"has not signed.*has not found"):
        joined(archive(content, SIGNER))


def test_approvals_of_another_proof_or_picture_do_not_count(shelf) -> None:
    content = batch_of(shelf, carvings=1)
    (carving,) = content.carvings
    other = replace(carving, picture=shelf.put(b"another picture"))
    with pytest.raises(NotApprovedError, match="with this picture"):
        joined(archive(replace(content, carvings=[other]), SIGNER))


@pytest.mark.parametrize("damage", ["changed", "gone"])
@pytest.mark.parametrize("which", ["picture", "artwork", "sheet", "proof"])
def test_a_damaged_file_is_named_and_nothing_is_exported(shelf, which, damage) -> None:
    content = batch_of(shelf, carvings=1)
    (carving,) = content.carvings
    digest = {
        "proof": carving.digest,
        "picture": carving.picture,
        "artwork": carving.artwork.sha256,
        "sheet": content.orders[0].sheets["bed-01.dxf"],
    }
    if damage == "gone":
        del shelf.blobs[digest[which]]
    else:
        shelf.blobs[digest[which]] = b"rotten"
    with pytest.raises(DamagedFileError) as raised:
        joined(archive(replace(content, carvings=[carving]), SIGNER))
    assert digest[which] in str(raised.value)
    assert "Restore it from a backup" in str(raised.value)


def test_files_that_cannot_be_had_now_are_not_called_damaged(shelf) -> None:
    """Found by rounds of faults: the S3 store was unreachable for a moment, and the batch had failed for good."""
    content = batch_of(shelf, carvings=1)

    def read(_digest: str) -> bytes:
        raise ConnectionError

    with pytest.raises(ConnectionError):
        joined(archive(replace(content, read=read), SIGNER))


def test_other_orders_in_the_record_are_only_digests(shelf) -> None:
    data = joined(archive(batch_of(shelf), SIGNER))
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        record = json.loads(opened.read("batch-b1/data/record.json"))
    assert any(set(entry) == {"number", "previous", "this"} for entry in record)
    assert all(entry.get("order") in {None, "o7"} for entry in record)


def test_the_listing_follows_its_published_schema(shelf) -> None:
    schema = json.loads((Path(__file__).parents[3] / "schema" / "batch.schema.json").read_text())
    jsonschema.Draft202012Validator.check_schema(schema)
    data = joined(archive(batch_of(shelf, orders=2), SIGNER))
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        listing = json.loads(opened.read("batch-b1/data/batch.json"))
    jsonschema.Draft202012Validator(schema).validate(listing)
    del listing["files"][0]["sha256"]
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(schema).validate(listing)


def test_an_orders_further_sheets_come_along(shelf) -> None:
    content = batch_of(shelf)
    with_beds = replace(content.orders[0], sheets={"bed-01.dxf": shelf.put(b"dxf")})
    data = joined(archive(replace(content, orders=(with_beds,)), SIGNER))
    with zipfile.ZipFile(io.BytesIO(data)) as opened:
        assert opened.read("batch-b1/data/order-00007/bed-01.dxf") == b"dxf"


def test_a_clock_that_went_back_changes_nothing(shelf, tmp_path) -> None:
    """What came first is told by the record's numbers, never by its times."""
    content = batch_of(shelf)
    carvings = list(content.carvings)
    book = Book(hours_per_entry=-24)
    for carving in carvings:
        book.approve(carving)
    book.release("o7")
    late = replace(content, carvings=carvings, record=book.entries)
    assert verify(written(tmp_path, joined(archive(late, SIGNER))), [KEY]).sound
    book.enter(EntryKind.RECALL, "o7")
    with pytest.raises(NotApprovedError, match="taken back"):
        joined(archive(replace(late, record=book.entries), SIGNER))


def test_names_addresses_and_words_stay_in_the_house(shelf, tmp_path) -> None:
    """What people are called, wrote and came from is not in the record that leaves; its seals are."""
    content = batch_of(shelf)
    entries = list(content.record)
    people = [entry.particulars for entry in entries]
    assert any(person.words for person in people)
    path = written(tmp_path, joined(archive(replace(content, record=entries), SIGNER)))
    with zipfile.ZipFile(path) as opened:
        record = opened.read("batch-b1/data/record.json").decode()
    for person in people:
        secrets = (person.name, person.address, person.words, person.salt)
        assert not any(secret and secret in record for secret in secrets)
    assert all(entry.seal in record for entry in entries if entry.order_id == "o7")


def test_the_job_sheet_says_which_program_was_checked_and_still_verifies(shelf, tmp_path) -> None:
    """It is read off the record that the archive holds, so the archive can be made again from itself."""
    mine, program = carving_of(shelf, order_of(7), 1), "5eed" * 16

    def checked(book: Book) -> None:
        for outcome, digest in (("differs", "0" * 64), ("cuts-what-was-signed", program)):
            facts = {"program": digest, "outcome": outcome, "check": "x"}
            book.enter(EntryKind.PROGRAM_CHECK, "o7", carving=mine.id, digest=mine.digest, facts=facts)

    path = written(tmp_path, joined(archive(batch_of(shelf, carvings=2, after=checked), SIGNER)))
    assert verify(path, [KEY]).sound
    with zipfile.ZipFile(path) as opened:
        sheet = opened.read("batch-b1/data/order-00007/job-sheet.pdf")
    words = " ".join(page.get_textpage().get_text_bounded() for page in pypdfium2.PdfDocument(sheet))
    assert words.count("CHECKED: it cuts what was signed") == 1
    assert program in words and "0" * 64 not in words
