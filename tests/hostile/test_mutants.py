"""Two hundred damaged files over all formats: every answer is a reading or a coded refusal."""

from __future__ import annotations

from artwork.intake.foreign import Converted
from service.work.programs import convert
from tests.hostile import apart
from tests.hostile.mutants import FLAT_MB, POINTS, SECONDS, mutants, run
from tests.hostile.seeds import seeds


def became(data: bytes) -> str:
    """What became of a file, converted first where it must be."""
    drawings: dict[str, Converted] = {}
    while (found := apart.read(data, drawings)).parts:
        drawings.update((part.digest, convert(part)) for part in found.parts)
    return found.code


def test_sound_files_are_all_taken() -> None:
    """What is damaged must be sound to begin with, or the run shows nothing."""
    assert {name: became(data) for name, data in seeds().items()} == dict.fromkeys(seeds(), "taken")


def test_damaged_files_are_taken_or_refused_with_a_code() -> None:
    outcome = run(200)
    assert outcome.wrong == []
    assert outcome.answers.total() == 200
    assert outcome.slowest < SECONDS
    assert len(outcome.memory) == POINTS
    assert outcome.grown_mb < FLAT_MB, "the service itself held what only its processes should"
    assert len(outcome.answers) > 5, "hardly any of the files were damaged in a way that shows"


def test_the_same_seed_gives_the_same_files() -> None:
    assert list(mutants(30, 5)) == list(mutants(30, 5))
    assert list(mutants(30, 5)) != list(mutants(30, 6))
