"""The pages that are served without a key: reference, guides, problems, front page."""

import gzip
import re
from hashlib import sha256
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from service.api import page_html, pages
from service.api.problems import TITLES
from service.app import create_app
from service.core.curves import curves
from service.store.session import Database
from tests.api.formula_words import words_in

ROOT = Path(__file__).parents[2]
VOID = ("meta", "link", "br", "hr", "img")
PAGES = ["/", "/docs", "/guides", *(f"/guides/{name}" for name in pages.guides())]
PAGES += [f"/problems/{kind}" for kind in TITLES]


@pytest.fixture(scope="module")
def client():
    """No page needs the database, so there is none."""
    return TestClient(create_app(Database("postgresql+psycopg://nobody@127.0.0.1:1/none")))


class Links(HTMLParser):
    """Where a page leads and what it loads; ids in it; tags left open."""

    def __init__(self, html):
        super().__init__()
        self.to, self.loads, self.ids, self.open = [], [], [], []
        self.feed(html)

    def handle_starttag(self, tag, attrs):
        found = dict(attrs)
        if tag == "a":
            self.to.append(found["href"])
        elif found.get("rel") != "alternate":
            self.loads += [found[name] for name in ("href", "src") if name in found]
        self.ids += [found["id"]] if "id" in found else []
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag):
        assert tag in VOID or self.open.pop() == tag


@pytest.mark.parametrize("path", PAGES)
def test_a_page_opens_without_a_key_and_all_that_it_leads_to_is_there(client, path):
    got = client.get(path, headers={"Accept": "text/html,application/xhtml+xml,*/*;q=0.8"})
    assert got.status_code == 200
    assert got.headers["content-type"] == "text/html; charset=utf-8"
    page = Links(got.text)
    assert page.open == []
    assert len(page.ids) == len(set(page.ids))
    for to in {*page.to, *page.loads}:
        assert to.startswith("/"), "nothing leads away from this machine"
        assert client.get(to).status_code == 200, to


@pytest.mark.parametrize("path", PAGES)
def test_a_page_may_load_from_this_service_only(client, path):
    policy = dict(rule.strip().split(" ", 1) for rule in client.get(path).headers["content-security-policy"].split(";"))
    expected = "'self'" if path == "/docs" else "'none'"
    assert policy["default-src"] == expected
    assert policy["frame-ancestors"] == "'none'"
    sources = {word for rule in policy.values() for word in rule.split()}
    assert sources <= {"'none'", "'self'", "'unsafe-inline'", "data:"}
    assert "script-src" not in policy, "scripts follow default-src: no inline ones"


@pytest.mark.parametrize("name", sorted(file.name for file in (ROOT / "service/guides/pictures").iterdir()))
def test_a_picture_is_served_with_its_own_colours_and_loads_nothing(client, name):
    got = client.get(f"/guides/pictures/{name}")
    assert (got.status_code, got.headers["content-type"]) == (200, "image/svg+xml; charset=utf-8")
    rules = dict(rule.strip().split(" ", 1) for rule in got.headers["content-security-policy"].split(";"))
    assert rules == {"default-src": "'none'", "style-src": "'unsafe-inline'", "frame-ancestors": "'none'"}
    again = client.get(f"/guides/pictures/{name}", headers={"If-None-Match": got.headers["etag"]})
    assert again.status_code == 304
    drawn = ET.fromstring(got.content)  # noqa: S314  (our own file)
    assert drawn.tag == "{http://www.w3.org/2000/svg}svg"
    assert {part.tag.rpartition("}")[2] for part in drawn.iter()} <= {
        "svg", "title", "desc", "style", "path", "circle", "text",
    }  # fmt: skip
    assert "prefers-color-scheme:dark" in got.text
    assert all("url(" not in text and "@import" not in text for text in drawn.itertext())
    assert len(got.content) < 8000


def test_there_is_no_other_picture(client):
    for name in ("none.svg", "numbers.md", "..%2Fnumbers.md", "%2E%2E%2Fnumbers.md"):
        assert client.get(f"/guides/pictures/{name}").status_code == 404, name


def test_pages_are_no_operations(client):
    paths = client.get("/openapi.json").json()["paths"]
    assert not [
        path for path in paths if path in {"/", "/docs"} or path.startswith(("/guides", "/problems", "/assets"))
    ]


@pytest.mark.parametrize(
    ("accept", "media"),
    [
        (None, "text/html"),
        ("*/*", "text/html"),
        ("text/*", "text/html"),
        ("text/markdown", "text/markdown"),
        ("text/html;q=0.5, text/markdown", "text/markdown"),
        ("text/*;q=0.2, text/markdown;q=0.1, text/html;q=0", "text/markdown"),
        ("application/json, text/markdown;q=0.1", "text/markdown"),
    ],
)
def test_a_guide_comes_in_the_format_that_is_liked_best(client, accept, media):
    headers = {} if accept is None else {"Accept": accept}
    got = client.get("/guides/words", headers=headers)
    assert got.headers["content-type"] == f"{media}; charset=utf-8"
    assert "Accept" in got.headers["vary"]


