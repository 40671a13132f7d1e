"""Spoken notes: what is kept, what is cut off, and what survives."""

import errno
import multiprocessing
import os
import sys
from multiprocessing.connection import Connection
from pathlib import Path

import numpy as np
import pytest
import soundfile

from assistant.errors import RecordError
from assistant.notes.recorder import NoteRecorder, RecoveredNote, read_note, recover
from assistant.sound import RATE, Samples

BLOCK = RATE // 10


def noise(seconds: float, seed: int = 1) -> Samples:
    """Make sound whose samples are exact in 16 bits, so that it can be compared sample by sample."""
    values = np.random.default_rng(seed).integers(-32768, 32768, round(seconds * RATE))
    return (values / 32768).astype(np.float32)


def spoken(recorder: NoteRecorder, samples: Samples) -> None:
    """Give samples to the recorder as they come from a microphone."""
    for start in range(0, len(samples), BLOCK):
        recorder.write(samples[start : start + BLOCK])


def test_a_note_has_the_preroll_and_every_block(tmp_path: Path) -> None:
    """The FLAC holds all samples, unchanged: 16 bits, mono, 16,000 a second; nothing else is left."""
    recorder = NoteRecorder(tmp_path / "sound")
    samples = noise(1.25)
    assert recorder.begin(1, samples[:5000]) == "note-0001.flac"
    assert recorder.recording
    spoken(recorder, samples[5000:])
    assert recorder.end() == 1.25
    assert not recorder.recording
    (path,) = (tmp_path / "sound").iterdir()
    assert path.name == "note-0001.flac"
    info = soundfile.info(path)
    assert (info.format, info.subtype, info.channels, info.samplerate) == ("FLAC", "PCM_16", 1, RATE)
    np.testing.assert_array_equal(read_note(path).samples, samples)


def test_the_words_that_ended_it_are_cut_off(tmp_path: Path) -> None:
    """The last seconds that are named are not part of the note."""
    recorder = NoteRecorder(tmp_path)
    samples = noise(1.0)
    recorder.begin(1, samples)
    assert recorder.end(0.4) == 0.6
    np.testing.assert_array_equal(read_note(tmp_path / "note-0001.flac").samples, samples[:9600])


@pytest.mark.parametrize("seconds", [0.0, 0.3])
def test_a_note_of_nothing_can_still_be_read(tmp_path: Path, seconds: float) -> None:
    """A note that is no longer than the words that ended it is next to nothing, not an error."""
    recorder = NoteRecorder(tmp_path)
    recorder.begin(1, noise(seconds))
    assert recorder.end(1.0) == pytest.approx(0.0, abs=0.001)
    assert read_note(tmp_path / "note-0001.flac").seconds == pytest.approx(0.0, abs=0.001)


def test_sound_louder_than_full_scale_is_limited(tmp_path: Path) -> None:
    """A sample past the end of the scale stays at the end instead of changing its sign."""
    recorder = NoteRecorder(tmp_path)
    recorder.begin(1, np.array([2.0, 1.0, -1.0, -2.0], dtype=np.float32))
    recorder.end()
    highest = 32767 / 32768
    assert read_note(tmp_path / "note-0001.flac").samples.tolist() == [highest, highest, -1.0, -1.0]


def test_no_note_is_written_over(tmp_path: Path) -> None:
    """A number that is taken, whole or as a part, gets a name beside it."""
    recorder = NoteRecorder(tmp_path)
    names = []
    for seed in range(3):
        names.append(recorder.begin(7, noise(0.1, seed)))
        recorder.end()
    (tmp_path / "note-0008.part").write_bytes(b"")
    names.append(recorder.begin(8, noise(0.1)))
    recorder.end()
    assert names == ["note-0007.flac", "note-0007-2.flac", "note-0007-3.flac", "note-0008-2.flac"]
    for seed, name in enumerate(names[:3]):
        np.testing.assert_array_equal(read_note(tmp_path / name).samples, noise(0.1, seed))


def test_one_note_at_a_time(tmp_path: Path) -> None:
    """Beginning twice, and writing or ending without a note, are refused; the note goes on."""
    recorder = NoteRecorder(tmp_path)
    with pytest.raises(RecordError, match="no note"):
        recorder.write(noise(0.1))
    with pytest.raises(RecordError, match="no note"):
        recorder.end()
    recorder.begin(1, noise(0.1))
    with pytest.raises(RecordError, match="already"):
        recorder.begin(2, noise(0.1))
    assert recorder.end() == 0.1


