"""The GraphQL door: one ASGI application at ``/graphql``, after the GraphQL-over-HTTP specification."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import Any, cast

from anyio import to_thread
from cross_web import AsyncHTTPRequestAdapter, HTTPException
from graphql import GraphQLError
from pydantic_core import from_json, to_json
from starlette.datastructures import Headers
from starlette.requests import HTTPConnection, Request
from starlette.responses import JSONResponse, Response
from starlette.types import Message, Receive, Scope, Send
from starlette.websockets import WebSocket
from strawberry.asgi import GraphQL
from strawberry.http import GraphQLHTTPResponse, GraphQLRequestData
from strawberry.http.streaming import SSETransport
from strawberry.subscriptions import GRAPHQL_SSE_PROTOCOL, GRAPHQL_TRANSPORT_WS_PROTOCOL
from strawberry.subscriptions import MULTIPART_SUBSCRIPTION_PROTOCOL as PARTS_PROTOCOL
from strawberry.types import ExecutionResult

from schema import negotiating
from schema.admission import read
from schema.build import UNFORESEEN, build_schema
from schema.context import Graph
from schema.sockets import SocketHandler
from service.rest import receiving
from service.rest.operation import Pipeline
from service.rest.pipeline import problem_of
from service.rest.speaking import speak_as_asked

MOST_SUBSCRIPTIONS = 20
_GRAPH = "slatproof.graph"
"""Where a request carries its context."""
_STATUS_CODES = {405: "METHOD_NOT_ALLOWED", 406: "NOT_ACCEPTABLE"}
_STREAMS: dict[str, Any] = {negotiating.EVENTS: "sse", negotiating.PARTS: PARTS_PROTOCOL}
"""How the library calls the protocol of each stream."""


class Events(SSETransport):
    """The library's events with lines that end in LF alone: urql looks for no other end of an event."""

    def encode_event(self, event: str, data: str | None = None) -> str:
        """One event of one line of data."""
        return super().encode_event(event, data).replace("\r\n", "\n")

    def encode_comment(self, comment: str) -> str:
        """A line that says only that the stream is alive."""
        return f": {comment}\n\n"


