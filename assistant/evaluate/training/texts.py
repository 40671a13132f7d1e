"""What is said in the training: words, phrases of words, numbers, and the commands of all modes.

Many words matter: with a few hundred the network forgets the others. The words are those of the
CMU dictionary that Whisper spells with one token, which are the common ones, and words of the trade.
A tenth of the words is never said in training, so that it can be seen what the network makes of new ones.
"""

import argparse
import json
import random
import zlib
from collections.abc import Iterator, Sequence
from functools import cache
from pathlib import Path
from typing import Any, Final

import pocketsphinx
from tokenizers import Tokenizer

from assistant.dialogue.numbers import words_for
from assistant.hearing import weights
from assistant.hearing.grammar import Grammar, load_grammar, modes
from assistant.job.things import DIGITS, LETTERS, LOOSE

SEED: Final = 5

TRADE: Final = tuple(
    """adapter alternator anvil axle baffle balancer bearing bellows belt bench bevel bleed block bolt bore boss
    bracket brake bushing caliper cam camshaft cap carburetor casting chain chamfer chisel circlip clamp clearance
    cleaner clip clutch collar collet compressor conrod coolant coupling crank crankcase crankshaft cylinder
    damper deck dial dipstick dowel drain drift drill drum engine exhaust extractor fan ferrule file filter fitting
    flange flare flywheel fuel gasket gauge gear gearbox gland governor grease grinder grommet groove gudgeon gusset
    hammer hex hoist hone hose housing hub hydraulic idler impeller injector intake inspection jack jig journal
    keyway knuckle lathe lever lifter linkage liner lock lubricant magnet mallet manifold mandrel micrometer
    mount muffler nipple nozzle nut oiler orifice packing pan pawl pedestal pinion pipe piston plate plug plunger
    pulley pump punch pushrod rack radiator ratchet reamer relief retainer rivet rocker rod roller rotor rubber
    scraper screw seal seat shaft shim shroud sleeve slide socket solenoid spacer spanner spindle spline spring
    sprocket stand starter stator stem strainer strut stud sump swivel tachometer tank tappet tensioner thermostat
    thread throttle thrust timing tooth torque turbine turbo union vacuum valve vane vibration vise washer weld wheel
    winch wire wrench yoke""".split()
)
"""Words of the workshop, by judgement."""

RECORDED: Final = tuple(
    "backward forward dot marvin sheila visual follow wow bird bed dog cat tree happy torch".split()
)
"""Further words of the recordings."""

_LETTERS: Final = (2, 12)
_COMMON: Final = 4200
_HELD_ONE_IN: Final = 10
_WALK_ENDS: Final = 0.45
_PLACES: Final = ("left", "right", "front", "rear", "upper", "lower", "inner", "outer", "main", "center")
_PEOPLE: Final = tuple(
    """adam alice amy anna ben boris carl carmen chris clara daniel david diana emma eric erik eva felix frank fred
    george grace hannah helen henry irene ivan jack james jane jenny jim joe john julia karen karl kate kevin laura
    leo lisa lucy maria mark martin mary max mike nadia nick nina oliver olga oscar paul peter rita robert rosa ruth
    sam sarah simon sofia steve susan tanya thomas tina tom vera victor walter""".split()
)
"""First names, by judgement."""


def is_held(text: str, spoken: frozenset[str]) -> bool:
    """Tell whether a text has a word that is kept out of the training; command words never are."""
    return any(word not in spoken and zlib.crc32(word.encode()) % _HELD_ONE_IN == 0 for word in text.split())


def common_words() -> tuple[str, ...]:
    """Give common English words, the commonest first: one token of Whisper's and in the CMU dictionary."""
    tokens = Tokenizer.from_file(str(weights.weights() / "tokenizer.json"))
    known = dictionary()
    found = (tokens.id_to_token(number) for number in range(tokens.get_vocab_size()))
    words = (token[1:] for token in found if token and token.startswith("Ġ"))
    return tuple(word for word in words if word in known and _LETTERS[0] <= len(word) <= _LETTERS[1])[
        :_COMMON
    ]


