"""The tables for the guide, in Markdown, and the bars that they are held against."""

from __future__ import annotations

from dataclasses import dataclass

from tests.simulation.measures import Results, Value
from tests.simulation.scenarios import BASELINE, DESIGNED, MAIN, MODEL, STRESS, Trial

All = dict[str, dict[str, Results]]
EARLY, LATER = 0, 1
GIVEN, CLEAN, NONE = MAIN[0].name, MAIN[1].name, MAIN[2].name


@dataclass(frozen=True, slots=True)
class Bar:
    """What is required of the model: a ratio to the moving average on the same lifters, or a number of its own."""

    words: str
    trial: str
    part: int
    measure: str
    most: float
    least: float | None = None

    def value(self, results: All) -> Value:
        """What was reached."""
        mine, theirs = results[self.trial][MODEL], results[self.trial][BASELINE]
        return (
            mine.value(self.measure, self.part)
            if self.least is not None
            else mine.ratio(theirs, self.measure, self.part)
        )


BARS = (
    Bar("error of the max", GIVEN, LATER, "error", 0.82),
    Bar("error of the max, no slips", CLEAN, LATER, "error", 0.82),
    Bar("work sets above 9.5", GIVEN, LATER, "hard", 0.68),
    Bar("top set, effort against target", GIVEN, LATER, "top_off", 0.86),
    Bar("first three sessions, max given: error", GIVEN, EARLY, "error", 1.08),
    Bar("first three sessions, max given: above 9.5", GIVEN, EARLY, "hard", 0.45),
    Bar("first three sessions, none given: error", NONE, EARLY, "error", 1.12),
    Bar("first three sessions, none given: above 9.5", NONE, EARLY, "hard", 0.60),
    Bar("80 % ranges that hold the true max, %", GIVEN, LATER, "covered", 86, 75),
)
SLIPS_MOST = 0.05
"""Points of error that slips may cost."""


def _number(value: Value, digits: int = 2) -> str:
    return "–" if value.mean != value.mean else f"{value.mean:.{digits}f} ± {value.se:.{digits}f}"


def _plain(value: Value, digits: int = 1) -> str:
    return "–" if value.mean != value.mean else f"{value.mean:.{digits}f}"


def _row(*cells: str) -> str:
    return "| " + " | ".join(cells) + " |"


def _table(head: tuple[str, ...], rows: list[tuple[str, ...]]) -> list[str]:
    return [_row(*head), _row(*("---" for _ in head)), *(_row(*row) for row in rows), ""]


def _methods(results: All, trial: str, part: int) -> list[str]:
    head = (
        "method", "max: error, %", "bias, %", "10 % off, % of sessions", "top set: off target", "mean",
        "2 points light, %", "above 9.5, %", "missed, %",
    )  # fmt: skip
    rows = []
    for name, found in results[trial].items():
        rows.append(
            (
                f"**{name}**" if name == MODEL else name,
                _number(found.value("error", part)),
                _signed(found.value("bias", part)),
                _plain(found.value("far_off", part)),
                _number(found.value("top_off", part)),
                _signed(found.value("top_bias", part), 2),
                _plain(found.value("top_light", part)),
                _number(found.value("hard", part), 1),
                _plain(found.value("missed", part)),
            )
        )
    return _table(head, rows)


def _signed(value: Value, digits: int = 1) -> str:
    return "–" if value.mean != value.mean else f"{value.mean:+.{digits}f}".replace("-", "−")


def _bars(results: All) -> list[str]:
    rows = []
    for bar in BARS:
        if bar.trial not in results:
            continue
        asked = f"at most {bar.most:.2f}" if bar.least is None else f"{bar.least:g} to {bar.most:g}"
        rows.append((bar.words, asked, _number(bar.value(results), 2 if bar.least is None else 1)))
    if GIVEN in results and CLEAN in results:
        rows.append(("slips cost, points of error", f"at most {SLIPS_MOST:.2f}", _number(slips(results))))
    return _table(("the model against the moving average", "wanted", "found"), rows)


def slips(results: All) -> Value:
    """What slips cost: the same lifters with and without them."""
    return results[GIVEN][MODEL].difference(results[CLEAN][MODEL], "error", LATER)


def _against(results: All, trials: tuple[Trial, ...]) -> list[str]:
    head = (
        "one thing changed", "max: error, %", "difference", "bias, %", "top set: off target", "difference",
        "above 9.5, %", "difference", "80 % range holds, %",
    )  # fmt: skip
    rows = []
    for trial in trials:
        if trial.name in results:
            mine, theirs = results[trial.name][MODEL], results[trial.name][BASELINE]
            rows.append(
                (
                    trial.name,
                    _number(mine.value("error", LATER)),
                    _change(mine.difference(theirs, "error", LATER)),
                    _signed(mine.value("bias", LATER)),
                    _plain(mine.value("top_off", LATER), 2),
                    _change(mine.difference(theirs, "top_off", LATER)),
                    _plain(mine.value("hard", LATER)),
                    _change(mine.difference(theirs, "hard", LATER), 1),
                    _plain(mine.value("covered", LATER), 0),
                )
            )
    return _table(head, rows)


def _change(value: Value, digits: int = 2) -> str:
    return "–" if value.mean != value.mean else f"{value.mean:+.{digits}f} ± {value.se:.{digits}f}".replace("-", "−")


def _designed(results: All, trials: tuple[Trial, ...]) -> list[str]:
    head = (
        "tried",
        "method",
        "sessions",
        "max: error, %",
        "bias, %",
        "top set: off target",
        "mean",
        "above 9.5, %",
        "80 % range holds, %",
    )
    rows = []
    for trial in trials:
        for part, sessions in ((EARLY, "first three"), (LATER, "later")):
            for name, found in results.get(trial.name, {}).items():
                if found.value("error", part).mean == found.value("error", part).mean:
                    rows.append(
                        (
                            trial.name,
                            name,
                            sessions,
                            _number(found.value("error", part)),
                            _signed(found.value("bias", part)),
                            _number(found.value("top_off", part)),
                            _signed(found.value("top_bias", part), 2),
                            _plain(found.value("hard", part)),
                            _plain(found.value("covered", part), 0),
                        )
                    )
    return _table(head, rows)


def tables(results: All, counts: dict[str, int]) -> str:
    """All tables that there are results for."""
    lines: list[str] = []
    if GIVEN in results:
        lines += [
            f"{counts['main']} invented lifters, 16 weeks, a max given; sessions after the first three of each lift:",
            "",
        ]
        lines += [*_methods(results, GIVEN, LATER)]
        if len(results) > 1:
            lines += [*_bars(results)]
        lines += ["The first three sessions of each lift, a max given:", "", *_methods(results, GIVEN, EARLY)]
    if NONE in results:
        lines += ["The first three sessions of each lift, no max given:", "", *_methods(results, NONE, EARLY)]
    if any(trial.name in results for trial in STRESS):
        lines += [
            f"One thing changed, {counts['stress']} lifters each; differences are against the moving average:",
            "",
        ]
        lines += [*_against(results, STRESS)]
    if any(trial.name in results for trial in DESIGNED):
        lines += [f"Parts of their own, {counts['designed']} lifters each:", "", *_designed(results, DESIGNED)]
    return "\n".join(lines)
