"""What `compose.yaml` starts is what `scripts/shape` starts, and the settings it names exist."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
import yaml

from service.cli import _parser
from service.settings import PREFIX, load_settings
from tests.parts.object_store import ObjectStore
from tests.parts.shape import WEB, WORKER

ROOT = Path(__file__).parents[2]


@pytest.fixture(scope="module")
def services():
    return yaml.safe_load((ROOT / "compose.yaml").read_text())["services"]


@pytest.mark.parametrize(("name", "arguments"), [("web", WEB), ("worker", WORKER), ("migrate", ("migrate",))])
def test_the_same_commands_are_started(services, name, arguments):
    assert tuple(services[name]["command"]) == arguments
    assert _parser().parse_args(list(arguments)).command


@pytest.mark.parametrize("name", ["web", "worker", "migrate"])
def test_its_settings_are_settings(services, name):
    environ = services[name]["environment"]
    given = {key: value.split("${")[0] + "x" if "${" in value else value for key, value in environ.items()}
    given |= {PREFIX + "PUBLIC_URL": "https://orders.oxbarrow.example"}
    settings = load_settings(given)
    assert settings.role == environ.get(PREFIX + "ROLE", "all")
    assert not settings.embedded and settings.s3_bucket


def test_its_object_store_tells_nobody_anything_and_knows_the_service(services, tmp_path):
    ours = {
        flag for flag in ObjectStore(tmp_path).part.command if "telemetry" in flag or "port.iceberg" in flag
    }
    assert ours < set(services["objects"]["command"])
    content = yaml.safe_load((ROOT / "compose.yaml").read_text())["configs"]["identities"]["content"]
    credentials = json.loads(content)["identities"][0]["credentials"][0]
    assert credentials["accessKey"] == services["web"]["environment"][PREFIX + "S3_KEY_ID"]


def test_the_container_runs_the_same_command_line():
    text = (ROOT / "Containerfile").read_text()
    assert '"-m", "service.cli"]' in text
    for room in ("artwork", "service", "schema", "seeds", "scripts", "requirements"):
        assert f"COPY {room} {room}" in text and (ROOT / room).is_dir()
