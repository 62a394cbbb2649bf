"""What shop sites are answered, as JSON."""

from __future__ import annotations

from dataclasses import dataclass

from service.rest.responses.base import shown, shows
from service.usecases.signed_addresses import SignedAddress
from service.usecases.verdicts import CarvingVerdict


@shows(SignedAddress)
class SignedAddressBody:
    """One address that opens by itself."""


@dataclass(frozen=True)
class SignedAddressesBody:
    """The addresses asked for, in their order."""

    items: tuple[SignedAddressBody, ...]


def signed_address_body(signed: SignedAddress) -> SignedAddressBody:
    """From a signed address."""
    return shown(SignedAddressBody, signed)


@dataclass(frozen=True)
class VerdictsBody:
    """The verdicts asked for; what is not yours is left out."""

    items: tuple[CarvingVerdict, ...]
