"""What the decoder sees and what must follow: a saying's tokens with those that begin and end it."""

from collections.abc import Mapping, Sequence
from typing import Final

import torch

IGNORED: Final = -100
"""What must follow is not asked for here."""
_BEGIN: Final = ("startoftranscript", "en", "transcribe", "notimestamps")


def spelled(
    targets: Sequence[Sequence[int]], special: Mapping[str, int]
) -> tuple[torch.Tensor, torch.Tensor]:
    """Give the tokens that the decoder sees and what must follow each, (targets, longest), filled up at the end.

    `special` has the tokens to begin and end with, by name.
    """
    begin, end = [special[name] for name in _BEGIN], special["endoftext"]
    longest = len(begin) + max(map(len, targets))
    tokens = torch.zeros(len(targets), longest, dtype=torch.int64)
    wanted = torch.full((len(targets), longest), IGNORED)
    for place, target in enumerate(targets):
        size = len(begin) + len(target)
        tokens[place, :size] = torch.tensor([*begin, *target])
        wanted[place, len(begin) - 1 : size] = torch.tensor([*target, end])
    return tokens, wanted
