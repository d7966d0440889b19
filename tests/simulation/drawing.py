"""Small pictures as SVG: lines, bands and marks on two axes, readable on a light and on a dark page."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from xml.sax.saxutils import escape

Point = tuple[float, float]

STYLE = """\
text{font:13px system-ui,sans-serif;fill:#22262a}.q{fill:#5a6269}.e{text-anchor:end}.m{text-anchor:middle}\
path,circle{fill:none;stroke:#22262a;stroke-width:2;stroke-linejoin:round}path.g{stroke:#dcd9d3;stroke-width:1}\
.b{stroke:#1d6a92}path.w{fill:#1d6a92;fill-opacity:.2;stroke:none}.o{stroke:#a05a00}\
path.p{stroke:#1d6a92;stroke-width:11;stroke-linecap:round}text.b{fill:#1d6a92;stroke:none}text.o{fill:#a05a00;stroke:none}\
.d{stroke-dasharray:5 4}\
@media(prefers-color-scheme:dark){text{fill:#dfe2e4}.q{fill:#9aa3aa}path,circle{stroke:#dfe2e4}\
path.g{stroke:#343a3f}.b{stroke:#93c3de}path.w{fill:#93c3de}.o{stroke:#e3b062}\
path.p{stroke:#93c3de}text.b{fill:#93c3de;stroke:none}text.o{fill:#e3b062;stroke:none}}\
"""
"""Ink and grey as on the pages; b and o are two lines' colours, w is a band, g a grid, d dashes, p dots."""


def _n(value: float) -> str:
    return f"{value:.1f}".removesuffix(".0")


@dataclass(slots=True)
class Picture:
    """What is drawn so far. Values are put on the axes by `across` and `up`."""

    title: str
    said: str
    """The picture in words, for those who do not see it."""
    x: Point
    y: Point
    """Lowest and highest value of each axis."""
    width: int = 680
    height: int = 300
    left: int = 60
    bottom: int = 44
    parts: list[str] = field(default_factory=list)

    def across(self, value: float) -> float:
        """Where a value of the horizontal axis lies. [px]"""
        low, high = self.x
        return self.left + (value - low) / (high - low) * (self.width - self.left - 12)

    def up(self, value: float) -> float:
        """Where a value of the vertical axis lies. [px]"""
        low, high = self.y
        return self.height - self.bottom - (value - low) / (high - low) * (self.height - self.bottom - 14)

    def grid(self, at: Iterable[tuple[float, str]]) -> None:
        """Lines across, each with its words."""
        for value, words in at:
            y = _n(self.up(value))
            self.parts.append(f'<path class="g" d="M{self.left} {y}H{self.width - 12}"/>')
            self.parts.append(
                f'<text class="q e" x="{self.left - 6}" y="{_n(self.up(value) + 4)}">{escape(words)}</text>'
            )

    def ticks(self, at: Iterable[tuple[float, str]], name: str) -> None:
        """Words under the horizontal axis, and what it is."""
        y = self.height - self.bottom + 18
        for value, words in at:
            self.parts.append(f'<text class="q m" x="{_n(self.across(value))}" y="{y}">{escape(words)}</text>')
        middle = _n((self.left + self.width - 12) / 2)
        self.parts.append(f'<text class="q m" x="{middle}" y="{self.height - 6}">{escape(name)}</text>')

    def line(self, points: Sequence[Point], kind: str = "") -> None:
        """A line through points."""
        self.parts.append(f'<path{_class(kind)} d="M{self._path(points)}"/>')

    def band(self, low: Sequence[Point], high: Sequence[Point]) -> None:
        """What lies between two lines."""
        self.parts.append(f'<path class="w" d="M{self._path([*low, *reversed(high)])}Z"/>')

    def mark(self, x: float, y: float, kind: str = "", radius: float = 3) -> None:
        """A circle."""
        at = f'cx="{_n(self.across(x))}" cy="{_n(self.up(y))}" r="{radius:g}"'
        self.parts.append(f"<circle{_class(kind)} {at}/>")

    def dots(self, points: Sequence[Point]) -> None:
        """Filled circles, in little space."""
        path = "".join(f"M{_n(self.across(x))} {_n(self.up(y))}h0" for x, y in points)
        self.parts.append(f'<path class="p" d="{path}"/>')

    def words(self, x: float, y: float, text: str, kind: str = "") -> None:
        """Words at a place."""
        at = f'x="{_n(self.across(x))}" y="{_n(self.up(y))}"'
        self.parts.append(f"<text{_class(kind)} {at}>{escape(text)}</text>")

    def _path(self, points: Sequence[Point]) -> str:
        return "L".join(f"{_n(self.across(x))} {_n(self.up(y))}" for x, y in points)

    def svg(self) -> str:
        """The file."""
        head = (
            f'<svg xmlns="http://www.w3.org/2000/svg" width="{self.width}" height="{self.height}" '
            f'viewBox="0 0 {self.width} {self.height}" role="img">'
            f"<title>{escape(self.title)}</title><desc>{escape(self.said)}</desc><style>{STYLE}</style>"
        )
        return "\n".join([head, *self.parts, "</svg>", ""])


def _class(kind: str) -> str:
    return f' class="{kind}"' if kind else ""
