"""People's data and keys: who can enter the folder, what an erasure reaches, whom a key's answer is for."""

from __future__ import annotations

import base64
import os
import re
import sqlite3
import subprocess
import sys
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest
from starlette.applications import Starlette
from starlette.requests import Request
from starlette.responses import HTMLResponse, Response
from starlette.routing import Route
from starlette.testclient import TestClient

from service.access import second_factor
from service.access.csrf import CsrfGuard
from service.access.links import find_link
from service.mail.outbox import StoredOutbox
from service.orders.actors import Role, Visitor
from service.orders.errors import ConflictError, InvalidError
from service.orders.texts import text_problems
from service.settings import BadSettingsError, load_settings
from service.store import folder as data_folder
from service.store.engine import Database
from service.store.folder import FolderExposedError, keep_private
from service.store.vault import SealedError, Vault
from service.usecases import ordering, people, privacy_and_audit
from service.usecases.commands import IdempotencyKey
from tests.service.usecases.conftest import world  # noqa: F401 - the fixture
from tests.service.usecases.world import World, content


def test_the_data_folder_is_made_for_its_owner_alone(tmp_path: Path):
    made = tmp_path / "deep" / "data"
    assert not keep_private(made)
    assert made.stat().st_mode & 0o777 == 0o700


def test_a_data_folder_others_can_enter_is_mended(tmp_path: Path):
    tmp_path.chmod(0o755)
    assert keep_private(tmp_path)
    assert tmp_path.stat().st_mode & 0o777 == 0o700


def test_a_data_folder_that_cannot_be_mended_is_refused_with_words(tmp_path: Path, monkeypatch):
    tmp_path.chmod(0o755)
    monkeypatch.setattr(data_folder.Path, "chmod", lambda *_: None)  # a disk that knows no rights
    with pytest.raises(FolderExposedError, match="chmod 700"):
        keep_private(tmp_path)


def slatproof(*arguments: str, **settings: str) -> subprocess.CompletedProcess[str]:
    """A command, as its owner gives it, by a shell whose own files anybody may read."""
    command = [sys.executable, "-m", "service.cli", *arguments]
    own = {name: value for name, value in os.environ.items() if not name.startswith("SLATPROOF_")}
    return subprocess.run(
        command, env=own | settings, capture_output=True, text=True, check=False, umask=0o022, timeout=120
    )


def test_a_command_writes_for_its_own_user_alone(tmp_path: Path):
    assert slatproof("migrate", "--data", str(tmp_path / "data")).returncode == 0
    assert (tmp_path / "data").stat().st_mode & 0o077 == 0
    assert (tmp_path / "data" / "slatproof.db").stat().st_mode & 0o077 == 0


@pytest.mark.parametrize(
    "public", [{"host": "0.0.0.0"}, {"public_url": "https://oxbarrow.example"}, {"host": "192.0.2.1"}]
)
def test_the_made_up_workshop_is_not_loaded_at_a_public_address(public: dict[str, str]):
    with pytest.raises(BadSettingsError, match="password that everybody knows"):
        load_settings({}, seed=True, **public)


def test_a_public_service_does_not_start_on_the_seeded_password(tmp_path: Path):
    public = {"SLATPROOF_PUBLIC_URL": "https://oxbarrow.example"}
    refused = slatproof("seed", "--data", str(tmp_path), **public)
    assert (refused.returncode, "everybody knows" in refused.stderr) == (2, True)
    assert slatproof("seed", "--data", str(tmp_path)).returncode == 0
    refused = slatproof("serve", "--port", "0", "--data", str(tmp_path), **public)
    assert (refused.returncode, "choose another password" in refused.stderr) == (1, True)


def answering(**guard) -> TestClient:
    def page(request: Request) -> Response:
        kept = "public, max-age=60" if request.url.path == "/kept" else "no-store"
        return HTMLResponse("page", headers={"Cache-Control": kept})

    def act(_request: Request) -> Response:
        return Response("done")

    app = Starlette(
        routes=[
            Route("/", page),
            Route("/kept", page),
            Route("/health/live", page),
            Route("/act", act, methods=["POST"]),
        ]
    )
    return TestClient(CsrfGuard(app, **guard), base_url="http://slats.example")


