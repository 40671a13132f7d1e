"""Cross patterns against ASME PCC-1, the legacy cross-pattern tightening sequence (from memory)."""

import pytest

from assistant.torque.order import circle

# Bolts numbered clockwise; each line one round of four.
PCC_1 = {
    4: "1 3 2 4",
    8: "1 5 3 7  2 6 4 8",
    12: "1 7 4 10  2 8 5 11  3 9 6 12",
    16: "1 9 5 13  3 11 7 15  2 10 6 14  4 12 8 16",
    20: "1 11 6 16  3 13 8 18  5 15 10 20  2 12 7 17  4 14 9 19",
    24: "1 13 7 19  4 16 10 22  2 14 8 20  5 17 11 23  3 15 9 21  6 18 12 24",
}


@pytest.mark.parametrize("count", PCC_1)
def test_a_flange_is_tightened_crosswise(count: int) -> None:
    """The derived star pattern is the published one."""
    assert circle(count) == tuple(int(bolt) for bolt in PCC_1[count].split())
