"""Runs something under an audit hook, and says what it opened, wrote, started and called. Run in a
process of its own.

python -B audited.py REPORT import MODULE...
python -B audited.py REPORT command ARGUMENT...
"""

from __future__ import annotations

import json
import os
import sys
from typing import Any

WRITING = os.O_WRONLY | os.O_RDWR | os.O_CREAT | os.O_APPEND | os.O_TRUNC
CHANGES = {
    *(
        "os.mkdir",
        "os.remove",
        "os.rename",
        "os.link",
        "os.symlink",
        "os.rmdir",
        "os.truncate",
        "os.chmod",
        "os.chown",
    ),
    *("os.utime", "os.putenv", "os.unsetenv", "os.chdir", "tempfile.mkstemp", "tempfile.mkdtemp"),
    *("shutil.rmtree", "shutil.move", "shutil.copyfile", "shutil.copytree"),
}
STARTS = {
    *(
        "subprocess.Popen",
        "os.system",
        "os.exec",
        "os.fork",
        "os.forkpty",
        "os.posix_spawn",
        "os.spawn",
        "pty.spawn",
    ),
    *("_thread.start_new_thread", "_thread.start_joinable_thread", "ctypes.dlopen"),
}
NETWORK = (
    "socket.",
    "urllib.",
    "http.",
    "ftplib.",
    "smtplib.",
    "poplib.",
    "imaplib.",
    "telnetlib.",
    "nntplib.",
)


class Watch:
    """What happened, by kind; `on` says whether anyone looks."""

    def __init__(self) -> None:
        self.on = False
        self.read: list[str] = []
        self.written: list[str] = []
        self.changed: list[list[str]] = []
        self.started: list[str] = []
        self.network: list[str] = []

    def __call__(self, event: str, arguments: tuple[object, ...]) -> None:
        """The audit hook."""
        if not self.on:
            return
        if event == "open":
            path, mode, flags = arguments
            if isinstance(path, int):
                return
            writes = (
                any(each in mode for each in "wax+")
                if isinstance(mode, str)
                else bool(int(str(flags)) & WRITING)
            )
            (self.written if writes else self.read).append(os.path.abspath(os.fsdecode(path)))  # type: ignore[arg-type]
        elif event in CHANGES:
            self.changed.append(
                [event, *(os.path.abspath(a) for a in arguments if isinstance(a, str))]
            )
        elif event in STARTS:
            self.started.append(event)
        elif event.startswith(NETWORK):
            self.network.append(event)


def _watch_threads(watch: Watch) -> None:
    """Python 3.11 has no audit event for threads."""
    import _thread
    import threading

    start = _thread.start_new_thread

    def started(*arguments: Any) -> int:
        watch("_thread.start_new_thread", ())
        return start(*arguments)

    vars(_thread)["start_new_thread"] = vars(threading)["_start_new_thread"] = started


def main() -> int:
    """Do what the arguments say, and write the report."""
    report, what, *arguments = sys.argv[1:]
    watch = Watch()
    sys.addaudithook(watch)
    if sys.version_info < (3, 12):
        _watch_threads(watch)
    status = 0
    if what == "import":
        from importlib import import_module

        watch.on = True
        for name in arguments:
            import_module(name)
    else:
        from signrules.cli import main as command

        watch.on = True
        status = command(arguments)
    watch.on = False
    kinds = ("read", "written", "changed", "started", "network")
    with open(report, "w", encoding="utf-8") as file:
        json.dump({kind: getattr(watch, kind) for kind in kinds}, file)
    return status


if __name__ == "__main__":
    sys.exit(main())