class GraphDoor(GraphQL[Graph, None]):
    """Strawberry's view with the specification's media type, and 400 for what is no document at all."""

    stream_transport_classes_by_protocol = MappingProxyType(
        {**GraphQL.stream_transport_classes_by_protocol, GRAPHQL_SSE_PROTOCOL: Events}
    )
    graphql_transport_ws_handler_class = SocketHandler

    def __init__(self, pipeline: Pipeline) -> None:
        """Open the door, served as the REST door is. The page to try it in is our own (``schema.reference``)."""
        super().__init__(
            build_schema(),
            graphql_ide=None,
            subscription_protocols=[
                GRAPHQL_TRANSPORT_WS_PROTOCOL,
                GRAPHQL_SSE_PROTOCOL,
                PARTS_PROTOCOL,
            ],
            max_subscriptions_per_connection=MOST_SUBSCRIPTIONS,
        )
        self._pipeline = pipeline

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer one request or socket, a refusal in the language that is asked for."""
        speak_as_asked(HTTPConnection(scope))
        if scope["type"] == "websocket":
            await super().__call__(scope, receive, send)
            return
        request = Request(scope, receive)
        scope[_GRAPH] = graph = Graph(self._pipeline, request)
        try:
            body = await receiving.read_body(request, self._pipeline.body_limit)
            response = await self.run(Request(scope, _replay(body, receive)))
        except HTTPException as error:
            response = _transport_error(error.status_code, error.reason, request.headers)
        except (receiving.TooLargeError, receiving.UnreadableError) as error:
            response = problem_of(error)
        finally:
            await graph.rest()
        try:
            await response(scope, receive, send)
        finally:
            await graph.rest()  # of a query that is answered as a stream

    async def get_context(self, request: Request | WebSocket, response: Any) -> Graph:  # noqa: ARG002
        """One context per request or socket."""
        made: Graph | None = request.scope.get(_GRAPH)
        return Graph(self._pipeline, request) if made is None else made

    async def parse_http_body(self, request: AsyncHTTPRequestAdapter) -> Any:
        """What is asked, and the protocol of its answer. Raises HTTPException 406 where none is acceptable."""
        asked = await super().parse_http_body(request)
        if isinstance(asked, list):
            return asked
        stream, plain = negotiating.acceptable(request.headers.get("accept"))
        listens = await self._is_subscription(asked)
        if stream is not None and (listens or plain is None):
            return replace(asked, protocol=_STREAMS[stream])
        if listens or plain is None:
            kinds = _STREAMS if listens else (*negotiating.JSON_TYPES, *_STREAMS)
            raise HTTPException(406, f"This is answered as {' or '.join(kinds)}.")
        return replace(asked, protocol="http")

    async def _is_subscription(self, asked: GraphQLRequestData) -> bool:
        query = asked.query or ""
        if "subscription" not in query:
            return False
        try:
            document = await to_thread.run_sync(read, query, limiter=self._pipeline.threads)
        except GraphQLError:
            return False  # said by what answers the query
        return negotiating.is_subscription(document.parsed, asked.operation_name)

    async def get_sub_response(self, request: Request | WebSocket) -> Response:
        """Carries what the sender accepts to where the answer is made."""
        carried = await super().get_sub_response(request)
        carried.media_type = _accepted(request.headers)
        return carried

    def parse_json(self, data: str | bytes) -> Any:
        """What a body (bytes) or a part of an address (text) says. Raises HTTPException 400.

        The view takes a body that is neither an object nor a list for an object.
        """
        said = super().parse_json(data)
        if isinstance(data, bytes) and not isinstance(said, dict | list):
            raise HTTPException(400, "A request is an object with a `query`.")
        return said

    def decode_json(self, data: str | bytes) -> object:
        """What JSON says. JSONDecodeError for anything else, brackets nested without end among it."""
        try:
            return from_json(data, allow_inf_nan=False)
        except ValueError as error:
            raise json.JSONDecodeError(str(error), "", 0) from error

    def encode_json(self, data: object) -> str:
        """As the REST door writes JSON, close together; as text, for that is what goes over a WebSocket."""
        return to_json(data).decode()

    async def process_result(self, request: Request, result: ExecutionResult) -> GraphQLHTTPResponse:
        """The answer; every error in it has a code."""
        answer = await super().process_result(request, result)
        for error in cast("list[dict[str, Any]]", answer.get("errors") or ()):
            error.setdefault("extensions", {}).setdefault("code", _code_of(error))
        return answer

    def create_response(
        self, response_data: GraphQLHTTPResponse | list[GraphQLHTTPResponse], sub_response: Response
    ) -> Response:
        """The answer in the media type asked for; 400 where nothing was executed."""
        kind = sub_response.media_type or negotiating.PLAIN_JSON
        status, data = 200, response_data
        if not isinstance(data, list) and _was_not_executed(data):
            data = {key: value for key, value in data.items() if key != "data"}  # type: ignore[assignment]
            status = 200 if kind == negotiating.PLAIN_JSON else 400
        headers = {
            "Cache-Control": "private, no-store",
            "Vary": "Accept, Accept-Language, Cookie, Authorization",
        }
        return Response(to_json(data), status, headers=headers, media_type=kind)


def _code_of(error: Mapping[str, Any]) -> str:
    """The code of an error that the library words: of the document, of a value in it, or of ours."""
    if error["message"] == UNFORESEEN:
        return "FAULT"
    return "INVALID" if "path" in error else "BAD_DOCUMENT"


def _was_not_executed(response: GraphQLHTTPResponse) -> bool:
    """An error of execution has the path of its field; one of parsing, validation or variables has none."""
    errors = response.get("errors") or []
    return response.get("data") is None and not any("path" in cast("dict[str, Any]", e) for e in errors)


def _accepted(headers: Headers) -> str:
    _, plain = negotiating.acceptable(headers.get("accept"))
    return plain or negotiating.PLAIN_JSON


def _transport_error(status: int, reason: str, headers: Headers) -> Response:
    more = {"Allow": "GET, POST"} if status == 405 else {}
    code = _STATUS_CODES.get(status, "BAD_REQUEST")
    body = {"errors": [{"message": reason, "extensions": {"code": code}}]}
    return JSONResponse(
        body, status, headers={"Cache-Control": "no-store"} | more, media_type=_accepted(headers)
    )


def _replay(body: bytes, receive: Receive) -> Receive:
    sent = False

    async def receiving_again() -> Message:
        nonlocal sent
        if sent:
            return await receive()
        sent = True
        return {"type": "http.request", "body": body, "more_body": False}

    return receiving_again
