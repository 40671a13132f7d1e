"""The finder of slips over a published table: no false alarm on what is printed, and slips of the unit found.

US Army TM 10-6640-238-13, appendix G: standard torques of cap screws with clean and dry threads, in lbf.ft.
"""

import pytest

from assistant.torque.strength import judge
from assistant.torque.units import Quantity, read_quantity

# By thread: SAE grades 2 (printed as 1 or 2), 5 and 8.
APPENDIX_G = {
    "1/4-20": (5, 8, 12), "1/4-28": (6, 10, 14), "5/16-18": (11, 17, 24), "5/16-24": (13, 19, 27),
    "3/8-16": (18, 31, 44), "3/8-24": (20, 35, 49), "7/16-14": (28, 49, 70), "7/16-20": (30, 55, 78),
    "1/2-13": (39, 75, 105), "1/2-20": (41, 85, 120), "9/16-12": (51, 110, 155), "9/16-18": (55, 120, 170),
    "5/8-11": (83, 150, 210), "5/8-18": (95, 170, 240), "3/4-10": (105, 270, 375), "3/4-16": (115, 295, 420),
    "7/8-9": (160, 395, 605), "7/8-14": (175, 435, 675), "1-8": (235, 590, 910),
}  # fmt: skip
PRINTED = [
    (thread, grade, value)
    for thread, row in APPENDIX_G.items()
    for grade, value in zip(("SAE 2", "SAE 5", "SAE 8"), row, strict=True)
]


@pytest.mark.parametrize(("thread", "grade", "pounds"), PRINTED)
def test_what_is_printed_is_plausible(thread: str, grade: str, pounds: int) -> None:
    """No value of the table is doubted, as it is printed or in newton metres."""
    value = read_quantity(f"{pounds} lbf.ft")
    assert judge(thread, grade, value, "dry").clean
    assert judge(thread, grade, value.to("N.m"), "dry").clean


@pytest.mark.parametrize(("thread", "grade", "pounds"), PRINTED)
def test_inch_pounds_written_as_foot_pounds_are_found(thread: str, grade: str, pounds: int) -> None:
    """The value in inch pounds, written with the sign of foot pounds, is a slip, and named as such."""
    inch_pounds = Quantity(value=read_quantity(f"{pounds} lbf.ft").to("lbf.in").value, unit="lbf.ft")
    verdict = judge(thread, grade, inch_pounds, "dry")
    assert verdict.finding == "unit slip"
    assert verdict.meant == Quantity(value=inch_pounds.value, unit="lbf.in")


@pytest.mark.parametrize(("thread", "grade", "pounds"), PRINTED)
def test_foot_pounds_written_as_inch_pounds_are_found(thread: str, grade: str, pounds: int) -> None:
    """The number of foot pounds, written as inch pounds, is a slip, and named as such."""
    verdict = judge(thread, grade, read_quantity(f"{pounds} lbf.in"), "dry")
    assert verdict.finding == "unit slip"
    assert verdict.meant == read_quantity(f"{pounds} lbf.ft")


@pytest.mark.parametrize(("thread", "grade", "pounds"), PRINTED)
def test_kilogram_metres_and_newton_metres_mixed_up_are_found(thread: str, grade: str, pounds: int) -> None:
    """A value in one of the two, written as the other, is a finding."""
    value = read_quantity(f"{pounds} lbf.ft")
    as_kgf = Quantity(value=value.to("N.m").value, unit="kgf.m")
    as_nm = Quantity(value=value.to("kgf.m").value, unit="N.m")
    assert judge(thread, grade, as_kgf, "dry").finding == "unit slip"
    assert not judge(thread, grade, as_nm, "dry").clean