@pytest.mark.parametrize(
    ("host", "status"),
    [
        ("slats.example", 200),
        ("SLATS.example:8080", 200),
        ("slats.example.", 200),
        ("evil.example", 421),
        ("slats.example.evil.example", 421),
        ("", 421),
        ("[::1", 421),
    ],
)
def test_a_request_for_another_name_is_refused(host: str, status: int):
    client = answering(hosts=frozenset({"slats.example"}))
    assert client.get("/", headers={"Host": host}).status_code == status
    assert client.get("/health/live", headers={"Host": host}).status_code == 200


def test_the_names_of_a_service_are_its_address_and_what_is_set():
    assert load_settings({}).hosts == {"localhost", "127.0.0.1", "::1"}
    named = {"SLATPROOF_PUBLIC_URL": "https://a.example", "SLATPROOF_ALLOWED_HOSTS": "b.example, C.example"}
    assert load_settings(named).hosts >= {"a.example", "b.example", "c.example", "localhost"}
    assert load_settings({"SLATPROOF_HOST": "0.0.0.0"}).hosts == frozenset()
    assert load_settings({"SLATPROOF_ALLOWED_HOSTS": "*"}).hosts == frozenset()


def test_a_header_does_not_open_the_way_for_cookies():
    client = answering()
    foreign = {"Sec-Fetch-Site": "cross-site", "Authorization": "Bearer x"}
    assert client.post("/act", headers=foreign).status_code == 200, "a program"
    for name in ("slatproof_bench", "slatproof_orders"):
        with_cookie = foreign | {"Cookie": f"{name}=somebody"}
        assert client.post("/act", headers=with_cookie).status_code == 403, name


def test_what_anybody_may_keep_holds_no_cookie():
    client = answering()
    assert "set-cookie" not in client.get("/kept").headers
    client.cookies.clear()
    assert "set-cookie" in client.get("/").headers


@pytest.mark.parametrize(
    "sign", ["\u202e", "\u202a", "\u2066", "\u2069", "\ufeff", "\u2028", "\U000e0041", "\x07"]
)
def test_signs_that_turn_what_is_read_are_refused(sign: str):
    assert list(text_problems("name", f"invoice{sign}gpj.exe", 100))


@pytest.mark.parametrize("name", ["می\u200cخواهم", "👩\u200d🔧", "שלום\u200e", "Žluťoučký kůň", "漢字"])
def test_signs_that_scripts_need_stay(name: str):
    assert not list(text_problems("name", name, 100))


KEY = "0b5f7c1e-6c1c-4f7a-9a1e-0d7b6f3f5f11"


def test_a_repeated_order_gives_the_same_link_and_nobody_else_any(world: World):  # noqa: F811
    def place(key: str, visitor: Visitor, body: str = "b" * 64) -> tuple[str, str]:
        placed = ordering.place_order(world.ctx, visitor, content(), IdempotencyKey(key, body))
        return placed.whole.order.id, placed.link_token

    somebody = Visitor(world.maker.workshop_id, "192.0.2.1")
    first = place(KEY, somebody)
    assert first[1].startswith("splink_")
    assert [place(KEY, somebody) for _ in range(3)] == [first] * 3
    assert place(KEY.replace("0", "1"), somebody)[0] != first[0]
    moved = Visitor(world.maker.workshop_id, "192.0.2.2")  # as a phone does between two tries
    assert place(KEY, moved) == first
    with pytest.raises(ConflictError, match="another request"):
        place(KEY, moved, "c" * 64)  # somebody else, who has the key and not what was asked
    assert place(KEY, replace(moved, key="a browser of its own"))[0] != first[0]
    with world.database.reading() as connection:
        kept = str(connection.exec_driver_sql("SELECT * FROM once_answers").all())
    assert KEY not in kept
    assert first[1] not in kept
    with pytest.raises(InvalidError, match="at least 20 characters"):
        place("1", somebody)
    with world.database.reading() as connection:
        assert find_link(connection, first[1], world.clock.now())


def test_an_erasure_reaches_mail_in_the_folder_and_old_rows_in_the_log(world: World, tmp_path: Path):  # noqa: F811
    folder = tmp_path / "outbox"
    folder.mkdir()
    world.ctx = replace(world.ctx, outbox=StoredOutbox(world.clock, folder))
    whole = world.submitted()
    with world.database.reading() as connection:
        ids = connection.exec_driver_sql("SELECT id FROM messages WHERE order_id IS NOT NULL").scalars().all()
    assert ids
    for each in ids:
        (folder / f"{re.sub('[^a-z0-9-]', '', each.lower())}.eml").write_text("Dear Imke Harrowdale")
    (folder / "another.eml").write_text("somebody else's")
    privacy_and_audit.erase_client(world.ctx, world.maker, whole.order.id, whole.order.revision)
    assert [each.name for each in folder.iterdir()] == ["another.eml"]
    path = Path(str(world.database.engine.url.database))
    for file in (path, path.with_name(path.name + "-wal")):
        if file.exists():
            assert b"Imke Harrowdale" not in file.read_bytes(), file.name
            assert b"imke@quillfern.example" not in file.read_bytes(), file.name


