"""One mistake of an author, as the modules that look for them give it."""

from dataclasses import dataclass

Path = tuple[str | int, ...]


@dataclass(frozen=True, kw_only=True)
class Finding:
    """One mistake: the path of keys to it, what is wrong, and what to do."""

    path: Path
    what: str
    do: str
