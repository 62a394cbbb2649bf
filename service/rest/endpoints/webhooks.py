"""Events, and webhooks that they are sent to."""

from __future__ import annotations

from service.orders.webhooks import Webhook
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.requests.webhooks import DeliveriesQuery, EventsQuery, WebhookAsk
from service.rest.responses.orders import API
from service.rest.responses.webhooks import (
    EventsBody,
    NewWebhookBody,
    WebhooksBody,
    deliveries_body,
    delivery_body,
    event_body,
    new_webhook_body,
    webhook_body,
)
from service.rest.use import Does, items, nothing, one
from service.usecases import webhooks

TAG = "Events and webhooks"


def _events(call: Call) -> Answer[EventsBody]:
    found = webhooks.list_events(call.ctx, call.actor, call.query.after, call.query.first)
    return Answer(EventsBody(tuple(map(event_body, found))))


def _with_secret(made: Webhook) -> Answer[NewWebhookBody]:
    location = f"{API}/webhooks/{made.id}"
    return Answer(new_webhook_body(made), location=location, headers={"Cache-Control": "no-store"})


OPERATIONS = tagged(
    TAG,
    Operation(
        "GET /events",
        "listEvents",
        "List what happened in the workshop, in its order.",
        _events,
        query=EventsQuery,
        more="Numbers have no gaps: whoever goes on after the last number had misses nothing for 90 days. "
        "`followEvents` gives the same as a stream.",
    ),
    Operation(
        "GET /webhooks",
        "listWebhooks",
        "List where events are sent.",
        Does(webhooks.list_webhooks, items(WebhooksBody, webhook_body)),
    ),
    Operation(
        "POST /webhooks",
        "makeWebhook",
        "Have events sent to an address, from now on.",
        Does(webhooks.make_webhook, _with_secret),
        ask=WebhookAsk,
        status=201,
        problems=("too-many-webhooks",),
        more="Messages follow the Standard Webhooks specification 1.0.0: `webhook-id`, `webhook-timestamp` and "
        "`webhook-signature`, signed with the secret that is shown this once. Only 2xx is success; a message is "
        "tried ten times over three days, then it is dead and can be sent again. 410 switches the webhook off.",
    ),
    Operation(
        "DELETE /webhooks/{webhook}",
        "dropWebhook",
        "Send nothing more there.",
        Does(webhooks.drop_webhook, nothing),
        status=204,
    ),
    Operation(
        "POST /webhooks/{webhook}/secrets",
        "rotateWebhookSecret",
        "Give a webhook a new secret; the one before signs as well for 24 hours.",
        Does(webhooks.rotate_webhook_secret, _with_secret),
        status=201,
    ),
    Operation(
        "POST /webhooks/{webhook}/enabling",
        "enableWebhook",
        "Go on with a webhook that was switched off, with what happens from now on.",
        Does(webhooks.enable_webhook, one(webhook_body)),
    ),
    Operation(
        "GET /webhooks/{webhook}/deliveries",
        "listDeliveries",
        "List what was sent to a webhook, newest first.",
        Does(webhooks.list_deliveries, one(deliveries_body)),
        query=DeliveriesQuery,
    ),
    Operation(
        "POST /deliveries/{delivery}/replays",
        "sendAgain",
        "Send a message once more, under the same id.",
        Does(webhooks.send_again, one(delivery_body)),
        status=202,
    ),
)
