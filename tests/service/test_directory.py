"""A host's directory of places: what is for a workshop elsewhere is sent on.

308 keeps the method and the body: RFC 9110, 15.4.9.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from service.backup.one_shop import close_shop
from service.backup.place import Place
from service.root import build
from service.settings import BadSettingsError, load_settings
from service.store.usage import open_workshops
from tests.running import Running, serve, settings_for

ELSEWHERE = "https://other.example.org"


@pytest.fixture
def file(tmp_path: Path) -> Path:
    made = tmp_path / "directory"
    made.write_text(f"# of this host\nfenwick {ELSEWHERE}/\n")
    return made


@pytest.fixture
def here(tmp_path: Path, file: Path) -> Iterator[Running]:
    yield from serve(build(settings_for(tmp_path / "data", directory=file, role="web")))


def test_what_is_for_a_workshop_elsewhere_is_sent_on_with_its_links(here: Running, file: Path):
    visitor = here.caller()
    placed = visitor.send_order()
    (own,) = [each["key"] for each in visitor.do("GET", "/workshops")["items"]]
    assert visitor.get(f"/at/{own}").status_code == 200
    sent_on = visitor.post("/api/v1/workshops/fenwick/orders?a=b", json={})
    assert (sent_on.status_code, sent_on.headers["location"]) == (
        308,
        f"{ELSEWHERE}/api/v1/workshops/fenwick/orders?a=b",
    )
    link = f"/link/{placed['link_token']}"
    assert "location" not in visitor.get("/link/splink_nothing").headers
    assert visitor.get(link).headers["location"].startswith("/order/")
    # it moves, and is closed here
    assert directory_lines(here) == [own]
    place = Place(here.service.database, here.service.ctx.blobs, here.service.ctx, here.service.migrate)
    close_shop(place, own, datetime.now(UTC))
    assert directory_lines(here) == []
    file.write_text(f"fenwick {ELSEWHERE}\n{own} {ELSEWHERE}\n")
    for path in (f"/at/{own}", link):
        assert visitor.get(path).headers["location"] == ELSEWHERE + path
    file.write_text("half a li")  # somebody is writing it
    assert visitor.get(link).headers["location"] == ELSEWHERE + link


def directory_lines(here: Running) -> list[str]:
    with here.service.database.reading() as connection:
        return list(open_workshops(connection))


def test_a_directory_that_cannot_be_read_is_told_before_the_start(tmp_path: Path, file: Path):
    file.write_text("fenwick other.example.org\n")
    with pytest.raises(BadSettingsError, match="line 1"):
        load_settings({"SLATPROOF_DIRECTORY": str(file)})
