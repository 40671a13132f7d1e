"""One case on the product's own path: the stream of blocks, endpointing, the recogniser, acceptance.

Nothing waits in real time. Latency is from the end of the speech (the last sound at speech level in the clip, see
`placing`) to the moment when the result is there: when the path had taken in all the sound that it waited for, or
when decoding, begun where it was begun in the stream, was through, whichever is later. It holds the hang-over, the
length of a block and decoding; the driver of the microphone and the voice's own preparation, which `callout bench`
measures, come on top. Decoding counts in processor time, which on an idle core is what the clock shows: here several
processes share the cores. Where the noise never lets speech end, the stream does, _AFTER_S of `placing` after the clip.
"""

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from time import process_time
from typing import Any

from pydantic import BaseModel, ConfigDict

from assistant.evaluate.placing import Placed, place
from assistant.evaluate.scoring import Outcome, kind_of, meaning_of, outcome_of
from assistant.evaluate.wanted import Case
from assistant.hearing.acceptance import ROWS, evidence, needed
from assistant.hearing.ear import listen
from assistant.hearing.endpointing import BLOCK_S
from assistant.hearing.engine import Decoded, Engine
from assistant.hearing.grammar import Grammar
from assistant.hearing.recogniser import Recognised, Recogniser
from assistant.hearing.sources import BLOCK
from assistant.sound import RATE, Samples


class Heard(BaseModel):
    """One utterance that was cut out of a case, and all that speaks for and against its best guess.

    `at_s` is when its result was there, in seconds of the stream; `decode_s` the processor time of the decoding that
    gave it, `all_decode_s` of all that was tried for it. `demand` is the confidence that
    its command needs, null where nothing fits the grammar. `margin` is how much better the best guess scores than the
    next one of another meaning, null where there is none. `evidence` is what acceptance may weigh.
    """

    model_config = ConfigDict(frozen=True, ser_json_inf_nan="constants")

    start_s: float
    end_s: float
    at_s: float
    sound_s: float
    decode_s: float
    all_decode_s: float
    heard: str
    accepted: bool
    asked: bool
    confidence: float
    why: str
    meaning: list[str] = []
    demand: float | None = None
    margin: float | None = None
    evidence: Mapping[str, float] = {}
    guesses: list[tuple[str, float]] = []
    free: tuple[str, float] | None = None


class Played(BaseModel):
    """What became of one case. `said` is what it means in the grammar, empty where it cannot be said there.

    Times in seconds: `seconds` of all that was played, `clip_s` of the clip in it; `latency_s` is null where nothing
    was answered. `rss_mb` is the most memory of its process so far.
    """

    model_config = ConfigDict(frozen=True, ser_json_inf_nan="constants")

    key: str = ""
    engine: str
    part: str
    file: str
    text: str
    speaker: str
    kind: str
    snr: str
    noise: str
    noise_kind: str
    said: list[str]
    outcome: Outcome
    seconds: float
    clip_s: float
    latency_s: float | None
    cpu_s: float
    rss_mb: float = 0.0
    heard: list[Heard]


@dataclass(frozen=True, kw_only=True)
class Seen:
    """What an engine gave once: for sound how long, begun when in the stream, at what processor time, in seconds."""

    decoded: Decoded = field(default_factory=lambda: Decoded(guesses=()))
    sound_s: float = 0.0
    begun_s: float = 0.0
    took_s: float = 0.0


@dataclass
class Witness:
    """An engine that stands before another one and keeps what it gave."""

    engine: Engine
    now_s: Callable[[], float]
    seen: list[Seen] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.name = self.engine.name

    def decode(self, samples: Samples, grammar: Grammar) -> Decoded:
        """Decode as the engine does."""
        begun_s, started = self.now_s(), process_time()
        decoded = self.engine.decode(samples, grammar)
        took_s = process_time() - started
        self.seen.append(Seen(decoded=decoded, sound_s=len(samples) / RATE, begun_s=begun_s, took_s=took_s))
        return decoded

    def taken(self) -> tuple[Seen, float]:
        """Give what was seen last, and the processor time of all since this was last asked; then forget them."""
        last = self.seen[-1] if self.seen else Seen()
        all_s = sum(each.took_s for each in self.seen)
        self.seen.clear()
        return last, all_s

    def __getattr__(self, name: str) -> Any:
        return getattr(self.engine, name)


