"""What is served without a key, for people: the API reference, the guides, a page for each problem, the front page."""

from __future__ import annotations

import gzip
import json
import re
from dataclasses import dataclass
from functools import cache, lru_cache
from hashlib import sha256
from pathlib import Path
from threading import Lock

from fastapi import APIRouter, FastAPI, Request, Response
from starlette.concurrency import run_in_threadpool

from service.api import page_html
from service.api.accept import chosen
from service.api.problems import TITLES, Problem

HERE = Path(__file__).parent
ASSETS = HERE / "assets"
GUIDES = HERE.parent / "guides"
PICTURES = GUIDES / "pictures"
FIRST = (
    "first-hour", "writing-a-block", "changing-a-running-block", "missed-weeks-and-returns",
    "words", "numbers", "formulas", "curves",
)  # fmt: skip
"""The order in which guides are listed; others follow by name."""
FORMATS = {"html": "text/html", "markdown": "text/markdown"}
FOREVER = "public, max-age=31536000, immutable"
ASK_AGAIN = "public, no-cache"
KINDS = {".js": "text/javascript", ".css": "text/css", ".svg": "image/svg+xml"}

# Pages are no operations: they are for people, and clients that are generated have no use for them.
router = APIRouter(include_in_schema=False)


@dataclass(frozen=True, slots=True)
class Asset:
    """A file that pages load, under a name that changes with its bytes."""

    name: str
    media: str
    content: bytes
    packed: bool
    """Whether `content` is compressed with gzip."""


@dataclass(frozen=True, slots=True)
class Text:
    """What a page says, in Markdown."""

    path: str
    title: str
    markdown: str


@cache
def assets() -> dict[str, Asset]:
    """All assets by their names."""
    found = {}
    for file in sorted(ASSETS.iterdir()):
        plain = file.with_suffix("") if file.suffix == ".gz" else file
        if plain.suffix not in KINDS:
            continue
        content = file.read_bytes()
        name = f"{plain.stem}.{sha256(content).hexdigest()[:16]}{plain.suffix}"
        found[name] = Asset(name, KINDS[plain.suffix], content, packed=file.suffix == ".gz")
    return found


@cache
def address(file: str) -> str:
    """The path of an asset by its file's name: `pages.css`."""
    stem, _, suffix = file.rpartition(".")
    return next(f"/assets/{name}" for name in assets() if re.fullmatch(rf"{stem}\.[0-9a-f]{{16}}\.{suffix}", name))


@router.get("/assets/{name}")
async def asset(request: Request, name: str) -> Response:
    """A file that a page loads; it never changes under its name."""
    found = assets().get(name)
    if found is None:
        raise _nothing()
    headers = {"Cache-Control": FOREVER}
    if not found.packed:
        return Response(found.content, headers=headers, media_type=found.media)
    headers["Vary"] = "Accept-Encoding"
    if _takes_gzip(request):
        return Response(found.content, headers=headers | {"Content-Encoding": "gzip"}, media_type=found.media)
    return Response(gzip.decompress(found.content), headers=headers, media_type=found.media)


def _takes_gzip(request: Request) -> bool:
    """Whether the answer may be compressed: gzip, or anything, is named and not with weight zero (RFC 9110, 12.5.3)."""
    weights = {}
    for part in request.headers.get("accept-encoding", "").lower().split(","):
        coding, _, weight = part.partition(";")
        weights[coding.strip()] = not re.fullmatch(r"\s*q\s*=\s*0(\.0*)?\s*", weight)
    return weights.get("gzip", weights.get("*", False))


@router.get("/docs")
async def docs(request: Request) -> Response:
    """The API reference."""
    html = page_html.reference(
        program=address("api-reference.js"),
        starter=address("docs.js"),
        style=address("docs.css"),
        icon=address("icon.svg"),
    )
    return _tagged(request, html, "text/html", page_html.DOCS_POLICY)


DOCUMENT = Lock()


@router.get("/openapi.json")
async def openapi(request: Request) -> Response:
    """The OpenAPI document. The first call makes it in a thread: it takes a second, others are served meanwhile."""
    return _tagged(request, await run_in_threadpool(_document, request.app), "application/json", page_html.DOCS_POLICY)


def _document(app: FastAPI) -> str:
    with DOCUMENT:
        if not hasattr(app.state, "document"):
            app.state.document = json.dumps(app.openapi(), ensure_ascii=False, separators=(",", ":"))
        made: str = app.state.document
        return made


@cache
def guides() -> dict[str, Text]:
    """All guides by their names, in the order in which they are read."""
    names = {file.stem for file in GUIDES.glob("*.md")}
    order = [name for name in FIRST if name in names] + sorted(names - set(FIRST))
    found = {}
    for name in order:
        markdown = (GUIDES / f"{name}.md").read_text("utf-8")
        found[name] = Text(f"/guides/{name}", markdown.partition("\n")[0].removeprefix("# "), markdown)
    return found