def test_a_guide_as_markdown_is_the_file_itself(client):
    got = client.get("/guides/words?format=markdown")
    assert got.content == (ROOT / "service/guides/words.md").read_bytes()


@pytest.mark.parametrize(("query", "accept"), [("", "application/json"), ("", "text/html;q=0"), ("?format=pdf", "*/*")])
def test_a_format_that_is_not_offered_is_refused_with_those_that_are(client, query, accept):
    got = client.get(f"/guides/words{query}", headers={"Accept": accept})
    assert got.status_code == 406
    assert got.json()["type"] == "/problems/not-acceptable"
    assert "text/markdown (?format=markdown)" in got.json()["detail"]


@pytest.mark.parametrize("path", ["/guides/words", "/openapi.json"])
def test_a_page_that_has_not_changed_is_not_sent_again(client, path):
    first = client.get(path)
    again = client.get(path, headers={"If-None-Match": f'"other", W/{first.headers["etag"]}'})
    assert (again.status_code, again.content) == (304, b"")
    other = client.get("/guides/words?format=markdown", headers={"If-None-Match": first.headers["etag"]})
    assert other.status_code == 200


@pytest.mark.parametrize("path", ["/guides/none", "/guides/..%2Fapp.py", "/problems/none", "/assets/none.js", "/docs/"])
def test_a_page_that_is_not_there_is_a_problem(client, path):
    got = client.get(path)
    assert got.status_code == 404
    assert got.headers["content-type"] == "application/problem+json"


def test_every_kind_of_problem_has_a_page_that_says_what_it_means_and_what_to_do(client):
    assert list(pages.problem_texts()) == list(TITLES)
    for kind, (status, title) in TITLES.items():
        text = client.get(f"/problems/{kind}?format=markdown").text
        assert text.startswith(f"# {title}\n\nThe problem `/problems/{kind}`, answered with the status {status}.\n")
        meaning, to_do = re.findall(r"^\*\*What (?:it means|to do)\.\*\* (.+?)(?=\n\n)", text, re.MULTILINE | re.DOTALL)
        assert min(len(meaning), len(to_do)) > 20


def test_the_type_of_a_problem_opens_as_its_page(client):
    kind = client.get("/v1/athletes").json()["type"]
    assert "A key is needed" in client.get(kind).text


def test_the_front_page_gives_a_call_that_can_be_pasted(client):
    text = client.get("/", headers={"Accept": "text/markdown"}).text
    assert "curl -s http://testserver/v1 -H 'Authorization: Bearer YOUR_KEY'" in text
    strange = client.get("/", headers={"Accept": "text/markdown", "Host": "a$(reboot)"}).text
    assert "reboot" not in strange
    assert "curl -s http://127.0.0.1:8000/v1" in strange


def test_what_markdown_holds_as_html_is_shown_and_not_run():
    assert "<script" not in page_html.rendered("# A\n\n<script>1</script>\n")
    assert "<b>&amp;" not in page_html.page("<b>&", "", path="/", style="s", icon="i")


def test_a_heading_can_be_linked_to_by_each_word_in_code_and_else_by_its_text():
    html = page_html.rendered("# T\n\n## `one`, `two`\n\n## How far they reach\n")
    assert Links(html).ids == ["one", "two", "how-far-they-reach"]


def test_an_asset_never_changes_under_its_name(client):
    for name in pages.assets():
        got = client.get(f"/assets/{name}")
        assert got.headers["cache-control"] == "public, max-age=31536000, immutable"
    stored = (pages.ASSETS / "pages.css").read_bytes()
    address = f"/assets/pages.{sha256(stored).hexdigest()[:16]}.css"
    assert pages.address("pages.css") == address
    assert client.get(address).content == stored


@pytest.mark.parametrize(
    ("accept", "packed"),
    [("gzip", True), ("br, gzip;q=0.5", True), ("*", True), ("", False), ("identity", False), ("gzip;q=0, *", False)],
)
def test_the_program_of_the_reference_is_sent_packed_to_whoever_can_unpack_it(client, accept, packed):
    stored = (pages.ASSETS / "api-reference.js.gz").read_bytes()
    with client.stream("GET", pages.address("api-reference.js"), headers={"Accept-Encoding": accept}) as got:
        sent = b"".join(got.iter_raw())
    assert got.headers["vary"] == "Accept-Encoding"
    assert got.headers.get("content-encoding") == ("gzip" if packed else None)
    assert got.headers["content-type"].startswith("text/javascript")
    assert sent == (stored if packed else gzip.decompress(stored))


