"""The pages in a real browser: what they ask for, and that the reference draws itself."""

import json
import re
import shutil
import socket
import subprocess
import threading
import time
from pathlib import Path
from urllib.parse import urlsplit

import pytest
import uvicorn

from service.api import document, pages
from service.app import create_app
from service.store.session import Database

BROWSER = next(
    (found for name in ("chromium", "chromium-browser", "google-chrome") if (found := shutil.which(name))), ""
)
pytestmark = pytest.mark.skipif(not BROWSER, reason="no Chromium on this machine")

QUIET = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update", "--disable-sync", "--disable-dev-shm-usage", "--enable-logging=stderr",
    # whatever is asked for elsewhere is seen in the log, and goes nowhere
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]  # fmt: skip
CALLS_OUT = b"<!doctype html><title>out</title><img src='http://elsewhere.invalid/seen.png'>drawn"


class Visit:
    """What a page became, what it asked for, and what its policy had to stop."""

    def __init__(self, url, folder, *flags):
        log = folder / "net.json"
        command = [
            BROWSER, *QUIET, *flags, f"--user-data-dir={folder / 'profile'}", f"--log-net-log={log}",
            "--virtual-time-budget=20000", "--dump-dom", url,
        ]  # fmt: skip
        done = subprocess.run(command, check=True, capture_output=True, text=True, timeout=120)
        self.dom, self.console = done.stdout, done.stderr
        self.asked = _asked(log, url)

    @property
    def stopped(self):
        return [line for line in self.console.splitlines() if "Content Security Policy" in line]


def _asked(log: Path, url: str) -> set[str]:
    """Addresses that the page itself asked for; the browser's own errands have no initiator that is the page."""
    written = json.loads(log.read_text("utf-8"))
    starts = written["constants"]["logEventTypes"]["URL_REQUEST_START_JOB"]
    origin = "{0.scheme}://{0.netloc}".format(urlsplit(url))
    found = [event["params"] for event in written["events"] if event["type"] == starts and "params" in event]
    return {one["url"] for one in found if one.get("initiator") == origin}


async def _with_a_page_that_calls_out(scope, receive, send, app):
    if scope["type"] == "http" and scope["path"] == "/calls-out":
        await send({"type": "http.response.start", "status": 200, "headers": [(b"content-type", b"text/html")]})
        await send({"type": "http.response.body", "body": CALLS_OUT})
        return
    await app(scope, receive, send)


@pytest.fixture(scope="module")
def service():
    """The service on a free port; no page needs its database, so there is none."""
    app = create_app(Database("postgresql+psycopg://nobody@127.0.0.1:1/none"))

    async def both(scope, receive, send):
        await _with_a_page_that_calls_out(scope, receive, send, app)

    listening = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(uvicorn.Config(both, log_level="warning", lifespan="off"))
    thread = threading.Thread(target=server.run, kwargs={"sockets": [listening]})
    thread.start()
    while not server.started:
        time.sleep(0.01)
    yield f"http://127.0.0.1:{listening.getsockname()[1]}", app
    server.should_exit = True
    thread.join()
    listening.close()


def test_a_page_that_calls_out_is_noticed(service, tmp_path):
    visit = Visit(f"{service[0]}/calls-out", tmp_path)
    assert "http://elsewhere.invalid/seen.png" in visit.asked


def test_the_reference_shows_every_operation_and_asks_nobody_but_this_service(service, tmp_path):
    here, app = service
    visit = Visit(f"{here}/docs", tmp_path)
    assert {urlsplit(url).netloc for url in visit.asked} == {urlsplit(here).netloc}
    assert {f"{here}/openapi.json", here + pages.address("api-reference.js")} <= visit.asked
    assert visit.stopped == []
    shown = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", visit.dom))
    assert "Turns a strength coach" in shown
    missing = [path for path in document.build(app)["paths"] if path not in shown]
    assert not missing


@pytest.mark.parametrize("path", ["/", "/guides", "/guides/formulas", "/problems/not-found"])
def test_a_page_loads_its_own_style_and_nothing_else(service, tmp_path, path):
    here = service[0]
    visit = Visit(here + path, tmp_path)
    assert here + pages.address("pages.css") in visit.asked
    assert visit.asked <= {here + pages.address(name) for name in ("pages.css", "icon.svg")}
    assert visit.stopped == []
    assert "<h1" in visit.dom
