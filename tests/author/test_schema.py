import json
from pathlib import Path
from typing import Any

import pytest
from jsonschema import Draft202012Validator
from ruamel.yaml import YAML

from assistant.author.schema import schema
from assistant.procedure.load import load_procedure
from assistant.procedure.model import Procedure, Step

TESTS = Path(__file__).parents[1]
SOUND = [
    path
    for folder in (TESTS.parent / "procedures", TESTS / "talks" / "bench", TESTS / "procedure")
    for path in sorted(folder.glob("*.yaml"))
    if "procedure:" in path.read_text(encoding="utf-8")
]
SHAPELESS = (
    "misspelt-key",
    "misspelt-step-key",
    "misspelt-stage-key",
    "no-about",
    "no-revision",
    "no-end-test",
    "gate-as-text",
    "no-such-condition",
    "no-such-layout",
    "no-such-stage-word",
    "step-name-with-blanks",
)


def _errors(path: Path) -> list[str]:
    written = YAML(typ="safe", pure=True).load(path.read_text(encoding="utf-8"))
    found: Any = Draft202012Validator(schema()).iter_errors(json.loads(json.dumps(written, default=str)))
    return [error.json_path for error in found]


def test_the_schema_is_one() -> None:
    """It keeps to the draft that it names."""
    Draft202012Validator.check_schema(schema())


@pytest.mark.parametrize("path", SOUND, ids=[path.stem for path in SOUND])
def test_an_editor_marks_nothing_in_what_is_sound(path: Path) -> None:
    """Whatever readers allow (plain text, one name for a list, repeats, sub-procedures) is in the schema."""
    assert _errors(path) == []


@pytest.mark.parametrize("written", ["8.8", '"8.8"', "SAE 5"])
def test_a_class_may_be_written_as_a_number(written: str, tmp_path: Path) -> None:
    """The reader takes a class that looks like a number for text, and an editor does not mark it."""
    file = tmp_path / "bolts.yaml"
    file.write_text(
        (TESTS / "procedure" / "sound.yaml").read_text(encoding="utf-8").replace('"8.8"', written)
    )
    assert _errors(file) == []
    assert load_procedure(file).groups["cover screws"].property_class == written.strip('"')


@pytest.mark.parametrize("name", SHAPELESS)
def test_an_editor_marks_what_has_the_wrong_shape(name: str) -> None:
    """A misspelt or missing key and a word that is not in the list are marked while one types."""
    assert _errors(TESTS / "procedure" / "broken" / f"{name}.yaml")


def test_every_key_of_the_models_is_in_the_schema() -> None:
    """The schema follows the models; what an editor cannot complete would be a key nobody finds."""
    made = schema()
    assert set(Procedure.model_fields) | {"subs"} == set(made["properties"])
    assert set(Step.model_fields) == set(made["$defs"]["Step"]["properties"])
