"""A small server that stands in for the monitor: the pages as files, and a state that a test may change at will."""

import json
import threading
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from time import monotonic
from typing import Any
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Page

from monitor.pages.words import words

DASHBOARDS = Path(__file__).resolve().parents[2] / "dashboards"
TYPES = {
    ".html": "text/html; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".json": "application/json",
    ".svg": "image/svg+xml",
    ".png": "image/png",
    ".webmanifest": "application/manifest+json",
}
BARE = """<!doctype html><html lang="en" data-theme="sun"><head><title>bare</title>
<meta name="viewport" content="width=device-width, initial-scale=1">
<link rel="icon" href="/static/crew/icon.svg">
<link rel="stylesheet" href="/static/shared/theme.css"><link rel="stylesheet" href="/static/crew/crew.css"></head>
<body><div id="page"></div></body></html>"""
POLICY = "default-src 'self'"

State = dict[str, Any]


def load(name: str) -> State:
    return json.loads((DASHBOARDS / "states" / f"{name}.json").read_text(encoding="utf-8"))


def alive(state: State, passed_s: float) -> State:
    """The state as the monitor would send it: without the past, its time gone on by `passed_s`."""
    sent = {key: value for key, value in state.items() if key not in ("past", "title")}
    passed = passed_s * state["speed"]
    times = {"at": state["at"] + passed, "wall": state["wall"] + passed, "started_s": state["started_s"] + passed_s}
    return {**sent, **times}


class Server(ThreadingHTTPServer):
    daemon_threads = True
    request_queue_size = 64  # as the monitor's


class Stub:
    """`show` a state; `silent` says nothing more about it; `down` refuses everything, as a killed monitor would.

    `/bare` is an empty page with the style sheets, for tests that put the crew page together themselves.
    """

    def __init__(self) -> None:
        self.changed = threading.Condition()
        self.state: State = load("falling")
        self.silent = self.down = self.closed = False
        self.acts: list[State] = []
        self.refusal: State | None = None
        self.served: dict[str, int] = {}
        self.started = monotonic()
        self.server = Server(("127.0.0.1", 0), self.handler())
        self.server.handle_error = lambda *_: None  # a page that leaves in mid-answer
        self.url = f"http://127.0.0.1:{self.server.server_port}"
        self.thread = threading.Thread(target=self.server.serve_forever, kwargs={"poll_interval": 0.05}, daemon=True)
        self.thread.start()

    def show(self, state: State | str) -> None:
        self.tell(state=load(state) if isinstance(state, str) else state)

    def tell(self, **what: Any) -> None:
        """Changes what the stub does and wakes its streams."""
        with self.changed:
            for key, value in what.items():
                setattr(self, key, value)
            self.changed.notify_all()

    def now(self) -> State:
        return alive(self.state, monotonic() - self.started)

    def close(self) -> None:
        self.tell(closed=True)
        self.server.shutdown()
        self.server.server_close()

    def handler(stub) -> type[BaseHTTPRequestHandler]:
        class Handler(BaseHTTPRequestHandler):
            protocol_version = "HTTP/1.1"

            def log_message(self, *_: Any) -> None:
                pass

            def do_GET(self) -> None:
                path = urlsplit(self.path)
                if stub.down:
                    self.close_connection = True
                elif path.path == "/bare":
                    self.reply(200, BARE.encode(), TYPES[".html"])
                elif path.path == "/api/live":
                    self.stream()
                elif stub.silent and path.path == "/api/state":
                    self.json(503, {"error": "nothing to say", "do": ""})
                elif path.path.startswith("/api/"):
                    self.json(200, stub.answer(path.path, parse_qs(path.query)))
                else:
                    self.file("/static/crew/index.html" if path.path == "/" else path.path)

            def do_POST(self) -> None:
                body = json.loads(self.rfile.read(int(self.headers["Content-Length"])))
                if stub.down:
                    self.close_connection = True
                    return
                if stub.refusal:
                    self.json(409, stub.refusal)
                    return
                with stub.changed:
                    stub.acts.append(body)
                    stub.changed.notify_all()
                self.reply(204, b"", "application/json")

            def json(self, status: int, what: Any) -> None:
                self.reply(status, json.dumps(what).encode(), "application/json")

            def file(self, path: str) -> None:
                file = (DASHBOARDS / path.removeprefix("/static/")).resolve()
                if not path.startswith("/static/") or not file.is_relative_to(DASHBOARDS) or not file.is_file():
                    self.json(404, {"error": f"no {path}", "do": ""})
                    return
                stub.served[path] = file.stat().st_size
                self.reply(200, file.read_bytes(), TYPES[file.suffix])

            def reply(self, status: int, body: bytes, kind: str) -> None:
                self.send_response(status)
                self.send_header("Content-Type", kind)
                self.send_header("Content-Length", str(len(body)))
                self.send_header("Content-Security-Policy", POLICY)
                self.send_header("X-Content-Type-Options", "nosniff")
                self.end_headers()
                self.wfile.write(body)

            def stream(self) -> None:
                self.send_response(200)
                self.send_header("Content-Type", "text/event-stream")
                self.end_headers()
                self.close_connection = True
                try:
                    while not stub.closed and not stub.down:
                        with stub.changed:
                            if not stub.silent:
                                self.wfile.write(f"data: {json.dumps(stub.now())}\n\n".encode())
                                self.wfile.flush()
                            stub.changed.wait(0.5)
                except OSError:
                    pass  # the page closed its stream

        return Handler

    def answer(self, path: str, query: dict[str, list[str]]) -> Any:
        if path == "/api/state":
            return self.now()
        if path == "/api/past":
            passed = monotonic() - self.started
            oldest = self.state["at"] - 60 * float(query["minutes"][0])
            past = self.state["past"]
            points = [[at + passed * self.state["speed"], v, sd] for at, v, sd in past["points"] if at >= oldest]
            return {"step_s": past["step_s"], "points": points}
        if path == "/api/ways":
            return {"pages": ["chemical", "plan", "books", "sites", "history", "alarms", "practice", "owner", "bench"]}
        return words("es" if path.endswith("/es") else "en")


def at(page: Page, stub: Stub, state: str | dict[str, Any]) -> None:
    """The crew page, showing that state."""
    stub.show(state)
    page.goto(stub.url)
    page.locator('[data-act="act.more"]').wait_for()
