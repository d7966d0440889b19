"""Markdown as a plain page: own style, no script, nothing from elsewhere."""

from __future__ import annotations

import re
from collections.abc import Sequence
from html import escape
from typing import Any

from markdown_it import MarkdownIt
from markdown_it.renderer import RendererHTML
from markdown_it.token import Token
from markdown_it.utils import OptionsDict

PAGE_POLICY = (
    "default-src 'none'; style-src 'self'; img-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""What a page may load: our style and icon."""
PICTURE_POLICY = "default-src 'none'; style-src 'unsafe-inline'; frame-ancestors 'none'"
"""A picture has its colours in itself and loads nothing."""
DOCS_POLICY = (
    "default-src 'self'; style-src 'self' 'unsafe-inline'; img-src 'self' data:; font-src 'self' data:; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
"""What the reference may load: it writes its own styles; it cannot call anybody but this service."""

LINKS = (("/docs", "API reference"), ("/guides", "Guides"), ("/openapi.json", "OpenAPI"))


def rendered(markdown: str) -> str:
    """Markdown as HTML, raw HTML in it shown as text.

    Headings get an id to link to: each word in code in them its own (`## `share_of_max`` is `#share_of_max`), a
    heading without one its text. Tables stand in a box that scrolls, also by keyboard.
    """
    reader = _reader()
    tokens = reader.parse(markdown)
    for at, token in enumerate(tokens):
        if token.type == "heading_open" and token.tag != "h1":
            _name_heading(token, tokens[at + 1].children or [])
    return str(reader.renderer.render(tokens, reader.options, {}))


def _name_heading(heading: Token, inside: Sequence[Token]) -> None:
    words = [token for token in inside if token.type == "code_inline"]
    if not words:
        text = "".join(token.content for token in inside)
        heading.attrSet("id", re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-"))
    for word in words:
        word.attrSet("id", word.content)


def _reader() -> MarkdownIt:
    reader = MarkdownIt("commonmark", {"html": False}).enable("table")
    reader.add_render_rule("table_open", _table_open)
    reader.add_render_rule("table_close", _table_close)
    return reader


def _table_open(_self: RendererHTML, _tokens: Sequence[Token], _at: int, _options: OptionsDict, _env: Any) -> str:
    return '<div class="wide" tabindex="0"><table>\n'


def _table_close(_self: RendererHTML, _tokens: Sequence[Token], _at: int, _options: OptionsDict, _env: Any) -> str:
    return "</table></div>\n"


def page(title: str, body: str, *, path: str, style: str, icon: str) -> str:
    """A whole page around a body that is HTML already; `path` is where it is served."""
    here = f"{title} – Loadwright" if path != "/" else title
    return f"""\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{escape(here)}</title>
<link rel="stylesheet" href="{style}">
<link rel="icon" href="{icon}">
<link rel="alternate" type="text/markdown" href="{escape(path)}?format=markdown">
</head>
<body>
{header(path)}
<main>
{body}</main>
</body>
</html>
"""


def header(path: str) -> str:
    """The line of links at the top."""
    links = "".join(f'<a href="{to}"{_current(to, path)}>{name}</a>\n' for to, name in LINKS)
    return f'<header>\n<a href="/">Loadwright</a>\n{links}</header>'


def _current(to: str, path: str) -> str:
    return ' aria-current="page"' if path == to or path.startswith(f"{to}/") else ""


def reference(*, program: str, starter: str, style: str, icon: str) -> str:
    """The API reference: our line of links, and the place where the program draws."""
    return f"""\
<!doctype html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>API reference – Loadwright</title>
<link rel="stylesheet" href="{style}">
<link rel="icon" href="{icon}">
</head>
<body>
{header("/docs")}
<noscript><p class="notice">This page is drawn by a script. Without one, read <a href="/openapi.json">the OpenAPI
document</a> or <a href="/guides">the guides</a>.</p></noscript>
<div id="reference" data-document="/openapi.json"></div>
<script src="{program}"></script>
<script src="{starter}"></script>
</body>
</html>
"""
