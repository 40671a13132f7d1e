"""What every store of a job's events does; each store inherits the same cases."""

import math
from abc import ABC, abstractmethod
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path
from typing import Any

import pytest

from assistant.errors import JobError
from assistant.job import chain
from assistant.job.events import Asked, Event, Heard, Measured, Replied, StepDone, TimerStarted
from assistant.job.journal import Journal
from assistant.job.memory import MemoryStore
from assistant.job.store import Store
from assistant.torque.units import Quantity

AT = datetime(2024, 5, 6, 7, 8, 9, 123456, tzinfo=UTC)

EVENTS: list[Event] = [
    Heard(words="done, next", intents=("done", "next"), engine="whisper", confidence=0.1 + 0.2),
    Measured(step="gap", value=Quantity.model_validate("0.350 mm"), verdict="in"),
    Asked(question="skip?", about={"step": "größe", "why": '"no"\n'}),
    Replied(words="나사 여덟 개"),
]


class StoreCases(ABC):
    """The cases; a subclass says which store they are for."""

    @abstractmethod
    def store(self, *_: Any) -> Any:
        """Give an empty store; a fixture."""

    def test_an_empty_store_has_no_entries(self, store: Store) -> None:
        """Nothing appended, nothing read."""
        assert list(store.entries()) == []

    def test_entries_come_back_as_appended(self, store: Store) -> None:
        """What append returns is what entries gives, in order, numbered from 1, with nothing changed."""
        appended = store.append(3, AT, EVENTS) + store.append(4, AT, EVENTS[:1])
        assert list(store.entries()) == list(appended)
        assert [entry.event for entry in appended] == [*EVENTS, EVENTS[0]]
        assert [entry.seq for entry in appended] == [1, 2, 3, 4, 5]
        assert [entry.turn for entry in appended] == [3, 3, 3, 3, 4]

    def test_a_measured_value_keeps_its_digits(self, store: Store) -> None:
        """A value comes back with the zeros it was said with."""
        store.append(1, AT, EVENTS[1:2])
        (entry,) = store.entries()
        assert isinstance(entry.event, Measured)
        assert str(entry.event.value) == "0.350 mm"

    def test_time_is_kept_in_utc_to_the_microsecond(self, store: Store) -> None:
        """A time in another zone comes back as the same moment in UTC."""
        (entry,) = store.append(1, AT.astimezone(timezone(timedelta(hours=9))), EVENTS[:1])
        assert entry.at == AT
        assert entry.at.utcoffset() == timedelta(0)

    def test_a_time_without_a_zone_is_refused(self, store: Store) -> None:
        """A time that could be any of a day's is refused, and nothing is kept."""
        with pytest.raises(JobError, match="time zone"):
            store.append(1, AT.replace(tzinfo=None), EVENTS)
        assert list(store.entries()) == []

    def test_time_never_runs_backwards(self, store: Store) -> None:
        """A turn from a clock that is behind the last entry, in whatever zone, has the time of that entry."""
        tokyo = timezone(timedelta(hours=9))
        for at in (AT, AT - timedelta(hours=1), (AT - timedelta(seconds=1)).astimezone(tokyo)):
            assert {entry.at for entry in store.append(1, at, EVENTS)} == {AT}
        (later,) = store.append(2, (AT + timedelta(seconds=1)).astimezone(tokyo), EVENTS[:1])
        assert later.at == AT + timedelta(seconds=1)

    def test_a_turn_without_events_keeps_nothing(self, store: Store) -> None:
        """An empty turn leaves no trace."""
        assert store.append(1, AT, []) == ()
        assert list(store.entries()) == []

    @pytest.mark.parametrize(
        "bad",
        [
            TimerStarted(step="cure", seconds=math.inf),
            Heard(words="next", intents=(), confidence=math.nan),
            StepDone.model_construct(kind="step-done", step="\udc80"),
            StepDone.model_construct(kind="step-done", step=7),  # type: ignore[arg-type]
        ],
        ids=["infinity", "not a number", "half a letter", "wrong type"],
    )
    @pytest.mark.filterwarnings("ignore:Pydantic serializer warnings:UserWarning")
    def test_a_turn_with_an_unwritable_event_is_refused_whole(self, store: Store, bad: Event) -> None:
        """An event that would not be read as it was written refuses its turn, and the store goes on."""
        store.append(1, AT, EVENTS)
        with pytest.raises(JobError):
            store.append(2, AT, [*EVENTS, bad])
        assert len(list(store.entries())) == len(EVENTS)
        assert [entry.seq for entry in store.append(2, AT, EVENTS[:1])] == [5]

    def test_reading_while_appending_is_safe(self, store: Store) -> None:
        """A reading that has begun goes on in order while entries are appended."""
        store.append(1, AT, EVENTS)
        reading = store.entries()
        first = next(reading)
        store.append(2, AT, EVENTS)
        assert [first.seq, *(entry.seq for entry in reading)][:4] == [1, 2, 3, 4]

    def test_old_bodies_are_brought_up_to_date(self, store: Store, monkeypatch: pytest.MonkeyPatch) -> None:
        """A body of an older version passes through every function on its way to the current one."""
        store.append(1, AT, [StepDone(step="old")])
        monkeypatch.setitem(chain.UPCASTERS, ("step-done", 1), lambda body: {"step": body["step"] + "+"})
        store.append(2, AT, [StepDone(step="newer")])
        monkeypatch.setitem(chain.UPCASTERS, ("step-done", 2), lambda body: {"step": body["step"] + "*"})
        store.append(3, AT, [StepDone(step="newest")])
        steps = [entry.event.step for entry in store.entries() if isinstance(entry.event, StepDone)]
        assert steps == ["old+*", "newer*", "newest"]

    def test_a_body_of_a_version_to_come_is_refused(
        self, store: Store, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """A body newer than this program is an error that names its entry, not a guess."""
        store.append(1, AT, EVENTS)
        with monkeypatch.context() as newer:
            newer.setitem(chain.UPCASTERS, ("step-done", 1), dict)
            store.append(2, AT, [StepDone(step="x")])
        with pytest.raises(JobError, match=r"entry 5 .*version 2.*install the newer version"):
            list(store.entries())


class TestMemoryStore(StoreCases):
    """The store in memory."""

    @pytest.fixture
    def store(self) -> Store:
        """Give an empty one."""
        return MemoryStore()


class TestJournal(StoreCases):
    """The store on disk."""

    @pytest.fixture
    def store(self, tmp_path: Path) -> Iterator[Store]:
        """Give an empty one."""
        with Journal.create(tmp_path / "journal.sqlite") as journal:
            yield journal
