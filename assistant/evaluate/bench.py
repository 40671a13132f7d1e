"""What this machine takes: response, decoding, memory, the journal, resuming. Printed, never judged."""

import resource
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from typing import Final, TypeVar

import numpy as np

from assistant.dialogue.intents import Intent
from assistant.dialogue.manager import handle
from assistant.dialogue.phrasing import load_phrasebook
from assistant.evaluate.record_time import record_times
from assistant.hearing.ear import Ear
from assistant.hearing.endpointing import BLOCK_S, Endpointer, Limits
from assistant.hearing.grammar import load_grammar
from assistant.hearing.opening import open_recogniser
from assistant.hearing.patience import Patience
from assistant.hearing.recogniser import Recogniser
from assistant.hearing.sources import BLOCK
from assistant.job.events import Heard, Replied, StepDone, StepReached
from assistant.job.fold import replay
from assistant.job.journal import Journal
from assistant.job.names import Names
from assistant.job.state import JobState
from assistant.procedure.load import parse_procedure
from assistant.procedure.model import Procedure
from assistant.procedure.route import route_through
from assistant.simulate.noise import mix, workshop
from assistant.simulate.voices import mechanics
from assistant.sound import RATE, Samples, Sound, join, silence
from assistant.speaking.engines import open_voice

COMMANDS: Final = ("done", "next", "repeat", "where am i", "done next", "take a note", "what is open")
ENTRIES: Final = 100_000
SHORT_JOB, LONG_JOB = 100, 10_000
_SNR_DB: Final = 20.0
_LEAD_S: Final = 0.5
_AUDIBLE: Final = 0.01
_TURNS: Final = 200
T = TypeVar("T")


def measure(*, engine: str | None, model: Path | None) -> Iterator[tuple[str, str]]:
    """Give each measurement as a name and a value with its unit. Raises HearingError where nothing can hear."""
    yield from _response(open_recogniser(engine, model=model))
    yield "memory at its highest", f"{_peak_mb():.0f} MB"
    with tempfile.TemporaryDirectory() as folder:
        yield from _journal(Path(folder))
        yield from record_times(Path(folder))
    yield from _turns()


def _response(recogniser: Recogniser) -> Iterator[tuple[str, str]]:
    """Time from the end of speech to the first sample of the reply, with a fixed pause and with one that learns."""
    yield "engine", recogniser.engine.name
    always = Patience(closed_s=_FIXED_S, usual_s=_FIXED_S, open_s=_FIXED_S)
    ways = {
        f"a pause of {1000 * _FIXED_S:.0f} ms": (replace(recogniser, patience=always), _NEVER),
        "a pause by what was heard": (recogniser, Limits()),
    }
    for way, (ear, limits) in ways.items():
        waits = [1000 * wait for wait in _waits(ear, limits)]
        yield f"end of speech to reply, {way}: p50", f"{np.percentile(waits, 50):.0f} ms"
        yield f"end of speech to reply, {way}: p95", f"{np.percentile(waits, 95):.0f} ms"
        yield f"commands answered, {way}", f"{len(waits)} of {len(COMMANDS) * len(mechanics())}"


_FIXED_S: Final = 0.45
_NEVER: Final = replace(Limits(), glance_s=Limits().longest_s, again_s=Limits().longest_s, pause_s=_FIXED_S)
"""Limits with which no pause is told, so that nothing is decoded before the end of speech."""


def _waits(recogniser: Recogniser, limits: Limits) -> Iterator[float]:
    """Give the wait, in seconds, of each command that was understood."""
    grammar, voice, noise = load_grammar("step"), open_voice(), workshop(20.0, 1)
    for speaker in mechanics():
        for seed, words in enumerate(COMMANDS):
            spoken = speaker.say(words, seed)
            whole = mix(join([silence(_LEAD_S), spoken, silence(1.5)]), noise, _SNR_DB)
            ear = Ear(
                recogniser=recogniser, grammar_now=lambda: grammar, endpointer=Endpointer(limits=limits)
            )
            settled_s = _settled_at(ear, whole.samples)
            if settled_s is not None:
                _, speaking_s = _timed(lambda: voice.render("Step four is done."))
                yield settled_s + speaking_s - _LEAD_S - _end_of_speech(spoken)


