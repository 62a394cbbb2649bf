"""Choices about the workshop: who is in it, its prices, its own numbers, its machine."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from service.orders.actors import Role, Scope
from service.orders.choices.choice import Choice
from service.orders.outcomes import Outcome
from service.orders.price_list import PriceKind, Rounding
from service.orders.program_checks import DifferenceKind, ProgramOutcome
from service.orders.test_boards import AcceptFor
from service.orders.units import Units
from service.orders.webhooks import DeliveryState
from service.orders.wellness import Level, Subject

CHOICES: Final[Mapping[Any, Choice]] = {
    Scope: Choice(
        "Scope",
        "What an API token may do.",
        {
            "orders.read": "look at orders, proofs, verdicts, prices and events",
            "orders.write": "place and change orders, send artwork, have logos checked",
            "orders.sign": "sign for its clients",
            "orders.export": "export everything held about an order",
            "orders.payments": "say what is paid",
            "orders.release": "release what is fully approved",
            "batches.read": "fetch batches",
            "batches.write": "have batches put together",
        },
    ),
    Outcome: Choice(
        "ItemOutcomeKind",
        "How an item came out.",
        {
            "fine": "as it was approved",
            "faded": "something carved does not read any more",
            "broke": "wood broke out",
            "tear-out": "fibres were torn out along a groove",
            "wrong": "something else went wrong",
        },
    ),
    AcceptFor: Choice(
        "AcceptFor",
        "Whose allowances a test board changes.",
        {"workshop": "the workshop's own", "wood": "those of the slats of the board's wood alone"},
    ),
    ProgramOutcome: Choice(
        "ProgramOutcome",
        "How a machine program compares with what was signed.",
        {
            "cuts-what-was-signed": "it cuts what was signed",
            "differs": "it differs, and where is said",
            "is-not-this-carving": "it is another carving",
        },
    ),
    DifferenceKind: Choice(
        "ProgramDifferenceKind",
        "How a program and the signed carving part at one place.",
        {
            "missing": "wood stays that should go",
            "extra": "wood goes that should stay",
            "shallow": "it is too shallow",
            "deep": "it is too deep",
        },
    ),
    DeliveryState: Choice(
        "DeliveryState",
        "How far a message to a webhook is.",
        {
            "waiting": "to be sent, or tried again",
            "delivered": "taken",
            "dead": "given up after the last try",
        },
    ),
    Level: Choice(
        "Level",
        "How well something is.",
        {"well": "as it should be", "watch": "to be looked at soon", "trouble": "to be looked at now"},
    ),
    Subject: Choice(
        "Subject",
        "What a sign of wellness is about.",
        {
            "worker": "whether a worker is there",
            "work": "work that waits",
            "given-up": "work that was given up",
            "mail": "mail that waits or was lost",
            "files": "whether files can be kept",
            "room": "room on the disk",
            "housekeeping": "the daily tidying",
            "backup": "the daily copy",
            "scrub": "the monthly re-check of what is kept",
            "address": "the address that people were told",
            "delivery": "whether mail goes to a mail server",
            "rights": "rights of the data folder",
            "seeded": "accounts with the seeded password",
            "clock": "the machine's clock",
            "wall": "whether the database keeps workshops apart by itself too",
            "cage": "what shuts in the readers of strangers' files",
            "version": "versions of code and database",
            "share": "what the host lets the workshop have",
        },
    ),
    Role: Choice(
        "Role",
        "What the rules distinguish people by.",
        {
            "maker": "a person of the workshop who decides and releases",
            "helper": "a person of the workshop who works the bench and decides nothing",
            "client": "whoever holds the link of one order",
            "shop-site": "a shop's own site, acting with a token",
            "visitor": "somebody without any credential",
            "system": "the service itself",
        },
    ),
    PriceKind: Choice(
        "PriceKind",
        "What is counted.",
        {
            "model": "each piece of a model",
            "carved-slat": "each slat that carries art",
            "carving-minute": "each minute of carving",
            "order-setup": "each order, once",
            "personalised-piece": "each piece with a text of its own",
            "finish": "each piece with a finish, of that finish",
            "material": "each cubic metre of wood in the parts, without waste, of that wood or of any",
            "delivery": "each order that is delivered, once",
            "travel": "each kilometre to the site and back",
            "tax": "a tax: a share of the sum before taxes, in hundredths of a percent",
        },
    ),
    Units: Choice(
        "Units",
        "What a workshop's sheets and pages give lengths in.",
        {"mm": "millimetres", "inch": "inches: decimals at the machine, fractions for sizes"},
    ),
    Rounding: Choice(
        "Rounding",
        "How a fraction of a minor unit is rounded, once for each line of a quote.",
        {
            "half-even": "to the nearest, a tie to the even one (IEEE 754)",
            "half-up": "to the nearest, a tie away from zero",
        },
    ),
}
