import threading

import pytest
from argon2 import PasswordHasher, extract_parameters

from service.access import passwords


def test_a_hash_is_argon2id_at_the_strength_of_rfc_9106s_second_choice():
    stored = passwords.hash_password("a bench under the lime trees")
    parameters = extract_parameters(stored)
    # RFC 9106 §4: argon2id, t=3, p=4, m=64 MiB, 128-bit salt, 256-bit tag.
    assert parameters.type.name == "ID"
    assert (parameters.time_cost, parameters.parallelism, parameters.memory_cost) == (3, 4, 64 * 1024)
    assert (parameters.salt_len, parameters.hash_len) == (16, 32)


def test_only_the_right_password_opens():
    stored = passwords.hash_password("a bench under the lime trees")
    assert passwords.verify_password(stored, "a bench under the lime trees")
    assert not passwords.verify_password(stored, "a bench under the lime tree")
    assert not passwords.verify_password(stored, "")


def test_nobody_and_an_unreadable_hash_are_never_right():
    assert not passwords.verify_password(None, "the password of nobody")
    assert not passwords.verify_password("not a hash", "anything at all here")


def test_a_weaker_hash_is_noticed():
    assert passwords.is_outdated(PasswordHasher(time_cost=1, memory_cost=8, parallelism=1).hash("x"))
    assert not passwords.is_outdated(passwords.hash_password("x"))


def test_a_crowd_waits_instead_of_taking_all_memory(monkeypatch):
    monkeypatch.setattr(passwords, "_slots", threading.BoundedSemaphore(1))
    monkeypatch.setattr(passwords, "_WAIT_SECONDS", 0.01)
    with passwords._slot(), pytest.raises(passwords.BusyError):
        passwords.hash_password("a bench under the lime trees")
    assert passwords.hash_password("a bench under the lime trees")


@pytest.mark.parametrize(
    ("password", "word"),
    [
        ("short", "12 characters"),
        ("x" * 300, "at most"),
        ("aaaaaaaaaaaaaa", "different"),
        ("ada@fernhollow.example", "name or address"),
        ("Password1234", "list"),
        ("administrator1!", "list"),
    ],
)
def test_a_bad_new_password_is_explained(password, word):
    assert word in (passwords.problem_with(password, "ada@fernhollow.example", "Ada Fenn") or "")


def test_a_sentence_and_any_script_will_do():
    assert passwords.problem_with("oak dust on the radio", "a@b.example", "Ada") is None
    assert passwords.problem_with("скамейка под липой", "a@b.example", "Ada") is None


@pytest.mark.parametrize(
    "password",
    [
        # on one of the two lists as they are
        "1q2w3e4r5t6y", "administrator", "qwertyuiop123",
        # one of them with something simple done to it
        "Password1234", "passwordpassword", "2026!letmein!2026", "ChangeMeChangeMe", "trustno1trustno1!",
        # what anybody would try here
        "123456789012", "slatproof2026", "WorkshopWorkshop", "Correct Horse Battery Staple",
    ],
)  # fmt: skip
def test_what_is_tried_first_is_refused(password):
    assert "common" in (passwords.problem_with(password, "a@b.example", "Ada") or "")


@pytest.mark.parametrize(
    "password",
    ["oak dust on the radio", "cedar and cedar again", "7 gouges, 2 mallets", "zwölf Bretter Zeder"],
)
def test_a_sentence_with_common_words_in_it_will_do(password):
    assert passwords.problem_with(password, "a@b.example", "Ada") is None


def test_the_list_is_whole():
    """Counts of the two lists put together."""
    known = passwords._common()
    assert len(known) >= 40_101 and sum(len(each) >= passwords.LEAST_LENGTH for each in known) >= 348