def test_nothing_left_over_is_nothing_to_recover(tmp_path: Path) -> None:
    """Whole notes are left alone, and a folder that is not there is no error."""
    recorder = NoteRecorder(tmp_path)
    recorder.begin(1, noise(0.1))
    recorder.end()
    assert recover(tmp_path) == ()
    assert recover(tmp_path / "nowhere") == ()


def test_a_sample_cut_in_two_is_dropped(tmp_path: Path) -> None:
    """A part that ends in the middle of a sample gives the whole samples before it."""
    (tmp_path / "note-0003-2.part").write_bytes(b"\x00\x40" * 1600 + b"\x00")
    assert recover(tmp_path) == (RecoveredNote(note=3, file="note-0003-2.flac", seconds=0.1),)
    np.testing.assert_array_equal(read_note(tmp_path / "note-0003-2.flac").samples, np.full(1600, 0.5))
    assert [path.name for path in tmp_path.iterdir()] == ["note-0003-2.flac"]


def test_a_part_beside_its_finished_note_is_not_used(tmp_path: Path) -> None:
    """Where the end came between making the note and removing its part, the note, cut already, counts."""
    recorder = NoteRecorder(tmp_path)
    recorder.begin(1, noise(1.0))
    recorder.end(0.5)
    (tmp_path / "note-0001.part").write_bytes(bytes(2 * RATE))
    assert recover(tmp_path) == (RecoveredNote(note=1, file="note-0001.flac", seconds=0.5),)
    assert [path.name for path in tmp_path.iterdir()] == ["note-0001.flac"]


def no_room(_: int) -> None:
    """Fail as a full disk does."""
    raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))


def test_a_note_that_finds_no_room_has_not_begun(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where not even the beginning fits, nothing is left, and the next try may succeed."""
    recorder = NoteRecorder(tmp_path)
    with monkeypatch.context() as full:
        full.setattr(os, "fsync", no_room)
        with pytest.raises(RecordError, match="No space left"):
            recorder.begin(1, noise(1.0))
    assert not recorder.recording
    assert list(tmp_path.iterdir()) == []
    assert recorder.begin(1, noise(1.0)) == "note-0001.flac"
    assert recorder.end() == 1.0


def test_a_full_disk_keeps_what_was_recorded(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where the note cannot be made the error says so in one line, and its part is recovered later."""
    recorder = NoteRecorder(tmp_path)
    recorder.begin(1, noise(0.2))
    monkeypatch.setattr(os, "fsync", no_room)
    with pytest.raises(RecordError, match=r"note-0001\.flac: .*No space left.* is kept; free some space"):
        recorder.end()
    assert not recorder.recording
    monkeypatch.undo()
    assert recover(tmp_path) == (RecoveredNote(note=1, file="note-0001.flac", seconds=0.2),)
    np.testing.assert_array_equal(read_note(tmp_path / "note-0001.flac").samples, noise(0.2))


@pytest.mark.parametrize("content", [None, b"this is not sound"])
def test_a_note_that_cannot_be_read_is_an_error(tmp_path: Path, content: bytes | None) -> None:
    """A missing file and one that is not sound are named."""
    path = tmp_path / "note-0001.flac"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(RecordError, match=r"note-0001\.flac"):
        read_note(path)


def speak_for_ever(folder: Path, written: Connection) -> None:
    """Record a note without end, telling the samples after each block."""
    recorder = NoteRecorder(folder)
    samples = noise(60)
    recorder.begin(1, samples[:BLOCK])
    for start in range(BLOCK, len(samples), BLOCK):
        written.send(start)
        recorder.write(samples[start : start + BLOCK])


@pytest.mark.skipif(sys.platform == "win32", reason="SIGKILL and the fork server are of POSIX")
@pytest.mark.parametrize("blocks", [1, 3, 17])
def test_a_killed_program_has_kept_what_was_said(tmp_path: Path, blocks: int) -> None:
    """After a kill in the middle of a note, every block that was taken is in the recovered note."""
    context = multiprocessing.get_context("forkserver")
    context.set_forkserver_preload([__name__])
    receiving, sending = context.Pipe(duplex=False)
    process = context.Process(target=speak_for_ever, args=(tmp_path, sending))
    process.start()
    sending.close()
    for _ in range(blocks):
        told = receiving.recv()
    process.kill()
    process.join()
    receiving.close()
    assert process.exitcode == -9
    (found,) = recover(tmp_path)
    assert (found.note, found.file) == (1, "note-0001.flac")
    kept = read_note(tmp_path / found.file).samples
    assert len(kept) >= told
    np.testing.assert_array_equal(kept, noise(60)[: len(kept)])
