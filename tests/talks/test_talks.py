from pathlib import Path

import pytest

from tests.talks.talk import play

TALKS = sorted(Path(__file__).parent.glob("*.talk"))


@pytest.mark.parametrize("path", TALKS, ids=lambda path: path.stem)
def test_talk_goes_as_written(path: Path) -> None:
    """What is answered and recorded is what the talk says, line by line."""
    play(path)
