"""A program that is killed at any moment loses nothing that it had acknowledged."""

import multiprocessing
import random
import sys
from datetime import UTC, datetime
from multiprocessing.connection import Connection
from pathlib import Path

import pytest

from assistant.job.events import Asked, Entry, Event, Heard, Replied, StepDone
from assistant.job.folder import JobFolder

KILLS = 30
LONGEST_S = 0.04

pytestmark = pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and the fork server are of POSIX")


def events_of(turn: int) -> list[Event]:
    """Give the events of one turn: every turn has others, and more or fewer."""
    steps: list[Event] = [StepDone(step=f"step {turn}.{number}") for number in range(turn % 5)]
    heard = Heard(words="done, next", intents=("done", "next"))
    return [heard, *steps, Asked(question=f"question {turn}"), Replied(words=f"reply {turn} " * (turn % 50))]


def work(jobs_dir: Path, acknowledged: Connection) -> None:
    """Take up the job and append turns until killed, telling each that is on disk."""
    with JobFolder.open(jobs_dir, "job") as job:
        turn = max((entry.turn for entry in job.journal.entries()), default=0)
        acknowledged.send(turn)
        while True:
            turn += 1
            job.journal.append(turn, datetime.now(UTC), events_of(turn))
            acknowledged.send(turn)


def killed_at_work(jobs_dir: Path, turns: int, wait_s: float) -> int:
    """Let a process work some turns and a moment longer, kill it, give the last turn it acknowledged."""
    context = multiprocessing.get_context("forkserver")
    # The server has this module loaded, so that each of the many processes starts at once.
    context.set_forkserver_preload([__name__])
    receiving, sending = context.Pipe(duplex=False)
    process = context.Process(target=work, args=(jobs_dir, sending))
    process.start()
    sending.close()
    last: int = receiving.recv()
    try:
        for _ in range(turns):
            last = receiving.recv()
        process.join(wait_s)
        process.kill()
        while True:
            last = receiving.recv()
    except (EOFError, OSError):
        process.join()
        assert process.exitcode == -9
        return last
    finally:
        receiving.close()


def turns_of(entries: list[Entry]) -> dict[int, list[Event]]:
    """Sort the events by their turn."""
    turns: dict[int, list[Event]] = {}
    for entry in entries:
        turns.setdefault(entry.turn, []).append(entry.event)
    return turns


def test_kills_at_random_moments_lose_nothing_acknowledged(tmp_path: Path) -> None:
    """Every acknowledged turn is there, none in part; the chain is whole and the job is free."""
    JobFolder.create(tmp_path, "job", "steps: []").close()
    chance = random.Random()
    reached = 0
    for _ in range(KILLS):
        last = killed_at_work(tmp_path, chance.randrange(3), chance.uniform(0, LONGEST_S))
        with JobFolder.open(tmp_path, "job") as job:
            turns = turns_of(list(job.journal.entries()))
            assert job.journal.verify() is None
        # One turn more may be on disk, whose acknowledgement the kill cut off.
        assert len(turns) in (last, last + 1)
        assert turns == {turn: events_of(turn) for turn in range(1, len(turns) + 1)}
        assert len(turns) >= reached
        reached = len(turns)
    assert reached > 0, "every process was killed before it could work"
