import random
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from assistant.author.kept_yaml import dump, load
from assistant.procedure.load import examples, find_procedure, read_text
from assistant.procedure.review.hazards import HAZARDS, Hazard
from assistant.procedure.review.table import review

HERE = Path(__file__).parent
SOUND = (HERE / "sound.yaml").read_text(encoding="utf-8")
LAST = "  - step: turn\n"
BROKEN = sorted((HERE / "broken").glob("*.yaml"))


def _told(text: str) -> list[str]:
    return [str(row).removeprefix("x.yaml:") for row in review(text, "x.yaml")]


def test_there_are_enough_broken_procedures() -> None:
    """The folder of broken procedures holds at least sixty."""
    assert len(BROKEN) >= 60


def test_a_sound_procedure_has_no_findings() -> None:
    """Nothing is found, not even advice, in the procedure that the broken ones are made of."""
    assert _told(SOUND) == []


@pytest.mark.parametrize("path", BROKEN, ids=[path.stem for path in BROKEN])
def test_a_broken_procedure_has_the_one_finding_that_is_written_at_its_head(path: Path) -> None:
    """Line, level, what is wrong and how to mend it are as the first line of the file says, and nothing else is."""
    text = path.read_text(encoding="utf-8")
    expected = text.splitlines()[0].removeprefix("# ")
    found = review(text, "x.yaml")
    assert [f"{row.line}: {row.level}: {row.what}; {row.do}" for row in found] == [expected]


@pytest.mark.parametrize("name", examples())
def test_what_is_shipped_has_no_findings(name: str) -> None:
    """A shipped procedure has nothing wrong; what remains is advice about its short ways."""
    rows = review(read_text(find_procedure(name)), name)
    assert [str(row) for row in rows if row.level != "advice"] == []


def test_all_mistakes_of_a_file_are_told_at_once() -> None:
    """Three mistakes of the shape in one file are three rows, each with its line."""
    text = SOUND.replace("count: 4", "cuont: 4").replace("8 N.m", "8").replace("revision: 1\n", "")
    assert [row.line for row in review(text, "x.yaml")] == [1, 8, 13]


def test_a_wrong_layout_hides_no_other_mistake_of_its_group() -> None:
    """Where the layout gives the count, it is told at its own line, and so are the other lines of the group."""
    text = SOUND.replace("count: 4\n    thread", "thread").replace("circle: 4", "rectangle: 2 by 4")
    rows = review(text.replace("8 N.m", "8"), "x.yaml")
    assert [(row.line, row.what.rpartition(" > ")[2].partition(":")[0]) for row in rows] == [
        (12, "rectangle"),
        (13, "torque"),
    ]


def test_a_finding_in_a_repeat_is_told_once_for_each_step_at_its_line() -> None:
    """Both steps of a repeat are named, at the one line where they are written."""
    block = (
        "  - repeat: side\n    each: [left, right]\n    steps:\n"
        '      - {step: wash, say: "Wash the {side} face with solvent."}\n'
    )
    rows = review(SOUND.replace(LAST, f"{block}{LAST}"), "x.yaml")
    assert [row.step for row in rows] == ["wash-left", "wash-right"]
    assert len({row.line for row in rows}) == 1


def test_more_decisions_than_can_be_followed_raise_no_false_alarm() -> None:
    """With fifteen decisions not every way is looked at, and no step is said never to come up for that."""
    asked = "".join(f"  - {{step: d{n}, say: Look., decide: {{name: q{n}, ask: So?}}}}\n" for n in range(15))
    hung = "".join(f"  - {{step: s{n}, say: Do it., when: [q{n}, not q{(n + 1) % 15}]}}\n" for n in range(15))
    assert _told(SOUND.replace(LAST, f"{asked}{hung}{LAST}")) == []


ODD: tuple[object, ...] = (
    None,
    5,
    1.5,
    True,
    "",
    "x",
    "{gap}",
    "12 N.m",
    [],
    {},
    ["a", 1],
    {"a": {"b": 1}},
    [[1]],
)


