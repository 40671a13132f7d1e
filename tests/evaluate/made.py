import json
from pathlib import Path

from assistant.simulate.noise import workshop
from assistant.sound import write_sound

Row = dict[str, object]


def write_manifest(folder: Path, rows: list[Row]) -> Path:
    """Write a manifest, and whatever sound files it names that are not there."""
    folder.mkdir(exist_ok=True)
    for row in rows:
        path = folder / str(row["file"])
        if not path.exists():
            write_sound(path, workshop(0.3, 1))
    lines = [json.dumps(row) for row in rows]
    (folder / "manifest.jsonl").write_text("\n".join(lines) + "\n", encoding="utf-8")
    return folder
