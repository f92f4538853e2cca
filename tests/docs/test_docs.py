"""The documents of the project are held to what the library does: every example in them
runs here.
"""

from __future__ import annotations

import ast
import contextlib
import io
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path
from unittest import mock

import pytest

from signrules import evaluate, job_from_dict, load_plugins, read_job, sample_job
from signrules.cli import main
from signrules.model import Job
from signrules.model.declared import classes_within, declared_fields, document_key
from signrules.reports.catalogue import PARAMETERS, rule_catalogue
from signrules.reports.field_tables import page_with_fields
from signrules.reports.measuring_page import page_with_procedures
from signrules.rules.checks import Level, Outcome
from signrules.rules.declaration import READS

ROOT = Path(__file__).parents[2]
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted((ROOT / "docs").glob("*.md"))]
EXAMPLES = sorted((ROOT / "docs" / "examples").glob("*.toml"))
LANGUAGES = {"python", "text", "console", "toml", "json", "sh", "yaml", "dockerfile"}

_BLOCK = re.compile(
    r"(?:^<!-- file: (?P<file>\S+) -->\n+)?^```(?P<language>\w*)\n(?P<body>.*?)^```$", re.M | re.S
)
_PROMISE = "# -> "


def blocks(page: Path):
    """The fenced blocks of a page: (file to write or None, language, body)."""
    found = [
        (m["file"], m["language"], m["body"]) for m in _BLOCK.finditer(page.read_text("utf-8"))
    ]
    assert page.read_text("utf-8").count("\n```") == 2 * len(found), (
        f"{page.name}: a block that does not close"
    )
    return found


def name(path: Path) -> str:
    return str(path.relative_to(ROOT))


@pytest.fixture
def checkout(tmp_path, monkeypatch):
    """A working directory that looks like the checkout, as far as examples need it."""
    shutil.copytree(ROOT / "docs", tmp_path / "docs")
    monkeypatch.chdir(tmp_path)
    return tmp_path


def run_python(source: str, namespace: dict, where: str) -> str:
    """Run a block; an expression whose line ends in `# -> x` must give what `x` says.

    Returns what it printed.
    """
    lines = source.splitlines()
    printed = io.StringIO()
    with contextlib.redirect_stdout(printed):
        for statement in ast.parse(source).body:
            last = lines[statement.end_lineno - 1]
            if isinstance(statement, ast.Expr) and _PROMISE in last:
                value = eval(compile(ast.Expression(statement.value), where, "eval"), namespace)
                assert repr(value) == last.split(_PROMISE, 1)[1].strip(), last
            else:
                exec(compile(ast.Module([statement], []), where, "exec"), namespace)
    return printed.getvalue()


def run_command(line: str) -> str:
    """Run `signrules ...`, or several with ` | ` between them, perhaps with ` < FILE` before and
    `; echo $?` after it; what was printed, errors first.
    """
    line, echo, _ = line.partition("; echo $?")
    line, _, file = line.partition(" < ")
    printed = Path(file.strip()).read_text("utf-8") if file else ""
    err = io.StringIO()
    for command in line.split(" | "):
        words = shlex.split(command)
        assert words[0] == "signrules", line
        out = io.StringIO()
        with (
            mock.patch.object(sys, "stdin", io.StringIO(printed)),
            contextlib.redirect_stdout(out),
            contextlib.redirect_stderr(err),
        ):
            status = main(words[1:])
        printed = out.getvalue()
    return err.getvalue() + printed + (f"{status}\n" if echo else "")


def agrees(shown: str, printed: str) -> bool:
    """Whether output is what a page shows; a line `...` stands for any lines."""
    parts = [re.escape(part) for part in re.split(r"^\.\.\.\n", shown.rstrip() + "\n", flags=re.M)]
    return re.fullmatch("(?:.*\n)*?".join(parts), printed.rstrip() + "\n") is not None


def commands(body: str):
    """The commands of a console block, each with the output that is shown."""
    for part in re.split(r"^\$ ", body, flags=re.M)[1:]:
        line, _, shown = part.partition("\n")
        yield line, shown


TAKES_SECONDS = {ROOT / "docs" / "first-rule.md", ROOT / "docs" / "testing-kit.md"}
RUNNABLE = [
    pytest.param(page, marks=pytest.mark.thorough if page in TAKES_SECONDS else ())
    for page in PAGES
]


