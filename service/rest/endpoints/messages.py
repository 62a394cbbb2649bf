"""Questions and answers on an order."""

from __future__ import annotations

from service.rest.operation import Operation, tagged
from service.rest.requests.messages import MessageAsk
from service.rest.responses.messages import MessagesBody, message_body
from service.rest.use import Does, items, one
from service.usecases import messages

TAG = "Questions"

OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /orders/{order}/messages",
        "listMessages",
        "List what client and workshop wrote to each other about an order, oldest first.",
        Does(messages.list_messages, items(MessagesBody, message_body)),
    ),
    Operation(
        "POST /orders/{order}/messages",
        "writeMessage",
        "Write to the other side about an order; it is told by mail.",
        Does(messages.write_message, one(message_body)),
        graph="",
        ask=MessageAsk,
        problems=("erased",),
    ),
)
