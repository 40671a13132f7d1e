"""Pictures: a command that the user names takes one; this program knows no camera itself."""

import shlex
import subprocess
from dataclasses import dataclass
from pathlib import Path
from typing import Final

from assistant.errors import AssistantError

ENVIRONMENT: Final = "CALLOUT_CAMERA"
"""Names the command where `--camera` does not; `{file}` in it is where the picture goes."""

_FILE: Final = "{file}"
_LONGEST_S: Final = 20.0


@dataclass(frozen=True)
class Camera:
    """A camera that a command works, such as `fswebcam --no-banner {file}`."""

    command: str

    def __post_init__(self) -> None:
        try:
            words = shlex.split(self.command)
        except ValueError as error:
            raise AssistantError(
                f"the camera's command cannot be read ({error})", do="check quotes"
            ) from error
        if not any(_FILE in word for word in words):
            raise AssistantError(
                "the camera's command does not say where the picture goes", do=f"write {_FILE} in it"
            )

    def take(self, folder: Path, number: int) -> str:
        """Take a picture into a folder; give its name.

        Raises AssistantError where the command fails, takes too long, or leaves no picture.
        """
        folder.mkdir(exist_ok=True)
        path = folder / f"picture-{number:04d}.jpg"
        words = [word.replace(_FILE, str(path)) for word in shlex.split(self.command)]
        try:
            subprocess.run(words, check=True, capture_output=True, timeout=_LONGEST_S)  # noqa: S603 - the user's own
        except (OSError, subprocess.SubprocessError) as error:
            raise AssistantError(f"the camera's command failed ({error})", do="try it by hand") from error
        if not path.is_file() or not path.stat().st_size:
            raise AssistantError("the camera's command left no picture", do="try it by hand")
        return path.name