@router.get("/guides")
async def guide_list(request: Request) -> Response:
    """What guides there are."""
    lines = [f"- [{text.title}](/guides/{name}): {_summary(text.markdown)}\n" for name, text in guides().items()]
    return _answer(request, Text("/guides", "Guides", f"# Guides\n\n{''.join(lines)}"))


def _summary(markdown: str) -> str:
    """The first sentence under the title."""
    paragraph = " ".join(markdown.split("\n\n")[1].split())
    return re.split(r"(?<=[.]) ", paragraph, maxsplit=1)[0]


@router.get("/guides/{guide}")
async def guide_page(request: Request, guide: str) -> Response:
    """One guide."""
    found = guides().get(guide)
    if found is None:
        raise _nothing()
    return _answer(request, found)


@cache
def pictures() -> dict[str, str]:
    """All pictures that guides show, by their files' names."""
    return {file.name: file.read_text("utf-8") for file in sorted(PICTURES.glob("*.svg"))}


@router.get("/guides/pictures/{name}")
async def picture(request: Request, name: str) -> Response:
    """A picture in a guide."""
    found = pictures().get(name)
    if found is None:
        raise _nothing()
    return _tagged(request, found, KINDS[".svg"], page_html.PICTURE_POLICY)


@cache
def problem_texts() -> dict[str, str]:
    """What each kind of problem means and what to do, by its name: the sections of the guide."""
    parts = re.split(r"^## `([a-z-]+)`\n", guides()["problems"].markdown, flags=re.MULTILINE)
    return dict(zip(parts[1::2], parts[2::2], strict=True))


@router.get("/problems/{problem}")
async def problem_page(request: Request, problem: str) -> Response:
    """What a kind of problem means, and what to do."""
    said = problem_texts().get(problem)
    if said is None:
        raise _nothing()
    status, title = TITLES[problem]
    markdown = (
        f"# {title}\n\nThe problem `/problems/{problem}`, answered with the status {status}.\n{said}\n"
        "[All kinds of problems](/guides/problems)\n"
    )
    return _answer(request, Text(f"/problems/{problem}", title, markdown))


@router.get("/")
async def front(request: Request) -> Response:
    """What runs here, and where to go on."""
    here = str(request.base_url).rstrip("/")
    if not re.fullmatch(r"https?://[A-Za-z0-9.:\[\]-]+", here):  # a strange Host header is not worth repeating
        here = "http://127.0.0.1:8000"
    markdown = (
        f"# Loadwright\n\nA service for strength coaches, version {request.app.version}. It turns a training block "
        "into the load on each bar today, learns from every set that is logged, and gives the reason with each number. "
        "The coach has the last word.\n\n"
        "- [API reference](/docs): every operation, with an example\n"
        "- [Guides](/guides): how to use it, what its words mean, where its numbers come from\n"
        "- [OpenAPI document](/openapi.json): to generate a client\n\n"
        "## The first call\n\nIt says which gym a key belongs to and what it may do:\n\n"
        f"```sh\ncurl -s {here}/v1 -H 'Authorization: Bearer YOUR_KEY'\n```\n\n"
        "The person who runs this service makes keys: `loadwright key create --gym NAME --right coach`.\n"
    )
    return _answer(request, Text("/", "Loadwright", markdown))


def _answer(request: Request, text: Text) -> Response:
    """A text in the format that the request likes."""
    kind = chosen(request, FORMATS)
    content = _html(text) if kind == "html" else text.markdown
    return _tagged(request, content, FORMATS[kind], page_html.PAGE_POLICY)


@lru_cache(maxsize=64)  # the front page repeats the host that was asked for
def _html(text: Text) -> str:
    body = page_html.rendered(text.markdown)
    return page_html.page(text.title, body, path=text.path, style=address("pages.css"), icon=address("icon.svg"))


def _tagged(request: Request, content: str, media: str, policy: str) -> Response:
    """An answer that is fetched again only when it has changed."""
    body = content.encode()
    tag = f'"{sha256(body).hexdigest()[:32]}"'
    headers = {"Cache-Control": ASK_AGAIN, "ETag": tag, "Vary": "Accept", "Content-Security-Policy": policy}
    seen = {one.strip().removeprefix("W/") for one in request.headers.get("if-none-match", "").split(",")}
    if tag in seen or "*" in seen:
        return Response(status_code=304, headers=headers)
    return Response(body, headers=headers, media_type=f"{media}; charset=utf-8")


def _nothing() -> Problem:
    return Problem("not-found", "There is no such page here.")
