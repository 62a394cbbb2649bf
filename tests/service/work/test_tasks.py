"""What a killable process holds ready: a stranger's file gets a new one, which must not load what others had."""

from __future__ import annotations

import subprocess
import sys

_PLAIN_ORDER = """
import sys
from service.work.tasks import load
load()
from seeds.shop import load as shop
from artwork.intake.values import Limits, Wishes
from service.orders.cuts import Circumstances
from service.usecases.computing import judge, lay, read_art
ours = shop()
ready = set(sys.modules)
outline = read_art(ours.artwork("crest.svg").data, "crest.svg", Wishes(), Limits(), {}).outline
slat = ours.model("longwalk-bench").slat("back-centre")
at = Circumstances(slat=slat, bit=ours.bits[0], allowances=ours.allowances)
judge(outline, at, lay(outline, at), picture=True)
read_art(ours.artwork("scan.jpg").data, "scan.jpg", Wishes(), Limits(), {})
print(*sorted(name for name in set(sys.modules) - ready if name.startswith("artwork.")))
"""


def test_reading_and_judging_load_nothing_of_the_engine_any_more():
    told = subprocess.run(
        [sys.executable, "-c", _PLAIN_ORDER], capture_output=True, text=True, check=True, timeout=60
    )
    assert told.stdout.split() == []
