"""From what became of each case to shares with their ranges, rates an hour, confusions and the trade-off curve."""

from collections import Counter
from collections.abc import Callable, Iterable, Sequence
from itertools import groupby
from typing import Any, Final, TypeVar

import numpy as np

from assistant.evaluate.played import Heard, Played
from assistant.evaluate.scoring import Outcome, outcome_of
from assistant.evaluate.shares import Share, most_per_hour, wilson
from assistant.evaluate.workers import Results

T = TypeVar("T")
NOTHING: Final = "(nothing)"
_ROUNDING: Final = 1e-5  # of a confidence as it is kept


def commands(results: Iterable[Played]) -> list[Played]:
    """Give the cases of speech that the grammar can take."""
    return [each for each in results if each.part == "speech" and each.said]


def others(results: Iterable[Played], part: str) -> list[Played]:
    """Give the cases of talk, noise, or "outside" (speech that the grammar cannot take).

    Talk that happens to be a sentence of the grammar is left out: to act on it would be right.
    """
    if part == "outside":
        return [each for each in results if each.part == "speech" and not each.said]
    return [each for each in results if each.part == part and not each.said]


def is_false(played: Played) -> bool:
    """Tell whether something was acted on where nothing was meant."""
    return any(each.accepted for each in played.heard)


def outcomes(results: Sequence[Played]) -> dict[str, Any]:
    """Give n and, for each outcome, its share with its range."""
    counted = Counter(each.outcome for each in results)
    shares = {outcome.value: wilson(counted[outcome], len(results)) for outcome in Outcome}
    return {"n": len(results)} | {name: _rounded(share) for name, share in shares.items()}


def falses(results: Sequence[Played]) -> dict[str, Any]:
    """Give how often something was acted on where nothing was meant: the share of the clips, and an hour.

    Hours are of the recordings, without what was put around them. `an_hour_at_most` is the upper bound at 95 %.
    """
    events = sum(each.accepted for played in results for each in played.heard)
    hours = sum(played.clip_s for played in results) / 3600
    taken = sum(is_false(each) for each in results)
    asked = sum(any(each.asked for each in played.heard) for played in results)
    return {
        "n": len(results),
        "taken": _rounded(wilson(taken, len(results))),
        "asked": _rounded(wilson(asked, len(results))),
        "hours": round(hours, 4),
        "events": events,
        "an_hour": round(events / hours, 2) if hours else None,
        "an_hour_at_most": _round(most_per_hour(events, hours), 2),
    }


_GROUPS: Final[tuple[tuple[str, Callable[[Played], str]], ...]] = (
    ("snr", lambda each: each.snr),
    ("what is said", lambda each: each.kind),
    ("what is said, snr", lambda each: f"{each.kind}, {each.snr}"),
    ("noise", lambda each: each.noise_kind or "none"),
    ("noise, snr", lambda each: f"{each.noise_kind or 'none'}, {each.snr}"),
    ("speaker", lambda each: each.speaker or "not named"),
)


def details(results: Results) -> list[dict[str, Any]]:
    """Give every row of the details of an engine, each with the engine, `by` what it is split, and the `value`."""
    found = [
        {"engine": results.engine, "by": name, "value": value, **outcomes(rows), "latency_ms": _latency(rows)}
        for name, by in _GROUPS
        for value, rows in _grouped(sorted(commands(results.played), key=lambda each: each.kind), by)
    ]
    for part in ("talk", "noise", "outside"):
        played = others(results.played, part)
        by = (lambda each: each.kind) if part == "noise" else (lambda each: each.snr)
        found += [
            {"engine": results.engine, "by": f"{part} taken", "value": value, **falses(list(rows))}
            for value, rows in _grouped(played, by)
        ]
    return found + [
        {"engine": results.engine, "by": "confusion", "value": said, "heard": other, "n": count}
        for (said, other), count in confusions(results.played).most_common()
        if said != other
    ]


