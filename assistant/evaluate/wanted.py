"""What is to be measured: the grammar, the ratios, and one case for each clip at each ratio.

Which noise a clip gets, where in it, and where the clip lies in time come from a seed of the clip's own, so that
neither `--limit` nor the order changes anything, and a clip has the same noise at every ratio.
"""

import hashlib
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Final

import numpy as np

from assistant.errors import HearingError
from assistant.evaluate.corpus import Clip, Corpus
from assistant.hearing.grammar import Grammar, load_grammar, parse_grammar
from assistant.hearing.linking import text_of
from assistant.paths import shipped

CLEAN: Final = "clean"
CORPUS: Final = "corpus"
AS_IT_IS: Final = "as it is"
"""The ratio of what is played without speech: bare noise, at the level of its recording."""

_FILE: Final = ".jsgf"


@dataclass(frozen=True, kw_only=True)
class GrammarSpec:
    """A grammar that every process can open for itself: a shipped mode, or a text with the folder of its imports."""

    name: str
    text: str = ""
    folder: Path | None = None

    def open(self) -> Grammar:
        """Make the grammar. Raises HearingError for an unknown mode and for mistakes in the text."""
        if not self.text:
            return load_grammar(self.name)
        return parse_grammar(self.text, name=self.name, folder=self.folder)

    @property
    def digest(self) -> str:
        """A short name for what can be said and what it means."""
        folder = self.folder or shipped("grammars")
        beside = () if self.name == CORPUS else sorted(folder.rglob(f"*{_FILE}"))
        return digest_of(self.name, self.text, *(path.read_text(encoding="utf-8") for path in beside))


def grammar_spec(wanted: str, corpus: Corpus) -> GrammarSpec:
    """Take `--grammar`: "corpus", a file, or a mode. Raises HearingError where it cannot be read."""
    if wanted == CORPUS:
        return closed_list(corpus.part("speech"))
    if wanted.endswith(_FILE):
        path = Path(wanted)
        return GrammarSpec(name=str(path), text=text_of(path), folder=path.parent)
    return GrammarSpec(name=wanted)


def closed_list(clips: Sequence[Clip]) -> GrammarSpec:
    """Make the grammar in which what the clips say can be said, and nothing else; it has no meanings."""
    phrases = sorted({" ".join(clip.words) for clip in clips})
    if not phrases:
        raise HearingError("the corpus has no speech to list", do="name a grammar with --grammar")
    return GrammarSpec(
        name=CORPUS,
        text=f"#JSGF V1.0 UTF-8 en;\ngrammar {CORPUS};\npublic <phrase> = {' | '.join(phrases)};\n",
    )


def ratios(text: str) -> tuple[str, ...]:
    """Read `--snr`: "clean" or decibels, with commas between. Raises HearingError for anything else."""
    found = [_ratio(part.strip()) for part in text.split(",") if part.strip()]
    if not found:
        raise HearingError("no ratio is given", where="--snr", do="for instance clean,20,10,5,0")
    return tuple(dict.fromkeys(found))


def _ratio(text: str) -> str:
    if text == CLEAN:
        return text
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise HearingError(f"{text!r} is not a ratio", where="--snr", do="for instance clean,20,10,5,0")
    return f"{value:g}"


@dataclass(frozen=True, kw_only=True)
class Case:
    """One clip as it is to be played: in which noise (None: none but room tone), how far above it, and its seed.

    The noise has gone on for `before_s` seconds longer than the moment that it always has.
    """

    clip: Clip
    snr: str
    noise: Clip | None
    seed: int
    before_s: float = 0.0


def cases(
    corpus: Corpus,
    noises: Sequence[Clip],
    snrs: Sequence[str],
    grammar: Grammar,
    *,
    seed: int,
    limit: int | None,
    before_s: float = 0.0,
) -> list[Case]:
    """List what is to be played: speech and talk at every ratio, after so much of its noise; bare noise as it is.

    With a limit, that many clips of each part: the same ones whatever else is asked for. Speech that the grammar
    cannot take is a part of its own. Raises HearingError where a ratio needs noise and there is none.
    """
    if not noises and any(snr != CLEAN for snr in snrs):
        raise HearingError(
            "there is no noise to mix with", do="give a corpus that has some with --noise, or --snr clean"
        )
    speech = corpus.part("speech")
    taken = [clip for clip in speech if grammar.match(clip.words)]
    outside = [clip for clip in speech if clip not in taken]
    spoken = [clip for part in (taken, outside, corpus.part("talk")) for clip in _drawn(part, seed, limit)]
    played = [_case(clip, snr, noises, seed, before_s) for snr in snrs for clip in spoken]
    bare = [
        Case(clip=clip, snr=AS_IT_IS, noise=None, seed=_seed(seed, clip))
        for clip in _drawn(noises, seed, limit)
    ]
    return played + bare


def _case(clip: Clip, snr: str, noises: Sequence[Clip], seed: int, before_s: float) -> Case:
    own = _seed(seed, clip)
    noise = None if snr == CLEAN else noises[int(np.random.default_rng(own).integers(len(noises)))]
    return Case(clip=clip, snr=snr, noise=noise, seed=own, before_s=before_s)


def _drawn(clips: Sequence[Clip], seed: int, limit: int | None) -> Iterator[Clip]:
    kept = set(sorted(clips, key=lambda clip: (_seed(seed, clip), clip.file))[:limit])
    return (clip for clip in clips if clip in kept)


def _seed(seed: int, clip: Clip) -> int:
    return int(digest_of(str(seed), clip.file, clip.text), 16)


def digest_of(*texts: str) -> str:
    """Give a short name for texts, in hexadecimal figures."""
    joined = "\0".join(texts).encode()
    return hashlib.sha256(joined).hexdigest()[:12]
