"""Runs what a guide asks its reader to paste, and holds the answers that it shows to those that really come."""

from __future__ import annotations

import json
import re
import shlex
import shutil
import socket
import subprocess
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import datetime
from pathlib import Path
from threading import Thread
from typing import Any

import uvicorn
from fastapi import FastAPI

GUIDES = Path(__file__).resolve().parents[2] / "service/guides"
FOLLOWED = (
    ("first-hour",),
    ("writing-a-block", "changing-a-running-block", "missed-weeks-and-returns"),
)
"""Guides whose calls are pasted: those in a row stand on one another, in one gym."""
KEY = "Tove"
"""What the coach's key is called where guides say who decided."""
CUT = "…"
UUID = re.compile(r"[0-9a-f]{8}(?:-[0-9a-f]{4}){3}-[0-9a-f]{12}")


@contextmanager
def served(app: FastAPI) -> Iterator[str]:
    """The service on a free port of loopback; its address."""
    bound = socket.create_server(("127.0.0.1", 0))
    server = uvicorn.Server(
        uvicorn.Config(app, log_level="warning", lifespan="off", timeout_keep_alive=75, timeout_graceful_shutdown=5)
    )
    thread = Thread(target=server.run, kwargs={"sockets": [bound]})
    thread.start()
    try:
        yield f"http://127.0.0.1:{bound.getsockname()[1]}"
    finally:
        while not server.started and thread.is_alive():
            time.sleep(0.01)
        server.should_exit = True
        thread.join()
        bound.close()


@dataclass(frozen=True)
class Step:
    """A command of a guide and the answer that stands under it, if one does."""

    command: str
    kind: str | None
    shown: str | None


def source(guide: str) -> str:
    """A guide's Markdown."""
    return (GUIDES / f"{guide}.md").read_text("utf-8")


def to_paste(markdown: str) -> list[Step]:
    """All steps but the two that make a key and name it; whoever follows has a key."""
    return [step for step in steps(markdown) if "loadwright key" not in step.command and "lw_" not in step.command]


def steps(markdown: str) -> list[Step]:
    """All commands of a guide in order; the next fence, if it is an answer, belongs to the command."""
    fences = re.findall(r"^```(\w+)\n(.*?)^```$", markdown, re.MULTILINE | re.DOTALL)
    found = []
    for number, (kind, text) in enumerate(fences):
        if kind != "sh":
            continue
        after = fences[number + 1] if number + 1 < len(fences) else ("sh", "")
        found.append(Step(text, *((None, None) if after[0] == "sh" else after)))
    return found


@dataclass
class Shell:
    """A shell that keeps its variables from one paste to the next."""

    variables: dict[str, str] = field(default_factory=dict)
    curl: bool = field(default_factory=lambda: shutil.which("curl") is not None)
    """False: curl's few options are read here, for machines without it."""

    def paste(self, command: str) -> str:
        """Run a command; what it wrote. Assignments are kept."""
        lines = command.replace("\\\n", " ").strip().splitlines()
        out = ""
        for line in self._whole(lines):
            assigned = re.fullmatch(r"(?:export )?((?:\w+=(?:'[^']*'|\S+)\s*)+)(?:#.*)?", line)
            if assigned:
                pairs = (word.partition("=") for word in shlex.split(assigned[1]))
                self.variables |= {name: value for name, _, value in pairs}
            else:
                out += self._run(line)
        return out

    @staticmethod
    def _whole(lines: list[str]) -> Iterator[str]:
        """Lines joined where a quote or a loop goes on into the next."""
        held, loops = "", 0
        for line in lines:
            held += line + "\n"
            loops += line.rstrip().endswith("; do")
            loops -= line.strip() == "done"
            if held.count("'") % 2 == 0 and loops == 0 and held.strip():
                yield held.strip()
                held = ""
        assert not held.strip(), f"a quote or a loop is never closed: {held}"

    def _run(self, line: str) -> str:
        if self.curl:
            environment = {"PATH": "/usr/bin:/bin:/usr/local/bin", **self.variables}
            done = subprocess.run(
                ["sh", "-ec", line.replace("curl -s ", "curl -sS --fail-with-body ")],
                env=environment, check=False, capture_output=True, text=True,
            )  # fmt: skip
            assert done.returncode == 0, f"{line}\n{done.stdout}{done.stderr}"
            return done.stdout
        return self._without_curl(line)

    def _without_curl(self, line: str) -> str:
        for name, value in self.variables.items():
            line = re.sub(rf"\${name}\b", lambda _, value=value: value, line)
        words = shlex.split(line)
        assert words[:2] == ["curl", "-s"], line
        method, address, body, headers = None, "", None, {}
        rest = iter(words[2:])
        for word in rest:
            if word == "-X":
                method = next(rest)
            elif word == "-H":
                name, _, value = next(rest).partition(": ")
                headers[name] = value
            elif word in ("-d", "--data"):
                body = next(rest).encode()
            else:
                address = word
        request = urllib.request.Request(address, body, headers, method=method)
        try:
            with urllib.request.urlopen(request, timeout=30) as answer:
                return str(answer.read().decode())
        except urllib.error.HTTPError as refused:
            raise AssertionError(f"{line}\n{refused.read().decode()}") from refused


