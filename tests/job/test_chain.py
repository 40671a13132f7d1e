"""Events as rows, and rows as events again."""

from datetime import UTC, datetime

from hypothesis import given
from hypothesis import strategies as st

from assistant.job import chain
from assistant.job.events import Event, Replied, TimerStarted

AT = datetime(2024, 5, 6, 7, 8, 9, tzinfo=UTC)


@given(words=st.lists(st.text(), max_size=5), seconds=st.floats(allow_nan=False, allow_infinity=False))
def test_any_words_and_numbers_come_back(words: list[str], seconds: float) -> None:
    """Whatever was heard or counted is read from its row to the letter and the last bit."""
    events: list[Event] = [*(Replied(words=said) for said in words), TimerStarted(step="s", seconds=seconds)]
    rows, entries = chain.follow(chain.START, 1, AT, events)
    assert [chain.entry(row).event for row in rows] == events
    assert tuple(map(chain.entry, rows)) == entries


@given(at=st.datetimes(timezones=st.timezones()))
def test_any_moment_comes_back(at: datetime) -> None:
    """A time in any zone is kept as the same moment, in a text that sorts as time does."""
    (row,), (entry,) = chain.follow(chain.START, 1, at, [Replied(words="x")])
    assert entry.at == at.astimezone(UTC)
    assert len(row.at) == len("2024-05-06T07:08:09.000000+00:00")
    assert row.at.endswith("+00:00")


def test_text_that_moves_between_columns_changes_the_hash() -> None:
    """Two rows whose columns run together to the same text have different hashes."""
    first, second = chain._hash((1, 11, "a", "b")), chain._hash((11, 1, "a", "b"))
    third, fourth = chain._hash(("ab", "c")), chain._hash(("a", "bc"))
    assert len({first, second, third, fourth}) == 4


def test_the_walk_names_exchanged_rows() -> None:
    """Rows in another order break the chain at the first of them."""
    rows, _ = chain.follow(chain.START, 1, AT, [Replied(words=word) for word in "abcd"])
    assert [fault for _, fault in chain.broken(rows)] == [None] * 4
    exchanged = [rows[0], rows[2], rows[1], rows[3]]
    assert next(fault for _, fault in chain.broken(exchanged) if fault is not None) == 2
