"""Names that mean harm, and a job that carries them wherever a name may stand."""

from __future__ import annotations

from typing import Any

from scenario import sign_job

SCRIPT = "<script>alert('x')</script>"
BIDI = "safe\u202egpj.exe\u2066\u200f"
ESCAPE = "\x1b[2J\x1b]0;title\x07\x9b31m"
LINES = "first\nCHECKS PASS\r\n  Pass order:\u2028next\x85"
LONG = "x" * 10_000
MARKUP = "]]>--><![CDATA[&amp;\"'`#quot;|%%{init}%%"
LINK = "[click](http://example.invalid/) {0} {{1}}"
FORMULA = '=HYPERLINK("http://example.invalid/","click")'
NUL = "a\x00b\ufffe\uffff\x08"

ALL = (SCRIPT, BIDI, ESCAPE, LINES, LONG, MARKUP, LINK, FORMULA, NUL)
FOR_IDS = (SCRIPT, "safe\u202egpj", "-->&\"'`#|%%{x}", "=1+1", "+1", "@x", "x" * 190)
"""An id holds no control characters, no dot, no bracket; 190 characters, so that a path fits in
200.
"""

PAIRS = [(name, FOR_IDS[at % len(FOR_IDS)]) for at, name in enumerate(ALL)]


def hostile_job(name: str, id: str = "dots", **changes: Any) -> dict[str, Any]:
    """A job with a name as its own, as material, text and a waiver's words, and an id of pass, ink,
    sheet and sign.
    """
    job = sign_job(name=name, **changes)
    job["media"][0] |= {"id": id, "material": name}
    job["inks"][1]["id"] = id
    job["passes"][1] |= {"id": id, "ink": id, "builds": f"{id}.braille"}
    job["passes"][2]["over"] = [id]
    job["signs"][0] |= {"id": id, "media": id, "text": [name], "kind": name}
    job["signs"][0]["surface"] = {"finish": "gloss", "character_lrv": 50, "background_lrv": 40}
    job["handling"] = [{"id": f"h{id[:150]}", "does": "pause", "after": [id]}]
    job["waivers"] = [
        {"rule": "contrast.reflectance", "subject": f"signs.{id}", "reason": name, "by": name}
    ]
    return job


def harmless(text: str) -> bool:
    """Whether a text holds no control characters but line ends, and nothing that turns writing
    around.
    """
    return all(char == "\n" or char.isprintable() for char in text)
