"""Spoken notes and pictures as rows of a record."""

from typing import Any

from assistant.job.state import Kept
from assistant.procedure.route import Route
from assistant.record import model
from assistant.record.counted import Counted
from assistant.record.words import capital, title


def notes(job: Counted) -> tuple[model.Note, ...]:
    """List the spoken notes with their text."""
    return tuple(
        model.Note(
            note=note.number,
            matter=note.matter,
            seconds=note.seconds,
            ended_by=note.ended_by,
            text=note.text,
            written_by=note.written_by,
            rough=note.rough,
            corrected=note.corrected,
            **_kept(job, note),
        )
        for note in job.state.notes
    )


def pictures(job: Counted) -> tuple[model.Picture, ...]:
    """List the pictures."""
    return tuple(model.Picture(picture=each.number, **_kept(job, each)) for each in job.state.pictures)


def _kept(job: Counted, kept: Kept) -> dict[str, Any]:
    return {
        "number": job.number(kept.step),
        "step": kept.step,
        "say": job.route.step(kept.step).say if kept.step else "",
        "about": about(job.route, kept),
        "file": kept.file,
        "at": kept.at,
    }


def about(route: Route, kept: Kept) -> str:
    """Say in a few words which thing a note or picture is tied to; "" where only to its step."""
    if kept.group:
        group = route.procedure.groups.get(kept.group)
        named = title(group) if group else capital(kept.group)
        return named if kept.position is None else f"{named}, position {kept.position}"
    return capital(kept.part) or (f"label {kept.label}" if kept.label else "")