@cache
def dictionary() -> dict[str, tuple[str, ...]]:
    """Give the sounds of English words (ARPABET) as the CMU dictionary, without names of letters, has them."""
    path = Path(pocketsphinx.get_model_path()) / "en-us" / "cmudict-en-us.dict"
    lines = (line.split() for line in path.read_text(encoding="utf-8").splitlines())
    return {word: tuple(sounds) for word, *sounds in lines if word.isalpha() and word.isascii()}


def grammars(rng: random.Random) -> tuple[Grammar, ...]:
    """Give the grammars of all modes, with made-up names of whatever a procedure names."""
    names = [f"{rng.choice(_PLACES)} {rng.choice(TRADE)}" for _ in range(30)]
    names += [f"{rng.choice(TRADE)} {rng.choice(TRADE)}s" for _ in range(30)]
    names += [f"{rng.choice(_PLACES)} {rng.choice(TRADE)} {rng.choice(TRADE)}" for _ in range(10)]
    given = {
        "group": names[:60],
        "position": names[:6],
        "reason": ["wrong part", "worn thread"],
        "person": rng.sample(_PEOPLE, 6),
        "told": rng.sample(_PEOPLE, 6),
        "step": [words_for(number) for number in range(1, 31)],
        **{kind: rng.sample(names, 8) for kind in ("thing", "part", "kit", "tool", "supply", "value")},
        "letter": LETTERS,
        "digit": DIGITS,
        "loose": (LOOSE,),
        "applied": ("applied",),
        "inside": ("inside", "still in the engine"),
    }
    return tuple(load_grammar(mode, given) for mode in modes())


def walk(grammar: Grammar, rng: random.Random, most: int = 9) -> str:
    """Say something that the grammar allows, word by word at random; nothing where it took too many words."""
    said: list[str] = []
    while len(said) < most:
        following = sorted(grammar.next_words(said))
        if not following or (grammar.is_whole(said) and rng.random() < _WALK_ENDS):
            return " ".join(said)
        said.append(rng.choice(following))
    return " ".join(said) if grammar.is_whole(said) else ""


def texts(seed: int = SEED) -> Iterator[dict[str, Any]]:
    """Give the texts, each once, as text, kind (word, phrase, command) and held (kept out of the training)."""
    rng = random.Random(seed)
    known = grammars(rng)
    spoken = frozenset(word for grammar in known for word in grammar.words)
    seen: set[str] = set()
    for kind, text in _all(known, spoken, rng):
        if text and text not in seen:
            seen.add(text)
            yield {"text": text, "kind": kind, "held": is_held(text, spoken)}


def _all(known: Sequence[Grammar], spoken: frozenset[str], rng: random.Random) -> Iterator[tuple[str, str]]:
    words = (*common_words(), *TRADE, *RECORDED, *_PEOPLE)
    yield from (("command", word) for word in sorted(spoken))
    for grammar in known:
        yield from (("command", walk(grammar, rng)) for _ in range(900 if len(grammar.words) > 70 else 60))
    yield from (("word", word) for word in words)
    for _ in range(2600):
        # Trade words and words of commands come up more often than their number would have it.
        pools = [rng.choice((words, words, TRADE, sorted(spoken))) for _ in range(rng.choice((2, 2, 3, 4)))]
        yield "phrase", " ".join(rng.choice(pool) for pool in pools)


def main() -> None:
    """Write the texts as JSON lines."""
    given = argparse.ArgumentParser(description=__doc__)
    given.add_argument("out", type=Path)
    given.add_argument("--seed", type=int, default=SEED)
    args = given.parse_args()
    lines = [json.dumps(line) for line in texts(args.seed)]
    args.out.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
