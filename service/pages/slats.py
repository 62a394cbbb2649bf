"""The slats that an order's pages show: those of its models, and those that a model has no more."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from service.language.chosen import _

Json = Mapping[str, Any]


def slats_of(models: Mapping[str, Json], order: Json) -> dict[tuple[str, str], Json]:
    """Every slat by its model's key and its own.

    Where the workshop took a slat out of its model after it was ordered, it is shown as it was when its proof was made.
    """
    found = {(key, slat["key"]): slat for key, model in models.items() for slat in model["slats"]}
    for line in order["lines"]:
        for carving in line["carvings"]:
            place = (line["model_key"], carving["slat_key"])
            if place not in found:
                proofs = [carving["proof"]] if carving["proof"] else []
                found[place] = slat_of(models[line["model_key"]], carving["slat_key"], proofs)
    return found


def slat_of(model: Json, key: str, proofs: Iterable[Json]) -> Json:
    """One slat of a model, else as one of the proofs has it; before any proof, by its key in another's shape."""
    known = {slat["key"]: slat for slat in model["slats"]}
    cut = {proof["facts"]["slat"]["key"]: proof["facts"]["slat"] for proof in proofs}
    if key not in known and key in cut:
        return _as_of_a_model(cut[key])
    name = _("slat “{key}”, which is not made any more", key=key)
    return known.get(key) or {**model["slats"][0], "key": key, "name": name}


def _as_of_a_model(slat: Json) -> Json:
    """What a proof was made of, its shapes as a model gives them: rings of points."""
    kept_free = [{**each, "shape": each["shape"]["coordinates"]} for each in slat["keep_outs"]]
    return {**slat, "outline": slat["outline"]["coordinates"], "keep_outs": kept_free}