def test_the_program_of_the_reference_is_the_one_that_its_note_names():
    note = (pages.ASSETS / "api-reference.txt").read_text("utf-8")
    stored = (pages.ASSETS / "api-reference.js.gz").read_bytes()
    unpacked = gzip.decompress(stored)
    sums = dict(reversed(pair) for pair in re.findall(r"^sha256 +([0-9a-f]{64})  (\S+)$", note, re.MULTILINE))
    assert sums == {
        "standalone.js": sha256(unpacked).hexdigest(),
        "api-reference.js.gz": sha256(stored).hexdigest(),
    }
    version = re.search(r"^version +(\S+)$", note, re.MULTILINE)[1]
    assert f"@scalar/api-reference {version}\n".encode() in unpacked[:600]
    assert "MIT License" in note


def test_every_formula_that_a_step_can_name_is_described_and_no_other():
    guide = (ROOT / "service/guides/formulas.md").read_text("utf-8")
    headings = re.findall(r"^#+ .*", guide, re.MULTILINE)
    described = re.findall(r"`([^`]+)`", "\n".join(headings))
    assert len(described) == len(set(described))
    assert set(described) == words_in(ROOT / "service/core") | words_in(ROOT / "service/flows")


def table(guide, header):
    """The rows of the table that begins with this header, by the word in code in their first column."""
    text = (ROOT / f"service/guides/{guide}.md").read_text("utf-8")
    rows = text.partition(f"{header}\n")[2].split("\n\n")[0].splitlines()[1:]
    cells = [[cell.strip() for cell in row.strip("|").split("|")] for row in rows]
    return {row[0].strip("`"): row[1:] for row in cells}


def test_the_guide_to_curves_gives_the_ranges_that_are_enforced():
    rows = table("curves", "| curve | published | answered | straight line from one |")
    assert rows == {
        name: [
            f"{curve.published_fewest:g} to {curve.published_most:g}",
            f"{curve.fewest:g} to {curve.most:g}",
            "yes" if curve.jumps_at_one else "no",
        ]
        for name, curve in curves.CURVES.items()
    }


# Max in percent of the load at 2, 3, 5, 8 and 10 repetitions: the published forms, worked out apart from this program.
MULTIPLIERS = {
    "epley": (106.67, 110.00, 116.67, 126.67, 133.33),
    "brzycki": (102.86, 105.88, 112.50, 124.14, 133.33),
    "lander": (104.21, 107.20, 113.71, 125.11, 134.07),
    "lombardi": (107.18, 111.61, 117.46, 123.11, 125.89),
    "mayhew": (111.44, 113.99, 119.01, 126.29, 130.93),
    "oconner": (105.00, 107.50, 112.50, 120.00, 125.00),
    "wathen": (105.15, 108.98, 116.58, 127.67, 134.75),
    "kemmler": (101.59, 103.47, 108.02, 116.29, 122.36),
    "reynolds": (103.62, 107.35, 114.76, 125.63, 132.61),
}
# Adams: 1 - 0.02 reps. Textbook: Haff and Triplett, 4th ed., table 17.7. Default: (1 + 0.116 (reps - 1)) ^ -0.4, so
# 1.116, 1.232, 1.464, 1.812, 2.044 to the power -0.4.
SHARES = {
    "adams": (96, 94, 90, 84, 80),
    "textbook_table": (95, 93, 87, 80, 75),
    "default": tuple(100 * base**-0.4 for base in (1.116, 1.232, 1.464, 1.812, 2.044)),
}


def test_the_guide_to_curves_gives_percentages_as_published():
    rows = table("curves", "| curve | 2 | 3 | 5 | 8 | 10 |")
    assert set(rows) == set(curves.CURVES) == {*MULTIPLIERS, *SHARES}
    for name, cells in rows.items():
        expected = SHARES.get(name) or tuple(10_000 / times for times in MULTIPLIERS[name])
        # half of the last printed digit, and as much again for the multipliers' own rounding
        assert [float(cell) for cell in cells] == pytest.approx(expected, abs=0.055), name


def test_every_curve_has_its_section_in_the_guide():
    guide = (ROOT / "service/guides/curves.md").read_text("utf-8")
    assert re.findall(r"^## `(\w+)`$", guide, re.MULTILINE) == list(curves.CURVES)


def test_the_guide_to_words_has_the_published_scale():
    """Zourdos et al. 2016 and Helms et al. 2016: repetitions left at each RPE."""
    rows = table("words", "| RPE | left | in words |")
    left = {rpe: cells[0] for rpe, cells in rows.items()}
    assert left == {
        "10": "0", "9.5": "0", "9": "1", "8.5": "1 or 2", "8": "2", "7.5": "2 or 3", "7": "3", "5 to 6": "4 to 6",
        "3 to 4": "", "1 to 2": "",
    }  # fmt: skip
