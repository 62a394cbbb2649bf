"""A whole order by clients that tools of others make of the contracts, typed strictly and without a cast.

Of REST in TypeScript (openapi-typescript), of the graph in Python (ariadne-codegen; it has an environment of its own).
"""

from __future__ import annotations

import json
import shutil
import subprocess
import sys
from pathlib import Path

from tests.running import Running, art

HERE = Path(__file__).parent
NPM = HERE.parent / "npm/node_modules"
CONTRACT = HERE.parents[1] / "schema/openapi.json"
GRAPH = HERE / "graph"
SCHEMA = HERE.parents[1] / "schema/slatproof.graphql"
CLIENTS = HERE.parents[1] / ".venv/clients/bin"
STRICT = (
    "--strict --noUncheckedIndexedAccess --target es2022 --module nodenext --lib es2022,dom --skipLibCheck "
    "--outDir out journey.ts"
)


def run(*asked: str | Path, at: Path) -> str:
    """What a program prints; it must end well."""
    done = subprocess.run(
        [str(each) for each in asked], cwd=at, capture_output=True, text=True, timeout=120, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout


def node(*asked: str | Path, at: Path) -> str:
    return run("node", *asked, at=at)


def test_generated_types_lead_through_an_order(running: Running, tmp_path: Path):
    source = (HERE / "journey.ts").read_text(encoding="utf-8")
    assert " as " not in source and " any" not in source and "@ts-" not in source
    (tmp_path / "journey.ts").write_text(source, encoding="utf-8")
    (tmp_path / "package.json").write_text('{"type": "module"}')
    (tmp_path / "node_modules").symlink_to(NPM)
    (tmp_path / "crest.svg").write_bytes(art("crest.svg"))
    node(HERE / "generate.mjs", CONTRACT, tmp_path / "api.d.ts", at=tmp_path)
    node(NPM / "typescript/bin/tsc", *STRICT.split(), at=tmp_path)
    told = json.loads(
        node(HERE / "run.mjs", tmp_path / "out/journey.js", running.url, "crest.svg", at=tmp_path)
    )
    assert told["states"] == ["signed"] and told["verdicts"] == ["carves"]
    assert told["number"] > 0 and told["depth"] > 0


def test_a_generated_client_of_the_graph_leads_through_an_order(running: Running, tmp_path: Path):
    source = (GRAPH / "journey.py").read_text(encoding="utf-8")
    assert "cast(" not in source and "Any" not in source and "type: ignore" not in source
    for name in ("journey.py", "queries.graphql", "pyproject.toml"):
        shutil.copy(GRAPH / name, tmp_path)
    shutil.copy(SCHEMA, tmp_path / "schema.graphql")
    (tmp_path / "crest.svg").write_bytes(art("crest.svg"))
    run(CLIENTS / "ariadne-codegen", at=tmp_path)
    run(
        sys.executable,
        "-m",
        "mypy",
        "--strict",
        "--python-executable",
        CLIENTS / "python",
        "journey.py",
        at=tmp_path,
    )
    told = json.loads(run(CLIENTS / "python", "journey.py", running.url, "crest.svg", at=tmp_path))
    assert told["states"] == ["SIGNED"]
    assert told["number"] > 0 and told["depth"] > 0


def test_a_linter_of_others_finds_nothing_in_the_contract(tmp_path: Path):
    """All rules of Redocly's ``recommended`` set: no error, no warning."""
    asked = (
        NPM / "@redocly/cli/bin/cli.js",
        "lint",
        "--extends",
        "recommended",
        "--format",
        "json",
        CONTRACT,
    )
    told = json.loads(node(*asked, at=tmp_path))
    assert told["totals"] == {"errors": 0, "warnings": 0, "ignored": 0}, told["problems"]


def test_a_linter_of_others_finds_nothing_in_the_graph(tmp_path: Path):
    """All rules of graphql-eslint's ``schema-recommended`` set: no error, no warning."""
    shutil.copy(SCHEMA, tmp_path / "schema.graphql")
    shutil.copy(GRAPH / "lint.config.mjs", tmp_path / "eslint.config.mjs")
    (tmp_path / "node_modules").symlink_to(NPM)
    told = json.loads(node(NPM / "eslint/bin/eslint.js", "--format", "json", "schema.graphql", at=tmp_path))
    assert [(each["errorCount"], each["warningCount"]) for each in told] == [(0, 0)], told[0]["messages"]
