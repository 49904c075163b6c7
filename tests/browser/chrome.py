"""Debian's chromium, driven through its own protocol over two pipes: no port is opened, no library is needed.

    with Chrome() as chrome:
        tab = chrome.tab(390, 844, dark=True)
        tab.open(path)
        tab.run("document.title")
"""
import base64
import fcntl
import json
import os
import select
import shutil
import subprocess
import tempfile
import time

# A page that takes longer than this is broken, even on a slow machine under a debugger: seconds.
PATIENCE_S = 60


class Chrome:
    def __init__(self):
        self.program = shutil.which("chromium") or shutil.which("chromium-browser")
        if not self.program:
            raise FileNotFoundError("chromium is not installed (sh samples/setup tests)")
        self.folder = tempfile.mkdtemp(prefix="seamwright-browser-")
        down, self.down = os.pipe()
        self.up, up = os.pipe()
        command = [self.program, "--headless=new", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage", "--no-first-run", "--hide-scrollbars",
                   "--remote-debugging-pipe", "--host-resolver-rules=MAP * ~NOTFOUND", f"--user-data-dir={self.folder}", "about:blank"]

        def pipes():
            """The protocol's pipes are file descriptors 3 and 4 of the browser; they may be these already, crossed."""
            spare_down, spare_up = fcntl.fcntl(down, fcntl.F_DUPFD, 10), fcntl.fcntl(up, fcntl.F_DUPFD, 10)
            os.dup2(spare_down, 3)
            os.dup2(spare_up, 4)
            os.close(spare_down)
            os.close(spare_up)

        self.process = subprocess.Popen(command, close_fds=False, preexec_fn=pipes, stdin=subprocess.DEVNULL, stdout=subprocess.DEVNULL,
                                        stderr=subprocess.DEVNULL)
        os.close(down)
        os.close(up)
        self.last = 0
        self.answers = {}
        self.events = []
        self.rest = b""

    def __enter__(self):
        return self

    def __exit__(self, *_):
        try:
            self.call("Browser.close")
            self.process.wait(10)
        except Exception:  # it is to go, however
            self.process.kill()
            self.process.wait()
        os.close(self.down)
        os.close(self.up)
        shutil.rmtree(self.folder, ignore_errors=True)

    def _read(self, until):
        left = until - time.monotonic()
        if left <= 0 or not select.select([self.up], [], [], left)[0]:
            raise TimeoutError("the browser does not answer")
        piece = os.read(self.up, 1 << 20)
        if not piece:
            raise EOFError("the browser has ended")
        *whole, self.rest = (self.rest + piece).split(b"\0")
        for text in whole:
            message = json.loads(text)
            if "id" in message:
                self.answers[message["id"]] = message
            else:
                self.events.append(message)

    def call(self, method, session=None, **parameters):
        self.last += 1
        message = {"id": self.last, "method": method, "params": parameters}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        while data:
            data = data[os.write(self.down, data):]
        until = time.monotonic() + PATIENCE_S
        while self.last not in self.answers:
            self._read(until)
        answer = self.answers.pop(self.last)
        if "error" in answer:
            raise RuntimeError(f"{method}: {answer['error'].get('message')}")
        return answer["result"]

    def wait(self, event, session):
        until = time.monotonic() + PATIENCE_S
        while True:
            for k, message in enumerate(self.events):
                if message["method"] == event and message.get("sessionId") == session:
                    return self.events.pop(k)["params"]
            self._read(until)

    def tab(self, width, height, dark=False, script=True, scale=1, touch=False):
        return Tab(self, width, height, dark, script, scale, touch)


class Tab:
    def __init__(self, chrome, width, height, dark, script, scale, touch):
        self.chrome, self.width, self.height = chrome, width, height
        self.target = chrome.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = chrome.call("Target.attachToTarget", targetId=self.target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Network", "Log"):
            self.call(domain + ".enable")
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=scale, mobile=touch)
        self.call("Emulation.setTouchEmulationEnabled", enabled=touch)
        self.media(dark)
        self.call("Emulation.setScriptExecutionDisabled", value=not script)
        self.script = script

    def call(self, method, **parameters):
        return self.chrome.call(method, self.session, **parameters)

    def media(self, dark, media=""):
        self.call("Emulation.setEmulatedMedia", media=media,
                  features=[{"name": "prefers-color-scheme", "value": "dark" if dark else "light"},
                            {"name": "prefers-reduced-motion", "value": "reduce"}])

    def open(self, path):
        """Opens a file and returns the seconds until it was drawn."""
        self.chrome.events.clear()
        start = time.monotonic()
        self.call("Page.navigate", url="file://" + os.path.abspath(path))
        self.chrome.wait("Page.loadEventFired", self.session)
        if self.script:
            self.run("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
        return time.monotonic() - start

    def run(self, expression):
        """The value of a JavaScript expression; promises are waited for."""
        result = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in result:
            details = result["exceptionDetails"]
            raise RuntimeError(f"{expression[:120]}: {details.get('exception', {}).get('description', details.get('text'))}")
        return result["result"].get("value")

    def troubles(self):
        """What the page threw or logged as an error, and what it asked the network for."""
        found = []
        for message in self.chrome.events:
            if message.get("sessionId") != self.session:
                continue
            p = message["params"]
            if message["method"] == "Runtime.exceptionThrown":
                found.append("threw: " + p["exceptionDetails"].get("exception", {}).get("description", "?"))
            elif message["method"] == "Log.entryAdded" and p["entry"]["level"] == "error":
                found.append("logged: " + p["entry"]["text"])
            elif message["method"] == "Network.requestWillBeSent" and p["request"]["url"].split(":")[0] not in ("file", "data", "blob", "about"):
                found.append("asked for: " + p["request"]["url"])
        return found

    def shot(self, path, whole=False):
        data = self.call("Page.captureScreenshot", captureBeyondViewport=whole,
                         **({"clip": {"x": 0, "y": 0, "width": self.width, "height": self.run("document.documentElement.scrollHeight"), "scale": 1}} if whole else {}))
        with open(path, "wb") as file:
            file.write(base64.b64decode(data["data"]))

    def pdf(self, path):
        data = self.call("Page.printToPDF", printBackground=True, preferCSSPageSize=True, paperWidth=8.27, paperHeight=11.69)
        with open(path, "wb") as file:
            file.write(base64.b64decode(data["data"]))

    def key(self, name, modifiers=0):
        text = {"Enter": "\r", "Space": " ", " ": " "}.get(name, name if len(name) == 1 else "")
        codes = {"Tab": 9, "Enter": 13, "Escape": 27, "ArrowLeft": 37, "ArrowUp": 38, "ArrowRight": 39, "ArrowDown": 40, " ": 32, "Home": 36}
        extra = {"windowsVirtualKeyCode": codes[name]} if name in codes else {}
        self.call("Input.dispatchKeyEvent", type="keyDown", key=name, text=text, modifiers=modifiers, **extra)
        self.call("Input.dispatchKeyEvent", type="keyUp", key=name, modifiers=modifiers, **extra)

    def tap(self, x, y):
        self.call("Input.dispatchMouseEvent", type="mousePressed", x=x, y=y, button="left", buttons=1, clickCount=1)
        self.call("Input.dispatchMouseEvent", type="mouseReleased", x=x, y=y, button="left", clickCount=1)

    def touch(self, kind, points):
        self.call("Input.dispatchTouchEvent", type=kind, touchPoints=[{"x": x, "y": y, "id": k} for k, (x, y) in enumerate(points)])

    def close(self):
        self.chrome.call("Target.closeTarget", targetId=self.target)
