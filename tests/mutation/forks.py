"""Tests run in a process of their own, forked from one that has every other library loaded."""

from __future__ import annotations

import contextlib
import json
import os
import resource
import select
import signal
import sys
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

os.environ["SIGNRULES_FULL"] = "1"

import hypothesis  # noqa: E402
import pytest  # noqa: E402

EXAMPLES = 15
"""Examples for each property test, of the 60 to 400 that the suite takes."""
PASSED = (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED)


class Kit:
    """A pytest plugin: caps property tests, keeps chosen tests, notes how long each took, and which
    failed first.
    """

    def __init__(self, chosen=None, coverage=None, examples=EXAMPLES, known=()):
        self.chosen, self.coverage, self.examples, self.known = (
            chosen,
            coverage,
            examples,
            set(known),
        )
        self.seconds, self.failed = {}, None

    def pytest_collection_modifyitems(self, config, items):
        if self.chosen is not None:
            rank = {name: n for n, name in enumerate(self.chosen)}
            if self.known:
                rank |= {item.nodeid: -1 for item in items if item.nodeid not in self.known}
            items[:] = sorted(
                (item for item in items if item.nodeid in rank), key=lambda item: rank[item.nodeid]
            )
        for item in items:
            function = getattr(item.obj, "__func__", item.obj)
            stated = getattr(function, "_hypothesis_internal_use_settings", None)
            if stated is not None and self.examples:
                function._hypothesis_internal_use_settings = hypothesis.settings(
                    stated,
                    max_examples=min(stated.max_examples, self.examples),
                    phases=[hypothesis.Phase.explicit, hypothesis.Phase.generate],
                    database=None,
                )

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item, nextitem):
        start = time.process_time()
        if self.coverage:
            self.coverage.switch_context(item.nodeid)
        try:
            return (yield)
        finally:
            self.seconds[item.nodeid] = time.process_time() - start

    def pytest_runtest_logreport(self, report):
        if report.failed and self.failed is None:
            self.failed = report.nodeid


def run_tests(paths, kit, *more):
    arguments = [
        "-q",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:cov",
        "-p",
        "no:xdist",
        "-m",
        "",
        "--rootdir",
        str(ROOT),
    ]
    arguments += ["-W", "ignore::pytest.PytestAssertRewriteWarning", "--tb=no", *more]
    os.chdir(ROOT)
    return int(pytest.main([*arguments, *paths], plugins=[kit]))


def in_child(work, seconds):
    """What `work()` gives back as plain data, from a process of its own, or why there
    is nothing.

    `seconds` are seconds of the processor, so that a busy machine lets nothing come late. A process
    that only waits is given up after ten times as long.
    """
    reader, writer = os.pipe()
    child = os.fork()
    seconds, patience = int(seconds) + 1, 10 * (int(seconds) + 1)
    if child == 0:
        os.setpgid(0, 0)
        signal.alarm(patience + 60)  # Should the parent be gone by then.
        resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 60))
        os.close(reader)
        with open(os.devnull, "w") as nowhere:
            for stream in (1, 2):
                os.dup2(nowhere.fileno(), stream)
        os.write(writer, json.dumps(work()).encode())
        os._exit(0)
    os.close(writer)
    told, until = b"", time.monotonic() + patience
    while (left := until - time.monotonic()) > 0:
        if select.select([reader], [], [], left)[0]:
            if not (part := os.read(reader, 1 << 16)):
                break
            told += part
    late = left <= 0
    if late:
        with contextlib.suppress(ProcessLookupError):
            os.killpg(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    with contextlib.suppress(ProcessLookupError):
        os.killpg(child, signal.SIGKILL)  # What it has started and not ended.
    late = late or (os.WIFSIGNALED(status) and os.WTERMSIG(status) == signal.SIGXCPU)
    os.close(reader)
    if late:
        return "late"
    return json.loads(told) if told else "died"
