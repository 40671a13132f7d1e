"""Formulas that an author writes: names of measurements, numbers with their units, + - * / and a few functions.

simpleeval walks the formula against a list of what is allowed (never `eval`): names, the four operators,
a sign, and the functions below. Numbers are taken out of the text first, with their units, and are exact.
"""

import ast
import operator
import re
from collections.abc import Callable, Mapping
from decimal import Decimal
from fractions import Fraction
from functools import cached_property, lru_cache
from typing import Final

from pydantic import ConfigDict, RootModel, field_validator
from simpleeval import FunctionNotDefined, InvalidExpression, SimpleEval

from assistant.errors import TorqueError
from assistant.measures.amounts import Amount, amount_of, least_of, mean_of, most_of
from assistant.measures.readings import root
from assistant.torque.spellings import UNITS
from assistant.torque.units import Quantity

FUNCTIONS: Final[Mapping[str, Callable[..., Amount]]] = {
    "min": least_of,
    "max": most_of,
    "mean": mean_of,
    "abs": abs,
}
"""What a formula may call."""

_OPERATORS: Final = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.USub: operator.neg,
    ast.UAdd: operator.pos,
}
_NODES: Final = (ast.Expr, ast.Name, ast.UnaryOp, ast.BinOp, ast.Call)
_LONGEST: Final = 200
_UNITS: Final = "|".join(re.escape(unit) for unit in sorted(UNITS, key=len, reverse=True))
_STRANGE: Final = re.compile(r"[\n\r;#\\:\"'{}\[\]]|\bN\d")
_BLANK: Final = re.compile(r"(?<=[a-z]) +(?=[a-z])")
_NUMBER: Final = re.compile(rf"(?<![\w.])(\d+(?:\.\d+)?|\.\d+)(?:\s*({_UNITS})(?![\w]))?(?![\w.])")


class Formula(RootModel[str]):
    """A formula, known to be well formed; names stand in it as they are spoken, or with underscores for blanks."""

    model_config = ConfigDict(frozen=True)

    @field_validator("root")
    @classmethod
    def _well_formed(cls, text: str) -> str:
        if len(text) > _LONGEST:
            raise ValueError(f"a formula is at most {_LONGEST} characters; make two steps of it")
        try:
            _check(_parsed(text)[0])
        except (SyntaxError, InvalidExpression) as error:
            raise ValueError(f"{text!r} is not a formula ({_why(error)}); {_HOW}") from error
        return text

    def __str__(self) -> str:
        return self.root

    @cached_property
    def names(self) -> tuple[str, ...]:
        """The names in it, as they are spoken, in order and once each."""
        tree, numbers = _parsed(self.root)
        called = {id(node.func) for node in ast.walk(tree) if isinstance(node, ast.Call)}
        found = (node for node in ast.walk(tree) if isinstance(node, ast.Name) and id(node) not in called)
        ordered = sorted(found, key=lambda node: node.col_offset)
        return tuple(dict.fromkeys(_spoken(node.id) for node in ordered if node.id not in numbers))

    def amount(self, values: Mapping[str, Amount]) -> Amount:
        """Work it out. Raises TorqueError where kinds do not fit, a name is not there, or nothing divides."""
        tree, numbers = _parsed(self.root)
        names = numbers | {_written(name): value for name, value in values.items()}
        walker = _walker(names)
        try:
            found = walker.eval(self.root, previously_parsed=tree)
        except (InvalidExpression, TypeError) as error:
            raise TorqueError(f"{self.root!r} cannot be worked out ({_why(error)})", do=_HOW) from error
        assert isinstance(found, Amount)  # noqa: S101  (nothing else is let in)
        return found

    def value(self, values: Mapping[str, Quantity], unit: str) -> Quantity:
        """Work it out in a unit; raises TorqueError as `amount` does."""
        return self.amount({name: amount_of(value) for name, value in values.items()}).quantity(unit)

    def doubt(
        self, values: Mapping[str, Quantity], doubts: Mapping[str, Quantity], unit: str
    ) -> Quantity | None:
        """Give the uncertainty that those of the inputs make together; None where none of them has one.

        Each input is moved up and down by its own uncertainty, half of what that changes is its part, and
        the parts are added as squares: the law of propagation for inputs that do not hang together, with
        the parts found by calculation (JCGM 100:2008, 5.1.2 and the note to 5.1.3).
        """
        amounts = {name: amount_of(value) for name, value in values.items()}
        parts = [self._part(amounts, name, amount_of(doubts[name])) for name in self.names if name in doubts]
        total = root(sum((part**2 for part in parts), Fraction()))
        return Amount(total, self.amount(amounts).kind).quantity(unit) if parts else None

    def _part(self, amounts: Mapping[str, Amount], name: str, moved: Amount) -> Fraction:
        up = self.amount({**amounts, name: amounts[name] + moved})
        down = self.amount({**amounts, name: amounts[name] - moved})
        assert up.number is not None  # noqa: S101  (all inputs have numbers)
        assert down.number is not None  # noqa: S101
        return (up.number - down.number) / 2


_HOW: Final = f"write names, numbers with units, + - * / and {', '.join(FUNCTIONS)}, such as bore - shaft"


def _spoken(name: str) -> str:
    return name.replace("_", " ")


def _written(name: str) -> str:
    return name.replace(" ", "_")


@lru_cache(maxsize=256)
def _parsed(text: str) -> tuple[ast.stmt, dict[str, Amount]]:
    """Read the text into a tree, and its numbers into amounts with names of their own."""
    numbers: dict[str, Amount] = {}

    def name(found: re.Match[str]) -> str:
        made = f"N{len(numbers)}"  # names are in small letters
        number = Decimal(found[1])
        unit = found[2]
        numbers[made] = amount_of(Quantity(value=number, unit=unit)) if unit else Amount(Fraction(number))
        return made

    if not text.strip() or _STRANGE.search(text):
        raise InvalidExpression("it is one line of small letters")
    return SimpleEval.parse(_NUMBER.sub(name, _BLANK.sub("_", text.strip()))), numbers


def _walker(names: Mapping[str, Amount]) -> SimpleEval:
    walker = SimpleEval(operators=dict(_OPERATORS), functions=dict(FUNCTIONS), names=dict(names))
    walker.nodes = {kind: walker.nodes[kind] for kind in _NODES}
    return walker


def _check(tree: ast.stmt) -> None:
    """Refuse whatever is not on the list, without working anything out."""
    for node in ast.walk(tree):
        if not isinstance(node, (*_NODES, ast.operator, ast.unaryop, ast.expr_context)):
            raise InvalidExpression("that has no place in a formula")
        if isinstance(node, ast.operator | ast.unaryop) and type(node) not in _OPERATORS:
            raise InvalidExpression("only + - * / are known")
        if isinstance(node, ast.Call):
            _check_call(node)


def _check_call(node: ast.Call) -> None:
    if not isinstance(node.func, ast.Name) or node.func.id not in FUNCTIONS:
        raise InvalidExpression("no such function is known")
    if node.keywords or not node.args or (node.func.id == "abs" and len(node.args) > 1):
        raise InvalidExpression(f"{node.func.id} takes its values in brackets")


def _why(error: Exception) -> str:
    if isinstance(error, SyntaxError | FunctionNotDefined):
        return "a sign or a bracket is missing" if isinstance(error, SyntaxError) else "no such function"
    return str(getattr(error, "message", error))
