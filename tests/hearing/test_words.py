import pytest
from hypothesis import given
from hypothesis import strategies as st

from assistant.hearing.words import words_of


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("Number 12, done. Next!", "number twelve done next"),
        ("thirty-five", "thirty five"),
        ("0.35", "zero point three five"),
        (".035 inch", "point zero three five inch"),
        ("12.50", "twelve point five zero"),
        ("1,200", "one thousand two hundred"),
        ("1/4 turn", "one quarter turn"),
        ("21/64", "twenty one sixty fourths"),
        ("what's \N{LEFT DOUBLE QUOTATION MARK}open\N{RIGHT DOUBLE QUOTATION MARK}?", "what's open"),
        ("Don\N{RIGHT SINGLE QUOTATION MARK}t, the bolts'", "don't the bolts"),
        ("M8x1", "m eight x one"),
        ("20240131123456", "two zero two four zero one three one one two three four five six"),
        ("\N{EM DASH} ...", ""),
        ("", ""),
    ],
)
def test_text_is_spelled_as_it_is_spoken(text: str, words: str) -> None:
    """Lower case, no punctuation, figures as words."""
    assert words_of(text) == tuple(words.split())


@given(st.text())
def test_any_text_has_words_and_they_stay_as_they_are(text: str) -> None:
    """No text fails, and spelling what is spelled changes nothing."""
    assert words_of(" ".join(words_of(text))) == words_of(text)
