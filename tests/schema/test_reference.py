"""The reference that people read: complete, without a script, and every address in it leads somewhere."""

from __future__ import annotations

import re
from html.parser import HTMLParser

import pytest
from anyio import CapacityLimiter
from graphql import is_introspection_type, is_specified_scalar_type
from starlette.applications import Starlette
from starlette.testclient import TestClient

from schema import export
from schema.build import build_schema
from service.rest import problems
from service.rest.app import rest_routes
from service.rest.openapi import document
from service.rest.operation import Pipeline
from tests.running import Running

OUTSIDE = {"https://ecma-international.org/wp-content/uploads/ECMA-404_2nd_edition_december_2017.pdf"}
"""The standard that strawberry's own JSON scalar names."""
PAGES = (
    "/reference",
    "/reference/rest",
    "/reference/graphql",
    "/reference/changes",
    "/problems",
    "/problems/stale",
)


class Page(HTMLParser):
    """What a page names and what it points at."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.ids: list[str] = []
        self.links: list[str] = []
        self.loaded: list[str] = []
        self.tags: set[str] = set()
        self.inline: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        given = dict(attrs)
        self.tags.add(tag)
        self.ids += [given["id"]] if "id" in given else []
        named = [given[name] for name in ("href", "src") if name in given]
        (self.links if tag == "a" else self.loaded).extend(named)
        self.inline += [name for name in given if name == "style" or name.startswith("on")]


@pytest.fixture(scope="module")
def pages(running: Running) -> dict[str, Page]:
    caller = running.caller()
    found = {}
    for path in PAGES:
        answer = caller.get(path)
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "text/html; charset=utf-8"
        assert "unsafe-inline" not in answer.headers["content-security-policy"]
        found[path] = Page(answer.text)
    return found


@pytest.mark.parametrize("path", PAGES)
def test_no_script_and_nothing_inline(pages, path):
    page = pages[path]
    assert not page.tags & {"script", "style", "iframe", "object", "embed"}
    assert page.inline == []
    loaded = [re.sub(r"\w{16}", "…", link) for link in page.loaded]
    assert loaded == ["/favicon.ico", "/reference/style.….css"]


def test_every_address_leads_somewhere(pages, running: Running):
    caller = running.caller()
    for path, page in pages.items():
        assert len(page.ids) == len(set(page.ids)), path
        for link in set(page.links + page.loaded) - OUTSIDE:
            target, _, place = link.partition("#")
            if target and target not in pages:
                assert caller.get(target).status_code == 200, (path, link)
            if place:
                assert place in pages.get(target or path, page).ids, (path, link)


def test_every_operation_and_type_is_there(pages):
    made = document()
    names = {op["operationId"] for methods in made["paths"].values() for op in methods.values()}
    names |= {f"type-{name}" for name in made["components"]["schemas"]}
    assert names <= set(pages["/reference/rest"].ids)


def test_every_type_of_the_graph_is_there(pages):
    kinds = build_schema()._schema.type_map.values()
    own = {k.name for k in kinds if not is_introspection_type(k) and not is_specified_scalar_type(k)}
    assert {f"type-{name}" for name in own} <= set(pages["/reference/graphql"].ids)


def test_every_type_of_problem_has_its_page(running: Running):
    """RFC 9457 §3.1.1: a type's URI should lead to a page for people."""
    caller = running.caller()
    listed = caller.get("/problems").text
    for kind in problems.KINDS.values():
        answer = caller.get(kind.uri)
        assert answer.status_code == 200
        assert kind.title.replace("'", "&#39;") in answer.text
        assert f'href="{kind.uri}"' in listed
    assert caller.get("/problems/never-was").status_code == 404


def test_what_is_sent_as_a_problem_is_one_of_them(running: Running):
    answer = running.caller().get("/api/v1/orders/nothing")
    assert answer.status_code == 401
    shown = running.caller().get(answer.json()["type"])
    assert shown.status_code == 200 and "Nobody is signed in" in shown.text


def test_the_schema_is_given_as_it_was_exported(running: Running):
    answer = running.caller().get("/graphql/schema.graphql")
    assert answer.text == export.sdl()
    assert answer.headers["content-type"].startswith("text/plain")


def test_names_in_it_cannot_be_markup():
    """What comes from a schema is shown, never taken as HTML."""
    from service.rest.reference.schemas import kind_of

    shown = str(kind_of({"enum": ["<b>"]})) + str(kind_of({"type": "string", "format": '"><script>'}))
    assert not re.search(r"<(b|script)>", shown)


def test_the_page_to_try_graphql_in_is_there_only_where_asked_for(running: Running):
    """Its one script comes from the service itself: nothing is loaded from another host."""
    assert running.caller().get("/reference/try").status_code == 404
    routes = rest_routes(Pipeline(running.service.ctx, CapacityLimiter(1)), to_try=True)
    browser = TestClient(Starlette(routes=routes))
    page = Page(browser.get("/reference/try").text)
    assert [re.sub(r"\w{16}", "…", link) for link in page.loaded] == [
        "/favicon.ico",
        "/reference/style.….css",
        "/reference/try.….js",
    ]
    assert page.inline == [] and "style" not in page.tags
    script = browser.get(page.loaded[2])
    assert script.headers["content-type"].startswith("text/javascript") and '"/graphql"' in script.text


def test_what_changed_is_sent_again_only_where_it_did(running: Running):
    caller = running.caller()
    first = caller.get("/reference/changes")
    assert first.status_code == 200 and first.headers["content-type"].startswith("text/html")
    again = caller.get("/reference/changes", headers={"If-None-Match": first.headers["etag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert caller.get("/reference/changes", headers={"If-None-Match": '"other"'}).content == first.content
