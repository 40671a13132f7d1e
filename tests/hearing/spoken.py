"""What can be said in every mode, and what it must mean: the tables that the tests of the grammars hold them to."""

import random
from functools import cache

from assistant.dialogue.intents import Intent
from assistant.hearing.grammar import Grammar, combined, load_grammar, modes

NAMES = {
    "position": ["front left", "cylinder 1 inlet"],
    "reason": ["bearing on order"],
    "thing": ["cover gasket"],
    "step": ["three", "twelve"],
    "person": ["the second fitter"],
    "value": ["bore", "end float"],
}
THINGS = {
    "part": ["rocker cover"],
    "kit": ["o ring"],
    "tool": ["rag"],
    "supply": ["engine oil"],
    "letter": ["bravo", "x ray"],
    "digit": ["seven"],
    "loose": ["loose part"],
    "applied": ["applied"],
    "inside": ["inside"],
    "told": ["one dot"],
}
"""What a procedure brings that takes parts off; tests/hearing/test_grammar_parts.py says what it is good for."""
MEANINGS = {
    "what did i measure": "value-of",
    "from which numbers": "how-so",
    "next": "next",
    "next step": "next",
    "next note": "next",
    "back": "back",
    "go back": "back",
    "done": "done",
    "done next": "done next",
    "yes next": "yes next",
    "affirmative next": "yes next",
    "skip": "skip",
    "leave it out": "skip",
    "undo": "undo",
    "undo that": "undo",
    "finish": "finish",
    "finish the job": "finish",
    "repeat": "repeat",
    "say again": "repeat",
    "where am i": "where",
    "caution": "caution",
    "say the caution": "caution",
    "how many left": "left",
    "what is open": "open",
    "what did i do last": "last",
    "how much longer": "time-left",
    "begin the pass again": "pass-again",
    "other tool": "other-wrench",
    "different wrench": "other-wrench",
    "what is left": "open",
    "tool": "tool",
    "which tool": "tool",
    "torque": "torque",
    "what torque": "torque",
    "sequence": "sequence",
    "what order": "sequence",
    "all done": "all-done",
    "pass complete": "all-done",
    "all done next": "all-done next",
    "pass complete next": "all-done next",
    "count me through": "count",
    "clicked": "click",
    "click": "click",
    "seated": "click",
    "wait": "hold",
    "which one": "call-again",
    "with the adapter": "adapter",
    "start timer": "timer-start",
    "start the timer": "timer-start",
    "stop timer": "timer-stop",
    "stop the timer": "timer-stop",
    "how long left": "timer-left",
    "yes": "yes",
    "affirmative": "yes",
    "acknowledged": "yes",
    "understood": "yes",
    "no": "no",
    "negative": "no",
    "cancel": "cancel",
    "take a note": "note",
    "end note": "note-end",
    "end of note": "note-end",
    "play notes": "notes-play",
    "play my notes": "notes-play",
    "picture": "picture",
    "again": "repeat",
    "pause": "pause",
    "take a break": "pause",
    "resume": "resume",
    "carry on": "resume",
    "stop": "stop",
    "stop repeat": "stop repeat",
    "quiet": "quiet",
    "be quiet": "quiet",
    "louder": "louder",
    "softer": "softer",
    "slower": "slower",
    "faster": "faster",
    "help": "help",
    "what can i say": "help",
}
REASONS = {
    "part missing",
    "not fitted",
    "not needed",
    "not known",
    "already done",
    "do it later",
    "on instruction",
    "damaged",
    "no tool",
    "other reason",
    "bearing on order",
    "new bolt",
    "new screw",
    "new stud",
    "thread insert",
    "left as it is",
    "the second fitter",
}


_MATTERS = (
    *("fault found", "fault here", "ask the owner", "owner question"),
    *("for next time", "remember this"),
)
_WHICH = (
    "last note",
    "notes for this step",
    "notes from yesterday",
    "from yesterday",
)
_GASKET = {"thing": "cover gasket"}
NOTES = {
    **{words: Intent(name="note", slots={"matter": words}) for words in _MATTERS},
    **{words: Intent(name="notes-play", slots={"which": words}) for words in _WHICH},
    "notes for the step": Intent(name="notes-play", slots={"which": "notes for this step"}),
    **{f"note about {the}cover gasket": Intent(name="note", slots=_GASKET) for the in ("", "the ")},
    **{
        f"{play}notes on {the}cover gasket": Intent(name="notes-play", slots=_GASKET)
        for play in ("", "play ")
        for the in ("", "the ")
    },
}
"""Those that say what a note is for, or which notes are meant."""


TABLE = {
    **{phrase: tuple(Intent(name=name) for name in names.split()) for phrase, names in MEANINGS.items()},
    **{phrase: (Intent(name="reason", slots={"reason": phrase}),) for phrase in REASONS},
    **{phrase: (intent,) for phrase, intent in NOTES.items()},
}
ONE_SLOT = (
    # How it begins and ends, the intent, its slot.
    ("note about ", "", "note", "position"),
    ("go to step ", "", "go-to", "step"),
    ("open step ", " again", "reopen", "step"),
    ("notes for step ", "", "notes-play", "step"),
    ("in ", "", "in-unit", "unit"),
    ("what was the ", "", "value-of", "name"),
    ("no ", "", "correct", "position"),
    ("", " again", "position-again", "position"),
    ("", " done", "position-done", "position"),
    ("", " clicked", "click", "position"),
    ("", " seated", "click", "position"),
)
STANDINGS = ("doubtful", "damaged", "stripped", "broken", "sound")
KINDS = ("number", "bolt", "nut")


def expected(phrase: str) -> tuple[Intent, ...]:
    """Work out from the table what a phrase must mean; positions are "number four done" and the like."""
    if phrase in TABLE:
        return TABLE[phrase]
    if phrase.endswith(STANDINGS):
        *place, standing = phrase.removeprefix("mark ").split()
        place = place[place[0] in KINDS :]  # the kind of fastener is no part of the place
        return (Intent(name="mark", slots={"position": " ".join(place), "standing": standing}),)
    after = (Intent(name="next"),) if phrase.endswith(" done next") else ()
    phrase = phrase.removesuffix(" next") if after else phrase
    for start, end, name, slot in ONE_SLOT:
        if phrase.startswith(start) and phrase.endswith(end):
            value = phrase.removeprefix(start).removesuffix(end)
            for kind in KINDS if slot == "position" else ():
                value = value.removeprefix(f"{kind} ")
            return (Intent(name=name, slots={slot: value}), *after)
    raise AssertionError(phrase)


@cache
def grammar_of(mode: str) -> Grammar:
    """Load a mode once for all tests, or the union of all of them."""
    if mode == "all":
        return combined([grammar_of(each) for each in modes()], "all")
    return load_grammar(mode, NAMES)


ALL = (*modes(), "all")


def walk(grammar: Grammar, choose: random.Random) -> tuple[str, ...]:
    """Say something at random, word by word, as the grammar allows."""
    said: list[str] = []
    while True:
        following = sorted(grammar.next_words(said))
        if grammar.is_whole(said) and (not following or choose.random() < 0.4):
            return tuple(said)
        said.append(choose.choice(following))
