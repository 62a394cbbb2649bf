"""One call of every field of the graph's roots, about the same things as the calls of the REST door."""

from __future__ import annotations

from typing import Any

from tests.access.cast import Things
from tests.running import Json, shown

NOTHING = "a" * 26
OUTCOME = "{ __typename ... on Refusal { message } }"


def call_of(field: str, things: Things, door: str) -> tuple[str, dict[str, Any]]:
    """Query text and variables of a root field such as ``Mutation.signOff``; ``door``: a workshop's public one."""
    root, name = field.split(".")
    text = {**_mutations(things, door), **_queries(things, door)}[name]
    return f"{root.lower()} {{ {name}{text} }}", {}


def _mutations(things: Things, door: str) -> dict[str, str]:
    order, carving = things.order, things.carving
    on_order = f'orderId: "{order["id"]}", expectedRevision: {order["revision"]}'
    on_carving = f'carvingId: "{carving["id"]}", expectedRevision: {carving["revision"]}'
    proof = _shown(shown(order)[0])
    proofs = f'orderId: "{order["id"]}", shown: [{proof}]'
    setting = 'key: "v60", expectedRevision: 999999'
    spare = f'orderId: "{things.spare["id"]}"'
    on_board = f'boardId: "{things.order["id"]}"'
    asked = {
        "placeOrder": f'workshop: "{door}", order: {{}}',
        "amendOrder": f"{on_order}, order: {{}}",
        "submitOrder": on_order,
        "cancelOrder": f'{on_order}, reason: "no more"',
        "reorder": f'orderId: "{order["id"]}"',
        "setTravel": f"{on_order}, km: 10",
        "splitOrder": f'{on_order}, lines: [{{lineId: "{order["lines"][0]["id"]}", quantity: 1}}]',
        "releaseOrder": f"{on_order}, shown: [{proof}]",
        "recallOrder": f'{on_order}, reason: "no more"',
        "startProduction": on_order,
        "finishProduction": on_order,
        "tickItems": f'orderId: "{order["id"]}", items: ["1-99-1-back-centre"], seen: TO_CARVE, to: CARVED',
        "shiftItem": f'orderId: "{order["id"]}", item: "1-1-1-back-centre", x: 900, y: 0',
        "remakeItem": f'orderId: "{order["id"]}", item: "1-1-1-back-centre", reason: OTHER',
        "recordOutcome": f'orderId: "{order["id"]}", item: "1-1-1-back-centre", outcome: FINE, x: 3.5',
        "acceptTimeFactor": "timeScale: 1.5",
        "makeTestBoard": 'content: {bitKey: "none"}',
        "saveTestBoardReadings": f'{on_board}, taken: {{readings: [{{key: "L1.width", value: 1}}]}}',
        "acceptTestBoard": f'{on_board}, expectedRevision: 999999, names: ["sanding"]',
        "readAgain": f"{on_carving}, wishes: {{}}",
        "useArtwork": f'{on_carving}, artworkId: "{carving["artwork_id"]}"',
        "placeArt": f"{on_carving}, placement: {{x: 0, y: 0, scale: 1}}",
        "changeCut": f"{on_carving}, cut: {{}}",
        "checkAgain": on_carving,
        "takeCure": f'{on_carving}, code: "none"',
        "findVersions": f'carvingId: "{carving["id"]}"',
        "chooseVersion": f'{on_carving}, code: "none"',
        "takeAsSent": on_carving,
        "changeByHand": f"{on_carving}, change: {{kind: THICKEN, x: 0, y: 0}}",
        "offerProofs": proofs,
        "signOff": proofs,
        "findFeasible": proofs,
        "waiveRemarks": f'shown: {proof}, remarks: ["tip-1"]',
        "askForChange": f'shown: {proof}, words: "smaller"',
        "rejectProof": f'shown: {proof}, reason: "too thin"',
        "retryAllWork": "",
        "retryWork": f'jobId: "{things.job}"',
        "takeBatch": f'orderIds: ["{things.spare["id"]}"]',
        "eraseClient": f'orderId: "{things.released["id"]}", expectedRevision: {things.released["revision"]}',
        "mailLink": spare,
        "writeMessage": f'orderId: "{order["id"]}", words: "\\u0007"',
        "revokeLinks": spare,
        "saveWorkshop": 'workshop: {name: "O", allowances: {}, usualBit: "v60"}, expectedRevision: 999999',
        "saveModel": f'key: "longwalk-bench", model: {_MODEL}, expectedRevision: 999999',
        "retireModel": 'key: "longwalk-bench", retired: true, expectedRevision: 999999',
        "saveBit": f"{setting}, bit: {{}}",
        "retireBit": f"{setting}, retired: true",
        "setNames": f"{on_order}, names: {{{_on(things)}, {_NAMES}}}",
        "layAcross": f'{on_order}, across: {{{_on(things)}, readingId: "{carving["reading"]["id"]}", '
        'slats: ["a", "b"]}',
        "checkSuite": f'suiteId: "{things.suite}", expectedRevision: 999999',
        "dropSuite": f'suiteId: "{things.suite}", expectedRevision: 999999',
        "waiveTogether": f'{spare}, whole: {{suiteId: "{things.suite}", digest: "{"0" * 64}"}}, kinds: ["tip"]',
        "proposeMark": f"shown: {proof}",
        "approveMark": f'markId: "{things.mark}", digest: "{"0" * 64}", picture: "{"0" * 64}"',
        "keepCheck": on_order,
        "setPayment": f'orderId: "{order["id"]}", state: UNSAID',
        "endMark": f'markId: "{things.mark}"',
        "saveMachine": "machine: {}, expectedRevision: 999999",
        "savePrices": 'prices: {currency: "USD", entries: []}, expectedVersion: 999999',
    }
    return {name: (f"({given}) " if given else " ") + OUTCOME for name, given in asked.items()}


