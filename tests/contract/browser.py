"""A real browser, driven through its debugging pipe: Chromium without a window, and no library.

Messages of the DevTools protocol are JSON texts that end with a zero byte, on two pipes which
Chromium expects as files 3 and 4. Scripts that a test evaluates are not bound by a page's own
Content-Security-Policy.
"""

from __future__ import annotations

import base64
import json
import os
import select
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")
"""Where the browser is; None where there is none."""

_SECONDS = 60
_SWITCHES = (
    "--headless",
    "--remote-debugging-pipe",
    "--disable-gpu",
    "--disable-quic",
    "--disable-sync",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--hide-scrollbars",
)
_START = """\
import fcntl, os, sys
read, write = (fcntl.fcntl(int(n), fcntl.F_DUPFD, 20) for n in sys.argv[1:3])
os.dup2(read, 3), os.dup2(write, 4), os.close(read), os.close(write)
os.execv(sys.argv[3], sys.argv[3:])
"""


class Browser:
    """One tab of a browser with a profile of its own; `asked` lists every address it asked for."""

    def __init__(self) -> None:
        assert CHROMIUM
        self._profile = tempfile.mkdtemp()
        to_browser, self._write = os.pipe()
        self._read, from_browser = os.pipe()
        root = ("--no-sandbox",) if os.geteuid() == 0 else ()
        self._process = subprocess.Popen(
            (
                *(sys.executable, "-c", _START, str(to_browser), str(from_browser)),
                *(CHROMIUM, *_SWITCHES, *root, f"--user-data-dir={self._profile}", "about:blank"),
            ),
            pass_fds=(to_browser, from_browser),
            stderr=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL,
        )
        os.close(to_browser)
        os.close(from_browser)
        self._buffer = b""
        self._number = 0
        self._session = ""
        self._events: list[dict[str, Any]] = []
        self.asked: list[str] = []
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        attached = self.call("Target.attachToTarget", targetId=target, flatten=True)
        self._session = attached["sessionId"]
        for domain in ("Page", "Network"):
            self.call(f"{domain}.enable")

    def call(self, method: str, **params: Any) -> Any:
        """Return the result of one command."""
        self._number += 1
        message = {"id": self._number, "method": method, "params": params}
        if self._session:
            message["sessionId"] = self._session
        os.write(self._write, json.dumps(message).encode() + b"\0")
        while True:
            answer = self._next()
            if answer.get("id") == self._number:
                assert "error" not in answer, f"{method}: {answer['error']}"
                return answer["result"]

    def look(self, width: int, height: int, scheme: str = "light", media: str = "screen") -> None:
        """Set the size of the window, the colour scheme that the reader prefers, and the medium."""
        self.call(
            "Emulation.setDeviceMetricsOverride",
            width=width,
            height=height,
            deviceScaleFactor=1,
            mobile=False,
        )
        features = [{"name": "prefers-color-scheme", "value": scheme}]
        self.call("Emulation.setEmulatedMedia", media=media, features=features)

    def open(self, url: str) -> None:
        """Open a page and wait until all of it is loaded."""

        def go() -> None:
            failed = self.call("Page.navigate", url=url).get("errorText")
            assert not failed, f"{url}: {failed}"

        self.sent(go)

    def sent(self, action: Callable[[], object]) -> None:
        """Do what leads to another page, and wait until all of that is loaded."""
        self._events.clear()
        action()
        while not any(event["method"] == "Page.loadEventFired" for event in self._events):
            self._next()

    def tell(self, expression: str) -> Any:
        """Return what a JavaScript expression comes to on the page; a promise is waited for."""
        found = self.call(
            "Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True
        )
        assert "exceptionDetails" not in found, found["exceptionDetails"]
        return found["result"].get("value")

    def press(self, key: str, code: int) -> None:
        """Press and let go a key, by its name and its virtual key code."""
        for kind in ("keyDown", "keyUp"):
            text = {"text": "\r"} if key == "Enter" and kind == "keyDown" else {}
            self.call(
                "Input.dispatchKeyEvent",
                type=kind,
                key=key,
                code=key,
                windowsVirtualKeyCode=code,
                **text,
            )

    def picture(self, path: Path, selector: str = "") -> None:
        """Write a picture of the page, or of one part of it, as PNG."""
        clip: dict[str, Any] = {}
        if selector:
            box = self.tell(
                f"(r => ({{x: r.x + scrollX, y: r.y + scrollY, width: r.width, height: r.height}}))"
                f"(document.querySelector({json.dumps(selector)}).getBoundingClientRect())"
            )
            clip = {"clip": {**box, "scale": 1}}
        found = self.call("Page.captureScreenshot", captureBeyondViewport=True, **clip)
        path.write_bytes(base64.b64decode(found["data"]))

    def printed(self, path: Path, **options: Any) -> None:
        """Write the page as it is printed, as PDF."""
        found = self.call("Page.printToPDF", **options)
        path.write_bytes(base64.b64decode(found["data"]))

    def close(self) -> None:
        """End the browser and remove its profile."""
        self._process.terminate()
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._read)
        os.close(self._write)
        shutil.rmtree(self._profile, ignore_errors=True)

    def _next(self) -> dict[str, Any]:
        """Return the next message of the browser; an event is noted as well."""
        end = time.monotonic() + _SECONDS
        while b"\0" not in self._buffer:
            ready, _, _ = select.select([self._read], [], [], max(0.0, end - time.monotonic()))
            data = os.read(self._read, 1 << 16) if ready else b""
            assert data, "the browser says nothing more"
            self._buffer += data
        line, self._buffer = self._buffer.split(b"\0", 1)
        message: dict[str, Any] = json.loads(line)
        if "method" in message:
            self._events.append(message)
            if message["method"] == "Network.requestWillBeSent":
                self.asked.append(message["params"]["request"]["url"])
        return message
