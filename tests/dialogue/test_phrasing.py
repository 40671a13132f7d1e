import re
from pathlib import Path
from typing import get_args

import pytest

from assistant.dialogue.closing import SETTLED_BY_WORD
from assistant.dialogue.phrasing import Phrasebook, load_phrasebook
from assistant.dialogue.reply import Line, PlayNote, Reply
from assistant.errors import DialogueError
from assistant.hearing.grammar import modes
from assistant.job.events import Matter, Measured
from assistant.torque.ledger import Standing
from assistant.torque.plan import Act
from assistant.torque.strength import Finding
from assistant.torque.units import read_quantity
from assistant.torque.wrench import Doubt

BOOK = load_phrasebook()
ROOM = Path(__file__).parents[2] / "assistant" / "dialogue"


def words(template: str, **slots: object) -> str:
    """Put one template into words."""
    return Phrasebook({"it": template}).words(Line("it", slots))  # type: ignore[arg-type]


def test_quantity_is_spoken_with_its_unit_in_full() -> None:
    """A value never comes out as a symbol."""
    assert words("{value}", value=read_quantity("110 lbf.in")) == "one hundred ten inch pounds"


def test_number_that_sounds_like_another_is_also_given_digit_by_digit() -> None:
    """Fifteen and fifty are told apart by their digits."""
    assert words("{value:digits}", value=read_quantity("15 N.m")) == "fifteen newton metres, one five"
    assert words("{value:digits}", value=read_quantity("12 N.m")) == "twelve newton metres"


def test_several_things_are_listed_with_and() -> None:
    """A list has commas, and "and" before its last."""
    assert words("{positions}", positions=(1, 4, 6)) == "one, four and six"


def test_order_is_listed_without_and() -> None:
    """An order has no word in it that could be taken for its end."""
    assert words("{positions:run}", positions=(1, 4, 6)) == "one, four, six"


def test_number_chooses_between_two_forms() -> None:
    """One bolt is, two bolts are."""
    assert words("{count} {count:is|are}", count=1) == "one is"
    assert words("{count} {count:is|are}", count=2) == "two are"


def test_unknown_phrase_names_the_file_to_mend() -> None:
    """A missing phrase says where it belongs."""
    with pytest.raises(DialogueError, match=r"phrases\.yaml"):
        BOOK.words(Line("no.such.phrase"))


def test_notes_are_played_between_the_words_that_introduce_them() -> None:
    """A reply becomes words and notes in their order."""
    when = Line("when.yesterday", {"hour": 16, "minute": Line("when.few", {"minute": 5})})
    what, where = Line("note.matter.note", {"number": 1}), Line("where.step", {"step": 5})
    intro = Line("note.intro", {"what": what, "when": when, "where": where})
    reply = Reply(parts=(intro, PlayNote("a.flac"), Line("again")))
    assert BOOK.pieces(reply) == (
        "Note one, yesterday at sixteen oh five, at step five.",
        PlayNote("a.flac"),
        "Say again.",
    )


def _keys_in_code() -> set[str]:
    """Find every key of a phrase in the dialogue's code, and those that are put together from names."""
    text = "\n".join(path.read_text() for path in ROOM.glob("*.py"))
    plain = set(re.findall(r'(?:say\(|Line\(|key = )\s*"([a-z.-]+)"', text))
    plain |= (
        set(
            re.findall(
                r'"((?:stage|limits|undone|mended|pass|position|returned|resumed|ask|wrench|adapter|hearing|when|note|'
                r'reading|worked|value|nothing)[a-z.-]*)"',
                text,
            )
        )
        & BOOK.keys
    )
    kinds = Act.model_fields["kind"].annotation
    made = {f"act.{kind}" for kind in kinds.__args__}  # type: ignore[union-attr]
    verdict = Measured.model_fields["verdict"].annotation
    made |= {f"verdict.{name}" for name in verdict.__args__}  # type: ignore[union-attr]
    made |= {f"standing.{standing}" for standing in Standing}
    made |= {f"help.{mode}" for mode in modes() if mode != "speaking"}
    made |= {f"note.matter.{matter}" for matter in get_args(Matter)}
    made |= {f"picture.{why}" for why in ("none", "failed")}
    made |= {f"value.{finding}" for finding in get_args(Finding) if finding != "plausible"}
    made |= {f"wrench.{kind}" for kind in get_args(Doubt.__annotations__["kind"])}
    made |= {f"acts.{how}" for how in ("one", "both", "all")} | {"act.rise-click", "act.rise-until"}
    made |= {f"adapter.{way}" for way in ("lower", "higher")} | {"open.all", "open.both"}
    made |= {f"voice.{way}" for way in ("louder", "softer", "slower", "faster")}
    made |= {
        f"open.{kind}" for kind in re.findall(r'kind="(\w+)"', (ROOM.parent / "job/closeout.py").read_text())
    }
    made |= {f"settle.{kind}" for kind in SETTLED_BY_WORD}
    made |= {f"worked{size}{how}" for size in ("", ".size") for how in ("", "-not", "-doubt")}
    return plain | made


def test_every_phrase_that_is_used_is_there_and_every_one_there_is_used() -> None:
    """The phrases and the code agree, both ways."""
    assert _keys_in_code() == BOOK.keys


def test_the_voice_and_the_record_call_a_position_the_same() -> None:
    """What nobody has worked on has one word, spoken and written."""
    assert BOOK.words(Line(f"standing.{Standing.UNTOUCHED}")) == Standing.UNTOUCHED
