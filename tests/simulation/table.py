"""The tables for the guide, in Markdown, and the bars that they are held against."""

from __future__ import annotations

from dataclasses import dataclass
from textwrap import fill

from tests.simulation.measures import Results, Value
from tests.simulation.scenarios import BASELINE, DESIGNED, MAIN, MODEL, PRODUCT, STRESS, Trial
from tests.simulation.texts import MEANING, PARTS, REASONS

All = dict[str, dict[str, Results]]
EARLY, LATER = 0, 1
GIVEN, CLEAN, NONE = MAIN[0].name, MAIN[1].name, MAIN[2].name


@dataclass(frozen=True, slots=True)
class Bar:
    """What is required of the product: a ratio to the moving average on the same lifters, or a number of its own."""

    words: str
    trial: str
    part: int
    measure: str
    most: float
    least: float | None = None

    def value(self, results: All) -> Value:
        """What was reached."""
        mine, theirs = results[self.trial][PRODUCT], results[self.trial][BASELINE]
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
    return "–" if value.mean != value.mean else f"{value.mean:.{digits}f} ± {value.se:.{digits}f}".replace("-", "−")


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
                f"**{name}**" if name == PRODUCT else name,
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


def met(bar: Bar, results: All) -> bool:
    """Whether a bar is met."""
    found = bar.value(results).mean
    return found <= bar.most and (bar.least is None or found >= bar.least)


def _bars(results: All) -> list[str]:
    rows = []
    for bar in BARS:
        if bar.trial not in results:
            continue
        asked = f"at most {bar.most:.2f}" if bar.least is None else f"{bar.least:g} to {bar.most:g}"
        found = _number(bar.value(results), 2 if bar.least is None else 1)
        rows.append((bar.words, asked, found, "met" if met(bar, results) else "**missed**"))
    if GIVEN in results and CLEAN in results:
        cost = slips(results)
        said = "met" if cost.mean <= SLIPS_MOST else "**missed**"
        rows.append(("slips cost, points of error", f"at most {SLIPS_MOST:.2f}", _number(cost), said))
    return _table(("the whole product against the moving average", "wanted", "found", ""), rows)


def slips(results: All) -> Value:
    """What slips cost: the same lifters with and without them."""
    return results[GIVEN][PRODUCT].difference(results[CLEAN][PRODUCT], "error", LATER)


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
        for part, sessions in zip((EARLY, LATER), trial.counts, strict=True):
            for name, found in results.get(trial.name, {}).items():
                if sessions and found.value("error", part).mean == found.value("error", part).mean:
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


def worse(results: All) -> list[tuple[str, str]]:
    """What the model is worse in than the moving average by more than two standard errors: a trial and in what."""
    found = []
    for trial in STRESS:
        if trial.name not in results:
            continue
        mine, theirs = results[trial.name][MODEL], results[trial.name][BASELINE]
        changes = ((words, mine.difference(theirs, measure, LATER)) for words, measure in WORSE)
        bad = [words for words, change in changes if change.mean > 2 * change.se]
        if bad:
            found.append((trial.name, " and ".join(bad)))
    return found


WORSE = (("error of the max", "error"), ("top set", "top_off"), ("sets above 9.5", "hard"))


def _worse(results: All) -> list[str]:
    bad = worse(results)
    if not bad:
        return ["In none of these the model is worse than the moving average by more than two standard errors.", ""]
    lines = ["Worse than the moving average by more than two standard errors:", ""]
    for name, words in bad:
        why = f": {REASONS[name]}" if name in REASONS else "."
        lines.append(fill(f"- *{name}*, {words}{why}", 120, subsequent_indent="  "))
    return [*lines, ""]


def forecast(results: All) -> str:
    """Errors four weeks ahead, in a sentence."""
    mine, theirs = (results[GIVEN][name].value("forecast", LATER) for name in (PRODUCT, BASELINE))
    return f"Four weeks ahead the max is off by {_number(mine)} %, by the moving average {_number(theirs)} %."


PICTURES = (
    ("weeks.svg", "One lifter's squat over sixteen weeks: the true max inside of the model's range."),
    ("narrowing.svg", "The range before each of the first twelve sessions: narrow after six, however a lift began."),
    ("held.svg", "Ten lifters' sessions, filled where the true max lay inside of the range: misses come in a row."),
)


def pictures() -> list[str]:
    """What is drawn, with its words for those who do not see it."""
    lines = [
        "Of lifters that were looked at: one whose squat is known as well as most (black is the truth), how the range"
    ]
    lines += ["narrows by how a lift began, and ten lifters, session by session.", ""]
    return [*lines, *(f"![{words}](/guides/pictures/{name})\n" for name, words in PICTURES)]


def tables(results: All, counts: dict[str, int]) -> str:
    """All tables that there are results for."""
    lines: list[str] = []
    if GIVEN in results:
        lines += [
            MEANING,
            f"{counts['main']} lifters, a max given at the start; sessions after the first three of each lift:",
            "",
        ]
        lines += [*_methods(results, GIVEN, LATER)]
        if CLEAN in results and NONE in results:
            lines += [*_bars(results)]
        lines += [forecast(results), "", *pictures()]
        lines += ["The first three sessions of each lift, a max given:", "", *_methods(results, GIVEN, EARLY)]
    if NONE in results:
        lines += ["The first three sessions of each lift, no max given:", "", *_methods(results, NONE, EARLY)]
    if any(trial.name in results for trial in STRESS):
        said = (
            f"One thing changed at a time, {counts['stress']} lifters each, later sessions; the model's loads as they "
            "are. Differences are against the moving average: below zero the model is better."
        )
        lines += [fill(said, 120), "", *_against(results, STRESS), *_worse(results)]
    if any(trial.name in results for trial in DESIGNED):
        lines += [fill(f"Parts of their own, {counts['designed']} lifters each. {PARTS}", 120), ""]
        lines += [*_designed(results, DESIGNED)]
    return "\n".join(lines)
