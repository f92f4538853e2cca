"""What all pictures drawn as SVG share: the document with its styles, and lines of text."""

from __future__ import annotations

from xml.etree import ElementTree

from signrules.reports.picture_text import PLACE_WIDTH, clipped_text

MOST_TOLD = 200
"""The most edges or steps of which the description of a picture tells."""

NARROWEST = 420.0
MARGIN = 20.0
SMALL = 6.5
"""Pixels: the least width of a picture, what is left free at its sides, and about how wide a small
character is, an upper bound for usual fonts.
"""

_FONT = "font-family: sans-serif; font-size: 13px"
_STYLE = f"""
.sr text {{ {_FONT}; fill: #111; }}
.sr .small {{ font-size: 11px; fill: #333; }}
.sr .edge path {{ fill: none; stroke: #444; stroke-width: 1.4; }}
.sr .node rect, .sr .node polygon {{ fill: #fff; stroke: #222; stroke-width: 1.4; }}
.sr .pass rect {{ fill: #e8f1fa; stroke-width: 2; }}
.sr .media rect {{ fill: #f1f1f1; stroke-width: 3; }}
.sr .height rect {{ fill: #fff; stroke-dasharray: 2 2; }}
.sr .handling polygon {{ fill: #fdf3dc; }}
.sr .kind-0 path {{ stroke: #a33; stroke-width: 2.4; }}
.sr .kind-1 path {{ stroke: #05588f; stroke-width: 2.4; stroke-dasharray: 9 3; }}
.sr .kind-2 path {{ stroke: #111; stroke-dasharray: 2 3; stroke-width: 2.4; }}
.sr .kind-3 path {{ stroke: #7a4a8a; stroke-dasharray: 9 3 2 3; }}
.sr .kind-4 path {{ stroke: #777; }}
.sr .kind-5 path {{ stroke: #8a6d00; stroke-dasharray: 5 5; }}
.sr .kind-6 path {{ stroke: #777; stroke-dasharray: 1 3; }}
.sr .print rect {{ fill: #e8f1fa; stroke-width: 2.4; }}
.sr .align rect {{ fill: #fdf3dc; }}
"""


def svg_root(width: float, height: float, title: str, described: str) -> ElementTree.Element:
    """The element that holds a picture, at least so wide, its title in the first line."""
    width = max(width, NARROWEST)
    svg = ElementTree.Element(
        "svg",
        {
            "xmlns": "http://www.w3.org/2000/svg",
            "viewBox": f"0 0 {width:.0f} {height:.0f}",
            "width": f"{width:.0f}",
            "height": f"{height:.0f}",
            "class": "sr",
            "role": "img",
            # WAI-ARIA: a screen reader says title and description in place of the drawing.
            "aria-labelledby": "sr-title sr-desc",
        },
    )
    ElementTree.SubElement(svg, "title", {"id": "sr-title"}).text = title
    ElementTree.SubElement(svg, "desc", {"id": "sr-desc"}).text = described or "Nothing."
    ElementTree.SubElement(svg, "style").text = _STYLE
    definitions = ElementTree.SubElement(svg, "defs")
    marker = ElementTree.SubElement(
        definitions,
        "marker",
        {"id": "sr-arrow", "viewBox": "0 0 10 10", "refX": "9", "refY": "5", "orient": "auto"}
        | {"markerWidth": "9", "markerHeight": "9", "markerUnits": "userSpaceOnUse"},
    )
    ElementTree.SubElement(
        marker, "path", {"d": "M0 0 L10 5 L0 10 z", "fill": "#222", "stroke": "none"}
    )
    # Many programs show a picture on a dark ground, on which black lines vanish.
    ElementTree.SubElement(svg, "rect", {"width": "100%", "height": "100%", "fill": "#fff"})
    places = int((width - 2 * MARGIN) / PLACE_WIDTH)
    add_text(svg, MARGIN, 24, clipped_text(title, places - 1))
    return svg


def add_text(
    parent: ElementTree.Element,
    x: float,
    y: float,
    text: str,
    *,
    middle: bool = False,
    small: bool = False,
) -> None:
    """Adds a line of text that starts at `x`, or has its middle there."""
    attributes = {"x": f"{x:.1f}", "y": f"{y:.1f}"}
    if middle:
        attributes["text-anchor"] = "middle"
    if small:
        attributes["class"] = "small"
    ElementTree.SubElement(parent, "text", attributes).text = text


def svg_document(svg: ElementTree.Element) -> str:
    """The picture as a file."""
    ElementTree.indent(svg)
    return (
        f'<?xml version="1.0" encoding="UTF-8"?>\n{ElementTree.tostring(svg, encoding="unicode")}\n'
    )