@dataclass
class _Stream:
    """Gives the blocks of a sound, and counts them."""

    samples: Samples
    count: int = 0

    def now_s(self) -> float:
        """Give how much has been taken in, in seconds."""
        return self.count * BLOCK_S

    def blocks(self) -> Iterator[Samples]:
        """Give the whole blocks."""
        for block in self.samples[: len(self.samples) // BLOCK * BLOCK].reshape(-1, BLOCK):
            self.count += 1
            yield block


def play(case: Case, recogniser: Recogniser, grammar: Grammar) -> Played:
    """Play one case to a recogniser. Raises AssistantError for files that cannot be read."""
    placed = place(case)
    began = process_time()
    heard = _heard(placed, recogniser, grammar)
    cpu_s = process_time() - began
    words = case.clip.words
    match = grammar.match(words) if words else None
    said = meaning_of(match) if match else []
    return Played(
        engine=recogniser.engine.name,
        part=case.clip.part,
        file=case.clip.file,
        text=" ".join(words),
        speaker=case.clip.speaker,
        kind=(case.clip.kind or "noise") if case.clip.part == "noise" else kind_of(words),
        snr=case.snr,
        noise=case.noise.file if case.noise else "",
        noise_kind=(case.noise.kind or "noise") if case.noise else "",
        said=said,
        outcome=_outcome(said, heard),
        seconds=round(placed.seconds, 3),
        clip_s=round(placed.clip_s, 3),
        latency_s=_latency_s(placed, heard),
        cpu_s=round(cpu_s, 4),
        heard=heard,
    )


def _outcome(said: list[str], heard: list[Heard]) -> Outcome:
    taken = [each.meaning for each in heard if each.accepted]
    return outcome_of(said, taken, asked=any(each.asked for each in heard))


def _latency_s(placed: Placed, heard: list[Heard]) -> float | None:
    """Give the time from the last word to the answer; None where nothing was said, or nothing answered."""
    answered = [each.at_s for each in heard if each.accepted or each.asked]
    return round(max(answered) - placed.spoken_until_s, 4) if answered and placed.spoken_until_s else None


def _heard(placed: Placed, recogniser: Recogniser, grammar: Grammar) -> list[Heard]:
    stream = _Stream(placed.samples)
    witness = Witness(recogniser.engine, stream.now_s)
    watched = replace(recogniser, engine=witness)
    found = []
    for recognised in listen(stream, watched, lambda: grammar):
        seen, all_s = witness.taken()
        basis = {
            "at_s": round(max(stream.now_s(), seen.begun_s + seen.took_s), 4),
            "sound_s": round(seen.sound_s, 3),
            "decode_s": round(seen.took_s, 4),
            "all_decode_s": round(all_s, 4),
        }
        found.append(Heard(**basis, **_result(recognised), **_signals(recognised, seen.decoded, grammar)))
    return found


def _result(recognised: Recognised) -> dict[str, Any]:
    return {
        "start_s": round(recognised.start_s, 3),
        "end_s": round(recognised.end_s, 3),
        "heard": " ".join(recognised.heard),
        "accepted": recognised.accepted,
        "asked": recognised.asked,
        "confidence": round(recognised.confidence, 5),
        "why": recognised.why,
    }


def _signals(recognised: Recognised, decoded: Decoded, grammar: Grammar) -> dict[str, Any]:
    """Give what speaks for and against the best guess that the grammar accepts."""
    free = decoded.free
    given: dict[str, Any] = {
        "guesses": [(" ".join(guess.words), guess.score) for guess in decoded.guesses],
        "free": (" ".join(free.words), free.score) if free else None,
    }
    fits = [(guess, match) for guess in decoded.guesses if (match := grammar.match(guess.words))]
    if not fits:
        return given
    best, match = fits[0]
    meaning = meaning_of(match)
    rivals = [guess.score for guess, other in fits[1:] if meaning_of(other) != meaning]
    row = ROWS.get(recognised.engine)
    return given | {
        "meaning": meaning,
        "demand": needed(row, match) if row else None,
        "margin": best.score - rivals[0] if rivals else None,
        "evidence": dict(evidence(decoded, best, recognised.end_s - recognised.start_s)),
    }
