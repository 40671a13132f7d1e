"""Repeats and sub-procedures: gaps that nothing fills, and sub-procedures that nothing does."""

import re
from collections.abc import Iterator
from typing import Any, Final

from assistant.procedure.finding import Finding
from assistant.procedure.review.ways import Looked

_GAP: Final = re.compile(r"\{[a-z][a-z ]*\}")


def unfilled(looked: Looked) -> Iterator[Finding]:
    """Find gaps that are left in what is read out, because they stand outside of any block."""
    for place, step in enumerate(looked.procedure.steps):
        if found := _GAP.search(step.say):
            yield Finding(
                path=("steps", place, "say"),
                what=f"step {step.step} would be read out with {found[0]}, which nothing fills here",
                do="put the step into a repeat, or write the word",
            )


def idle_subs(written: Any) -> Iterator[Finding]:
    """Find sub-procedures that no step does; `written` is the file's data before blocks are written out."""
    done = set(_done(written))
    for name in written.get("subs") or ():
        if name not in done:
            yield Finding(
                path=("subs", name),
                what=f"no step does the sub-procedure {name}",
                do=f"write do: {name} among the steps, or take it out",
            )


def _done(node: Any) -> Iterator[str]:
    """Name every sub-procedure that is done anywhere."""
    if isinstance(node, dict):
        yield from (str(value) for key, value in node.items() if key == "do")
        for value in node.values():
            yield from _done(value)
    elif isinstance(node, list):
        for item in node:
            yield from _done(item)
