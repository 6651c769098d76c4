"""Read a formula such as "cup + probe + slope * (101.3 - pressure)" and compute with arrays.

Names, numbers, + - * / **, brackets and a few functions; anything else is refused, so that a file
cannot do what a formula should not.
"""

import ast
import operator
from collections.abc import Callable, Sequence
from typing import Any, Final

import numpy as np

from closedcup.errors import InputError
from closedcup.metrology import Model

_OPERATORS: Final[dict[type[ast.operator], Callable[[Any, Any], Any]]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
}
_FUNCTIONS: Final = {
    "sqrt": np.sqrt,
    "exp": np.exp,
    "log": np.log,
    "sin": np.sin,
    "cos": np.cos,
}


def parse_formula(text: str, names: Sequence[str]) -> Model:
    """Return the model of a formula in the given names, in their order.

    Raises InputError for a name that is no input, an input that the formula does not use, or
    anything but arithmetic.
    """
    try:
        tree = ast.parse(text.strip(), mode="eval").body
    except SyntaxError as problem:
        raise _refused(text, f"“{text}” is not a formula.") from problem
    used = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)} - set(_FUNCTIONS)
    if unknown := sorted(used - set(names)):
        raise _refused(text, f"The formula uses {', '.join(unknown)}, which is no input.")
    if idle := sorted(set(names) - used):
        raise _refused(text, f"The formula does not use the input {', '.join(idle)}.")
    _check(tree, text)
    return lambda inputs: np.asarray(
        _evaluate(tree, dict(zip(names, inputs, strict=True))), dtype=np.float64
    )


def _check(node: ast.expr, text: str) -> None:
    match node:
        case ast.BinOp(left=left, right=right) if type(node.op) in _OPERATORS:
            _check(left, text)
            _check(right, text)
        case ast.UnaryOp(op=ast.USub() | ast.UAdd(), operand=operand):
            _check(operand, text)
        case ast.Call(func=ast.Name(id=name), args=[argument], keywords=[]) if name in _FUNCTIONS:
            _check(argument, text)
        case ast.Constant(value=int() | float()):
            pass
        case ast.Name():
            pass
        case _:
            raise _refused(text, f"“{ast.unparse(node)}” is not arithmetic.")


def _evaluate(node: ast.expr, values: dict[str, Any]) -> Any:
    match node:
        case ast.BinOp(left=left, op=op, right=right):
            return _OPERATORS[type(op)](_evaluate(left, values), _evaluate(right, values))
        case ast.UnaryOp(op=ast.USub(), operand=operand):
            return -_evaluate(operand, values)
        case ast.UnaryOp(operand=operand):
            return _evaluate(operand, values)
        case ast.Call(func=ast.Name(id=name), args=[argument]):
            return _FUNCTIONS[name](_evaluate(argument, values))
        case ast.Constant(value=value):
            return value
        case ast.Name(id=name):
            return values[name]
    raise AssertionError(ast.dump(node))  # _check() let nothing else pass


def _refused(text: str, what: str) -> InputError:
    return InputError(
        "formula",
        what,
        where=f"model “{text}”",
        fix="Use the inputs' names, numbers, + - * / **, brackets, " + ", ".join(_FUNCTIONS) + ".",
    )
