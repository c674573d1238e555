"""A real browser without a window, driven over its own pipe: keys are pressed in it, its page is asked, and printed.

Source of the words: the DevTools protocol, which the browser speaks on descriptors 3 and 4 (`--remote-debugging-pipe`).
"""

import atexit
import base64
import json
import os
import select
import subprocess
import tempfile
from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import cache
from pathlib import Path
from typing import Any

from tests.support.patience import PATIENCE_S
from tests.support.programs import needs_program

_KEYS = {"Tab": (9, ""), "Enter": (13, "\r"), " ": (32, " ")}


class Browser:
    """One tab of it.

    Args:
        asks: where its words are written.
        answers: where it answers.
    """

    def __init__(self, asks: int, answers: int) -> None:
        self._asks, self._answers = asks, answers
        self._heard = b""
        self._number = 0
        self._session: str | None = None
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self._session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        self.call("Page.enable")

    def call(self, method: str, **params: Any) -> Any:
        """One word of the protocol, and its result."""
        self._number += 1
        asked: dict[str, Any] = {"id": self._number, "method": method, "params": params}
        if self._session is not None:
            asked["sessionId"] = self._session
        os.write(self._asks, json.dumps(asked).encode() + b"\0")
        return self._until(lambda told: told.get("id") == self._number)["result"]

    def show(self, page: Path, *, width: int = 1280, script: bool = True, mark: str = "") -> None:
        """Have it show a file in a window that wide, and wait until it is drawn."""
        self.call("Emulation.setScriptExecutionDisabled", value=not script)
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=900, deviceScaleFactor=1, mobile=False)
        self.call("Page.navigate", url="about:blank")
        self.call("Page.navigate", url=page.resolve().as_uri() + mark)
        self._until(lambda told: told.get("method") == "Page.loadEventFired")

    def press(self, key: str) -> None:
        """Press a key and let it go."""
        code, text = _KEYS[key]
        named = {"key": key, "windowsVirtualKeyCode": code}
        self.call("Input.dispatchKeyEvent", type="keyDown", text=text, **named)
        self.call("Input.dispatchKeyEvent", type="keyUp", **named)

    def value(self, expression: str) -> Any:
        """What the page has for it."""
        return self.call("Runtime.evaluate", expression=expression, returnByValue=True)["result"].get("value")

    def printed(self, page: Path) -> bytes:
        """A file as it comes on paper of the size that it asks for, as a PDF."""
        self.show(page)
        told = self.call("Page.printToPDF", printBackground=True, preferCSSPageSize=True)
        return base64.b64decode(told["data"])

    def _until(self, wanted: Any) -> dict[str, Any]:
        while True:
            while b"\0" not in self._heard:
                if not select.select([self._answers], [], [], PATIENCE_S)[0]:
                    raise AssertionError("the browser does not answer")
                piece = os.read(self._answers, 65536)
                if not piece:
                    raise AssertionError("the browser has ended")
                self._heard += piece
            said, _, self._heard = self._heard.partition(b"\0")
            told: dict[str, Any] = json.loads(said)
            if "error" in told:
                raise AssertionError(f"the browser refuses: {told['error']}")
            if wanted(told):
                return told


@contextmanager
def running_browser(folder: Path) -> Iterator[Browser]:
    """A browser for the length of a `with` block; skipped where there is none."""
    program = needs_program("chromium")
    (asked, asks), (answers, answered) = os.pipe(), os.pipe()
    options = "--headless --no-sandbox --disable-gpu --no-first-run --remote-debugging-pipe"
    line = f'exec "$0" {options} --user-data-dir="$1" 3<&{asked} 4>&{answered}'
    command = ["bash", "-c", line, program, str(folder / "browser")]
    quiet = subprocess.DEVNULL
    with subprocess.Popen(command, stdin=quiet, stdout=quiet, stderr=quiet, pass_fds=(asked, answered)) as process:
        os.close(asked)
        os.close(answered)
        try:
            yield Browser(asks, answers)
        finally:
            process.kill()
            process.wait(PATIENCE_S)
            os.close(asks)
            os.close(answers)


@cache
def the_browser() -> Browser:
    """One for all who only print; it ends with this process. Skipped where there is none."""
    stack = ExitStack()
    folder = stack.enter_context(tempfile.TemporaryDirectory(ignore_cleanup_errors=True))
    browser = stack.enter_context(running_browser(Path(folder)))
    atexit.register(stack.close)
    return browser
