import pytest
from pydantic import ValidationError

from assistant.page.face import Face


def test_an_empty_face_shows_nothing() -> None:
    """A face with nothing in it is allowed: the page stands there before the job begins."""
    face = Face()
    assert (face.step, face.act, face.left, face.timer_left) == ("", "", None, None)


def test_a_face_is_frozen() -> None:
    """A face that is being shown cannot be changed under the screens' threads."""
    with pytest.raises(ValidationError):
        Face().said = "something else"  # type: ignore[misc]


@pytest.mark.parametrize("wrong", [{"timer_left": -1}, {"left": -1}, {"number": -1}, {"colour": "red"}])
def test_what_a_face_refuses(wrong: dict[str, object]) -> None:
    """Counts and times below nothing, and anything unknown, are refused."""
    with pytest.raises(ValidationError):
        Face.model_validate(wrong)
