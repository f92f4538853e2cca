"""Measures how dense code is to read, package beside package.

    python tests/readability.py signrules attrs cattrs networkx pluggy jsonschema

prints a Markdown table with a row for each measure and a column for each package that is installed.
The measures are signs, not limits: code that is read once and understood scores well on them, and
code that is bent to score well does not read better.
"""

from __future__ import annotations

import ast
import importlib.util
import io
import re
import sys
import tokenize
from collections import Counter
from collections.abc import Callable, Iterator
from pathlib import Path
from statistics import mean

import networkx
from attrs import frozen

LONGEST_LINE = 100
PACKAGES = {"attrs": "attr"}
"""Distributions whose package has another name."""

_TESTS = re.compile(r"(^|/)(tests?|testing/_?tests?|vendor|_vendor)/")


@frozen
class Module:
    """One source file of a package: its dotted name, its text and its tree."""

    name: str
    is_package: bool
    text: str
    tree: ast.Module

    @property
    def lines(self) -> list[str]:
        """The lines that are not blank."""
        return [line for line in self.text.splitlines() if line.strip()]


def modules_of(package: str) -> list[Module]:
    """The modules of an installed package, without tests and vendored code.

    Raises LookupError where it is not installed.
    """
    found = importlib.util.find_spec(PACKAGES.get(package, package))
    if found is None or not found.submodule_search_locations:
        raise LookupError(f"no package {package} is installed")
    root = Path(next(iter(found.submodule_search_locations)))
    modules = []
    for path in sorted(root.rglob("*.py")):
        inside = path.relative_to(root)
        if _TESTS.search(f"/{inside.as_posix()}"):
            continue
        parts = [root.name, *inside.with_suffix("").parts]
        is_package = parts[-1] == "__init__"
        text = path.read_text("utf-8")
        modules.append(
            Module(".".join(parts[:-1] if is_package else parts), is_package, text, ast.parse(text))
        )
    return modules


def nodes_a_line(modules: list[Module]) -> float:
    """Syntax nodes for each line that holds code, docstrings left out of both."""
    nodes = 0
    lines: set[tuple[str, int]] = set()
    for module in modules:
        docstrings = {id(node) for node in _docstrings(module.tree)}
        for node in ast.walk(module.tree):
            if id(node) in docstrings or isinstance(node, ast.expr_context):
                continue
            nodes += 1
            if hasattr(node, "lineno"):
                lines.add((module.name, node.lineno))
    return nodes / max(len(lines), 1)


def _docstrings(tree: ast.Module) -> Iterator[ast.AST]:
    for node in ast.walk(tree):
        body = getattr(node, "body", None)
        if isinstance(body, list):
            for each in body:
                if isinstance(each, ast.Expr) and isinstance(each.value, ast.Constant):
                    yield each
                    yield each.value


def long_lines(modules: list[Module]) -> float:
    """Lines of more than `LONGEST_LINE` characters, in %."""
    lines = [line for module in modules for line in module.lines]
    return 100 * sum(len(line) > LONGEST_LINE for line in lines) / len(lines)


def local_name_letters(modules: list[Module]) -> float:
    """Letters in the name of a local variable, mean over the different names of each function."""
    return mean(len(name) for module in modules for name in _local_names(module.tree))


def _local_names(tree: ast.Module) -> Iterator[str]:
    for function in _functions(tree):
        stored = {
            node.id
            for node in ast.walk(function)
            if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
        }
        yield from sorted(name for name in stored if name.strip("_"))


def _functions(tree: ast.Module) -> Iterator[ast.FunctionDef | ast.AsyncFunctionDef]:
    return (
        node for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)
    )


def one_word_functions(modules: list[Module]) -> float:
    """Functions whose name is a single word, in %; special methods are left out."""
    names = [function.name for module in modules for function in _functions(module.tree)]
    named = [name.strip("_") for name in names if not name.startswith("__")]
    return 100 * sum("_" not in name for name in named) / len(named)


def comment_lines(modules: list[Module]) -> float:
    """Lines that hold a comment and nothing else, in %."""
    comments = 0
    for module in modules:
        for token in tokenize.generate_tokens(io.StringIO(module.text).readline):
            if token.type == tokenize.COMMENT and token.line.strip().startswith("#"):
                comments += 1
    return 100 * comments / sum(len(module.lines) for module in modules)