def summary(results: Results) -> dict[str, Any]:
    """Give the one row of an engine that stands beside the others'; shares in per cent."""
    spoken = commands(results.played)
    by_snr = {snr: outcomes(list(rows)) for snr, rows in _grouped(spoken, lambda each: each.snr)}
    shares = {
        outcome.value: {snr: row[outcome.value]["share"] for snr, row in by_snr.items()}
        for outcome in Outcome
    }
    row: dict[str, Any] = {
        "engine": results.engine,
        "revision": results.revision,
        "n": len({(each.file, each.text) for each in spoken}),
        **shares,
    }
    for part in ("talk", "noise", "outside"):
        row |= _false_row(part, others(results.played, part))
    return row | {
        "latency_ms": _latency(results.played),
        "rtf": _real_time_factor(results.played),
        "busy": _round(_ratio(results.played, lambda each: each.cpu_s, lambda each: each.seconds), 4),
        "rss_mb": round(max((each.rss_mb for each in results.played), default=0.0)),
        "code": results.code,
    }


def _false_row(part: str, played: list[Played]) -> dict[str, Any]:
    """Give the share of a part that was taken, and the rate an hour.

    The same recording at another ratio is no new hour: the bound is that of the ratio at which most was taken.
    """
    every = falses(played)
    bounds = [falses(list(rows))["an_hour_at_most"] for _, rows in _grouped(played, lambda each: each.snr)]
    return {
        f"false_{part}": every["taken"]["share"] if every["taken"] else None,
        f"false_{part}_per_hour": every["an_hour"],
        f"false_{part}_per_hour_at_most": max(bounds, default=None),
    }


def _latency(results: Iterable[Played]) -> dict[str, float | None]:
    waits = [1000 * each.latency_s for each in commands(results) if each.latency_s is not None]
    return {f"p{part}": round(float(np.percentile(waits, part))) if waits else None for part in (50, 95)}


def _real_time_factor(results: Iterable[Played]) -> float | None:
    """Give the processor time of decoding, of the length of the utterances that were decoded."""
    decoded = [each for played in results for each in played.heard]
    return _round(_ratio(decoded, lambda each: each.all_decode_s, lambda each: each.sound_s), 4)


def confusions(results: Iterable[Played]) -> Counter[tuple[str, str]]:
    """Count (said, best guess) over all ratios, whether it was acted on or not."""
    return Counter((each.text, _guess(each)) for each in commands(results))


def _guess(played: Played) -> str:
    acted = [each for each in played.heard if each.accepted] or played.heard
    best = max(acted, key=lambda each: each.confidence, default=None)
    return best.heard if best and best.heard and best.demand is not None else NOTHING


def trade_off(results: Sequence[Played], demands: Sequence[float]) -> list[tuple[float, float]]:
    """Give, for each demand of confidence, per cent of commands not acted on, and of commands acted on wrongly.

    One demand for all that can be said. What was refused for a reason other than confidence stays refused.
    """
    spoken = commands(results)
    return [_at_demand(spoken, demand) for demand in demands] if spoken else []


def _at_demand(spoken: Sequence[Played], demand: float) -> tuple[float, float]:
    counted = Counter(
        outcome_of(each.said, [u.meaning for u in each.heard if _would_act(u, demand)], asked=True)
        for each in spoken
    )
    return 100 * counted[Outcome.AGAIN] / len(spoken), 100 * counted[Outcome.WRONG] / len(spoken)


def _would_act(heard: Heard, demand: float) -> bool:
    if heard.demand is None:
        return False
    refused_otherwise = not heard.accepted and heard.confidence >= heard.demand + _ROUNDING
    return heard.confidence >= demand and not refused_otherwise


def _grouped(results: Iterable[Played], by: Callable[[Played], str]) -> list[tuple[str, list[Played]]]:
    """Group by a name, in the order in which the names first come."""
    every = list(results)
    place = {name: number for number, name in enumerate(dict.fromkeys(by(each) for each in every))}
    ordered = sorted(every, key=lambda each: place[by(each)])
    return [(name, list(rows)) for name, rows in groupby(ordered, by)]


def _ratio(items: Iterable[T], above: Callable[[T], float], below: Callable[[T], float]) -> float | None:
    every = list(items)
    whole = sum(below(each) for each in every)
    return sum(above(each) for each in every) / whole if whole else None


def _rounded(share: Share | None) -> dict[str, float] | None:
    if share is None:
        return None
    return {"share": round(share.share, 2), "low": round(share.low, 2), "high": round(share.high, 2)}


def _round(value: float | None, figures: int) -> float | None:
    return None if value is None else round(value, figures)
