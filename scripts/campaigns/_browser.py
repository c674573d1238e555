"""Shows pages in a browser, and tells what they asked for over the network; the listener is this process's own."""

from __future__ import annotations

import html
import shutil
import subprocess
import threading
from collections.abc import Sequence
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

from scripts.campaigns._payloads import PORT

BROWSERS = ("chromium", "chromium-browser", "google-chrome")
LIMIT_S = 60.0
CALIBRATION = "calibration"
OWN = '<!doctype html><img src="http://127.0.0.1:{port}/calibration"><script>fetch("http://127.0.0.1:{port}/script")</script>'


def requests_from(pages: Sequence[Path], folder: Path, trap: str) -> tuple[list[str], str]:
    """What the pages asked for when a browser showed them, and a line on how they were shown.

    Args:
        pages: files to show.
        folder: for the browser's own files.
        trap: the address that hostile texts call, with a place for the port.

    Returns:
        Paths that were asked for; none where all is well. And `browser: ...`, or `no browser: ...` where the pages were
        not shown: there is none, the port is taken, or the browser did not obey a page that is hostile on purpose.
    """
    browser = next(filter(None, map(shutil.which, BROWSERS)), None)
    if browser is None or not pages:
        return [], "no browser: none of " + ", ".join(BROWSERS) + " is on this machine, or no page was written"
    asked: list[str] = []

    class Listener(BaseHTTPRequestHandler):
        """Notes what is asked for."""

        def do_GET(self) -> None:
            """Note it, and say that there is nothing."""
            asked.append(self.path)
            self.send_error(404)

        def log_message(self, *_: object) -> None:
            """Be quiet."""

    try:
        server = ThreadingHTTPServer(("127.0.0.1", PORT), Listener)
    except OSError as taken:
        return [], f"no browser: {trap.format(port=PORT)} cannot be listened to: {taken}"
    with server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        try:
            own = folder / "own.html"
            own.write_text(OWN.format(port=PORT))
            _show(browser, [own], folder)
            obeyed, asked[:] = {*asked} >= {"/calibration", "/script"}, []
            _show(browser, pages, folder)
        finally:
            server.shutdown()
    if not obeyed:
        return [], "no browser: it did not obey a page that is hostile on purpose, so nothing can be learnt from it"
    return asked, f"browser: {len(pages)} pages shown by {Path(browser).name}, {len(asked)} requests"


def _show(browser: str, pages: Sequence[Path], folder: Path) -> None:
    frames = "".join(f'<iframe src="{html.escape(page.as_uri())}"></iframe>' for page in pages)
    index = folder / "index.html"
    index.write_text(f"<!doctype html>{frames}")
    options = ("--headless", "--no-sandbox", "--disable-gpu", "--virtual-time-budget=4000", "--dump-dom")
    profile = f"--user-data-dir={folder / 'browser'}"
    subprocess.run([browser, *options, profile, index.as_uri()], capture_output=True, check=False, timeout=LIMIT_S)
