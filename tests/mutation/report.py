"""The figures of a run, with the survivors that survivors.toml explains."""

from __future__ import annotations

import tomllib
from collections import Counter
from pathlib import Path

BEGIN, END = "<!-- mutation: begin -->", "<!-- mutation: end -->"
REASONS = {
    "same result": "gives the same result for every input that can come",
    "guard": (
        "differs only where a number lies exactly on the guard of a nanometre, or within rounding"
    ),
    "effort": (
        "changes how long it takes and not what comes out: a cache, a shortcut, a bound of effort"
    ),
    "choice": "changes a number that is a free choice, where another would do as well",
}


def key_of(module: str, before: str, after: str, nth: int = 1) -> str:
    """The name of a fault in a module: a line, what becomes of it, and which it is of lines that
    say the same.
    """
    return f"{module}: {before} => {after}" + (f" ({nth})" if nth > 1 else "")


def explained() -> dict[str, str]:
    """The survivors that no test can or should kill, and the class of the reason; refuses an
    unknown class.
    """
    listed = tomllib.loads((Path(__file__).parent / "survivors.toml").read_text(encoding="utf-8"))
    reasons = {}
    for row in listed["survivor"]:
        if row["class"] not in REASONS or not row["why"]:
            raise ValueError(f"survivors.toml: {row}")
        reasons[key_of(row["module"], row["before"], row["after"], row.get("nth", 1))] = row[
            "class"
        ]
    return reasons


def share(part: int, whole: int) -> str:
    return f"{100 * part / whole:.1f} %" if whole else ""


def tables(rows: list[dict], seed: int) -> str:
    """The figures as Markdown: for each package, for each class of reason, and what is
    still open.
    """
    reasons = explained()
    counts: dict[str, Counter] = {}
    for row in rows:
        outcome = row["outcome"]
        if outcome == "survived":
            outcome = "explained" if row["key"] in reasons else "open"
        for name in (row["module"].split("/")[1], "all"):
            counts.setdefault(name, Counter())[outcome] += 1
            counts[name]["mutants"] += 1
    text = [
        f"Seed {seed}; {len({row['module'] for row in rows})} modules.",
        "",
        (
            "| package | mutants | killed | timed out | explained | open | score | without the"
            " explained |"
        ),
        "|--|--|--|--|--|--|--|--|",
    ]
    for name in sorted(counts, key=lambda name: (name == "all", name)):
        count = counts[name]
        killed = count["killed"] + count["timed out"]
        shares = (
            share(killed, count["mutants"]),
            share(killed, count["mutants"] - count["explained"]),
        )
        cells = [count[key] for key in ("mutants", "killed", "timed out", "explained", "open")]
        text.append("| " + " | ".join(map(str, [name, *cells, *shares])) + " |")
    classes = Counter(
        reasons[row["key"]]
        for row in rows
        if row["outcome"] == "survived" and row["key"] in reasons
    )
    text += ["", "| explained by | mutants |", "|--|--|"]
    text += [f"| {REASONS[name]} | {number} |" for name, number in classes.most_common()]
    still = [row for row in rows if row["outcome"] == "survived" and row["key"] not in reasons]
    if still:
        text += ["", "Still open:", ""]
        text += [
            f"- `{row['key'].removeprefix('signrules/')}`"
            for row in sorted(still, key=lambda row: row["key"])
        ]
    return "\n".join(text)


def write(page: Path, text: str) -> None:
    """Puts the figures between the marks of the page."""
    before, _, rest = page.read_text(encoding="utf-8").partition(BEGIN)
    if not rest:
        raise ValueError(f"{page} has no {BEGIN}")
    beside = page.with_name(page.name + ".new")
    beside.write_text(f"{before}{BEGIN}\n{text}\n{END}{rest.partition(END)[2]}", encoding="utf-8")
    beside.replace(page)
