"""What a workshop offers, to anyone; what it sets, to its people."""

from __future__ import annotations

from collections.abc import Hashable
from typing import Annotated

from pydantic import Field

from artwork.workpiece import Bit
from service.orders.actors import Actor, Role
from service.orders.limits import MOST_PIECES, MOST_SLATS
from service.orders.workshop import Settings, ShopBit, ShopModel
from service.rest.conditional import body_tag, revision_tag
from service.rest.operation import Answer, Call, Operation, tagged
from service.rest.raw_json import adapter, dump
from service.rest.requests.base import Ask, Key
from service.rest.requests.shop import BitAsk, ModelAsk, RetirementAsk, WorkshopAsk
from service.rest.responses.base import shown
from service.rest.responses.people import FramingSitesBody
from service.rest.responses.shop import (
    EstimateBody,
    ModelBody,
    ModelsBody,
    SettingsBody,
    WorkshopBody,
    WorkshopsBody,
    bit_body,
    model_body,
    settings_body,
    workshop_body,
    workshop_settings_body,
)
from service.rest.use import Does, one, revised
from service.usecases import estimating, people, shop
from service.usecases.context import Context

OFFER = "What is offered"
SETTINGS = "Settings"


def _workshop(call: Call) -> Answer[WorkshopBody]:
    return Answer(workshop_body(shop.find_workshop(call.ctx, call.path["workshop"])))


def _workshops(call: Call) -> Answer[WorkshopsBody]:
    return Answer(WorkshopsBody(tuple(workshop_body(w) for w in shop.list_workshops(call.ctx))))


class EstimateQuery(Ask):
    """How many pieces, with art on which slats."""

    quantity: Annotated[int, Field(ge=1, le=MOST_PIECES)] = 1
    slats: Annotated[tuple[Key, ...], Field(max_length=MOST_SLATS)] = ()


def _estimate_body(found: estimating.Estimate) -> EstimateBody:
    return shown(EstimateBody, found)


def _catalogue_of(call: Call) -> Hashable:
    """What the catalogue that somebody sees depends on."""
    everything = call.actor.role in (Role.MAKER, Role.HELPER)
    return "catalogue", call.actor.workshop_id, everything, shop.get_stamp(call.ctx, call.actor)


def _kept_models(call: Call) -> Answer[ModelsBody] | None:
    """The catalogue as it was last written, for as long as nothing is set otherwise."""
    kept: Answer[ModelsBody] | None = call.ctx.kept.get(_catalogue_of(call))
    return kept


def _models(call: Call) -> Answer[ModelsBody]:
    kept = _kept_models(call)
    if kept is None:
        models = shop.list_models(call.ctx, call.actor)
        body = dump(adapter(ModelsBody), ModelsBody(tuple(map(model_body, models))))
        kept = Answer(written=body, tag=body_tag(body))
        call.ctx.kept.put(_catalogue_of(call), kept)
    return kept


def _model_of(call: Call) -> Hashable:
    """What one model depends on."""
    return "model", call.actor.workshop_id, call.path["model"], shop.get_stamp(call.ctx, call.actor)


def _kept_model(call: Call) -> Answer[ModelBody] | None:
    """One model as it was last written, for as long as nothing is set otherwise."""
    kept: Answer[ModelBody] | None = call.ctx.kept.get(_model_of(call))
    return kept


def _model(call: Call) -> Answer[ModelBody]:
    kept = _kept_model(call)
    if kept is None:
        key = call.path["model"]
        model = model_body(shop.get_model(call.ctx, call.actor, key))
        body = dump(adapter(ModelBody), model)
        tag = revision_tag(model.revision, body, f"model {key}")
        kept = Answer(written=body, tag=tag, revision=model.revision)
        call.ctx.kept.put(_model_of(call), kept)
    return kept


def _save_model(ctx: Context, actor: Actor, key: str, asked: ModelAsk, expected_revision: int) -> ShopModel:
    return shop.save_model(ctx, actor, asked.layout(key), asked.allowances, expected_revision)


