"""Pages in the reader's language."""

from __future__ import annotations

from seeds.shop import load
from tests.running import Running

HOME = f"/at/{load().key}"
GERMAN = {"Accept-Language": "de-DE,de;q=0.9,en;q=0.5"}


def test_a_page_speaks_the_browsers_language_until_another_is_chosen(running: Running):
    somebody = running.caller(follow_redirects=True, headers=GERMAN)
    page = somebody.get(HOME)
    assert '<html lang="de">' in page.text
    assert page.headers["Content-Language"] == "de"
    assert "Accept-Language" in page.headers["Vary"]
    assert "Möbel, die Ihr Zeichen tragen" in page.text
    english = somebody.get(f"/language/en?to={HOME}")
    assert english.url.path == HOME
    assert '<html lang="en">' in english.text
    assert '<html lang="en">' in somebody.get(HOME).text  # remembered
    assert '<html lang="de">' in somebody.get(f"/language/de?to={HOME}").text


def test_the_way_to_a_language_leads_nowhere_else_and_knows_ours_alone(running: Running):
    somebody = running.caller(follow_redirects=False)
    answer = somebody.get("/language/de?to=//elsewhere.example")
    assert answer.headers["location"] == "/"
    unknown = somebody.get(f"/language/tlh?to={HOME}")
    assert unknown.headers["location"] == HOME
    assert "set-cookie" not in unknown.headers
