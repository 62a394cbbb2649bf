"""The made-up workshop is loaded whole or not at all."""

from __future__ import annotations

import pytest

from service import seeding
from service.maintenance import let_go
from service.root import build
from service.usecases import shop
from tests.running import settings_for


class KilledError(BaseException):
    """Stands for the end of the process: nothing after it is done."""


def test_a_seeding_that_is_cut_off_leaves_nothing_and_can_be_done_again(tmp_path, monkeypatch):
    service = build(settings_for(tmp_path, role="web"))
    try:
        service.migrate()
        with monkeypatch.context() as patched:

            def killed(*_given, **_named):
                raise KilledError

            patched.setattr(seeding.people, "open_account", killed)
            with pytest.raises(KilledError):
                seeding.seed_shop(service.ctx)
        assert shop.list_workshops(service.ctx) == ()
        assert "is ready" in seeding.seed_shop(service.ctx)
        assert seeding.opens_with_seeded_password(service.ctx)
        assert "is there already" in seeding.seed_shop(service.ctx)
    finally:
        let_go(service)
