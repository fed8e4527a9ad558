"""A browser without a window, driven over the DevTools protocol; Python's standard library only.

Chromium speaks it on two pipes of its own (--remote-debugging-pipe: it reads from 3, writes to 4), a JSON message
each, ended by a zero byte. No port is opened, so that several may run side by side. Nothing waits without a limit,
and nothing of it is left behind.
"""

import base64
import fcntl
import json
import os
import select
import shutil
import signal
import subprocess
import tempfile
import time

LIMIT_S = 60  # of any one answer; seconds are usual, a busy machine takes longer
GOING_S = 10

# Nothing but the page: no updates, no reports, no sandbox (it needs rights that containers do not give).
OPTIONS = [
    "--headless=new", "--remote-debugging-pipe", "--no-sandbox", "--disable-gpu", "--disable-dev-shm-usage",
    "--no-first-run", "--no-default-browser-check", "--disable-background-networking", "--disable-component-update",
    "--disable-default-apps", "--disable-extensions", "--disable-sync", "--disable-breakpad", "--hide-scrollbars",
    "--mute-audio", "--no-pings", "--font-render-hinting=none", "about:blank",
]


def session_of(leader):
    """Processes of a session, which are all that its leader started."""
    found = []
    for name in filter(str.isdigit, os.listdir("/proc")):
        try:
            with open(f"/proc/{name}/stat", "rb") as f:
                state, _, _, session = f.read().rsplit(b")", 1)[1].split()[:4]
        except OSError:  # gone meanwhile
            continue
        if int(session) == leader and state != b"Z":
            found.append(int(name))
    return found


def program():
    """Where the browser is; None: there is none."""
    return shutil.which("chromium")


class Browser:
    """with Browser() as browser: page = browser.page()"""

    def __enter__(self):
        self.home = tempfile.TemporaryDirectory(prefix="plyecho-browser.", ignore_cleanup_errors=True)
        to_child, self.to = os.pipe()
        self.of, from_child = os.pipe()
        # out of the way of 3 and 4, which the child gets
        high = [fcntl.fcntl(fd, fcntl.F_DUPFD_CLOEXEC, 20) for fd in (to_child, from_child)]
        os.close(to_child)
        os.close(from_child)

        def hand_over():
            os.dup2(high[0], 3)
            os.dup2(high[1], 4)

        self.log = open(os.path.join(self.home.name, "log"), "w+b")
        self.process = subprocess.Popen(
            [program(), f"--user-data-dir={self.home.name}/profile", *OPTIONS], preexec_fn=hand_over, pass_fds=(3, 4),
            stdin=subprocess.DEVNULL, stdout=self.log, stderr=self.log, start_new_session=True,
            env={**os.environ, "HOME": self.home.name, "XDG_CONFIG_HOME": self.home.name,
                 "XDG_CACHE_HOME": self.home.name, "TMPDIR": self.home.name})
        for fd in high:
            os.close(fd)
        self.number, self.rest, self.events = 0, b"", []
        return self

    def __exit__(self, *_):
        """Ask it to go; whatever of its session is left then goes by force."""
        try:
            self.call("Browser.close")
            self.process.wait(GOING_S)
        except (RuntimeError, OSError, subprocess.TimeoutExpired):
            pass
        for left in session_of(self.process.pid):
            try:
                os.kill(left, signal.SIGKILL)
            except ProcessLookupError:
                pass
        self.process.wait()
        until = time.monotonic() + GOING_S
        while session_of(self.process.pid) and time.monotonic() < until:
            time.sleep(0.05)
        for fd in (self.to, self.of):
            os.close(fd)
        self.log.close()
        self.home.cleanup()

    def fail(self, what):
        self.log.seek(0)
        tail = self.log.read()[-2000:].decode(errors="replace")
        raise RuntimeError(f"{what}; what the browser said:\n{tail}")

    def receive(self, until):
        """The next message."""
        while b"\0" not in self.rest:
            ready, _, _ = select.select([self.of], [], [], max(0, until - time.monotonic()))
            if not ready:
                self.fail("no answer within the limit")
            got = os.read(self.of, 1 << 20)
            if not got:
                self.fail("the browser is gone")
            self.rest += got
        message, self.rest = self.rest.split(b"\0", 1)
        return json.loads(message)

    def call(self, method, session=None, **params):
        """The result of one command; events that come meanwhile are kept."""
        self.number += 1
        message = {"id": self.number, "method": method, "params": params}
        if session:
            message["sessionId"] = session
        data = json.dumps(message).encode() + b"\0"
        try:
            while data:
                data = data[os.write(self.to, data):]
        except BrokenPipeError:
            self.fail("the browser is gone")
        until = time.monotonic() + LIMIT_S
        while True:
            answer = self.receive(until)
            if answer.get("id") != self.number:
                self.events.append(answer)
            elif "error" in answer:
                self.fail(f"{method}: {answer['error']['message']}")
            else:
                return answer["result"]

    def wait_for(self, method, session):
        """Until an event of this kind has come."""
        until = time.monotonic() + LIMIT_S
        while not any(e.get("method") == method and e.get("sessionId") == session for e in self.events):
            self.events.append(self.receive(until))

    def page(self):
        return Page(self)


