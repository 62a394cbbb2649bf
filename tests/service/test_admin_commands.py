"""Whoever has the machine founds a workshop and lets in who lost everything; by the links people sign in again."""

from __future__ import annotations

import base64
import re

import pytest

from service.access import second_factor
from service.access.sessions import Visitor
from service.cli import main
from service.maintenance import let_go
from service.orders.actors import Maker, System
from service.orders.errors import ConflictError
from service.root import Service, build
from service.settings import Settings
from service.usecases import people, privacy_and_audit, second_step, shop, signing_in

ADDRESS, PASSWORD = "isa@alderholt.example", "two coats of oil and patience"
HERE = Visitor("192.0.2.7")


@pytest.fixture
def folder(tmp_path, capsys):
    data = tmp_path / "data"
    assert (
        main(["found", "alderholt", "Alderholt Benches", "Isa Alderholt", ADDRESS, "--data", str(data)]) == 0
    )
    return data


@pytest.fixture
def service(folder):
    made = build(Settings(data=folder))
    yield made
    let_go(made)


def secret_in(said: str) -> str:
    found = re.search(r"http://127\.0\.0\.1:8080/password/(\S+)\n", said)
    assert found is not None, said
    return found[1]


def maker_of(service: Service) -> Maker:
    workshop = shop.find_workshop(service.ctx, "alderholt")
    account = signing_in.sign_in(service.ctx, HERE, ADDRESS, PASSWORD).account
    return Maker(workshop.id, account.id, account.name)


def test_a_workshop_is_founded_and_its_maker_signs_in(folder, service, capsys):
    signing_in.choose_password(service.ctx, secret_in(capsys.readouterr().out), PASSWORD)
    maker = maker_of(service)
    assert [(person.name, person.role) for person in people.list_people(service.ctx, maker)] == [
        ("Isa Alderholt", "maker")
    ]
    assert shop.get_settings(service.ctx, maker).workshop.usual_bit == "v60"


def test_who_lost_everything_is_let_in_beside_the_running_service(folder, service, capsys):
    ctx = service.ctx
    signing_in.choose_password(ctx, secret_in(capsys.readouterr().out), PASSWORD)
    maker = maker_of(service)
    begun = second_step.begin_second_step(ctx, maker, PASSWORD)
    code = second_factor.code_at(base64.b32decode(begun.secret), ctx.clock.now())
    second_step.confirm_second_step(ctx, maker, code)
    with pytest.raises(ConflictError, match="code"):
        maker_of(service)
    service.lock.take(alone=True)  # as `serve` holds it
    assert main(["let-in", ADDRESS.upper(), "--data", str(folder)]) == 0
    signing_in.choose_password(ctx, secret_in(capsys.readouterr().out), PASSWORD + " again")
    assert signing_in.sign_in(ctx, HERE, ADDRESS, PASSWORD + " again").account.id == maker.account_id
    told = [
        entry.facts["what"] for entry in privacy_and_audit.list_record(ctx, System(maker.workshop_id)).items
    ]
    assert told[0] == "let in from the command line"
    assert privacy_and_audit.verify_record(ctx, System(maker.workshop_id)) is None


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (["let-in", "nobody@alderholt.example"], "account of that address"),
        (["found", "alderholt", "Another", "Bo", "bo@alderholt.example"], "a workshop of that key already"),
        (["found", "Not a key", "Another", "Bo", "bo@alderholt.example"], "lower-case letters"),
        (["found", "another", "Another", "Bo", "no address"], "not an e-mail address"),
    ],
)
def test_what_cannot_be_is_said_in_words(folder, service, capsys, arguments, words):
    before = len(shop.list_workshops(service.ctx))
    assert main([*arguments, "--data", str(folder)]) == 1
    assert words in capsys.readouterr().err
    assert len(shop.list_workshops(service.ctx)) == before


def test_a_folder_that_cannot_be_used_is_said_in_words(tmp_path, capsys):
    (tmp_path / "file").write_text("in the way")
    nowhere = tmp_path / "file" / "data"
    assert main(["let-in", ADDRESS, "--data", str(nowhere)]) == 1
    assert capsys.readouterr().err == f"The folder {nowhere} cannot be used: Not a directory.\n"
