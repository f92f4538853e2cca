"""Mutants of a module: small faults that the operators of cosmic-ray plant, and a sample of them
with a seed.
"""

from __future__ import annotations

import ast
import random
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path

from attrs import frozen
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.binary_operator_replacement import operators as binary
from cosmic_ray.operators.boolean_replacer import (
    AddNot,
    ReplaceAndWithOr,
    ReplaceFalseWithTrue,
    ReplaceOrWithAnd,
    ReplaceTrueWithFalse,
)
from cosmic_ray.operators.break_continue import ReplaceBreakWithContinue, ReplaceContinueWithBreak
from cosmic_ray.operators.comparison_operator_replacement import operators as comparison
from cosmic_ray.operators.exception_replacer import ExceptionReplacer
from cosmic_ray.operators.number_replacer import NumberReplacer
from cosmic_ray.operators.remove_decorator import RemoveDecorator
from cosmic_ray.operators.unary_operator_replacement import operators as unary
from cosmic_ray.operators.zero_iteration_for_loop import ZeroIterationForLoop
from report import key_of

ARITHMETIC = {"Add", "Sub", "Mul", "Div", "FloorDiv", "Mod", "Pow"}
SETS = {"BitOr", "BitAnd", "BitXor", "Sub"}
ORDERED = {"Eq", "NotEq", "Lt", "LtE", "Gt", "GtE"}
OTHERS = (
    AddNot,
    ReplaceAndWithOr,
    ReplaceOrWithAnd,
    ReplaceTrueWithFalse,
    ReplaceFalseWithTrue,
    ReplaceBreakWithContinue,
    ReplaceContinueWithBreak,
    ExceptionReplacer,
    NumberReplacer,
    RemoveDecorator,
    ZeroIterationForLoop,
)


def of_one_kind(name: str) -> bool:
    """Whether a replacement stays among operators of one kind.

    `a + b` to `a | b` fails at once for numbers, and `a == b` to `a is b` mostly changes nothing:
    neither says anything about the tests.
    """
    words = name.split("_")
    if len(words) != 3:
        return True
    pair = set(words[1:])
    return any(
        pair <= kind for kind in (ARITHMETIC, SETS, ORDERED, {"Is", "IsNot"}, {"In", "NotIn"})
    )


OPERATORS = {
    operator.__name__: operator
    for operator in (*binary(), *comparison(), *unary(), *OTHERS)
    if of_one_kind(operator.__name__)
}


@frozen
class Mutant:
    """One planted fault.

    `before` and `after` are the first lines that differ, `nth` is which of equal lines it is.
    """

    module: str
    operator: str
    line: int
    before: str
    after: str
    source: str
    nth: int = 1

    @property
    def key(self) -> str:
        """What names it, wherever in the module it stands."""
        return key_of(self.module, self.before, self.after, self.nth)


class Bare(ast.NodeTransformer):
    """Takes away what a sound program does without: annotations, and which arguments go by name or
    place alone.
    """

    def visit_arg(self, node: ast.arg) -> ast.arg:
        node.annotation = None
        return node

    def visit_arguments(self, node: ast.arguments) -> ast.AST:
        defaults = [*node.defaults, *(value for value in node.kw_defaults if value is not None)]
        node.args, node.defaults = [*node.posonlyargs, *node.args, *node.kwonlyargs], defaults
        node.posonlyargs, node.kwonlyargs, node.kw_defaults = [], [], []
        return self.generic_visit(node)

    def visit_FunctionDef(self, node: ast.FunctionDef) -> ast.AST:
        node.returns = None
        return self.generic_visit(node)

    def visit_AnnAssign(self, node: ast.AnnAssign) -> ast.AST:
        node.annotation = ast.Constant(None)
        return self.generic_visit(node)


def bare(source: str) -> str:
    return ast.dump(Bare().visit(ast.parse(source)))


def found(source: str) -> dict[tuple[int, int], list[tuple[str, int]]]:
    """For each place (line, column) the operators that apply there, each with its count within the
    module.
    """
    places = defaultdict(list)
    nodes = list(ast_nodes(get_ast(source)))
    for name, operator in sorted(OPERATORS.items()):
        made, count = operator(), 0
        for node in nodes:
            for start, _ in made.mutation_positions(node):
                places[start].append((name, count))
                count += 1
    return dict(places)


def planted(module: str, source: str, name: str, count: int) -> Mutant | None:
    """The mutant, or None if nothing that runs has changed."""
    after = mutate_code(source, OPERATORS[name](), count)
    if after is None:
        return None
    try:
        if bare(after) == bare(source):
            return None
    except SyntaxError:
        return None
    old, new = source.splitlines(), after.splitlines()
    line = next(
        (n for n, (a, b) in enumerate(zip(old, new, strict=False)) if a != b),
        min(len(old), len(new)) - 1,
    )
    before = old[line].strip()
    nth = 1 + sum(other.strip() == before for other in old[:line])
    return Mutant(module, name, line + 1, before, new[line].strip(), after, nth)


def drawn(module: str, path: Path, seed: int) -> Iterator[Mutant]:
    """Mutants at places drawn without putting back, one operator at each; then the next of each
    place, and so on.
    """
    source = path.read_text(encoding="utf-8")
    chance = random.Random(f"{seed}:{module}")
    places = [
        chance.sample(operators, len(operators)) for _, operators in sorted(found(source).items())
    ]
    chance.shuffle(places)
    while any(places):
        for operators in places:
            while operators:
                if mutant := planted(module, source, *operators.pop()):
                    yield mutant
                    break
