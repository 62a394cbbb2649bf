"""One definition of what a client says of an order, and nothing forgotten: each place of a field is taken away in turn.

The places are the definition, the migration, the form and the job sheet; all between is made from the definition. The
rule holds for every field; the mutations take `purchase_order` out of one place at a time.
"""

from __future__ import annotations

import ast
import re
import sys
from collections.abc import Iterator
from dataclasses import is_dataclass, replace
from datetime import date
from pathlib import Path
from types import ModuleType
from typing import Any

import pypdfium2
import pytest
import sqlalchemy as sa

from service.batches import job_sheet
from service.orders import order as order_module
from service.orders.definition import Trait, bench_fields, defined
from service.store.engine import Database
from service.store.mapping import columns_of
from service.store.migrating import upgrade
from tests.service.batches.making import SHOP, order_of
from tests.service.batches.test_job_sheet import jobs

ROOT = Path(__file__).parents[2]
FORM = ROOT / "service/pages/templates/parts/details.html"
OWN_COLUMNS = {"due", "recorded"}
"""Of the table of orders alone: no value has them."""
OTHER_INPUTS = {"revision", "then", "reason", "take_back"}
FIELD = "purchase_order"
DAY = date(2031, 5, 17)


def leaves(kind: Any) -> Iterator[str]:
    """What a form asks for: the fields, and those of the values within."""
    for name, field in defined(kind).items():
        if is_dataclass(field.kind):
            yield from leaves(field.kind)
        else:
            yield name


def stored(folder: Path, to: str = "head") -> set[str]:
    folder.mkdir(exist_ok=True)
    database = Database(f"sqlite:///{folder}/store.db")
    upgrade(database, to)
    with database.reading() as connection:
        found = {column["name"] for column in sa.inspect(connection).get_columns("orders")}
    database.close()
    return found


def inputs(form: str) -> set[str]:
    named = re.findall(r'(?:field|area)\("(\w+)"|name="(\w+)"', form)
    return {first or second for first, second in named} - OTHER_INPUTS


def printed(sheet: ModuleType, terms: Any) -> str:
    order = replace(order_of(12), terms=terms)
    data = sheet.job_sheet(SHOP, order, jobs(1), "b1")
    return pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()


def marked(kind: Any) -> Any:
    """Terms with something to look for in each field."""
    kinds = {str: lambda name: f"the-{name}".replace("_", "-"), date: lambda _: DAY}
    return kind(**{n: kinds[f.kind](n) for n, f in defined(kind).items() if f.kind in kinds})


def lacking(orders: ModuleType, columns: set[str], form: str, sheet: ModuleType) -> set[str]:
    """What is forgotten somewhere, in words. Nothing, or a field was added in one place and not in another."""
    terms = orders.OrderTerms
    lacks = set()
    mine = {column.name for column in columns_of(orders.Order)} | OWN_COLUMNS
    lacks |= {f"{name} is defined, and no migration stores it" for name in mine - columns}
    lacks |= {f"{name} is stored, and not defined" for name in columns - mine}
    asked = set(leaves(terms))
    lacks |= {f"{name} is defined, and no form asks for it" for name in asked - inputs(form)}
    lacks |= {f"{name} is asked for, and not defined" for name in inputs(form) - asked}
    for name, field in defined(terms).items():
        if field.kind is str and not {Trait.PERSONAL, Trait.SEARCHABLE} <= field.traits:
            lacks.add(f"{name} is a client's text that is not erased or not found")
    seen = printed(sheet, marked(order_module.OrderTerms))
    for name in bench_fields(terms):
        words = "17 May 2031" if name == "needed_by" else f"the-{name}".replace("_", "-")
        if words not in seen:
            lacks.add(f"{name} goes to the bench, and is not on the job sheet")
    return lacks


def mutant(module: ModuleType, source: str) -> ModuleType:
    """A module run from changed source, under another name."""
    made = ModuleType(f"{module.__name__}_without")
    made.__file__ = module.__file__
    sys.modules[made.__name__] = made
    exec(compile(source, made.__name__, "exec"), made.__dict__)
    return made


def source_of(module: ModuleType) -> str:
    assert module.__file__
    return Path(module.__file__).read_text(encoding="utf-8")


def without_lines(source: str) -> str:
    kept = [line for line in source.splitlines() if FIELD not in line]
    assert len(kept) < len(source.splitlines())
    return "\n".join(kept) + "\n"


def without_field(source: str, traits: tuple[str, ...] = ()) -> str:
    """The definition without the field, or with the field without some traits."""
    (node,) = (
        each
        for each in ast.walk(ast.parse(source))
        if isinstance(each, ast.AnnAssign) and isinstance(each.target, ast.Name) and each.target.id == FIELD
    )
    lines = source.splitlines()
    theirs = lines[node.lineno - 1 : node.end_lineno]
    left = [line for line in theirs if traits and not any(f"Trait.{trait}" in line for trait in traits)]
    assert len(left) < len(theirs)
    return "\n".join([*lines[: node.lineno - 1], *left, *lines[node.end_lineno :]]) + "\n"


def test_nothing_is_forgotten(tmp_path):
    assert lacking(order_module, stored(tmp_path), FORM.read_text(encoding="utf-8"), job_sheet) == set()


MUTATIONS = {
    "definition": {
        "purchase_order is stored, and not defined",
        "purchase_order is asked for, and not defined",
    },
    "migration": {"purchase_order is defined, and no migration stores it"},
    "form": {"purchase_order is defined, and no form asks for it"},
    "job sheet": {"purchase_order goes to the bench, and is not on the job sheet"},
    "PERSONAL": {"purchase_order is a client's text that is not erased or not found"},
    "SEARCHABLE": {"purchase_order is a client's text that is not erased or not found"},
}


@pytest.mark.parametrize("taken_from", MUTATIONS)
def test_a_field_taken_from_one_place_turns_the_rule_red(taken_from, tmp_path):
    orders, form, sheet = order_module, FORM.read_text(encoding="utf-8"), job_sheet
    columns = stored(tmp_path) - ({FIELD} if taken_from == "migration" else set())
    if taken_from == "form":
        form = without_lines(form)
    elif taken_from == "job sheet":
        sheet = mutant(job_sheet, without_lines(source_of(job_sheet)))
    elif taken_from != "migration":
        traits = () if taken_from == "definition" else (taken_from,)
        orders = mutant(order_module, without_field(source_of(order_module), traits))
    assert lacking(orders, columns, form, sheet) == MUTATIONS[taken_from]
