"""The lists that stand between us and a licence or a version we must not ship."""

from __future__ import annotations

from email.message import Message

import pytest

from scripts import supply_chain
from scripts.supply_chain import ALLOWED, LIST, LOCK, licence_of, licences, locked, not_allowed, told


def package(**fields: str) -> Message:
    made = Message()
    for name, value in fields.items():
        made[name.replace("_", "-")] = value
    return made


def test_every_locked_package_has_an_allowed_licence_and_the_list_is_the_lock():
    rows = list(licences(LOCK.read_text()))
    assert len(rows) > 60
    assert [row for row in rows if not row[2] or not_allowed(row[2])] == []
    assert LIST.read_text() == "".join(f"{name} {version}: {licence}\n" for name, version, licence in rows)


@pytest.mark.parametrize(
    ("expression", "wrong"),
    [
        ("MIT", []),
        ("MIT AND PSF-2.0", []),
        ("Apache-2.0 OR Proprietary", []),
        ("Proprietary OR Apache-2.0", []),
        ("MIT AND AGPL-3.0-only", ["AGPL-3.0-only"]),
        ("(MIT AND SSPL-1.0) OR BUSL-1.1", ["SSPL-1.0"]),
        ("GPL-2.0-only", ["GPL-2.0-only"]),
    ],
)
def test_a_licence_outside_of_the_list_is_found(expression, wrong):
    assert not_allowed(expression) == wrong


def test_a_licence_is_read_where_packages_tell_it():
    assert licence_of("a", package(License_Expression="MIT")) == "MIT"
    assert licence_of("a", package(Classifier="License :: OSI Approved :: BSD License")) == "BSD-3-Clause"
    assert licence_of("a", package(License="Apache 2.0")) == "Apache-2.0"
    assert licence_of("a", package(License="All rights reserved")) == "All rights reserved"
    assert licence_of("a", package()) == ""


def test_names_and_versions_come_from_the_lock():
    lock = "a-b==1.2 ; python_version < '4' \\\n    --hash=sha256:00\n    # via x\nc==3\n"
    assert locked(lock) == {"a-b": "1.2", "c": "3"}


def test_an_answer_is_told_as_it_is():
    vulnerable = {"name": "a", "version": "1", "vulns": [{"id": "PYSEC-1", "fix_versions": ["2"]}]}
    report = {
        "dependencies": [
            vulnerable,
            {"name": "b", "version": "1", "vulns": []},
            {"name": "c", "skip_reason": "?"},
        ]
    }
    assert told(report) == (["a 1: PYSEC-1, mended in 2"], 2, 1)


@pytest.mark.parametrize(
    ("stdout", "status", "words"),
    [
        ("", 0, "NOT CHECKED, no network"),
        (
            '{"dependencies": [{"name": "a", "skip_reason": "not found"}]}',
            0,
            "NOT CHECKED, the advisory service",
        ),
        ('{"dependencies": [{"name": "a", "version": "1", "vulns": []}]}', 0, "1 packages checked, 0 known"),
        (
            '{"dependencies": [{"name": "a", "version": "1", "vulns": [{"id": "X", "fix_versions": []}]}]}',
            1,
            "1 known vulnerabilities",
        ),
    ],
)
def test_what_was_not_checked_is_never_called_clean(monkeypatch, capsys, stdout, status, words):
    class Answer:
        stderr = "requests.exceptions.ConnectionError: no route to host"

    Answer.stdout = stdout
    monkeypatch.setattr(supply_chain.subprocess, "run", lambda *_args, **_more: Answer)
    assert supply_chain.check_advisories() == status
    assert words in capsys.readouterr().out


def test_the_list_is_short_enough_to_be_read():
    assert len(ALLOWED) < 20
