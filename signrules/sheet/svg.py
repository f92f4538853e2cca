"""A little SVG: elements whose text and attributes are escaped by construction, lengths to a
thousandth of a pixel.
"""

from __future__ import annotations

from xml.etree.ElementTree import Element, SubElement, tostring

Value = str | float


def px_text(value: float) -> str:
    """A coordinate."""
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def svg_picture(name: str, width: float, height: float, title: str, description: str) -> Element:
    """An image that a screen reader announces by its title and describes, as large as it is
    drawn; `name` makes its ids unique on the page.
    """
    wide, high = px_text(width), px_text(height)
    svg = Element("svg", {"role": "img", "viewBox": f"0 0 {wide} {high}", "id": name})
    svg.set("width", wide)
    svg.set("height", high)
    svg.set("aria-labelledby", f"{name}-t {name}-d")
    SubElement(svg, "title", {"id": f"{name}-t"}).text = title
    SubElement(svg, "desc", {"id": f"{name}-d"}).text = description
    return svg


def set_height(svg: Element, height: float) -> None:
    """Make a picture as high as what is in it."""
    width = svg.get("width", "0")
    svg.set("viewBox", f"0 0 {width} {px_text(height)}")
    svg.set("height", px_text(height))


def put_element(parent: Element, tag: str, kind: str, **attributes: Value) -> Element:
    """Add an element of a class; underscores in names stand for hyphens, numbers are in px."""
    element = SubElement(parent, tag, {"class": kind})
    for key, value in attributes.items():
        shown = value if isinstance(value, str) else px_text(value)
        element.set(key.replace("_", "-"), shown)
    return element


def put_line(
    parent: Element, kind: str, x1: float, y1: float, x2: float, y2: float, **attributes: Value
) -> Element:
    """Add a straight line."""
    return put_element(parent, "line", kind, x1=x1, y1=y1, x2=x2, y2=y2, **attributes)


def put_box(
    parent: Element, kind: str, x: float, y: float, width: float, height: float, **attributes: Value
) -> Element:
    """Add a rectangle."""
    return put_element(parent, "rect", kind, x=x, y=y, width=width, height=height, **attributes)


def put_words(parent: Element, kind: str, x: float, y: float, text: str) -> Element:
    """Add a line of text."""
    element = put_element(parent, "text", kind, x=x, y=y)
    element.text = text
    return element


def svg_text(svg: Element) -> str:
    """The element as text."""
    return tostring(svg, encoding="unicode")
