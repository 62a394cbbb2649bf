"""The table of states, drawn: Mermaid text for the docs, made from the code that enforces it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from service.orders.actors import Role
from service.orders.states import CARVING_STEPS, ORDER_STEPS, CarvingState, CarvingStep, OrderState, OrderStep

_FREQUENT = {"give-art", "outdate"}
"""Steps open from nearly everywhere: told in the table, left out of the drawing, which they would cover."""


def order_drawing() -> str:
    """The life of an order as a Mermaid state diagram."""
    arrows = _arrows((step, to) for step in ORDER_STEPS for to in [step.to] if to is not None)
    return _drawing(OrderState.DRAFT, arrows)


def carving_drawing() -> str:
    """The life of a carving as a Mermaid state diagram, without the steps open from nearly everywhere."""
    steps = [step for step in CARVING_STEPS if step.event not in _FREQUENT]
    return _drawing(
        CarvingState.NO_ART, ["    no_art --> reading: give-art", *_arrows((s, s.to) for s in steps)]
    )


def order_table() -> str:
    """Every step of an order: from where, to where, by whom."""
    rows = [(s.event, _names(s.sources), s.to or "stays", _people(s.by)) for s in ORDER_STEPS]
    return _table(("step", "from", "to", "by"), rows)


def carving_table() -> str:
    """Every step of a carving: from where, to where, by whom, and while its order is what."""
    rows = [(s.event, _names(s.sources), s.to, _people(s.by), _names(s.order)) for s in CARVING_STEPS]
    return _table(("step", "from", "to", "by", "while the order is"), rows)


def _drawing(first: str, arrows: Iterable[str]) -> str:
    return "\n".join(["```mermaid", "stateDiagram-v2", f"    [*] --> {_node(first)}", *arrows, "```"])


def _arrows(steps: Iterable[tuple[OrderStep | CarvingStep, str]]) -> Iterator[str]:
    for step, to in steps:
        for source in sorted(step.sources):
            if source != to:
                yield f"    {_node(source)} --> {_node(to)}: {step.event}"


def _node(state: str) -> str:
    return state.replace("-", "_")


def _names(states: Iterable[str]) -> str:
    return ", ".join(sorted(states))


def _people(roles: Iterable[Role]) -> str:
    return ", ".join(sorted(role.value for role in roles))


def _table(head: tuple[str, ...], rows: Iterable[tuple[str, ...]]) -> str:
    lines = [head, tuple("---" for _ in head), *rows]
    return "\n".join("| " + " | ".join(line) + " |" for line in lines)
