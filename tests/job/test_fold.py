from datetime import UTC, datetime, timedelta
from typing import get_args

from assistant.job.events import (
    EVENT,
    Asked,
    Entry,
    Event,
    Heard,
    JobOpened,
    NoteBegun,
    PositionWorked,
    Refused,
    Replied,
    StepDone,
    StepReached,
    TimerEnded,
    TimerStarted,
    Undone,
    VoiceSet,
)
from assistant.job.fold import FOLDS, KEPT_PASTS, fold, replay
from assistant.job.state import JobState
from assistant.torque.ledger import Standing
from assistant.torque.plan import Act

START = datetime(2026, 3, 2, 8, tzinfo=UTC)


def entries(*turns: tuple[Event, ...]) -> tuple[Entry, ...]:
    """Put events of turns into envelopes, a minute between turns."""
    made: list[Entry] = []
    for turn, events in enumerate(turns, start=1):
        at = START + timedelta(minutes=turn)
        made += [
            Entry(seq=len(made) + 1 + n, turn=turn, at=at, event=event) for n, event in enumerate(events)
        ]
    return tuple(made)


def test_every_kind_of_event_has_its_fold() -> None:
    """The table of folds and the kinds of events are the same."""
    kinds = set(get_args(get_args(EVENT._type)[0]))
    assert set(FOLDS) == kinds


def test_undo_restores_the_state_before_the_turn_but_keeps_what_was_said() -> None:
    """Undo takes back what the turn recorded; replies, notes and the voice stay as they are."""
    before = entries((JobOpened(job="j", procedure="p", revision=1),), (StepReached(step="a"),))
    after = entries(
        (JobOpened(job="j", procedure="p", revision=1),),
        (StepReached(step="a"),),
        (StepDone(step="a"), Replied(words="Done.")),
        (VoiceSet(loudness=2.0, pace=1.0),),
        (NoteBegun(note=1, file="note-0001.flac", step="a"),),
        (Undone(turn=3),),
    )
    state = replay(after)
    assert state.done == replay(before).done
    assert (state.last_reply, state.loudness, len(state.notes)) == ("Done.", 2.0, 1)
    assert state.pasts == ()


def test_undo_takes_back_all_events_of_a_turn_together() -> None:
    """Four positions that were recorded in one turn are taken back in one."""
    acts = tuple(
        PositionWorked(group="g", number=n, act=Act(position=n + 1, stage=1, stages=1, kind="snug"))
        for n in range(4)
    )
    state = replay(entries(acts, (Undone(turn=1),)))
    assert not state.ledger


def test_undo_reaches_back_turn_by_turn() -> None:
    """Several undos take back several turns, the latest first."""
    state = replay(
        entries((StepDone(step="a"),), (StepDone(step="b"),), (Undone(turn=2),), (StepDone(step="c"),))
    )
    assert set(state.done) == {"a", "c"}
    assert [past.turn for past in state.pasts] == [1, 4]


def test_number_of_pasts_is_bounded() -> None:
    """A long job does not keep every state it ever had, and no past keeps pasts of its own."""
    state = replay(entries(*((StepDone(step=f"s{n}"),) for n in range(KEPT_PASTS + 20))))
    assert len(state.pasts) == KEPT_PASTS
    assert all(past.state.pasts == () for past in state.pasts)


def test_position_becomes_what_its_act_makes_of_it() -> None:
    """The ledger is the fold of the acts."""
    snug = PositionWorked(group="g", number=0, act=Act(position=3, stage=1, stages=2, kind="snug"))
    state = replay(entries((snug,)))
    assert state.ledger["g", 3].standing is Standing.SNUG
    assert state.acts["g"] == {0}


def test_misses_count_up_and_end_with_what_is_understood() -> None:
    """Only what is asked for again counts as a miss; talk does not, and a command ends the count."""
    asked = replay(entries((Refused(),), (Refused(asked_again=False),), (Refused(),)))
    assert (asked.misses, asked.refused) == (2, 3)
    heard = Entry(seq=9, turn=9, at=START, event=Heard(words="next", intents=("next",)))
    assert fold(asked, heard).misses == 0


def test_talk_counts_while_a_question_is_pending_and_a_new_one_begins_anew() -> None:
    """Talk with words counts beside a question alone; noise does not, and another question counts from nothing."""
    talk = Refused(words="did you see the game", asked_again=False)
    before = replay(
        entries((talk,), (Asked(question="begin"),), (talk,), (Refused(asked_again=False),), (talk,))
    )
    assert before.let_be == 2
    assert fold(before, Entry(seq=9, turn=9, at=START, event=Asked(question="skip"))).let_be == 0


def test_passing_reply_is_not_what_repeat_brings_back() -> None:
    """Asking again does not cover the answer before it."""
    state = replay(entries((Replied(words="Number four."),), (Replied(words="Say again.", passing=True),)))
    assert state.last_reply == "Number four."


def test_timer_runs_on_the_wall_clock() -> None:
    """A timer knows its end, whatever happens to the program meanwhile."""
    state = replay(entries((TimerStarted(step="w", seconds=2700),)))
    timer = state.timers["w"]
    assert timer.left_s(START + timedelta(minutes=31)) == 900
    assert timer.left_s(START + timedelta(hours=9)) == 0


def test_timer_that_was_told_of_stays_told_after_an_undo() -> None:
    """Taking back what came before the end of a wait does not ring its end again."""
    started, ended = TimerStarted(step="w", seconds=60), TimerEnded(step="w")
    state = replay(entries((started,), (StepDone(step="a"),), (ended,), (Undone(turn=2),)))
    assert state.timers["w"].told


def test_question_stays_pending_through_replay() -> None:
    """A question that was asked is part of the state."""
    state = replay(entries((Asked(question="check", about={"step": "marks"}),)))
    assert state.question is not None
    assert state.question.about == {"step": "marks"}


def test_new_job_has_nothing() -> None:
    """No events, nothing known."""
    assert replay(()) == JobState()
