"""A page in a real Chromium without a window, driven over its remote interface."""

import base64
import json
import pathlib
import shutil
import subprocess
import tempfile
import time

import websocket

# How long anything may take before it counts as hung, in seconds.
PATIENCE = 60


class Browser:
    """One Chromium with a profile of its own; what pages store lasts as long as it does."""

    def __init__(self):
        self.home = tempfile.mkdtemp(prefix="screen-")
        flags = ["--headless=new", "--no-sandbox", "--disable-gpu", "--remote-debugging-port=0", "--remote-allow-origins=*",
                 "--disable-dev-shm-usage", "--force-device-scale-factor=1", f"--user-data-dir={self.home}"]
        self.process = subprocess.Popen(["chromium", *flags, "about:blank"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
        told = pathlib.Path(self.home, "DevToolsActivePort")
        until = time.monotonic() + PATIENCE
        while not (told.exists() and len(told.read_text().splitlines()) == 2):
            assert self.process.poll() is None and time.monotonic() < until, "Chromium does not start"
            time.sleep(0.1)
        port, path = told.read_text().splitlines()
        self.socket = websocket.create_connection(f"ws://127.0.0.1:{port}{path}", timeout=PATIENCE)
        self.count = 0
        target = self.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = None
        self.session = self.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime"):
            self.call(f"{domain}.enable")

    def call(self, method, **params):
        """Sends a command and gives its answer; events are passed over."""
        self.count += 1
        message = {"id": self.count, "method": method, "params": params}
        if self.count > 1 and self.session:
            message["sessionId"] = self.session
        self.socket.send(json.dumps(message))
        while True:
            said = json.loads(self.socket.recv())
            if said.get("id") == self.count:
                assert "error" not in said, f"{method}: {said.get('error')}"
                return said["result"]

    def js(self, expression):
        """The value of an expression in the page."""
        said = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        assert "exceptionDetails" not in said, f"{expression}: {said.get('exceptionDetails')}"
        return said["result"].get("value")

    def wait(self, expression):
        """Waits until an expression holds."""
        until = time.monotonic() + PATIENCE
        while not self.js(expression):
            assert time.monotonic() < until, f"waited in vain for {expression}"
            time.sleep(0.05)

    def open(self, path):
        """Loads a file anew."""
        self.call("Page.navigate", url="about:blank")
        self.call("Page.navigate", url=pathlib.Path(path).resolve().as_uri())
        self.wait("location.protocol === 'file:' && document.readyState === 'complete'")

    def reload(self):
        """Loads the same page again."""
        self.js("window.stale = true")
        self.call("Page.reload")
        self.wait("!window.stale && document.readyState === 'complete'")

    def look(self, width=1024, height=768, scheme="light", media=""):
        """Size, colour scheme and medium."""
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=False)
        calm = {"name": "prefers-reduced-motion", "value": "reduce"}
        self.call("Emulation.setEmulatedMedia", media=media, features=[{"name": "prefers-color-scheme", "value": scheme}, calm])

    def click(self, selector):
        """A press of the mouse in the middle of an element, where a person would see it."""
        quoted = json.dumps(selector)
        self.js(f"document.querySelector({quoted}).scrollIntoView({{block: 'center'}})")
        where = self.js(f"(() => {{ const r = document.querySelector({quoted}).getBoundingClientRect();"
                        " return [r.left + r.width / 2, r.top + r.height / 2]; })()")
        for kind in ("mousePressed", "mouseReleased"):
            self.call("Input.dispatchMouseEvent", type=kind, x=where[0], y=where[1], button="left", clickCount=1)

    def key(self, name, code, text=""):
        """A key, pressed and let go."""
        more = {"text": text} if text else {}
        self.call("Input.dispatchKeyEvent", type="keyDown", key=name, code=name, windowsVirtualKeyCode=code, **more)
        self.call("Input.dispatchKeyEvent", type="keyUp", key=name, code=name, windowsVirtualKeyCode=code)

    def picture(self, path):
        """What is to be seen, as a file."""
        pathlib.Path(path).write_bytes(base64.b64decode(self.call("Page.captureScreenshot")["data"]))

    def close(self):
        self.socket.close()
        self.process.terminate()
        self.process.wait(PATIENCE)
        shutil.rmtree(self.home, ignore_errors=True)