class Page:
    """One tab. messages and requests are what came since open()."""

    def __init__(self, browser):
        self.browser = browser
        target = browser.call("Target.createTarget", url="about:blank")["targetId"]
        self.session = browser.call("Target.attachToTarget", targetId=target, flatten=True)["sessionId"]
        for domain in ("Page", "Runtime", "Log", "Network", "DOM", "Accessibility"):
            self.call(f"{domain}.enable")

    def call(self, method, **params):
        return self.browser.call(method, self.session, **params)

    def size(self, width, height, mobile=True):
        self.call("Emulation.setDeviceMetricsOverride", width=width, height=height, deviceScaleFactor=1, mobile=mobile)

    def open(self, path):
        """Load a file, whole."""
        self.browser.events = []
        self.call("Page.navigate", url="file://" + os.path.abspath(path))
        self.browser.wait_for("Page.loadEventFired", self.session)
        self.evaluate("Promise.all([...document.images].map(i => i.decode().catch(() => 0))).then(() => 0)")

    def events(self, *methods):
        return [e["params"] for e in self.browser.events if e.get("method") in methods]

    def messages(self):
        """All that a console would show."""
        said = [json.dumps(e) for e in self.events("Runtime.consoleAPICalled", "Runtime.exceptionThrown")]
        return said + [e["entry"]["text"] for e in self.events("Log.entryAdded")]

    def requests(self):
        return [e["request"]["url"] for e in self.events("Network.requestWillBeSent")]

    def evaluate(self, expression):
        """What JavaScript gives, as JSON has it."""
        answer = self.call("Runtime.evaluate", expression=expression, returnByValue=True, awaitPromise=True)
        if "exceptionDetails" in answer:
            raise RuntimeError(json.dumps(answer["exceptionDetails"]))
        return answer["result"].get("value")

    def accessibility(self):
        """(role, name, level) of what a screen reader is told of."""
        nodes = self.call("Accessibility.getFullAXTree")["nodes"]

        def level(node):
            return next((p["value"]["value"] for p in node.get("properties", []) if p["name"] == "level"), None)

        return [(n["role"]["value"], n.get("name", {}).get("value", ""), level(n))
                for n in nodes if not n["ignored"]]

    def picture(self, path):
        with open(path, "wb") as out:
            out.write(base64.b64decode(self.call("Page.captureScreenshot", captureBeyondViewport=False)["data"]))

    def pdf(self, path, width_mm, height_mm):
        data = self.call("Page.printToPDF", paperWidth=width_mm / 25.4, paperHeight=height_mm / 25.4,
                         preferCSSPageSize=False, printBackground=False)["data"]
        with open(path, "wb") as out:
            out.write(base64.b64decode(data))
