"""A bad setting stops the start and says which one and why."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path

import pytest

from artwork.intake import Limits
from service.settings import BadSettingsError, Settings, load_settings


def test_nothing_set_is_the_embedded_shape(tmp_path):
    settings = load_settings({}, data=tmp_path)
    assert settings.embedded
    assert settings.database_url == f"sqlite:///{tmp_path}/slatproof.db"
    assert (settings.role, settings.s3_bucket, settings.smtp) == ("all", "", "")


def test_flags_win_over_variables(tmp_path):
    settings = load_settings({"SLATPROOF_PORT": "8101", "SLATPROOF_DATA": "/elsewhere"}, data=tmp_path)
    assert (settings.port, settings.data) == (8101, Path(tmp_path))


@pytest.mark.parametrize(
    ("environ", "line"),
    [
        ({"SLATPROOF_PORT": "eighty"}, "SLATPROOF_PORT:"),
        ({"SLATPROOF_PORT": "70000"}, "SLATPROOF_PORT:"),
        ({"SLATPROOF_SECOND_STEP": "perhaps"}, "SLATPROOF_SECOND_STEP:"),
        (
            {"SLATPROOF_BREACHED_PASSWORDS": "/no/such/file"},
            "SLATPROOF_BREACHED_PASSWORDS: /no/such/file cannot",
        ),
        ({"SLATPROOF_ROLE": "king"}, "SLATPROOF_ROLE:"),
        ({"SLATPROOF_PROT": "8101"}, "SLATPROOF_PROT: there is no such setting"),
        ({"SLATPROOF_DATABASE": "mysql://x"}, "DATABASE must start with sqlite"),
        ({"SLATPROOF_S3_BUCKET": "files"}, "S3_BUCKET needs S3_ENDPOINT"),
        ({"SLATPROOF_SMTP": "mail.example"}, "SMTP must look like"),
        ({"SLATPROOF_PUBLIC_URL": "javascript:alert(1)"}, "PUBLIC_URL must start with"),
    ],
)
def test_a_bad_value_names_itself(environ, line):
    with pytest.raises(BadSettingsError) as bad:
        load_settings(environ)
    assert line in str(bad.value)


def test_all_problems_are_told_at_once():
    with pytest.raises(BadSettingsError) as bad:
        load_settings({"SLATPROOF_PORT": "x", "SLATPROOF_COMPUTE": "0", "SLATPROOF_NOSUCH": "1"})
    assert len(bad.value.problems) == 3


def test_every_limit_on_artwork_is_a_setting():
    stated = {
        "SLATPROOF_ART_PIXELS": "90000",
        "SLATPROOF_ART_NESTING": "7",
        "SLATPROOF_UPLOAD_LIMIT": "50000000",
    }
    limits = load_settings(stated).art_limits
    assert (limits.pixels, limits.nesting, limits.file_bytes) == (90_000, 7, 50_000_000)
    assert load_settings({}).art_limits == Limits()
    settable = {name.removeprefix("art_") for name in Settings.model_fields if name.startswith("art_")}
    assert settable == {field.name for field in fields(Limits)} - {"file_bytes"}


def test_a_secret_is_not_shown():
    assert "hunter2" not in repr(load_settings({"SLATPROOF_S3_SECRET": "hunter2"}))