def _save_bit(ctx: Context, actor: Actor, key: str, asked: Ask, expected_revision: int) -> ShopBit:
    return shop.save_bit(ctx, actor, Bit(key, **asked.values()), expected_revision)


def _settings(settings: Settings) -> Answer[SettingsBody]:
    return Answer(settings_body(settings), settings.workshop.revision)


_NEW = "Revision 0 adds a new one; any other changes the one there is."

_OFFERED = tagged(
    OFFER,
    Operation(
        "GET /workshops", "listWorkshops", "List the workshops that take orders here.", _workshops, open=True
    ),
    Operation(
        "GET /workshops/{workshop}",
        "getWorkshop",
        "Get a workshop by its public key.",
        _workshop,
        public=True,
    ),
    Operation(
        "GET /workshops/{workshop}/framing-sites",
        "listFramingSites",
        "List the origins whose pages may show the workshop's form in a frame.",
        Does(people.list_framing_sites, one(FramingSitesBody)),
        public=True,
        more="They are those that its tokens name (`origins`).",
    ),
    Operation(
        "GET /workshops/{workshop}/models",
        "listOfferedModels",
        "List what a workshop offers.",
        _models,
        at_hand=_kept_models,
        public=True,
    ),
    Operation(
        "GET /workshops/{workshop}/models/{model}",
        "getOfferedModel",
        "Get one model with its slats.",
        _model,
        at_hand=_kept_model,
        public=True,
    ),
    Operation(
        "GET /workshops/{workshop}/models/{model}/estimate",
        "estimateOfferedModel",
        "Get what pieces of a model cost at least, and the earliest day they could be ready.",
        Does(estimating.estimate, one(_estimate_body)),
        query=EstimateQuery,
        public=True,
        more="Before there is an order: the machine's time depends on the art and is not in the price.",
    ),
    Operation("GET /models", "listModels", "List your workshop's models.", _models, at_hand=_kept_models),
    Operation(
        "GET /models/{model}", "getModel", "Get one model of your workshop.", _model, at_hand=_kept_model
    ),
    Operation(
        "GET /models/{model}/estimate",
        "estimateModel",
        "Get what pieces of a model of your workshop cost at least, and the earliest day they could be ready.",
        Does(estimating.estimate, one(_estimate_body)),
        query=EstimateQuery,
    ),
)
_SET = tagged(
    SETTINGS,
    Operation("GET /settings", "getSettings", "Get all settings.", Does(shop.get_settings, _settings)),
    Operation(
        "PUT /settings/workshop",
        "saveWorkshop",
        "Change the workshop's own settings.",
        Does(shop.save_workshop, revised(workshop_settings_body)),
        graph="workshop",
        ask=WorkshopAsk,
        more="Open proofs that were judged under other settings become stale; released ones keep theirs.",
    ),
    Operation(
        "PUT /settings/models/{model}",
        "saveModel",
        "Add or change a furniture model.",
        Does(_save_model, revised(model_body)),
        graph="model",
        ask=ModelAsk,
        large=True,
        more=_NEW,
    ),
    Operation(
        "PUT /settings/models/{model}/retirement",
        "retireModel",
        "Stop offering a model, or go on.",
        Does(shop.retire_model, revised(model_body)),
        graph="",
        ask=RetirementAsk,
    ),
    Operation(
        "PUT /settings/bits/{bit}",
        "saveBit",
        "Add or change a bit.",
        Does(_save_bit, revised(bit_body)),
        graph="bit",
        ask=BitAsk,
        more=_NEW,
    ),
    Operation(
        "PUT /settings/bits/{bit}/retirement",
        "retireBit",
        "Stop using a bit, or go on.",
        Does(shop.retire_bit, revised(bit_body)),
        graph="",
        ask=RetirementAsk,
        problems=("usual-bit",),
    ),
)
OPERATIONS = (*_OFFERED, *_SET)
