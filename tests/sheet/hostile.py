"""A job whose every name is an attack on the page."""

from __future__ import annotations

from typing import Any

from scenario import sign_job

SCRIPT = "</title><script>alert(1)</script>"
TURNED = "a\u202egnp.exe\u2066\u200f"
STRETCHED = "W" * 200
HEBREW = "\u05d0\u05d1\u05d2 12"


def hostile_job(name: str = SCRIPT, **changes: Any) -> dict[str, Any]:
    """A sound job with hostile names."""
    job = sign_job(name=name)
    job["media"][0]["id"] = f"\"'><img src=x onerror=alert(2)>{HEBREW}"
    for ink, id in zip(job["inks"], (f"{TURNED}<b>", "&amp;<!--"), strict=True):
        ink["id"] = id
    ids = {
        "ground": STRETCHED,
        "dots": f"<svg onload=alert(3)>{HEBREW}",
        "ink-on-dots": "]]></desc><script>",
    }
    ids = {
        key: value.replace("]", ")").replace("[", "(").replace(".", "")
        for key, value in ids.items()
    }
    inks = {"black": job["inks"][0]["id"], "clear": job["inks"][1]["id"]}
    for ink in job["inks"]:
        ink["id"] = ink["id"].replace(".", "")
    for item in job["passes"]:
        item["id"] = ids[item["id"]]
        item["ink"] = inks[item["ink"]].replace(".", "")
        item["over"] = [ids[other] for other in item.get("over", [])]
    job["signs"][0]["media"] = job["media"][0]["id"]
    job["printer"]["name"] = f"{SCRIPT}{TURNED}" + "x" * 5000
    job["signs"][0]["text"] = [SCRIPT * 50]
    job["waivers"] = [
        {
            "rule": "no.such",
            "subject": "signs.room",
            "reason": f"{SCRIPT}\x00\x1b[31m",
            "by": TURNED,
            "until": "2027-01-31",
        }
    ]
    return job | changes
