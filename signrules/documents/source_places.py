"""Line and column of any path of a job document in its TOML or JSON text.

The parsers of the standard library keep no positions. This scanner keeps nothing else: it takes the
text apart into keys and values, without judging it, and stops quietly where it does not understand.
"""

from __future__ import annotations

import json
import re
import tomllib
from bisect import bisect_right
from collections.abc import Iterator
from contextlib import suppress

from attrs import define, frozen

Key = str | int

_BARE = re.compile(r"[A-Za-z0-9_-]+")
_SPACE = re.compile(r"(?:[ \t\r\n]|#[^\n]*)*")
_SCALAR = re.compile(r"[^,\]}#\n]*")
_TOML_STRING = re.compile(
    r'"""(?:[^\\]|\\.)*?"{3,5}(?!")'
    + r"|'''.*?'{3,5}(?!')"
    + r'|"(?:[^"\\\n]|\\.)*"'
    + r"|'[^'\n]*'",
    re.S,
)
_JSON_STRING = re.compile(r'"(?:[^"\\]|\\.)*"', re.S)
_STEP = re.compile(r"\[([0-9]{1,9})\]|\.?([^.\[\]]+)")
_DEEPEST = 100


@frozen
class Region:
    """A stretch of a text in lines and columns (characters) from 1, the end column exclusive."""

    line: int
    column: int
    end_line: int
    end_column: int


@define(eq=False)
class _Node:
    """A table, list or value; `start`, of the key or header, and `end` are offsets in the text."""

    start: int
    end: int
    children: dict[Key, _Node]
    text: str | None = None
    by_id: dict[str, _Node] | None = None

    def child(self, key: Key, start: int, end: int) -> _Node:
        return self.children.setdefault(key, _Node(start, end, {}))

    def named(self, step: Key) -> _Node | None:
        """What a step of a path leads to: a key, an index, or the id of an element."""
        if step in self.children:
            return self.children[step]
        if self.by_id is None:
            self.by_id = {}
            for key, child in self.children.items():
                if isinstance(key, int) and "id" in child.children:
                    self.by_id.setdefault(child.children["id"].text or "", child)
        return self.by_id.get(str(step))


class Places:
    """The places in one text. `form` is "toml" or "json"."""

    def __init__(self, text: str, form: str) -> None:
        self.text = text
        self._lines = [0, *(match.end() for match in re.finditer("\n", text))]
        scanner = _Json(text) if form == "json" else _Toml(text)
        with suppress(_Stop, RecursionError):  # What was found up to there still helps.
            scanner.run()
        self._root = scanner.root

    def find(self, path: str) -> Region | None:
        """The region of a path such as `passes.dots`, `passes[1].gap` or `signs.room.braille`.

        Elements go by index or by id. Where a part of the path does not stand in the text, that of
        the part before it; None where not even the first part does, as for the job itself.
        """
        node = self._root
        for match in _STEP.finditer(path):
            index, name = match.groups()
            inner = node.named(int(index) if index else name)
            if inner is None:
                break
            node = inner
        if node is self._root:
            return None
        return self._region(node)

    def paths(self) -> Iterator[tuple[tuple[Key, ...], Region]]:
        """Every key and element that was found, with its region, in no particular order."""
        waiting: list[tuple[tuple[Key, ...], _Node]] = [((), self._root)]
        while waiting:
            path, node = waiting.pop()
            if path:
                yield path, self._region(node)
            waiting += [((*path, key), child) for key, child in node.children.items()]

    def _region(self, node: _Node) -> Region:
        return Region(*self._line_column(node.start), *self._line_column(node.end))

    def _line_column(self, offset: int) -> tuple[int, int]:
        line = bisect_right(self._lines, offset)
        return line, offset - self._lines[line - 1] + 1


class _Stop(Exception):
    """The text is not what the scanner understands."""


class _Scanner:
    """A cursor over a text, and the tree of what was found."""

    def __init__(self, text: str) -> None:
        self.text, self.at = text, 0
        self.root = _Node(0, len(text), {})

    def run(self) -> None:
        raise NotImplementedError

    def skip(self) -> None:
        self.at = _match_at(_SPACE, self.text, self.at).end()

    def peek(self) -> str:
        return self.text[self.at : self.at + 1]

    def take(self, expected: str) -> bool:
        if self.text.startswith(expected, self.at):
            self.at += len(expected)
            return True
        return False

    def need(self, expected: str) -> None:
        if not self.take(expected):
            raise _Stop

    def string(self, pattern: re.Pattern[str]) -> str:
        match = _match_at(pattern, self.text, self.at)
        self.at = match.end()
        return match[0]

    def elements(self, node: _Node, depth: int) -> None:
        """A list, the cursor after its bracket."""
        for index in range(
            len(self.text)
        ):  # pragma: no branch - each element takes a character at least
            self.skip()
            if self.take("]"):
                return
            inner = node.child(index, self.at, self.at)
            self.value(inner, depth + 1)
            self.skip()
            if not self.take(","):
                self.need("]")
                return

    def value(self, node: _Node, depth: int) -> None:
        raise NotImplementedError


