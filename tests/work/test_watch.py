"""Who looks on sees what is heard while it is heard, and then what it came to."""

import json
from io import StringIO

from rich.console import Console

from assistant.dialogue.phrasing import load_phrasebook
from assistant.hearing.grammar import words_of
from assistant.hearing.recogniser import typed
from assistant.page.face import Face
from assistant.procedure.load import find_procedure, load_procedure
from assistant.procedure.route import route_through
from assistant.speaking.mouth import NoMouth
from assistant.work.conductor import Conductor
from assistant.work.face import PageWatcher
from assistant.work.watch import ConsoleWatcher, JsonWatcher, Watcher
from tests.work.benches import NAME, Bench, refused


def watched(bench: Bench, watcher: Watcher) -> Conductor:
    """Give a conductor of the same job that this one watches."""
    route = route_through(load_procedure(find_procedure(NAME)), "short")
    book = load_phrasebook()
    return Conductor(route, bench.folder, mouth=NoMouth(), book=book, clock=bench.clock, watchers=[watcher])


def test_a_program_gets_the_words_so_far_before_what_they_came_to(bench: Bench) -> None:
    """A line of JSON each, and nothing is done on the early ones."""
    out = StringIO()
    conductor = watched(bench, JsonWatcher(out))
    conductor.hearing(("number", "four"))
    assert bench.new() == []
    conductor.take(typed(("yes",), conductor.grammar()))
    rows = [json.loads(line) for line in out.getvalue().splitlines()]
    assert rows[0] == {"type": "hearing", "words": "number four"}
    assert (rows[1]["type"], rows[1]["heard"], rows[1]["accepted"]) == ("heard", "yes", True)


def test_a_terminal_shows_the_words_so_far_and_what_they_came_to_takes_their_place(bench: Bench) -> None:
    """On one line; where the output is no terminal only what was settled is written."""
    for is_terminal in (True, False):
        out = StringIO()
        conductor = watched(bench, ConsoleWatcher(Console(file=out, force_terminal=is_terminal)))
        conductor.hearing(words_of("number four"))
        conductor.take(refused(asked=False))
        assert ("number four" in out.getvalue()) == is_terminal
        assert out.getvalue().partition("number four")[2].count("\n") == int(is_terminal)
        assert "done" in out.getvalue()


def test_the_page_shows_the_words_so_far_and_forgets_them_with_the_answer(bench: Bench) -> None:
    """Beside what was said last, which stays where it is."""

    class Page:
        def __init__(self) -> None:
            self.faces: list[Face] = []

        def show(self, face: Face) -> None:
            """Keep it."""
            self.faces.append(face)

    page = Page()
    route = route_through(load_procedure(find_procedure(NAME)), "short")
    conductor = watched(bench, PageWatcher(page, route, bench.clock))  # type: ignore[arg-type]
    conductor.take(typed(("repeat",), conductor.grammar()))
    conductor.hearing(("yes",))
    conductor.take(typed(("yes",), conductor.grammar()))
    before, during, after = page.faces[-3:]
    assert (during.hearing, during.said) == ("yes", before.said)
    assert (after.hearing, after.heard) == ("", "yes")


def test_the_page_counts_the_steps_that_are_left(bench: Bench) -> None:
    """One less with each that is done; not of how many, since the numbers of steps count others too."""
    faces = list[Face]()

    class Page:
        def show(self, face: Face) -> None:
            """Keep it."""
            faces.append(face)

    route = route_through(load_procedure(find_procedure(NAME)), "short")
    conductor = watched(bench, PageWatcher(Page(), route, bench.clock))  # type: ignore[arg-type]
    for words in ("yes", "yes", "done", "done next"):
        conductor.take(typed(words_of(words), conductor.grammar()))
    left = [face.steps_left or 0 for face in faces]
    assert left[0] - left[-1] == len(conductor.state.done.newer | conductor.state.done.older) > 0