@pytest.mark.parametrize("page", RUNNABLE, ids=map(name, PAGES))
def test_every_example_runs(page, checkout):
    namespace: dict = {"__name__": "example"}
    printed = None
    for file, language, body in blocks(page):
        assert language in LANGUAGES, f"{page.name}: a block in {language or 'no language'}"
        if file is not None:
            (checkout / file).write_text(body, encoding="utf-8")
        elif language == "python":
            printed = run_python(body, namespace, page.name)
            continue
        elif language == "text" and printed is not None:
            assert agrees(body, printed), (
                f"{page.name} shows\n{body}\nand the example prints\n{printed}"
            )
        elif language == "console":
            for line, shown in commands(body):
                output = run_command(line)
                assert agrees(shown, output), (
                    f"{page.name} shows for {line}\n{shown}\nand it prints\n{output}"
                )
        printed = None


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_links_lead_somewhere(page):
    text = page.read_text("utf-8")
    for target in re.findall(
        r"\]\(([^)\s]+)\)", re.sub(r"^```.*?^```$", "", text, flags=re.M | re.S)
    ):
        assert "://" not in target, f"{page.name} links outside: {target}"
        path, _, anchor = target.partition("#")
        linked = (page.parent / path).resolve() if path else page
        assert linked.exists(), f"{page.name}: no {target}"
        if anchor:
            headings = re.findall(r"^#+ (.*)$", linked.read_text("utf-8"), flags=re.M)
            known = {re.sub(r"[^\w\- ]", "", h.lower()).replace(" ", "-") for h in headings}
            assert anchor in known, f"{page.name}: no heading for {target}"


@pytest.mark.parametrize("page", PAGES, ids=name)
def test_a_reader_is_told_the_name_of_each_file_to_save(page):
    text = page.read_text("utf-8")
    for file, *_ in blocks(page):
        assert file is None or re.search(rf"[Ss]ave this\b[^.]* as `{re.escape(file)}`", text), (
            f"{page.name}: {file}"
        )


def test_every_page_is_reached_from_the_readme():
    readme = (ROOT / "README.md").read_text("utf-8")
    index = (ROOT / "docs" / "index.md").read_text("utf-8")
    assert "(docs/index.md)" in readme
    for page in (ROOT / "docs").glob("*.md"):
        assert page.name == "index.md" or f"({page.name})" in index, (
            f"the index does not lead to {page.name}"
        )


# --- the two commands -----------------------------------------------------------------------------


def marked(mark: str, page: str = "README.md") -> str:
    text = (ROOT / page).read_text("utf-8")
    (found,) = re.findall(
        rf"^<!-- {mark} -->\n```sh\n(.*?)```\n<!-- /{mark} -->$", text, flags=re.M | re.S
    )
    return found


def test_the_readme_has_exactly_two_commands():
    shells = [body for _, language, body in blocks(ROOT / "README.md") if language == "sh"]
    assert shells == [marked("main-job"), marked("test-command")]
    assert all(body.count("\n") == 1 for body in shells)


def test_the_first_command_ends_in_the_main_job(checkout, capsys):
    job = marked("main-job").strip().rsplit(" && ", 1)[1]
    assert job.startswith(".venv/bin/signrules check ")
    assert main(shlex.split(job)[1:]) == 0
    assert ": CHECKS PASS" in capsys.readouterr().out.splitlines()[0]


def test_ci_runs_the_commands_of_the_documents_and_no_copy_of_them():
    script = re.sub(r"^ *#.*", "", (ROOT / ".ci" / "run").read_text("utf-8"), flags=re.M)
    assert "pytest" not in script
    assert "\nrun_marked README.md test-command\n" in script
    assert "\nrun_marked DEVELOPERS.md thorough-test-command\n" in script
    assert "pytest" in marked("test-command")


def test_each_test_is_in_the_quick_command_or_in_one_of_the_others(pytestconfig):
    thorough = marked("thorough-test-command", "DEVELOPERS.md")
    slow = marked("slow-test-command", "DEVELOPERS.md")
    assert pytestconfig.getini("addopts")[-2:] == ["-m", "not (thorough or slow)"]
    assert " -m " not in marked("test-command").partition("pytest")[2]
    assert re.search(r"pytest .*-m 'thorough and not slow'", thorough)
    assert re.search(r"pytest .*-m 'slow or ", slow)


# --- the examples ---------------------------------------------------------------------------------


@pytest.mark.parametrize("path", EXAMPLES, ids=name)
def test_an_example_comes_out_as_its_comment_says(path, capsys):
    comment = " ".join(
        line.removeprefix("#").strip()
        for line in path.read_text("utf-8").split("signrules =")[0].split("\n")
    )
    assert comment.startswith("An invented scenario:")
    assert "No real shop, printer or building stands behind it." in comment
    comes_out = r"It comes out (CHECKS PASS|DO NOT PRINT: [\w ]+), exit status (\d)"
    verdict, status = re.search(comes_out, comment).groups()
    assert main(["check", str(path)]) == int(status)
    decided = capsys.readouterr().out.splitlines()[0].split(": ", 1)[1]
    # What was not checked grows with the rules, and stands in the report.
    assert decided == verdict or decided.startswith(f"{verdict}, ")


