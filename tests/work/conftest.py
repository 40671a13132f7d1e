"""A job that has begun."""

from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

import pytest

from assistant.dialogue.phrasing import load_phrasebook
from assistant.job.folder import JobFolder
from assistant.procedure.load import find_procedure, load_procedure, read_text
from assistant.procedure.route import route_through
from assistant.speaking.mouth import NoMouth
from assistant.work.calling import Calling
from assistant.work.clock import MovedClock
from assistant.work.conductor import Conductor
from assistant.work.keeping import RefusedSound
from tests.work.benches import NAME, Bench


@pytest.fixture
def bench(tmp_path: Path) -> Iterator[Bench]:
    """Open a job that keeps refused sound and has a name."""
    path = find_procedure(NAME)
    route = route_through(load_procedure(path), "short")
    clock = MovedClock(datetime(2026, 3, 2, 8, tzinfo=UTC))
    with JobFolder.create(tmp_path, "job", read_text(path), None) as folder:
        conductor = Conductor(
            route,
            folder,
            mouth=NoMouth(),
            book=load_phrasebook(),
            clock=clock,
            calling=Calling(name="workbench", always=True),
            keeper=RefusedSound(folder.path),
        )
        conductor.begin()
        made = Bench(conductor, folder, clock)
        made.new()
        yield made
