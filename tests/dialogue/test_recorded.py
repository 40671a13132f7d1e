"""Every kind of event that can be taken back has words of its own."""

from assistant.dialogue.recorded import ROWS
from assistant.job.fold import UNDOABLE


def test_everything_that_can_be_taken_back_is_named() -> None:
    """The rows and the list of what `undo` takes back agree, both ways."""
    assert ROWS.keys() == set(UNDOABLE)