def conditional_expressions(modules: list[Module]) -> float:
    """Conditional expressions for each 1,000 lines."""
    found = sum(isinstance(node, ast.IfExp) for module in modules for node in ast.walk(module.tree))
    return 1000 * found / sum(len(module.lines) for module in modules)


def longest_import_chain(modules: list[Module]) -> int:
    """Modules in the longest chain in which each imports the next; those that import each other
    count once.
    """
    return _longest_path(_import_graph(modules, lambda name: name))


def longest_folder_chain(modules: list[Module]) -> int:
    """The same of folders, or of modules that lie at the top: what a reader crosses on the way
    down.
    """
    return _longest_path(_import_graph(modules, lambda name: ".".join(name.split(".")[:2])))


def _import_graph(modules: list[Module], node_of: Callable[[str], str]) -> networkx.DiGraph:
    """What imports what when it is loaded, as nodes that stand for the modules."""
    graph = networkx.DiGraph()
    names = {module.name for module in modules}
    for module in modules:
        importing = node_of(module.name)
        graph.add_node(importing)
        for imported in _imported(module, names):
            if node_of(imported) != importing:
                graph.add_edge(importing, node_of(imported))
    return graph


def _longest_path(graph: networkx.DiGraph) -> int:
    return len(networkx.dag_longest_path(networkx.condensation(graph)))


def _imported(module: Module, names: set[str]) -> Iterator[str]:
    """The modules of the same package that a module imports when it is loaded."""
    for node in _at_load(module.tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names if alias.name in names)
        if isinstance(node, ast.ImportFrom):
            base = _base_of(module, node)
            for alias in node.names:
                inner = f"{base}.{alias.name}"
                found = inner if inner in names else base
                if found in names:
                    yield found


def _at_load(tree: ast.Module) -> Iterator[ast.AST]:
    """The statements that run when a module is loaded: not those in functions or under
    TYPE_CHECKING.
    """
    waiting: list[ast.AST] = list(tree.body)
    while waiting:
        node = waiting.pop()
        yield node
        if isinstance(node, ast.If) and "TYPE_CHECKING" in ast.dump(node.test):
            waiting += node.orelse
        elif not isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            waiting += ast.iter_child_nodes(node)


def _base_of(module: Module, node: ast.ImportFrom) -> str:
    if not node.level:
        return node.module or ""
    parts = module.name.split(".")
    up = node.level - (1 if module.is_package else 0)
    kept = parts[: len(parts) - up] if up else parts
    return ".".join([*kept, *([node.module] if node.module else [])])


def longest_function(modules: list[Module]) -> int:
    """Lines of the longest function."""
    return max(
        (node.end_lineno or 0) - node.lineno + 1
        for module in modules
        for node in _functions(module.tree)
    )


def repeated_module_names(modules: list[Module]) -> int:
    """Names of modules that several modules have."""
    counts = Counter(module.name.rpartition(".")[2] for module in modules if not module.is_package)
    return sum(count > 1 for count in counts.values())


MEASURES = {
    "syntax nodes a line": nodes_a_line,
    "lines over 100 characters, %": long_lines,
    "letters in a local name": local_name_letters,
    "functions named by one word, %": one_word_functions,
    "comment lines, %": comment_lines,
    "conditional expressions a 1,000 lines": conditional_expressions,
    "longest import chain, modules": longest_import_chain,
    "longest import chain, folders": longest_folder_chain,
    "lines of the longest function": longest_function,
    "module names that several have": repeated_module_names,
}


def main(packages: list[str]) -> None:
    """Print the table of some packages."""
    measured = {package: modules_of(package) for package in packages}
    print("| measure |", " | ".join(measured), "|")
    print("| --- |", " | ".join("---" for _ in measured), "|")
    for title, measure in MEASURES.items():
        found = [measure(modules) for modules in measured.values()]
        print(f"| {title} |", " | ".join(f"{each:.3g}" for each in found), "|")


if __name__ == "__main__":
    main(sys.argv[1:] or ["signrules"])
