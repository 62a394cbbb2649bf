"""What is wrong with a body, in words."""

from __future__ import annotations

import pytest
from pydantic import ValidationError

from service.rest.requests.cutting import BatchAsk
from service.rest.requests.orders import OrderAsk
from service.rest.validation_errors import invalid


def told(model: type, body: dict) -> list[str]:
    with pytest.raises(ValidationError) as caught:
        model.model_validate(body)
    return [problem.message for problem in invalid(caught.value).problems]


@pytest.mark.parametrize(
    ("body", "message"),
    [
        ({"lines": [{"model_key": "bench", "quantity": 0}]}, "lines.0.quantity: must be 1 or more."),
        ({"lines": [{"model_key": "bench", "quantity": -1}]}, "lines.0.quantity: must be 1 or more."),
        ({"lines": [{"model_key": "bench", "quantity": 1.5}]}, "lines.0.quantity: must be a whole number."),
        ({"lines": [{"quantity": 1}]}, "lines.0.model_key: is needed."),
        ({"needed_by": "soon"}, "needed_by: must be a day like 2027-04-30."),
        ({"colour": "red"}, "colour: is not known here; leave it out or correct its name."),
    ],
)
def test_orders(body, message):
    assert told(OrderAsk, body) == [message]


def test_an_empty_list_says_what_it_needs():
    assert told(BatchAsk, {"order_ids": []}) == ["order_ids: needs at least 1 item."]


def test_a_wrong_item_is_told_once_and_not_as_a_short_list():
    (message,) = told(BatchAsk, {"order_ids": ["nope"]})
    assert message.startswith("order_ids.0: does not have the form")