def kept_keys(folder: Path) -> list[str]:
    with closing(sqlite3.connect(folder / "slatproof.db")) as database:
        keys = database.execute(
            "SELECT private_key FROM workshop_keys UNION ALL SELECT secret FROM second_factors"
        )
        return [key for (key,) in keys]


@pytest.mark.parametrize(
    "key", [b"\n" + bytes(range(200, 231)), b"k" * 32 + b"\r\n", bytes(range(200, 231)) + b" "]
)
def test_a_key_of_random_bytes_is_taken_whole_and_a_typed_one_without_its_end(tmp_path: Path, key):
    kept, same = tmp_path / "key", tmp_path / "same"
    kept.write_bytes(key)
    same.write_bytes(key.strip() if key.isascii() else key + b"\n")
    assert len(Vault.of(kept).key) == 64
    assert (Vault.of(kept) == Vault.of(same)) is key.isascii()


def test_keys_are_sealed_where_there_is_a_key_file_and_open_with_no_other(tmp_path: Path):
    """What is kept as it is, is sealed at the next start; the wrong key, or none, is told before anything is done."""
    folder, key, other = tmp_path / "data", tmp_path / "key", tmp_path / "other"
    key.write_bytes(os.urandom(32))
    other.write_bytes(os.urandom(32))
    assert slatproof("seed", "--data", str(folder)).returncode == 0
    (plain,) = kept_keys(folder)
    assert slatproof("migrate", "--data", str(folder), SLATPROOF_KEY_FILE=str(key)).returncode == 0
    (sealed,) = kept_keys(folder)
    assert plain not in sealed
    assert len(sealed) == 64, "it fits the column"
    for settings in ({"SLATPROOF_KEY_FILE": str(other)}, {}):
        refused = slatproof("migrate", "--data", str(folder), **settings)
        assert (refused.returncode, "SLATPROOF_KEY_FILE" in refused.stderr) == (1, True)
    checked = slatproof("verify-record", "--data", str(folder), SLATPROOF_KEY_FILE=str(key))
    assert checked.returncode == 0, checked.stderr


def test_a_code_of_the_app_is_right_whether_its_key_is_sealed_or_not(world: World, tmp_path: Path):  # noqa: F811
    secret = tmp_path / "key"
    secret.write_bytes(os.urandom(48))
    now = world.clock.now()
    workshop_id, email = world.maker.workshop_id, "tamsin@oxbarrow.example"
    people.open_account(
        world.ctx, workshop_id, email, name="Tamsin", role=Role.MAKER, password="cedar shavings by the window"
    )
    with world.database.writing() as connection:
        account_id = connection.exec_driver_sql("SELECT id FROM accounts").scalars().one()
        made = second_factor.begin(connection, account_id, email, now)
        code = second_factor.code_at(base64.b32decode(made.secret), now)
    sealing = Database(str(world.database.engine.url), Vault.of(secret))
    try:
        with sealing.writing() as connection:
            second_factor.seal_keys(connection)
            kept = connection.exec_driver_sql("SELECT secret FROM second_factors").scalar_one()
            assert made.secret != kept
            assert len(kept) <= 64
            assert second_factor.confirm(connection, account_id, code, now)
    finally:
        sealing.close()
    with pytest.raises(SealedError), world.database.writing() as connection:
        second_factor.accept(connection, account_id, code, now)


def test_a_key_file_that_is_none_is_refused_with_words(tmp_path: Path):
    short = tmp_path / "short"
    short.write_bytes(b"too short")
    for given in (short, tmp_path / "missing", tmp_path):
        with pytest.raises(BadSettingsError, match="KEY_FILE"):
            load_settings({"SLATPROOF_KEY_FILE": str(given)})
    inside = tmp_path / "data" / "key"
    inside.parent.mkdir()
    inside.write_bytes(os.urandom(32))
    with pytest.raises(BadSettingsError, match="must not lie in the data folder"):
        load_settings({"SLATPROOF_KEY_FILE": str(inside)}, data=tmp_path / "data")
