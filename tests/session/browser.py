# SPDX-FileCopyrightText: 2026 The Dustcap authors
# SPDX-License-Identifier: ISC
"""A headless browser by the DevTools protocol over a pipe, with nothing but
Python's own library.  The protocol: https://chromedevtools.github.io."""

import json
import os
import select
import shutil
import subprocess
import time

FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--no-first-run",
    "--disable-background-networking", "--disable-component-update",
    "--disable-sync", "--disable-dev-shm-usage", "--remote-debugging-pipe",
    # The clock of the sound without sound hardware
    "--disable-audio-output"
]
LIMIT_S = 120


class BrowserError(Exception):
    """The browser said no, or nothing"""


def find():
    """The path of a browser, or None"""
    return shutil.which("chromium") or shutil.which("chromium-browser")


class Browser:
    """One browser with one page; what happens in it is in `events`"""

    def __init__(self, folder):
        ours, theirs = os.pipe(), os.pipe()
        read, self._write = theirs[0], ours[1]
        self._read = read
        inputs = (ours[0], theirs[1])
        # The protocol's pipes are the descriptors 3 and 4
        line = f'exec "$0" "$@" 3<&{inputs[0]} 4>&{inputs[1]}'
        self._log = open(os.path.join(folder, "browser.log"), "wb")
        self._process = subprocess.Popen(
            ["sh", "-c", line, find(), *FLAGS,
             "--user-data-dir=" + os.path.join(folder, "browser")],
            pass_fds=inputs, stdin=subprocess.DEVNULL, stdout=self._log,
            stderr=self._log)
        for number in inputs:
            os.close(number)
        self._text, self._id, self._session = b"", 0, None
        self.events = []
        target = self.call("Target.createTarget", url="about:blank")
        self._session = self.call("Target.attachToTarget", flatten=True,
                                  targetId=target["targetId"])["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network", "Accessibility"):
            self.call(domain + ".enable")

    def close(self):
        """Ends the browser"""
        try:
            self._session = None
            self.call("Browser.close")
        except (BrowserError, OSError):
            pass
        try:
            self._process.wait(10)
        except subprocess.TimeoutExpired:
            self._process.kill()
            self._process.wait()
        os.close(self._read)
        os.close(self._write)
        self._log.close()

    def _next(self, until):
        """The next message"""
        while b"\0" not in self._text:
            left = until - time.monotonic()
            if left <= 0 or not select.select([self._read], [], [], left)[0]:
                raise BrowserError("no answer in time")
            more = os.read(self._read, 1 << 20)
            if not more:
                raise BrowserError("the browser has ended")
            self._text += more
        message, _, self._text = self._text.partition(b"\0")
        return json.loads(message)

    def call(self, method, **parameters):
        """Calls a method and returns its result"""
        self._id += 1
        call = {"id": self._id, "method": method, "params": parameters}
        if self._session:
            call["sessionId"] = self._session
        os.write(self._write, json.dumps(call).encode() + b"\0")
        until = time.monotonic() + LIMIT_S
        while True:
            message = self._next(until)
            if message.get("id") == self._id:
                if "error" in message:
                    raise BrowserError(f"{method}: {message['error']}")
                return message["result"]
            if "method" in message:
                self.events.append((message["method"], message["params"]))

    def open(self, path):
        """Opens a file and waits until it is loaded"""
        self.events.clear()
        self.call("Page.navigate", url="file://" + os.path.abspath(path))
        self.wait("document.readyState === 'complete' && "
                  "location.protocol === 'file:'")

    def run(self, script, by_user=False):
        """The value of an expression, or of a promise of it; `by_user` as if a
        user did it, without whom nothing plays"""
        result = self.call("Runtime.evaluate", expression=script,
                           awaitPromise=True, returnByValue=True,
                           userGesture=by_user)
        if "exceptionDetails" in result:
            raise BrowserError(json.dumps(result["exceptionDetails"])[:2000])
        return result["result"].get("value")

    def wait(self, condition, limit_s=60):
        """Waits until an expression is true"""
        until = time.monotonic() + limit_s
        while not self.run(condition):
            if time.monotonic() > until:
                raise BrowserError("never true: " + condition)
            time.sleep(0.05)

    def key(self, key, shift=False):
        """Presses and releases a key"""
        text = key if len(key) == 1 else ""
        code = {" ": 32, "ArrowLeft": 37, "ArrowRight": 39, "Tab": 9,
                "Enter": 13}.get(key, ord(key.upper()) if text else 0)
        if key == "Enter":
            text = "\r"
        both = {"key": key, "windowsVirtualKeyCode": code,
                "modifiers": 8 if shift else 0}
        self.call("Input.dispatchKeyEvent", type="keyDown", text=text, **both)
        self.call("Input.dispatchKeyEvent", type="keyUp", **both)

    def complaints(self):
        """What the page has thrown or printed to the console"""
        self.run("0")  # All before this has been sent
        names = ("Runtime.exceptionThrown", "Runtime.consoleAPICalled",
                 "Log.entryAdded")
        return [event for event in self.events if event[0] in names]

    def requests(self):
        """The addresses that it asked for"""
        self.run("0")
        return [event[1]["request"]["url"] for event in self.events
                if event[0] == "Network.requestWillBeSent"]
