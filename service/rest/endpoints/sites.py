"""What shop sites do: check a logo before there is an order, say what is paid, ask for many verdicts at once."""

from __future__ import annotations

from service.orders.errors import FieldError, InvalidError
from service.rest.endpoints.ordering import placed, whole
from service.rest.operation import Answer, Call, FormField, Operation, tagged
from service.rest.requests.sites import AddressesAsk, PaymentAsk, VerdictsQuery
from service.rest.responses.orders import NewOrderBody
from service.rest.responses.sites import SignedAddressesBody, VerdictsBody, signed_address_body
from service.rest.use import Does, items
from service.usecases import checks, paying, signed_addresses, verdicts
from service.usecases.checks import LogoCheck

TAG = "Shop sites"


def _check(call: Call) -> Answer[NewOrderBody]:
    sent = call.upload
    assert sent is not None  # noqa: S101 - the operation takes a file
    model, slat = (next(iter(sent.fields.get(name, ())), "") for name in ("model", "slat"))
    if not model:
        raise InvalidError(FieldError("model", "missing", "Say on which model the logo would be carved."))
    asked = LogoCheck(sent.data, sent.name, sent.content_type, model, slat)
    return placed(checks.check_logo(call.ctx, call.actor, asked, call.once))


def _verdicts(call: Call) -> Answer[VerdictsBody]:
    found = verdicts.list_verdicts(call.ctx, call.actor, call.query.order, call.query.carving)
    return Answer(VerdictsBody(found))


OPERATIONS = tagged(
    TAG,
    Operation(
        "POST /workshops/{workshop}/logo-checks",
        "checkLogo",
        "Have a logo checked before there is an order.",
        _check,
        status=201,
        takes_file=True,
        fields={
            "model": FormField("key of the model that it would be carved on", required=True),
            "slat": FormField("key of the slat; the largest that carries art where none is named"),
        },
        once=True,
        public=True,
        problems=("no-space", "share-used"),
        more="The answer is an order of kind `check`, for one piece: follow it, ask for versions and try placements "
        "as with any order, by the link's secret in the answer. No maker sees it, and after a week without a change "
        "it is erased. `keepCheck` makes an order of it. At most 120 an hour for one token, or for one network "
        "without a token; with a test's token it is a test at once.",
    ),
    Operation(
        "POST /orders/{order}/keeping",
        "keepCheck",
        "Make an order of a check.",
        Does(checks.keep_check, whole),
        graph="",
        problems=("wrong-state", "no-space"),
        more="It gets its number, and is a draft like any other, with what was checked in it.",
    ),
    Operation(
        "PUT /orders/{order}/payment",
        "setPayment",
        "Say whether an order is paid.",
        Does(paying.set_payment, whole),
        graph="",
        ask=PaymentAsk,
        more="A workshop may ask for it: then only what is `paid` is released. Saying the same again changes nothing.",
    ),
    Operation(
        "POST /orders/{order}/addresses",
        "signAddresses",
        "Have addresses of pictures and drawings signed, so that they open for a while by themselves.",
        Does(signed_addresses.sign_addresses, items(SignedAddressesBody, signed_address_body)),
        ask=AddressesAsk,
        more="For pages of a site: an `img` sends no token. A signed address opens what the order's client may see at "
        "it, from any origin, without credentials, and cannot be taken back before its time.",
    ),
    Operation(
        "GET /verdicts",
        "listVerdicts",
        "Get the verdicts of many carvings in one call.",
        _verdicts,
        query=VerdictsQuery,
        more="Of the carvings named, and of all carvings of the orders named, at most 100 names together. What is not "
        "yours is left out.",
    ),
)
