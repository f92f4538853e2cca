"""What properties an element has: its attributes, the style sheets of the file, its own style.

CSS Cascading and SVG 2, 6 (from memory). Selectors are matched by cssselect2, colours by tinycss2.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import cssselect2
import tinycss2
from tinycss2.color3 import parse_color

from signrules_artwork.faults import Reading
from signrules_artwork.painted import Ink

INHERITED = {
    "fill": "black",
    "fill-opacity": "1",
    "fill-rule": "nonzero",
    "clip-rule": "nonzero",
    "stroke": "none",
    "stroke-width": "1",
    "stroke-linecap": "butt",
    "stroke-linejoin": "miter",
    "stroke-miterlimit": "4",
    "stroke-dasharray": "none",
    "stroke-dashoffset": "0",
    "stroke-opacity": "1",
    "visibility": "visible",
    "color": "black",
    "font-family": "",
    "font-size": "16",
    "text-anchor": "start",
}
"""Properties that children take over, and what they are at first."""

OWN = (
    "display",
    "opacity",
    "clip-path",
    "mask",
    "filter",
    "overflow",
    "transform",
    "marker-start",
    "marker-mid",
    "marker-end",
    "vector-effect",
)
"""Properties of an element alone."""

KNOWN = frozenset(INHERITED) | frozenset(OWN)

Style = Mapping[str, str]


class Cascade:
    """The style sheets of a file, ready to be asked for the style of an element."""

    def __init__(self, root: Any, sheets: Iterable[str], reading: Reading) -> None:
        self._matcher = cssselect2.Matcher()
        self._wrapped: dict[Any, Any] = {}
        self._any_rule = False
        for sheet in sheets:
            self._add_sheet(sheet, reading)
        if self._any_rule:
            for element in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
                self._wrapped[element.etree_element] = element

    def style_of(self, element: Any, parent: Style) -> dict[str, str]:
        """The properties of an element, with what it takes over from its parent."""
        style = {name: parent[name] for name in INHERITED}
        declared = {name: element.get(name) for name in KNOWN if element.get(name) is not None}
        declared.update(self._sheet_declarations(element))
        own = _declarations(element.get("style") or "")
        declared.update({name: value for name, (value, _) in own.items()})
        declared.update(self._sheet_declarations(element, important=True))
        declared.update({name: value for name, (value, strong) in own.items() if strong})
        for name, value in declared.items():
            if value == "inherit":
                style[name] = parent.get(name, "")
            else:
                style[name] = value.strip()
        return style

    def _sheet_declarations(self, element: Any, *, important: bool = False) -> dict[str, str]:
        """What the style sheets say of an element, the strongest last."""
        wrapped = self._wrapped.get(element)
        if wrapped is None:
            return {}
        found = {}
        for *_, declarations in self._matcher.match(wrapped):
            for name, (value, strong) in declarations.items():
                if strong == important:
                    found[name] = value
        return found

    def _add_sheet(self, sheet: str, reading: Reading) -> None:
        rules = tinycss2.parse_stylesheet(sheet, skip_comments=True, skip_whitespace=True)
        for rule in rules:
            reading.spend_steps()
            if rule.type == "at-rule":
                reading.note(f"the rule @{rule.lower_at_keyword} of a style sheet is not followed")
            if rule.type != "qualified-rule":
                continue
            declarations = _declarations(rule.content)
            try:
                selectors = cssselect2.compile_selector_list(rule.prelude)
            except cssselect2.SelectorError:
                reading.note("a rule of a style sheet could not be understood and was left out")
                continue
            for selector in selectors:
                self._any_rule = True
                self._matcher.add_selector(selector, declarations)


def _declarations(text: Any) -> dict[str, tuple[str, bool]]:
    """Known properties of a block of declarations, each with whether it is important."""
    if not text:
        return {}
    found = {}
    for each in tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True):
        if each.type == "declaration" and each.lower_name in KNOWN:
            found[each.lower_name] = (tinycss2.serialize(each.value).strip(), each.important)
    return found


def paint_of(style: Style, name: str, reading: Reading) -> Ink | None:
    """What `fill` or `stroke` paints with; None for nothing.

    The colour names the ink, its opacity is the tint. White is the white of paper.
    """
    value = style[name]
    opacity = share_of(style[f"{name}-opacity"])
    if value.startswith("url("):
        reading.note("a pattern or gradient is taken as a solid: all of its area counts as inked")
        return Ink({"pattern": opacity}) if opacity > 0 else None
    if value == "none" or opacity <= 0:
        return None
    colour = parse_color(value)
    if colour == "currentColor":
        colour = parse_color(style["color"])
    if colour is None or isinstance(colour, str):
        if value:
            reading.note(f"a colour that is none, '{value[:40]}', is taken as black")
        return Ink({"#000000": opacity})
    opacity *= colour.alpha
    if opacity <= 0:
        return None
    name = "#" + "".join(f"{round(part * 255):02x}" for part in colour[:3])
    return Ink({}) if name == "#ffffff" else Ink({name: opacity})


def share_of(text: str) -> float:
    """A number from 0 to 1, or a percentage."""
    try:
        share = float(text[:-1]) / 100 if text.endswith("%") else float(text)
    except ValueError:
        return 1.0
    return min(max(share, 0.0), 1.0) if share == share else 1.0