def _places(node: Any) -> Iterator[tuple[Any, Any]]:
    """Give every place in a file's data: what holds it, and its key or number there."""
    for key in list(node if isinstance(node, dict) else range(len(node)) if isinstance(node, list) else ()):
        yield node, key
        yield from _places(node[key])


@pytest.mark.parametrize("seed", range(60))
def test_whatever_stands_in_a_file_is_told_and_never_breaks_the_check(seed: int) -> None:
    """Anything at any place of a procedure gives rows, or nothing; never an error of the program itself."""
    dice = random.Random(seed)
    data = load(dice.choice([SOUND, read_text(find_procedure("generator-set-head"))]))
    holder, key = dice.choice(list(_places(data)))
    holder[key] = dice.choice(ODD)
    assert all(row.line >= 1 for row in review(dump(data), "x.yaml"))


HARMLESS = (
    "Lay the spring washer on.",
    "Look at the spring clip of the hose.",
    "Centre it by the lower studs.",
    "Lower the timing cover gently onto its studs.",
    "Lift the lock tab with a screwdriver.",
    "Let the lifters down one by one.",
    "Put a dab of heavy grease on the seal lip.",
    "Set the jackshaft to its mark.",
    "Check the heat shield for cracks.",
    "Clean the hot wire sensor's plug.",
    "Read the oil pressure off the gauge.",
    "Wipe the exhaust port dry.",
    "Torque the spark plug.",
    "Close the drain plug of the sump.",
    "Cap the line.",
    "Fit the fuel pump gasket.",
    "Run the engine mount bolts in by hand.",
    "Start the nuts by hand.",
    "Turn the engine two full turns by hand.",
    "Write the time on the tag.",
    "Let the sealant skin over.",
    "Wait until the light comes on.",
    "Leave the cap loose for now.",
)


@pytest.mark.parametrize("words", HARMLESS)
def test_harmless_words_call_for_nothing(words: str) -> None:
    """Words that only look like a danger or a wait are left alone."""
    assert _told(SOUND.replace("Open the port.", words)) == []


CALLING = (
    "Slide the spring-loaded tensioner back.",
    "Fit the valve springs and their keepers.",
    "Degrease the cone.",
    "Wash the parts in petrol.",
    "Hoist the head onto the block.",
    "Lower the head straight down.",
    "Jack the car up and set it on its wheels.",
    "Bleed the fuel lines at the injectors.",
    "Loosen the union, and catch the fuel.",
    "Warm the bearing in the oven.",
    "Release the pressure in the cooling system.",
    "Take the radiator cap off.",
    "Disconnect the battery.",
    "Run the engine.",
    "Plug the oil galleries.",
    "Cover the bores with a rag.",
    "Stuff a clean rag into the inlet.",
    "Let it cure for twenty-four hours.",
    "Wait ten minutes.",
    "Allow the glue to set overnight.",
)


@pytest.mark.parametrize("words", CALLING)
def test_words_that_call_for_something_are_found(words: str) -> None:
    """A danger without its caution, an opening closed without a count, a wait without a clock: one finding each."""
    assert len(_told(SOUND.replace("Open the port.", words))) == 1


DANGEROUS = {
    "a spring under compression": "Take the valve spring out.",
    "solvent": "Wash it with solvent.",
    "a load that is lifted": "Jack it up.",
    "fuel": "Take the fuel hose off.",
    "heat": "Heat the hub.",
    "the battery": "Connect the battery.",
    "pressure": "Blow it out with compressed air.",
    "an engine that runs": "Start the engine.",
}


@pytest.mark.parametrize("hazard", HAZARDS, ids=[hazard.called for hazard in HAZARDS])
def test_the_caution_that_is_proposed_is_enough(hazard: Hazard) -> None:
    """An author who writes what the finding proposes is not told again, nor of another danger."""
    words = DANGEROUS[hazard.called]
    caution = f'{words}\n    caution: "{hazard.write}"'
    assert len(_told(SOUND.replace("Open the port.", words))) == 1
    assert _told(SOUND.replace("Open the port.", caution)) == []
