import pytest

from assistant.errors import TorqueError
from assistant.torque.threads import PROOF_STRESSES_MPA, proof_load_kn, read_class, read_thread


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("M10", "M10x1.5"),
        ("m10 x 1.25", "M10x1.25"),
        ("M2.5", "M2.5x0.45"),
        ("1/4-20", "1/4-20"),
        ("1/4-28 UNF", "1/4-28"),
        ("#10-32", "#10-32"),
        ("No. 10-24", "#10-24"),
        ("1 1/8-7", "1 1/8-7"),
        ("1-1/8-7 UNC", "1 1/8-7"),
    ],
)
def test_threads_are_read_as_written(written: str, name: str) -> None:
    """Threads have the names that people write; a metric one without pitch is coarse."""
    assert read_thread(written).name == name


@pytest.mark.parametrize(
    ("written", "message"),
    [
        ("1/4", "'1/4' is a size without its thread; write 1/4-20 or 1/4-28"),
        ("wide", "'wide' is no thread; write it so: M10, M10x1.25, 1/4-20"),
        ("1/4-21", "write 1/4-20 or 1/4-28"),
        ("3/7-20", "3/7 is not a listed inch size"),
        ("M9", "M9 is not a listed size; write M8 if you mean that"),
        ("M10x2", "M10 has no pitch of 2 mm; coarse is M10x1.5, fine less"),
    ],
)
def test_no_thread_is_made_up(written: str, message: str) -> None:
    """A size or pitch that is not listed is a slip of the pen."""
    with pytest.raises(TorqueError, match=message):
        read_thread(written)


@pytest.mark.parametrize(
    ("written", "name"),
    [
        ("8.8", "8.8"),
        ("class 10.9", "10.9"),
        ("grade 5", "SAE 5"),
        ("SAE J429 Grade 8", "SAE 8"),
        ("a2-70", "A2-70"),
    ],
)
def test_classes_are_read_as_written(written: str, name: str) -> None:
    """A property class or grade goes by its usual names."""
    assert read_class(written) == name


def test_an_unknown_class_lists_the_known() -> None:
    """A class that is not listed is refused with the list."""
    with pytest.raises(TorqueError, match=r"'7\.7' is no known property class; write one of 4\.6"):
        read_class("7.7")


def test_a_class_ends_where_its_standard_ends() -> None:
    """Class 9.8 is not made above M16."""
    with pytest.raises(TorqueError, match="no proof load for M20"):
        proof_load_kn(read_thread("M20"), "9.8")


@pytest.mark.parametrize("grade", sorted(PROOF_STRESSES_MPA))
def test_every_class_has_a_proof_load(grade: str) -> None:
    """Every listed class proves a small screw."""
    assert proof_load_kn(read_thread("M8"), grade) > 0
