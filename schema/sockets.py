"""GraphQL over a WebSocket (graphql-transport-ws): messages of another shape than the protocol's close it."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, Field, StringConstraints, TypeAdapter, ValidationError
from strawberry.subscriptions.protocols.graphql_transport_ws.handlers import BaseGraphQLTransportWSHandler
from strawberry.subscriptions.protocols.graphql_transport_ws.types import Message

from schema.context import Graph

_Id = Annotated[str, StringConstraints(max_length=80)]
"""It is said again when a socket is closed, and a closing frame holds 123 bytes of reason (RFC 6455, 5.5)."""


class _Asked(BaseModel):
    query: str
    variables: dict[str, Any] | None = None
    operation_name: str | None = Field(None, alias="operationName")
    extensions: dict[str, Any] | None = None


class _Subscribe(BaseModel):
    type: Literal["subscribe"]
    id: _Id
    payload: _Asked


class _Complete(BaseModel):
    type: Literal["complete"]
    id: _Id


class _Other(BaseModel):
    type: Literal["connection_init", "ping", "pong"]
    payload: dict[str, Any] | None = None


_MESSAGE: TypeAdapter[Any] = TypeAdapter(_Subscribe | _Complete | _Other)


class SocketHandler(BaseGraphQLTransportWSHandler[Graph, None]):
    """The library's handler, which takes for granted that a message has the protocol's shape."""

    async def handle_message(self, message: Message) -> None:
        """Act on one message; 4400 closes the socket after any that the protocol does not know."""
        try:
            _MESSAGE.validate_python(message, strict=True)
        except ValidationError:
            await self.handle_invalid_message("This is no message of graphql-transport-ws.")
            return
        await super().handle_message(message)
