"""A set of names that grows by one at a time, as the steps that are done do, without being copied whole."""

from collections.abc import Iterable, Iterator
from collections.abc import Set as AbstractSet
from typing import Any, Final, final

FEW: Final = 64
"""So many names are kept apart before they are put to the others."""


@final
class Names(AbstractSet[str]):
    """Never changed in place. Kept as `older`, which stays the same for long, and the few `newer` ones since."""

    __slots__ = ("newer", "older")

    def __init__(self, older: frozenset[str] = frozenset(), newer: frozenset[str] = frozenset()) -> None:
        many = len(newer) > FEW
        self.older = older | newer if many else older
        self.newer = frozenset() if many else newer - older

    @classmethod
    def _from_iterable(cls, names: Iterable[Any]) -> Any:
        """Give what comes of an operation of sets, such as a union: a plain set, which may hold anything."""
        return frozenset(names)

    def __contains__(self, name: object) -> bool:
        """Tell whether a name is among them."""
        return name in self.newer or name in self.older

    def __iter__(self) -> Iterator[str]:
        """Give the names, in no order."""
        yield from self.older
        yield from self.newer

    def __len__(self) -> int:
        """Count them."""
        return len(self.older) + len(self.newer)

    def __hash__(self) -> int:
        """Go by the names, however they are kept."""
        return hash(self.older | self.newer)

    def __repr__(self) -> str:
        """Show them in order."""
        return f"Names({sorted(self)})"

    def plus(self, name: str) -> "Names":
        """Give these and one more."""
        return self if name in self else Names(self.older, self.newer | {name})

    def minus(self, name: str) -> "Names":
        """Give these without one."""
        older = self.older - {name} if name in self.older else self.older
        return Names(older, self.newer - {name})
