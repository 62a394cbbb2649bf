"""An installation's faults are each found, named, and come with what to do."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, timedelta

import pytest

from service.orders.installation import CLOCK_BEHIND, Installation, installation_signs, is_public
from service.orders.wellness import Level, Subject, level_of

NOW = datetime(2026, 11, 29, 12, tzinfo=UTC)
GOOD = Installation(
    now=NOW,
    public_url="https://orders.quillfern.example",
    host="127.0.0.1",
    trusts_a_proxy=True,
    sends_mail=True,
    folder_rights=0o700,
    seeded_password=False,
    newest_entry=NOW - timedelta(days=1),
    clock_kept=True,
    walled=True,
    cage="",
    version="2.0.0",
    running="2.0.0",
)


def test_a_good_installation_has_nothing_to_say():
    assert level_of(installation_signs(GOOD)) is Level.WELL


@pytest.mark.parametrize(
    ("fault", "subject", "level", "words"),
    [
        ({"public_url": ""}, Subject.ADDRESS, Level.WATCH, "SLATPROOF_PUBLIC_URL"),
        ({"public_url": "", "host": "0.0.0.0"}, Subject.ADDRESS, Level.TROUBLE, "SLATPROOF_PUBLIC_URL"),
        ({"public_url": "http://orders.quillfern.example"}, Subject.ADDRESS, Level.TROUBLE, "plain HTTP"),
        ({"trusts_a_proxy": False}, Subject.ADDRESS, Level.TROUBLE, "SLATPROOF_TRUSTED_PROXIES"),
        ({"sends_mail": False}, Subject.DELIVERY, Level.TROUBLE, "SLATPROOF_SMTP"),
        ({"folder_rights": 0o755}, Subject.RIGHTS, Level.TROUBLE, "chmod 700"),
        ({"folder_rights": 0o740}, Subject.RIGHTS, Level.TROUBLE, "rights 740"),
        ({"seeded_password": True}, Subject.SEEDED, Level.TROUBLE, "anybody can sign in"),
        (
            {"newest_entry": NOW + CLOCK_BEHIND + timedelta(seconds=1)},
            Subject.CLOCK,
            Level.TROUBLE,
            "stands before",
        ),
        ({"clock_kept": False}, Subject.CLOCK, Level.WATCH, "chrony"),
        ({"cage": "no kernel."}, Subject.CAGE, Level.WATCH, "without a cage"),
        ({"walled": False}, Subject.WALL, Level.WATCH, "an ordinary user"),
        ({"running": "1.9.0"}, Subject.VERSION, Level.WATCH, "Start it again"),
    ],
    ids=lambda given: str(given)[:40],
)
def test_each_fault_is_its_own_sign(fault, subject, level, words):
    found = {sign.subject: sign for sign in installation_signs(replace(GOOD, **fault))}
    assert found[subject].level is level
    assert words in found[subject].words
    assert all(sign.level is Level.WELL for sign in found.values() if sign.subject is not subject)


def test_at_home_mail_in_a_folder_and_the_made_up_workshop_are_worth_a_look_only():
    at_home = replace(
        GOOD, public_url="http://127.0.0.1:8080", trusts_a_proxy=False, sends_mail=False, seeded_password=True
    )
    assert level_of(installation_signs(at_home)) is Level.WATCH


@pytest.mark.parametrize(
    ("url", "public"),
    [
        ("https://orders.quillfern.example", True),
        ("https://93.184.216.34:8443", True),
        ("http://localhost:8080", False),
        ("http://127.0.0.1:8080", False),
        ("http://[::1]:8080", False),
        ("http://192.168.1.20", False),
        ("http://bench.local", False),
        ("", False),
    ],
)
def test_what_people_elsewhere_can_reach_is_public(url, public):
    assert is_public(url) is public