def outcomes(path: Path, change=lambda text: text) -> set[tuple[str, str]]:
    """Rule and subject of every STOP check that is broken or doubtful."""
    import tomllib

    from signrules import evaluate, job_from_dict

    result = evaluate(job_from_dict(tomllib.loads(change(path.read_text("utf-8")))))
    return {(check.rule, check.subjects[0]) for check in result.checks if check.holds_back}


CLINIC, SCRAPES, THICKNESSES = (
    ROOT / "docs" / "examples" / f"{n}.toml"
    for n in ("clinic", "clinic-scrapes", "two-thicknesses")
)


def test_the_scraping_example_breaks_clearance_on_that_pass_alone():
    assert outcomes(SCRAPES) == {
        ("clearance.strike", "passes.ground"),
        ("clearance.margin", "passes.ground"),
    }


def test_the_scraping_example_is_the_clinic_in_another_order():
    def without_sequence(path):
        text = path.read_text("utf-8").split("signrules = 1\n", 1)[1]
        return [line for line in text.splitlines() if not line.startswith("sequence")]

    assert without_sequence(SCRAPES) == without_sequence(CLINIC)


def test_the_thick_neighbour_is_struck_where_the_gap_is_small():
    def small_gap(text):
        return text.replace(
            'media = "panel"\n', 'media = "panel"\ngap = { extra = 0, above = "media" }\n'
        )

    assert ("clearance.strike", "passes.panel-colour") in outcomes(THICKNESSES, small_gap)


def test_a_sheet_nearer_than_the_head_is_long_is_struck_too():
    def nearer(text):
        return text.replace('at = ["50 mm", "200 mm"]', 'at = ["50 mm", "185 mm"]')

    assert outcomes(THICKNESSES) == set()
    assert ("clearance.strike", "passes.name-ground") in outcomes(THICKNESSES, nearer)


# --- pages that list what the code has ------------------------------------------------------------


def test_the_rule_catalogue_is_what_the_rules_give():
    written = (ROOT / "docs" / "rules.md").read_text("utf-8")
    assert written == rule_catalogue(load_plugins()), (
        "generate docs/rules.md anew, as DEVELOPERS.md says"
    )


def test_the_catalogue_names_every_parameter():
    assert tuple(PARAMETERS) == READS


def test_the_document_page_lists_every_key_of_every_table():
    page = (ROOT / "docs" / "job-document.md").read_text("utf-8")
    listed = re.findall(r"^\| `([\w-]+)` \|", page, flags=re.M)
    classes = (Job, *classes_within(Job))
    wanted = [document_key(cls, name) for cls in classes for name in declared_fields(cls)]
    wanted += ["signrules", "control", "control", "use"]
    assert sorted(listed) == sorted(wanted)


@pytest.mark.parametrize("name", ["job-document.md", "artwork.md", "schedules.md"])
def test_the_tables_of_a_page_are_the_declared_fields(name):
    page = (ROOT / "docs" / name).read_text("utf-8")
    assert page_with_fields(page) == page, "make the page anew, as DEVELOPERS.md says"


def test_the_procedures_of_the_measuring_page_are_the_declared_ones():
    page = (ROOT / "docs" / "measuring.md").read_text("utf-8")
    assert page_with_procedures(page) == page, "make the page anew, as DEVELOPERS.md says"


@pytest.mark.thorough
def test_the_command_makes_the_procedures_of_the_page_anew(tmp_path):
    page = (ROOT / "docs" / "measuring.md").read_text("utf-8")
    target = tmp_path / "measuring.md"
    target.write_text(page.replace("Tools: ", "Pets: "), encoding="utf-8")
    command = [sys.executable, "-m", "signrules.reports.measuring_page", str(target)]
    subprocess.run(command, check=True, cwd=ROOT)
    assert target.read_text("utf-8") == page


def test_the_report_page_lists_every_key_of_a_report():
    page = (ROOT / "docs" / "report.md").read_text("utf-8")
    listed = re.findall(
        r"^\| `(\w+)` \|", page.split("## Evaluation")[1].split("## ")[0], flags=re.M
    )
    report = evaluate(job_from_dict(sample_job())).to_dict()
    assert sorted(listed) == sorted(report)
    (shop,) = re.findall(r"^\| `shop` \| (.*) \|$", page, flags=re.M)
    assert re.findall(r"`(\w+)`", shop) == list(report["shop"])


def test_the_readme_names_every_outcome_and_level():
    readme = (ROOT / "README.md").read_text("utf-8")
    for word in (*Outcome, *Level):
        assert f"| `{word}` |" in readme


def test_every_example_can_be_read():
    assert len(EXAMPLES) >= 3
    for path in EXAMPLES:
        assert isinstance(read_job(path), Job)
