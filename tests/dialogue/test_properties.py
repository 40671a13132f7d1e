"""What holds of every talk over every procedure, however they go; a longer run is marked `long`."""

from collections import Counter
from collections.abc import Callable, Iterator

import pytest
from hypothesis import HealthCheck, given, settings

from assistant.dialogue.reply import Line
from assistant.job.closeout import open_items
from assistant.job.fold import replay
from assistant.job.state import JobState
from assistant.procedure.route import Route
from assistant.torque.ledger import Standing
from tests.dialogue.asked_for import ASKED_FOR, MOST_WORDS
from tests.dialogue.plain_account import Account, Item, rests_on
from tests.dialogue.random_procedures import Move, Told, procedures, talks, tell

Held = Callable[[Route, list[Told]], None]

LOOSENS = {"position-reopened", "pass-reopened", "group-loosened", "position-marked", "undone"}
"""Kinds of events after which a final position need not be final any more; so is a back-off."""

AUTHORS = {
    *("step", "step.use", "step.put-in", "step.take-out", "step.off", "step.back"),
    *("caution", "ask.caution", "ask.check", "helper", "check.failed", "measure", "where"),
    "stage.but",
}
"""Lines that read out what the author wrote, as many as he gave the step, and the one that warns."""

OF_PARTS = {"off", "unlabelled", "undescribed"}
"""Kinds of open things of which `test_things` keeps an account of its own."""

SENTENCES = 2


def replay_gives_the_same_state(_route: Route, told: list[Told]) -> None:
    """See that nothing raised on the way here, and the recorded events alone give the state that the talk had."""
    assert replay(entry for turn in told for entry in turn.entries) == told[-1].after


def final_stays_final(_route: Route, told: list[Told]) -> None:
    """See that a final position is final until it is opened again, loosened, taken back or marked."""
    for turn in told:
        lost = _final(turn.before) - _final(turn.after)
        events = [entry.event for entry in turn.entries]
        backed_off = any(event.kind == "position-worked" and event.act.kind == "back-off" for event in events)
        assert not lost or backed_off or LOOSENS & {event.kind for event in events}, (
            f"{lost} at {turn.intents}"
        )


def _final(state: JobState) -> set[tuple[str, int]]:
    return {place for place, record in state.ledger.items() if record.standing is Standing.FINAL}


def _accounts(route: Route, told: list[Told]) -> Iterator[tuple[Account, Told]]:
    account = Account(route)
    for turn in told:
        account.hear(turn.entries)
        yield account, turn


def gate_is_never_passed_unanswered(route: Route, told: list[Told]) -> None:
    """See that whatever is done rests on gates that were answered with yes, or is suspect."""
    for account, turn in _accounts(route, told):
        gates = {step.step for step in account.mine() if step.check}
        unanswered = {name for name in gates if not account.answered.get(name)}
        for name in account.done - account.suspect - unanswered:
            assert not rests_on(route.procedure, name) & unanswered, f"{name} after {turn.intents}"


def close_out_list_is_that_of_a_plain_account(route: Route, told: list[Told]) -> None:
    """See that what the assistant lists as open at any moment is what a second, plain account has as open."""
    for account, turn in _accounts(route, told):
        assert _listed(route, turn.after) == account.open_items(), f"after {turn.intents}"


def _listed(route: Route, state: JobState) -> Counter[Item]:
    found: Counter[Item] = Counter()
    for item in open_items(route, state):
        if item.kind == "position":
            found.update(("position", item.group, position) for position in item.positions)
        elif item.kind in {"kit", "inside"}:
            found[item.kind, item.what, item.count] += 1
        elif item.kind not in OF_PARTS:
            found[item.kind, item.step] += 1
    return found


def reply_is_short(_route: Route, told: list[Told]) -> None:
    """See that a command is answered in two sentences beside the author's, all in twenty seconds."""
    for turn in told:
        if ASKED_FOR & set(turn.intents):
            continue
        ours = [part.key for part in turn.outcome.reply.parts if isinstance(part, Line)]
        ours = [key for key in ours if key not in AUTHORS]
        assert len(turn.words.split()) <= MOST_WORDS, turn.words
        commands = len(turn.intents) + _kept_for_after(turn.before)
        assert len(ours) <= SENTENCES * commands, f"{turn.intents}: {turn.words} {ours}"


def _kept_for_after(state: JobState) -> int:
    """Count the command that was said before the question, and is carried out with its answer."""
    return int(state.question is not None and "then" in state.question.about)


HELD: tuple[Held, ...] = (
    replay_gives_the_same_state,
    final_stays_final,
    gate_is_never_passed_unanswered,
    close_out_list_is_that_of_a_plain_account,
    reply_is_short,
)
ANY = settings(suppress_health_check=[HealthCheck.too_slow, HealthCheck.data_too_large])


@pytest.mark.parametrize("held", HELD, ids=lambda held: held.__name__)
@given(route=procedures(), talk=talks(30))
@settings(ANY, max_examples=100)
def test_holds_of_every_talk_over_every_procedure(held: Held, route: Route, talk: list[Move]) -> None:
    """Whatever is said in whatever order, over whatever procedure, it holds; each says in its own line what."""
    held(route, tell(route, talk)[0])


@pytest.mark.long
@pytest.mark.timeout(3600)
@pytest.mark.parametrize("held", HELD, ids=lambda held: held.__name__)
@given(route=procedures(), talk=talks(80))
@settings(ANY, max_examples=500, derandomize=False)
def test_holds_of_long_talks(held: Held, route: Route, talk: list[Move]) -> None:
    """The same, of more and longer talks, and of others each time."""
    held(route, tell(route, talk)[0])
