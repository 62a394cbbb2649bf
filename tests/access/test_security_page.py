"""docs/security.md names tests that are there, and every chapter of OWASP ASVS 5.0."""

from __future__ import annotations

import ast
import re
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PAGE = (ROOT / "docs" / "security.md").read_text(encoding="utf-8")
NAMED = sorted(set(re.findall(r"`(tests/[\w/]+\.py)::(\w+)`", PAGE)))
# Chapter titles as in the published standard, 5.0.0 (github.com/OWASP/ASVS, tag v5.0.0).
CHAPTERS = (
    "Encoding and Sanitization", "Validation and Business Logic", "Web Frontend Security", "API and Web Service",
    "File Handling", "Authentication", "Session Management", "Authorization", "Self-contained Tokens",
    "OAuth and OIDC", "Cryptography", "Secure Communication", "Configuration", "Data Protection",
    "Secure Coding and Architecture", "Security Logging and Error Handling", "WebRTC",
)  # fmt: skip
APPLY_NOT = {"Self-contained Tokens", "OAuth and OIDC", "WebRTC"}


@cache
def functions(path: str) -> frozenset[str]:
    tree = ast.parse((ROOT / path).read_text(encoding="utf-8"))
    return frozenset(node.name for node in tree.body if isinstance(node, ast.FunctionDef))


@pytest.mark.parametrize("named", NAMED, ids="::".join)
def test_every_test_it_names_is_there(named):
    path, name = named
    assert name in functions(path)


def test_every_chapter_has_its_row():
    rows = re.findall(r"^\| V(\d+) ([^|]+?) \| ([^|]+) \| ([^|]*)\|$", PAGE, re.MULTILINE)
    assert [(int(number), title) for number, title, *_ in rows] == list(enumerate(CHAPTERS, start=1))
    for _, title, how, tests in rows:
        assert ("does not apply" in how) == (title in APPLY_NOT)
        assert ("`tests/" in tests) == (title not in APPLY_NOT), title
