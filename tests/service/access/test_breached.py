"""Passwords known from breaches are looked up in a sorted file of digests; compared here with a plain search."""

from __future__ import annotations

import hashlib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.access.breached import BadListError, BreachedList
from service.orders.errors import InvalidError
from service.root import build
from service.usecases import own_account
from tests.running import settings_for

from .test_people import GOOD, ada, ctx, quick_passwords  # noqa: F401 - fixtures

KNOWN = "the keys are under the mat"
# RFC 3174 §7.3, test 1: the digest of "abc".
ABC = "A9993E364706816ABA3E25717850C26C9CD0D89D"


def digest(password: str) -> str:
    return hashlib.sha1(password.encode()).hexdigest().upper()


def written(path, digests, *, tail: str = ":3", end: str = "\r\n"):
    path.write_bytes("".join(f"{each}{tail}{end}" for each in sorted(digests)).encode())
    return BreachedList(path)


def test_a_digest_is_the_published_one(tmp_path):
    assert "abc" in written(tmp_path / "list", [ABC], tail="", end="\n")


@given(
    known=st.lists(st.text(max_size=6), min_size=1, max_size=60, unique=True),
    asked=st.lists(st.text(max_size=6), max_size=10),
    tail=st.sampled_from(["", ":1", ":12345678"]),
    end=st.sampled_from(["\n", "\r\n"]),
)
def test_it_finds_what_a_plain_search_finds(tmp_path_factory, known, asked, tail, end):
    path = tmp_path_factory.getbasetemp() / "breached"
    found = written(path, {digest(each) for each in known}, tail=tail, end=end)
    found.check()
    for password in [*known, *asked]:
        assert (password in found) == (password in known)


def test_a_last_line_without_an_end_is_read(tmp_path):
    path = tmp_path / "list"
    path.write_text("\n".join(sorted(map(digest, "abcdef"))))
    assert all(letter in BreachedList(path) for letter in "abcdef") and "g" not in BreachedList(path)


@pytest.mark.parametrize(
    "content", ["", "password\n", ABC.lower() + "\n", f"{'F' * 40}\n{'A' * 40}\n", ABC[:39] + "\n"]
)
def test_another_kind_of_file_stops_the_start(tmp_path, content):
    path = tmp_path / "list"
    path.write_text(content)
    with pytest.raises(BadListError, match="sorted order"):
        BreachedList(path).check()
    with pytest.raises(ValueError, match="forty upper-case"):
        settings_for(tmp_path, breached_passwords=path)


def test_nobody_chooses_one_of_them(ctx, ada, tmp_path):  # noqa: F811
    ctx.breached = written(tmp_path / "list", [digest(KNOWN), digest("other")])
    with pytest.raises(InvalidError, match="breach of another site"):
        own_account.change_my_password(ctx, ada, GOOD, KNOWN, here=None)
    own_account.change_my_password(ctx, ada, GOOD, KNOWN + " no more", here=None)


def test_the_file_is_named_by_a_setting(tmp_path):
    made = written(tmp_path / "list", [digest(KNOWN)])
    service = build(settings_for(tmp_path / "data", breached_passwords=made.path))
    assert KNOWN in service.ctx.breached
    service.database.close()
    service.queue.close()
