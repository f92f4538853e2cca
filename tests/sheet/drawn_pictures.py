"""Pictures of jobs on one page, and what a browser tells of their lines and words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterable
from functools import cache
from pathlib import Path
from typing import Any

from scenario import sign_job
from sheet.hostile import HEBREW, STRETCHED, hostile_job
from sheet.many_signs import many_passes, many_signs
from sheet.pages import EXAMPLES, ask, example
from sheet.test_section import two_sided

import signrules
from signrules.sheet.bed_plan import bed_plan
from signrules.sheet.cross_section import cross_section
from signrules.sheet.load_plan import load_plan
from signrules.sheet.scene import scale_of, scene_of_each


def ganged(count: int = 36) -> dict[str, Any]:
    """Small sheets close to each other, some of them thicker."""
    job = sign_job(standards=[], signs=[])
    job["media"] = [
        {
            "id": f"plate number {number}",
            "thickness": "3 mm" if number % 5 else "5 mm",
            "size": [60, 40],
            "at": [10 + 65 * (number % 9), 10 + 45 * (number // 9)],
            "hold": "pins",
        }
        for number in range(count)
    ]
    for item in job["passes"]:
        item.update(media="plate number 1", areas=[[0, 0, 20, 20]])
        item.pop("builds", None)
    return job


def beside_block() -> dict[str, Any]:
    """A sheet to print on, a block beyond the band that is too high for the head, and a slat."""
    job = sign_job(standards=[], signs=[])
    job["media"][0]["size"] = [180, 80]
    block = {"id": "block", "thickness": "12 mm", "size": [150, 100], "at": [50, 300]}
    slat = {"id": "a slat with a long name", "thickness": "3 mm", "size": [100, 40]}
    job["media"] += [block, slat | {"at": [400, 300]}]
    for item in job["passes"]:
        item["media"] = "panel"
        item.pop("builds", None)
    return job


def small_signs() -> dict[str, Any]:
    """Sixty signs with long names on a large bed."""
    job = many_signs(60)
    job["printer"]["bed"] = [2500, 1300]
    job["media"][0]["size"] = [620, 800]
    for row in job["signs"]:
        row["id"] += f"-{STRETCHED[:90]}"
    for item in job["passes"]:
        item["builds"] = [
            f"{sign}-{STRETCHED[:90]}.{part}"
            for sign, part in (each.split(".") for each in item.get("builds", []))
        ]
    return job


def hostile_sheets() -> dict[str, Any]:
    """Sheets whose names no picture has room for, beside each other in a band."""
    job = ganged(5)
    names = [f"{HEBREW} {STRETCHED[:150]}", "</text><rect>", "\u4e2d" * 60, "i" * 90, "a b " * 30]
    for sheet, name in zip(job["media"], names, strict=True):
        sheet["id"] = name.strip()
    for item in job["passes"]:
        item["media"] = "</text><rect>"
    return job


JOBS = {
    "two-sided": two_sided,
    "thirty": many_signs,
    "sixty-passes": many_passes,
    "hostile": hostile_job,
    "hostile-sheets": hostile_sheets,
    "ganged": ganged,
    "beside-block": beside_block,
    "small-signs": small_signs,
    "too-near": lambda: sign_job(sequence=["dots", "ink-on-dots", "ground"]),
}
NAMES = ("clinic", "two-thicknesses", "clinic-scrapes", *JOBS)


@cache
def evaluated(name: str) -> signrules.Evaluation:
    """An example of the documents, or one of these jobs, evaluated."""
    if name in JOBS:
        return signrules.evaluate(signrules.job_from_dict(JOBS[name]()))
    return signrules.evaluate(signrules.read_job(EXAMPLES / f"{name}.toml"))


def pictures_of(result: signrules.Evaluation, name: str, most: int = 12) -> list[str]:
    """The pictures of a job, each pass with both of its own, each load with its plan."""
    timeline, job = result.timeline, result.job
    scenes = list(scene_of_each(timeline).values())[:most]
    pictures = []
    if scenes:
        scale = scale_of(job, scenes)
        for number, scene in enumerate(scenes):
            pictures.append(cross_section(scene, scale, f"{name}-section-{number}"))
            pictures.append(bed_plan(scene, f"{name}-plan-{number}"))
    for number, load in enumerate(dict.fromkeys(sheet.load for sheet in job.media)):
        pictures.append(load_plan(timeline, load, f"{name}-load-{number}"))
    return pictures


def page_with(pictures: Iterable[str]) -> str:
    """A page in the style of a run sheet that has nothing but some pictures."""
    page = example("clinic")[1]
    head = re.search(r"<!DOCTYPE html>.*</head>", page, re.DOTALL)
    defs = re.search(r'<svg class="defs".*?</svg>', page, re.DOTALL)
    assert head
    assert defs
    return f"{head[0]}<body>{defs[0]}{'<hr />'.join(pictures)}</body></html>"


JUDGE = """
function segments(svg, frame) {
  const found = [], at = (x, y) => {
    const p = new DOMPoint(x, y).matrixTransform(svg.getScreenCTM()); return [p.x, p.y]; };
  const join = points => points.slice(1).forEach((p, i) => found.push([points[i], p]));
  for (const e of svg.querySelectorAll('line'))
    join([at(e.x1.baseVal.value, e.y1.baseVal.value), at(e.x2.baseVal.value, e.y2.baseVal.value)]);
  for (const e of svg.querySelectorAll('polyline, polygon'))
    join([...e.points].map(p => at(p.x, p.y)));
  for (const e of svg.querySelectorAll('rect')) {
    const x = e.x.baseVal.value, y = e.y.baseVal.value;
    const r = x + e.width.baseVal.value, b = y + e.height.baseVal.value;
    join([at(x, y), at(r, y), at(r, b), at(x, b), at(x, y)]);
  }
  return found;
}
function meets([p, q], box) {  // Liang and Barsky: a segment against a rectangle.
  let t0 = 0, t1 = 1; const dx = q[0] - p[0], dy = q[1] - p[1];
  for (const [d, n] of [[-dx, p[0] - box.left], [dx, box.right - p[0]],
                        [-dy, p[1] - box.top], [dy, box.bottom - p[1]]]) {
    if (d === 0) { if (n < 0) return false; }
    else if (d < 0) t0 = Math.max(t0, n / d); else t1 = Math.min(t1, n / d);
  }
  return t0 <= t1;
}
window.addEventListener('load', () => {
  const told = {texts: 0, lines: 0, out: [], crossed: [], over: [], sizes: [], wide: []};
  for (const svg of document.querySelectorAll('svg[role=img]')) {
    const frame = svg.getBoundingClientRect(), lines = segments(svg, frame);
    const texts = [...svg.querySelectorAll('text')].filter(e => e.textContent);
    const boxes = texts.map(e => e.getBoundingClientRect());
    const scale = frame.width / svg.viewBox.baseVal.width;
    told.texts += texts.length; told.lines += lines.length;
    texts.forEach((e, i) => {
      const text = [svg.id, e.textContent], p = boxes[i];
      told.sizes.push(parseFloat(getComputedStyle(e).fontSize) * scale);
      if (p.left < frame.left - 0.5 || p.right > frame.right + 0.5 || p.top < frame.top - 1
          || p.bottom > frame.bottom + 0.5) told.out.push(text);
      for (const line of lines) if (meets(line, p)) told.crossed.push([...text, line]);
      boxes.slice(i + 1).forEach((q, j) => {
        const x = Math.min(p.right, q.right) - Math.max(p.left, q.left);
        const y = Math.min(p.bottom, q.bottom) - Math.max(p.top, q.top);
        if (x > 0.01 && y > 0.01) told.over.push([...text, texts[i + 1 + j].textContent]);
      });
    });
    for (const e of svg.querySelectorAll('line, polyline, polygon, rect, circle')) {
      const p = e.getBoundingClientRect();
      if (p.left < frame.left - 1 || p.right > frame.right + 1 || p.top < frame.top - 1
          || p.bottom > frame.bottom + 1) told.out.push([svg.id, e.getAttribute('class')]);
    }
  }
  for (const key of ['out', 'crossed', 'over']) told[key] = told[key].slice(0, 12);
  told.smallest = Math.min(...told.sizes); delete told.sizes;
  tell(JSON.stringify(told));
});
"""


def judged(page: str, folder: Path, width: int) -> dict[str, Any]:
    """What a browser of a width tells of the pictures of a page: how many lines and words it
    looked at, words that a line crosses, that lie over others or reach out of their picture, and
    the smallest size of letters in px.
    """
    told: dict[str, Any] = json.loads(ask(page, folder, JUDGE, width))
    return told