@dataclass
class Reader:
    """Follows a guide: what it shows of ids is put in the place of those that really came."""

    shell: Shell
    ids: dict[str, str] = field(default_factory=dict)
    """The guide's id -> the one that came."""

    def follow(self, step: Step) -> str:
        """Paste a command with the ids that came before, and compare its answer; what came."""
        came = self.shell.paste(UUID.sub(lambda found: self.ids.get(found[0], found[0]), step.command))
        if step.kind == "json" and step.shown is not None:
            self.same(read_cut(step.shown), json.loads(came), step.command)
        elif step.kind == "text" and step.shown is not None:
            shown = step.shown.rstrip("\n").splitlines()
            got = came.rstrip("\n").splitlines()
            if shown[-1] == CUT:
                shown, got = shown[:-1], got[: len(shown) - 1]
            assert got == shown, step.command
        return came

    def same(self, shown: Any, came: Any, at: str) -> None:
        """Hold an answer to what is shown of it; ids are learnt, moments may differ."""
        if isinstance(shown, dict):
            assert isinstance(came, dict), at
            names = [name for name in shown if name != CUT]
            assert set(names) <= set(came), f"{at}: {set(names) - set(came)} did not come"
            assert CUT in shown or set(names) == set(came), f"{at}: {set(came) - set(names)} came and is not shown"
            for name in names:
                self.same(shown[name], came[name], f"{at} > {name}")
        elif isinstance(shown, list):
            kept = [one for one in shown if one != CUT]
            assert isinstance(came, list), at
            assert len(kept) == len(came) or (CUT in shown and len(kept) <= len(came)), f"{at}: {len(came)} came"
            first = len(came) - len(kept) if shown[:1] == [CUT] else 0
            for number, one in enumerate(kept, first):
                self.same(one, came[number], f"{at} > {number}")
        elif isinstance(shown, str) and UUID.fullmatch(shown):
            assert self.ids.setdefault(shown, came) == came, at
        elif not (is_moment(shown) and is_moment(came)):
            assert came == shown, at


def read_cut(text: str) -> Any:
    """JSON in which `…` stands for what was cut; at a list's beginning, for what came first."""
    inner = re.sub(r"(?<=[{,])\s*…\s*(?=[}])", f'"{CUT}": 0', text)
    return json.loads(re.sub(r"(?<=[\[,])\s*…\s*(?=[\],])", f'"{CUT}"', inner))


def is_moment(value: Any) -> bool:
    """Whether a text is a moment with its offset."""
    try:
        return isinstance(value, str) and datetime.fromisoformat(value).tzinfo is not None
    except ValueError:
        return False