class _Json(_Scanner):
    def run(self) -> None:
        self.skip()
        self.value(self.root, 0)

    def value(self, node: _Node, depth: int) -> None:
        if depth > _DEEPEST:
            raise _Stop
        if self.take("{"):
            self.members(node, depth)
        elif self.take("["):
            self.elements(node, depth)
        elif self.peek() == '"':
            node.text = _unquoted_key(self.string(_JSON_STRING))
        else:
            self.at = _match_at(_SCALAR, self.text, self.at).end()
            # A scalar ends before the blanks that follow it.
            self.at -= len(self.text[node.start : self.at]) - len(
                self.text[node.start : self.at].rstrip()
            )
        node.end = self.at

    def members(self, node: _Node, depth: int) -> None:
        while True:
            self.skip()
            if self.take("}"):
                return
            start = self.at
            key = _unquoted_key(self.string(_JSON_STRING))
            self.skip()
            self.need(":")
            self.skip()
            inner = node.child(key, start, self.at)
            self.value(inner, depth + 1)
            self.skip()
            if not self.take(","):
                self.need("}")
                return


class _Toml(_Scanner):
    def run(self) -> None:
        open_nodes = [self.root]
        while True:
            self.skip()
            if self.at >= len(self.text):
                return
            start = self.at
            if self.take("["):
                is_list = self.take("[")
                keys = self.keys()
                closing = "]]" if is_list else "]"
                self.need(closing)
                open_nodes = self.header(keys, start, many=is_list)
            else:
                self.pair(open_nodes[-1], 0)
            # What holds a table ends no earlier than the table does.
            for node in open_nodes[1:]:
                node.end = max(node.end, self.at)

    def header(self, keys: list[str], start: int, *, many: bool) -> list[_Node]:
        """The nodes from the root to the table of a header; a list stands for its last element."""
        nodes = [self.root]
        for position, key in enumerate(keys):
            node = nodes[-1].child(key, start, self.at)
            nodes.append(node)
            if many and position == len(keys) - 1:
                # Each header in two brackets begins one more element of its list.
                nodes.append(node.child(len(node.children), start, self.at))
            elif 0 in node.children:  # A list: the header goes on in its last element.
                nodes.append(node.children.get(len(node.children) - 1, node))
        return nodes

    def keys(self) -> list[str]:
        key_parts = []
        while True:
            self.blank()
            key_parts.append(self.key())
            self.blank()
            if not self.take("."):
                return key_parts

    def key(self) -> str:
        if self.peek() in ("'", '"'):
            return _toml_text(self.string(_TOML_STRING))
        return self.string(_BARE)

    def blank(self) -> None:
        while self.peek() in (" ", "\t"):
            self.at += 1

    def pair(self, node: _Node, depth: int) -> None:
        start, nodes = self.at, [node]
        for key in self.keys():
            nodes.append(nodes[-1].child(key, start, self.at))
        self.need("=")
        self.blank()
        self.value(nodes[-1], depth)
        for part in nodes[1:]:
            part.end = max(part.end, self.at)

    def value(self, node: _Node, depth: int) -> None:
        if depth > _DEEPEST:
            raise _Stop
        if self.take("["):
            self.elements(node, depth)
        elif self.take("{"):
            self.inline(node, depth)
        elif self.peek() in ("'", '"'):
            node.text = _toml_text(self.string(_TOML_STRING))
        else:
            start = self.at
            scalar = _match_at(_SCALAR, self.text, start)[0].rstrip()
            if not scalar:
                raise _Stop
            self.at = start + len(scalar)
        node.end = self.at

    def inline(self, node: _Node, depth: int) -> None:
        while True:
            self.skip()
            if self.take("}"):
                return
            self.pair(node, depth + 1)
            self.skip()
            if not self.take(","):
                self.need("}")
                return


def _match_at(pattern: re.Pattern[str], text: str, position: int) -> re.Match[str]:
    match = pattern.match(text, position)
    if match is None:
        raise _Stop
    return match


def _unquoted_key(quoted: str) -> str:
    try:
        return str(json.loads(quoted, strict=False))
    except ValueError:
        raise _Stop from None


def _toml_text(quoted: str) -> str:
    if "\\" not in quoted and quoted[:3] not in ('"""', "'''"):
        return quoted[1:-1]
    try:
        return str(tomllib.loads(f"text = {quoted}")["text"])
    except ValueError:
        raise _Stop from None
