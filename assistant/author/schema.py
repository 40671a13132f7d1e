"""The JSON Schema of the written form, for editors that complete and check as one types.

It is derived from the models, so that whatever an author may write is in it; added is what readers allow
besides: plain text for a model that reads it, one name for a list, a number where it is read as text (class: 8.8),
repeats and sub-procedures.
"""

import json
from collections.abc import Iterator
from typing import Any, Final, get_args

from pydantic import BaseModel, ValidationError

from assistant.procedure.expand import BLOCKS, SHAPES
from assistant.procedure.model import Procedure
from assistant.torque.stages import WORDS, Stage

HEADER: Final = "# yaml-language-server: $schema={schema}"
"""The first line of a file that tells an editor its schema; an open convention among editors."""

_DRAFT: Final = "https://json-schema.org/draft/2020-12/schema"
_TRIED: Final = "words"
_TEXT: Final = {"type": "string"}
_LIST_OF_TEXT: Final = {"type": "array", "items": _TEXT}


def schema() -> dict[str, Any]:
    """Give the schema of a procedure's file."""
    made = Procedure.model_json_schema(by_alias=True)
    definitions = made["$defs"]
    for model in set(_models(Procedure)):
        if model.__name__ in definitions:
            definitions[model.__name__] = _with_text(model, definitions[model.__name__])
            _allow_numbers(model, definitions[model.__name__])
    _unname_groups(definitions["FastenerGroup"])
    in_steps = [_ref("Step"), _ref("repeat"), _ref("do")]
    definitions["Steps"] = {"type": "array", "minItems": 1, "items": {"anyOf": in_steps}}
    shapes = _shapes(made["properties"]["groups"])
    definitions |= {kind: _block(*keys, shapes) for kind, keys in BLOCKS.items()}
    made["properties"] |= {"steps": _ref("Steps"), "subs": _map(_ref("sub"))}
    return {"$schema": _DRAFT, **made, "title": "A procedure for callout"}


def schema_text() -> str:
    """Write the schema."""
    return json.dumps(schema(), indent=2, ensure_ascii=False) + "\n"


def _models(annotation: Any) -> Iterator[type[BaseModel]]:
    """Give every model that stands in an annotation, at first or second hand."""
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        yield annotation
        for field in annotation.model_fields.values():
            yield from _models(field.annotation)
    for inner in get_args(annotation):
        yield from _models(inner)


def _with_text(model: type[BaseModel], described: dict[str, Any]) -> dict[str, Any]:
    """Allow text where the model reads text."""
    if model is Stage:
        return {"anyOf": [{"enum": list(WORDS)}, described]}
    try:
        model.model_validate(_TRIED)
    except ValidationError:
        return described
    return {"anyOf": [_TEXT, described]}


def _allow_numbers(model: type[BaseModel], described: dict[str, Any]) -> None:
    """Allow a number where the model makes text of it."""
    for name, field in model.model_fields.items():
        if any(getattr(each, "coerce_numbers_to_str", None) for each in field.metadata):
            shape = described["properties"][field.alias or name]
            shape["anyOf"] = [*shape["anyOf"], {"type": "number"}]


def _unname_groups(group: dict[str, Any]) -> None:
    """Leave out what is not written in a group: its name stands before it, and a layout may give the count."""
    group["properties"].pop("name")
    group["required"] = [key for key in group.get("required", ()) if key != "count"]


def _ref(name: str) -> dict[str, Any]:
    return {"$ref": f"#/$defs/{name}"}


def _map(of: dict[str, Any]) -> dict[str, Any]:
    return {"type": "object", "additionalProperties": of}


def _shapes(groups: dict[str, Any]) -> dict[str, Any]:
    """Say what stands under each key of a block."""
    special = {"steps": _ref("Steps"), "groups": groups, "needs": _LIST_OF_TEXT, "each": _LIST_OF_TEXT}
    maps = {key: {"type": "object"} for key, (shape, _) in SHAPES.items() if shape is dict}
    return maps | special


def _block(keys: tuple[str, ...], also: tuple[str, ...], shapes: dict[str, Any]) -> dict[str, Any]:
    properties = {key: shapes.get(key, _TEXT) for key in (*keys, *also)}
    return {"type": "object", "properties": properties, "required": list(keys), "additionalProperties": False}
