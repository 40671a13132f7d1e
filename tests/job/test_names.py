from hypothesis import given
from hypothesis import strategies as st

from assistant.job.names import FEW, Names

CHANGES = st.lists(st.tuples(st.booleans(), st.integers(0, 3 * FEW).map(str)), max_size=4 * FEW)


@given(CHANGES)
def test_names_are_those_of_a_plain_set(changes: list[tuple[bool, str]]) -> None:
    """Whatever is added and taken out, in any order, the names are those that a plain set would have."""
    names, plain = Names(), set[str]()
    for added, name in changes:
        names = names.plus(name) if added else names.minus(name)
        plain = plain | {name} if added else plain - {name}
        assert (name in names) == added
    assert set(names) == plain
    assert len(names) == len(plain)
    assert names == Names(frozenset(plain))
    assert set(names | {"more"}) == plain | {"more"}
    assert frozenset({"more"}) - names == {"more"} - plain


def test_few_names_are_kept_apart() -> None:
    """What is added never copies the many that were there before, until it has become many itself."""
    older = frozenset(map(str, range(1000)))
    names = Names(older)
    for number in range(1000, 1000 + FEW):
        names = names.plus(str(number))
        assert names.older is older
    assert names.plus("one more").newer == frozenset()