def _settled_at(ear: Ear, samples: Samples) -> float | None:
    """Give when the first command was settled, in seconds of a microphone's time; None where none was.

    A block is there when its sound has passed; while the machine works, the next ones wait.
    """
    now_s = 0.0
    for number, block in enumerate(samples[: len(samples) // BLOCK * BLOCK].reshape(-1, BLOCK), start=1):
        heard, took_s = _timed(lambda: ear.push(block))  # noqa: B023
        now_s = max(now_s, number * BLOCK_S) + took_s
        if any(each.accepted for each in heard):
            return now_s
    return None


def _end_of_speech(spoken: Sound) -> float:
    """Give where a voice falls silent, in seconds: behind its last sample of a hundredth of the peak."""
    sound = spoken.at(RATE).samples
    return float(np.flatnonzero(np.abs(sound) > _AUDIBLE * np.abs(sound).max())[-1] + 1) / RATE


def _timed(work: Callable[[], T]) -> tuple[T, float]:
    started = time.perf_counter()
    return work(), time.perf_counter() - started


def _journal(folder: Path) -> Iterator[tuple[str, str]]:
    now = datetime.now(UTC)
    turn = (Heard(words="done", intents=("done",)), StepDone(step="a"), StepReached(step="b"))
    with Journal.create(folder / "a.sqlite") as journal:
        _, took_s = _timed(lambda: [journal.append(n, now, turn) for n in range(_TURNS)])
    yield "journal, turns of three events each on disk", f"{_TURNS / took_s:.0f} a second"
    with Journal.create(folder / "b.sqlite") as journal:
        for start in range(0, ENTRIES, 2000):
            journal.append(start, now, [Replied(words="Number four, twelve newton metres.")] * 2000)
        _, took_s = _timed(lambda: replay(journal.entries()))
    yield f"resuming a job of {ENTRIES:,} events", f"{took_s:.1f} s"
    book, took_s = _timed(load_phrasebook)
    yield f"reading {len(book.keys)} phrases", f"{1000 * took_s:.0f} ms"


def _turns() -> Iterator[tuple[str, str]]:
    """Time from what was meant to the words of the answer, in the middle of a short and of a very long job."""
    short_s, long_s = (_turn_s(steps) for steps in (SHORT_JOB, LONG_JOB))
    yield f"a turn of a job of {SHORT_JOB:,} steps, p50", f"{1000 * short_s:.2f} ms"
    yield f"a turn of a job of {LONG_JOB:,} steps, p50", f"{1000 * long_s:.2f} ms"
    yield "the long one's turn, of the short one's", f"{long_s / short_s:.2f}"


def _turn_s(steps: int) -> float:
    route, book, now = route_through(long_procedure(steps)), load_phrasebook(), datetime.now(UTC)
    done_next = (Intent(name="done"), Intent(name="next"))
    state = handle(route, JobState(), (Intent(name="opened"),), now).state
    state = handle(route, state, (Intent(name="yes"),), now).state
    half = frozenset(step.step for step in route.steps[: steps // 2])
    state = replace(state, done=Names(half), at=route.steps[steps // 2].step)
    took = []
    for _ in range(min(_TURNS, steps // 3)):
        outcome, worked_out_s = _timed(lambda: handle(route, state, done_next, now))  # noqa: B023
        _, worded_s = _timed(lambda: book.sentences(outcome.reply))  # noqa: B023
        took.append(worked_out_s + worded_s)
        state = outcome.state
    return statistics.median(took)


def long_procedure(steps: int) -> Procedure:
    """Make a procedure of so many steps, read from its text as any other."""
    head = "procedure: Invented\nrevision: 1\ndemonstration: true\nabout: Invented.\ncautions: Look out.\nsteps:\n"
    lines = (f"  - {{step: turn-{number}, say: Turn screw {number}.}}\n" for number in range(1, steps + 1))
    return parse_procedure(head + "".join(lines), name="the bench's procedure")


def _peak_mb() -> float:
    """Give the most memory that this process has had, in MB."""
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return peak / 1e6 if sys.platform == "darwin" else peak / 1e3