_NAMES = 'slatKey: "back-left-3", rule: {typeface: "lato-bold"}, texts: "A"'


def _on(things: Things) -> str:
    return f'lineId: "{things.order["lines"][0]["id"]}"'


_RING = "[[{x: 0, y: 0}, {x: 50, y: 0}, {x: 50, y: 300}]]"
_MODEL = f'{{name: "B", slats: [{{key: "a", name: "a", outline: {_RING}, thickness: 25}}]}}'


def _queries(things: Things, door: str) -> dict[str, str]:
    order, carving = things.order["id"], things.carving["id"]
    proof = things.carving["proof"]["id"]
    return {
        "trial": f'(carvingId: "{carving}") {OUTCOME}',
        "order": f'(id: "{order}") {{ id }}',
        "orders": " { edges { node { id } } }",
        "orderCounts": " { state }",
        "carving": f'(id: "{carving}") {{ id }}',
        "cures": f'(carvingId: "{carving}") {{ code }}',
        "versions": f'(carvingId: "{carving}") {{ state }}',
        "drawingChanges": f'(carvingId: "{carving}") {{ carvingId }}',
        "proof": f'(id: "{proof}") {{ id }}',
        "batch": f'(id: "{things.batch}") {{ id }}',
        "batches": " { edges { node { id } } }",
        "job": f'(id: "{things.job}") {{ id }}',
        "record": " { edges { node { number } } }",
        "recordVerification": " { holds }",
        "workshop": f'(key: "{door}") {{ name models {{ key }} }}',
        "models": " { key }",
        "settings": " { workshop { key } }",
        "suite": f'(id: "{things.suite}") {{ id }}',
        "prices": " { version }",
        "testBoards": " { number }",
        "testBoard": f'(id: "{order}") {{ art }}',
        "testBoardFit": f'(id: "{order}") {{ notes }}',
        "testBoardEffects": f'(id: "{order}") {{ refused }}',
        "experience": " { proposals }",
        "machine": " { revision }",
        "marks": " { version }",
        "priceLists": " { version }",
        "quoteFor": '(lines: [{modelKey: "longwalk-bench", quantity: 1}]) { quote { digest } }',
        "verdicts": f'(carvings: ["{NOTHING}"]) {{ carvingId }}',
        "wellness": " { level }",
        "givenUpWork": " { orderNumber }",
        "viewer": " { role }",
        "node": f'(id: "{proof}") {{ id }}',
    }


def _shown(one: Json) -> str:
    return f'{{carvingId: "{one["carving_id"]}", digest: "{one["digest"]}", picture: "{one["picture"]}"}}'
