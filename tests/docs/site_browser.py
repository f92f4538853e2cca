"""Pages of the site in a browser without a window: served from this machine, asked by a script."""

from __future__ import annotations

import contextlib
import functools
import json
import queue
import subprocess
import tempfile
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from sheet.pages import BROWSER

FLAGS = ("--headless", "--no-sandbox", "--disable-gpu", "--no-first-run", "--hide-scrollbars")
TELL = """
const tell = (what) => fetch("/told", {method: "POST", body: JSON.stringify(what)});
window.addEventListener("error", (event) => tell({error: event.message}));
"""


class _Handler(SimpleHTTPRequestHandler):
    """Serves the site; a page is followed by the script, and what the script tells is kept."""

    server: SiteServer

    def do_GET(self) -> None:
        self.server.asked.append(self.path)
        if self.path != self.server.page:
            return super().do_GET()
        text = Path(self.translate_path(self.path)).read_text("utf-8")
        script = f"<script type=module>{TELL}{self.server.script}</script></body>"
        body = text.replace("</body>", script).encode("utf-8")
        self.send_response(200)
        self.send_header("Content-Type", "text/html; charset=utf-8")
        self.send_header("Content-Length", str(len(body)))
        self.end_headers()
        self.wfile.write(body)
        return None

    def do_POST(self) -> None:
        length = int(self.headers["Content-Length"])
        self.server.told.put(json.loads(self.rfile.read(length)))
        self.send_response(204)
        self.end_headers()

    def log_message(self, *_: Any) -> None:
        pass


class SiteServer(ThreadingHTTPServer):
    """Serves one folder to this machine alone."""

    daemon_threads = True

    def __init__(self, folder: Path, page: str, script: str) -> None:
        super().__init__(("127.0.0.1", 0), functools.partial(_Handler, directory=str(folder)))
        self.page, self.script = page, script
        self.asked: list[str] = []
        self.told: queue.Queue[Any] = queue.Queue()

    def handle_error(self, *_: Any) -> None:
        """A browser that is ended breaks off what it was fetching."""


@contextlib.contextmanager
def _served(server: SiteServer) -> Iterator[str]:
    thread = threading.Thread(target=server.serve_forever)
    thread.start()
    try:
        yield f"http://127.0.0.1:{server.server_port}{server.page}"
    finally:
        server.shutdown()
        thread.join()
        server.server_close()


def told_by(site: Path, page: str, script: str, *, width: int = 1280) -> tuple[Any, list[str]]:
    """What a script on a page tells by `tell(what)`, and the paths that the browser asked for."""
    assert BROWSER is not None
    server = SiteServer(site, f"/{page}", script)
    with (
        tempfile.TemporaryDirectory(ignore_cleanup_errors=True) as profile,
        _served(server) as address,
    ):
        flags = [*FLAGS, f"--user-data-dir={profile}", f"--window-size={width},1000"]
        browser = subprocess.Popen(
            [BROWSER, *flags, "--remote-debugging-port=0", address],
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        try:
            return server.told.get(timeout=240), server.asked
        finally:
            browser.terminate()
            browser.wait(timeout=60)
