import pytest

from assistant.evaluate.played import Heard, Played
from assistant.evaluate.scoring import Outcome, outcome_of
from assistant.evaluate.tables import side_by_side_cells, written
from assistant.evaluate.tally import NOTHING, confusions, details, summary, trade_off
from assistant.evaluate.workers import Results


def utterance(words: str, confidence: float, demand: float = 0.8, *, refused: bool = False) -> Heard:
    """Make an utterance; `refused` for another reason than confidence."""
    accepted = confidence >= demand and not refused
    return Heard(
        start_s=1.0,
        end_s=1.5,
        at_s=2.0,
        sound_s=1.0,
        decode_s=0.2,
        all_decode_s=0.2,
        heard=words,
        accepted=accepted,
        asked=not accepted and confidence > 0.25,
        confidence=confidence,
        why="" if accepted else "unsure",
        meaning=[words],
        demand=demand,
    )


def played(text: str, snr: str, *heard: Heard, part: str = "speech", speaker: str = "a") -> Played:
    """Make a case."""
    said = [text] if part == "speech" else []
    acted = [each.meaning for each in heard if each.accepted]
    return Played(
        engine="e",
        part=part,
        file=f"{part}-{text}",
        text=text,
        speaker=speaker,
        snr=snr,
        kind="single word",
        noise="",
        noise_kind="hum" if snr != "clean" else "",
        said=said,
        outcome=outcome_of(said, acted, asked=any(each.asked for each in heard)),
        seconds=6.2,
        clip_s=3.6,
        latency_s=0.5,
        cpu_s=0.1,
        rss_mb=77.0,
        heard=list(heard),
    )


GO, STOP = utterance("go", 0.9), utterance("stop", 0.85)
RESULTS = Results(
    engine="e",
    revision="r1",
    code="c",
    played=(
        played("go", "clean", GO),
        played("stop", "clean", STOP, speaker="b"),
        played("go", "5", STOP),
        played("stop", "5", utterance("stop", 0.5), speaker="b"),
        played("up", "5", utterance("go", 0.1)),
        played("up", "clean"),
        played("radio", "clean", GO, GO, part="talk"),
        played("radio", "5", part="talk"),
        played("", "as it is", utterance("go", 0.3), part="noise"),
    ),
)


def test_shares_are_of_commands_at_each_ratio_and_sum_to_a_hundred() -> None:
    """Right, wrong, asked again and ignored are all there is."""
    row = summary(RESULTS)
    assert row["n"] == 3
    assert row["right"] == {"clean": pytest.approx(66.67), "5": 0.0}
    assert row["wrong"]["5"] == row["again"]["5"] == row["ignored"]["5"] == pytest.approx(33.33)
    for snr in ("clean", "5"):
        assert sum(row[outcome.value][snr] for outcome in Outcome) == pytest.approx(100, abs=0.05)


def test_talk_and_noise_are_counted_by_the_clip_and_by_the_hour() -> None:
    """Two commands in one stretch of talk are two events; the bound is that of the worst ratio."""
    row = summary(RESULTS)
    assert (row["false_talk"], row["false_noise"]) == (50.0, 0.0)
    assert row["false_talk_per_hour"] == pytest.approx(2 / (2 * 3.6 / 3600))
    assert row["false_talk_per_hour_at_most"] == pytest.approx(6.296 / (3.6 / 3600), rel=1e-3)
    assert row["false_noise_per_hour_at_most"] == pytest.approx(2.996 / (3.6 / 3600), rel=1e-3)
    assert row["false_outside"] is None


def test_the_summary_has_the_agreed_keys() -> None:
    """Programs read them."""
    row = summary(RESULTS)
    shares = {"right", "wrong", "again", "false_talk", "false_noise"}
    assert shares | {"engine", "n", "latency_ms", "rtf", "rss_mb"} <= set(row)
    assert row["latency_ms"] == {"p50": 500, "p95": 500}
    assert (row["rtf"], row["rss_mb"]) == (0.2, 77)


def test_details_split_by_ratio_noise_speaker_and_kind() -> None:
    """Each row has its number of cases and the ranges."""
    rows = {(row["by"], row["value"]): row for row in details(RESULTS) if row["by"] != "confusion"}
    assert rows["speaker", "b"]["n"] == 2
    assert rows["noise", "hum"]["n"] == 3
    assert rows["noise", "hum"]["latency_ms"] == {"p50": 500, "p95": 500}
    right = rows["snr", "clean"]["right"]
    assert right["low"] < right["share"] < right["high"]
    assert rows["talk taken", "clean"]["events"] == 2
    assert rows["what is said, snr", "single word, 5"]["wrong"]["share"] == pytest.approx(33.33)


def test_confusions_count_the_best_guess_acted_on_or_not() -> None:
    """What was not heard at all is a column of its own."""
    counted = confusions(RESULTS.played)
    assert counted["go", "stop"] == 1
    assert counted["up", "go"] == 1
    assert counted["up", NOTHING] == 1
    assert counted["stop", "stop"] == 2


def test_a_higher_demand_trades_wrong_for_asked_again() -> None:
    """At no demand all guesses count; at the highest none does; what was refused otherwise stays refused."""
    results = [
        played("go", "5", utterance("stop", 0.6)),
        played("go", "5", GO),
        played("go", "5", utterance("stop", 0.95, refused=True)),
        played("go", "5"),
    ]
    assert trade_off(results, [0.0, 0.7, 1.0]) == [(50.0, 25.0), (75.0, 0.0), (100.0, 0.0)]


def test_engines_stand_side_by_side() -> None:
    """One column an engine, in a table that a page can take as it is."""
    text = written(side_by_side_cells([summary(RESULTS), summary(RESULTS) | {"engine": "f"}]))
    head, rule, *lines = text.splitlines()
    assert ("e" in head.split("|")[2], "f" in head.split("|")[3]) == (True, True)
    assert set(rule) <= set("|- ")
    assert len({len(line) for line in (head, rule, *lines)}) == 1
    assert any("66.7 / 0.0" in line for line in lines)
