"""What one document may ask for: counted before anything else looks at it, each fragment once.

A fragment is counted where it is defined and remembered, so a document of fragments that name each other twice
costs as much to count as it is long, whatever it would come to when written out. What is refused here is seen by
no other rule, several of which walk fragments without memory.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Final

from graphql import (
    FieldNode,
    FragmentDefinitionNode,
    FragmentSpreadNode,
    GraphQLError,
    GraphQLField,
    GraphQLList,
    GraphQLNamedType,
    GraphQLNonNull,
    GraphQLSchema,
    InlineFragmentNode,
    IntValueNode,
    OperationDefinitionNode,
    OperationType,
    SelectionSetNode,
    VariableNode,
    get_named_type,
    is_composite_type,
)
from graphql.language import DocumentNode

DEEPEST = 9
MOST_ALIASES = 15
MOST_FIELDS = 400
"""Of an operation with its fragments written out; how long the other rules take goes with its square."""
LONGEST_CHAIN = 20
"""Fragments within fragments."""
BUDGET = 50_000
"""Of one operation. One unit is one field of one object: about 20 µs of a processor of 2023."""

USUAL_SIZE = 10
"""Of a list that nobody asks to be shorter."""
SIZES: Final[Mapping[str, int]] = {
    "Order.lines": 4,
    "Order.artworks": 4,
    "Order.suites": 2,
    "Order.programChecks": 10,
    "Order.items": 100,
    "Order.outcomes": 100,
    "Carving.proofs": 4,
    "Suite.parts": 100,
    "Query.cures": 5,
    "CarvingVersions.versions": 3,
    "CarvingVersions.others": 5,
    "CarvingVersions.sturdier": 3,
    "VersionChange.areas": 40,
    "Query.models": 6,
    "Workshop.models": 6,
    "Settings.models": 6,
}
COSTS: Final[Mapping[str, int]] = {
    # processes: seconds of carving arithmetic
    "Query.drawingChanges": 20_000,
    "Query.trial": 20_000,
    # waits for work that goes on elsewhere
    "Query.cures": 40_000,
    "Query.testBoard": 2_000,
    "Query.testBoardFit": 20_000,
    "Query.testBoardEffects": 40_000,
    "Query.experience": 1_000,
    "Query.versions": 1_000,
    # the whole record
    "Query.recordVerification": 30_000,
    # a use case and its statements for each object
    "Order.work": 2_000,
    "Order.suites": 500,
    "Order.programChecks": 200,
    "Order.items": 2_000,
    "Order.outcomes": 200,
    "Order.marks": 500,
    "Order.quote": 500,
    "Query.suite": 500,
    "Query.wellness": 2_000,
    "Query.givenUpWork": 500,
    "Query.workshop": 1_000,
    "Query.settings": 1_000,
    "Query.models": 500,
    # large values
    "Proof.check": 20,
    "Proof.facts": 20,
    "Proof.findings": 10,
    "Reading.report": 10,
    # the schema about itself: at most three times 50 ms
    "__schema": 15_000,
    "__type": 2_000,
}
MUTATION_COST = 5_000
ROOT_COST = 50
"""Any other field of the root: a look at who asks, and a statement."""


@dataclass(frozen=True)
class Bill:
    """What a selection comes to for one object, fragments written out."""

    fields: int = 0
    aliases: int = 0
    cost: int = 0
    depth: int = 0
    chain: int = 0

    def and_also(self, other: Bill) -> Bill:
        """Both, side by side."""
        return Bill(
            self.fields + other.fields,
            self.aliases + other.aliases,
            self.cost + other.cost,
            max(self.depth, other.depth),
            max(self.chain, other.chain),
        )


def refuse_costly(schema: GraphQLSchema, document: DocumentNode, variables: Mapping[str, Any] | None) -> None:
    """Let a document pass that asks for no more than there is for one operation.

    Args:
        schema: says what fields give.
        document: parsed, not validated: fields that do not exist cost one unit.
        variables: the values given; page sizes may be among them.

    Raises:
        GraphQLError: it asks for more, or a fragment holds itself; code ``TOO_COSTLY``.
    """
    _Counting(schema, document, variables or {}).refuse()


class _Counting:
    def __init__(self, schema: GraphQLSchema, document: DocumentNode, variables: Mapping[str, Any]) -> None:
        self._schema = schema
        self._document = document
        self._variables = variables
        self._bills: dict[str, Bill] = {}
        self._open: set[str] = set()

    @cached_property
    def _fragments(self) -> dict[str, FragmentDefinitionNode]:
        return {
            each.name.value: each
            for each in self._document.definitions
            if isinstance(each, FragmentDefinitionNode)
        }

    def refuse(self) -> None:
        # fragments nobody uses are counted too: other rules walk them
        for name in self._fragments:
            self._hold(self._of_fragment(name), f"The fragment {name}")
        for each in self._document.definitions:
            if isinstance(each, OperationDefinitionNode):
                root = self._schema.get_root_type(each.operation)
                name = each.name.value if each.name else "anonymous"
                self._hold(self._of(each.selection_set, root, each.operation), f"The operation {name}")

    @staticmethod
    def _hold(bill: Bill, what: str) -> None:
        for asked, most, words in (
            (bill.chain, LONGEST_CHAIN, "nests fragments {asked} deep; at most {most} are taken"),
            (bill.aliases, MOST_ALIASES, "has {asked} aliases; at most {most} are taken"),
            (bill.depth, DEEPEST, "exceeds the depth of {most} levels"),
            (
                bill.fields,
                MOST_FIELDS,
                "asks for {asked} fields with its fragments; at most {most} are taken",
            ),
            (
                bill.cost,
                BUDGET,
                "may cost {asked} of {most} units: ask for fewer things at once, or for smaller pages",
            ),
        ):
            if asked > most:
                shown = f"{asked:,}" if asked < 10**12 else "very many"
                raise too_costly(f"{what} {words.format(asked=shown, most=f'{most:,}')}.")

    def _of(
        self, selection: SelectionSetNode, parent: GraphQLNamedType | None, root: OperationType | None = None
    ) -> Bill:
        bill = Bill()
        for each in selection.selections:
            if isinstance(each, FieldNode):
                bill = bill.and_also(self._of_field(each, parent, root))
            elif isinstance(each, InlineFragmentNode):
                condition = each.type_condition
                within = self._schema.get_type(condition.name.value) if condition else parent
                bill = bill.and_also(self._of(each.selection_set, within, root))
            elif isinstance(each, FragmentSpreadNode):
                bill = bill.and_also(self._of_fragment(each.name.value))
        return bill

    def _of_fragment(self, name: str) -> Bill:
        if name in self._bills:
            return self._bills[name]
        fragment = self._fragments.get(name)
        if fragment is None:
            return Bill()  # validation says so
        if name in self._open:
            raise too_costly(f"The fragment {name} holds itself.")
        if len(self._open) > LONGEST_CHAIN:
            raise too_costly(f"Fragments are nested more than {LONGEST_CHAIN} deep.")
        self._open.add(name)
        kind = self._schema.get_type(fragment.type_condition.name.value)
        inside = self._of(fragment.selection_set, kind, self._root_of(kind))
        self._open.remove(name)
        bill = Bill(inside.fields, inside.aliases, inside.cost, inside.depth, inside.chain + 1)
        self._bills[name] = bill
        return bill

    def _root_of(self, kind: GraphQLNamedType | None) -> OperationType | None:
        return next((each for each in OperationType if self._schema.get_root_type(each) is kind), None)

    def _of_field(self, node: FieldNode, parent: GraphQLNamedType | None, root: OperationType | None) -> Bill:
        name = node.name.value
        itself = _cost_of(name, parent, root)
        aliases = 1 if node.alias else 0
        if node.selection_set is None:
            return Bill(fields=1, aliases=aliases, cost=itself)
        if name.startswith("__") or str(parent).startswith("__"):
            # the schema about itself is priced as a whole; a rule of the library bounds its depth
            inside = self._of(node.selection_set, self._schema.get_type("__Type"))
            return Bill(1 + inside.fields, aliases + inside.aliases, itself, 0, inside.chain)
        field = getattr(parent, "fields", {}).get(name)
        below = None if field is None else get_named_type(field.type)
        inside = self._of(node.selection_set, below if is_composite_type(below) else None)
        times = 1 if field is None else self._times(node, field, f"{parent}.{name}")
        return Bill(
            1 + inside.fields,
            aliases + inside.aliases,
            itself + times * inside.cost,
            1 + inside.depth,
            inside.chain,
        )

    def _times(self, node: FieldNode, field: GraphQLField, path: str) -> int:
        """Of how many objects a field's selection is asked."""
        if "first" in field.args:
            return self._first(node, field)
        if path.endswith("Connection.edges"):  # counted with its page
            return 1
        inner = field.type.of_type if isinstance(field.type, GraphQLNonNull) else field.type
        return SIZES.get(path, USUAL_SIZE) if isinstance(inner, GraphQLList) else 1

    def _first(self, node: FieldNode, field: GraphQLField) -> int:
        given: Any = field.args["first"].default_value
        for argument in node.arguments or ():
            if argument.name.value == "first":
                value = argument.value
                if isinstance(value, IntValueNode):
                    given = int(value.value) if len(value.value) < 10 else 10**9
                elif isinstance(value, VariableNode):
                    given = self._variables.get(value.name.value, self._default(value.name.value))
        return max(given, 1) if isinstance(given, int) else 1

    def _default(self, name: str) -> int | None:
        for definition in self._variable_definitions():
            if definition.variable.name.value == name and isinstance(definition.default_value, IntValueNode):
                return int(definition.default_value.value[:9])
        return None

    def _variable_definitions(self) -> Iterator[Any]:
        operations: Iterable[Any] = self._document.definitions
        for each in operations:
            if isinstance(each, OperationDefinitionNode):
                yield from each.variable_definitions or ()


def _cost_of(name: str, parent: GraphQLNamedType | None, root: OperationType | None) -> int:
    stated = COSTS.get(name if name.startswith("__") else f"{parent}.{name}")
    if stated is not None:
        return stated
    if root is OperationType.MUTATION:
        return MUTATION_COST
    return 1 if root is None or name == "__typename" else ROOT_COST


def too_costly(words: str) -> GraphQLError:
    """The refusal of what asks too much."""
    return GraphQLError(words, extensions={"code": "TOO_COSTLY"})
