"""The wrenches of a record: what each was set to, and how its calibration stood."""

from assistant.job.events import PositionWorked
from assistant.job.memory import MemoryStore
from assistant.procedure.load import load_procedure
from assistant.procedure.route import Route, route_through
from assistant.record.gather import gather
from assistant.record.wrenches import read_shop, setting_of
from tests.record.sample import PROCEDURE, Script

SHOP = """\
wrenches:
  - {name: small, least: 5 N.m, most: 50 N.m, resolution: 0.5 N.m, calibrated: 2030-12-01, length: 250 mm}
  - {name: idle, least: 50 N.m, most: 200 N.m, resolution: 5 N.m, calibrated: 2020-01-01}
"""


def _route() -> Route:
    return route_through(load_procedure(PROCEDURE), "", read_shop(SHOP, "shop.yaml"))


def _worked(route: Route, step: str, wrench: str) -> list[PositionWorked]:
    found = route.step(step)
    group = route.group(found).name
    return [
        PositionWorked(group=group, number=number, act=act, wrench=wrench)
        for number, act in route.acts(found)
    ]


def test_wrenches_are_listed_with_what_they_did() -> None:
    """Those that were used come first, with how often; one whose calibration is old says so."""
    route = _route()
    script = Script(MemoryStore(), route)
    script.open()
    script.add(*_worked(route, "cover-screws", "small"))
    record = gather(route, tuple(script.store.entries()))
    used, idle = record.wrenches
    assert (used.name, used.acts, used.calibrated, used.remark) == ("small", 8, "2030-12-01", "")
    assert (idle.name, idle.acts) == ("idle", 0)
    assert "2020-01-01" in idle.remark
    (group,) = (group for group in record.groups if group.name == "cover screws")
    assert [str(work.setting) for work in group.positions[0].works] == ["None", "8.0 N.m"]


def test_what_cannot_be_told_is_left_open() -> None:
    """No wrench, one that the list has not, or a value it cannot be set to: nothing is claimed."""
    route = _route()
    act = _worked(route, "cover-screws", "")[-1]
    assert setting_of(route, act) is None
    assert setting_of(route, act.model_copy(update={"wrench": "borrowed"})) is None
    assert setting_of(route, act.model_copy(update={"wrench": "idle"})) is None
