"""What a finding is, and how findings of equal places become one."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from typing import Literal

Level = Literal["note", "doubt", "error"]
LEVELS: tuple[Level, ...] = ("error", "doubt", "note")
"""In the order in which a coach reads them."""
MOST_PLACES = 100
"""So many further places are named of one finding. Ours."""

CODES = (
    "effort_over_limit",
    "nothing_left",
    "too_many_repetitions",
    "following_sets_too_hard",
    "stop_never_reached",
    "effort_without_load",
    "basis_never_known",
    "basis_too_old",
    "basis_hardly_known",
    "basis_missing",
    "max_missing",
    "load_hard_to_believe",
    "slow_tempo",
    "intensity_unknown",
    "coarse_steps",
    "approval_needed",
    "left_out_of_estimates",
    "repetitions_of_set",
    "repetitions_of_session",
    "heavy_without_a_day",
    "jump",
    "lighter_week_is_not",
    "long_session",
)
"""All words of findings, in the order of the guide that explains them."""

PRACTICE = "common practice, no source"
OURS = "ours"


@dataclass(slots=True)
class Finding:
    """What looks wrong, or is worth knowing. A template with findings can be stored and lifted all the same."""

    level: Level
    """`error`: it cannot come as it is written; `doubt`: most likely not what was meant; `note`: worth knowing."""
    code: str
    """A stable word for programs; /guides/findings explains each."""
    text: str
    """The sentence."""
    source: str
    """Who says so: a publication, `common practice, no source`, or `ours`."""
    pointer: str
    """The first place in the template's weeks, a JSON Pointer (RFC 6901) as a fragment."""
    lift: str | None = None
    """The lift that it is about; null for a whole session."""
    times: int = 1
    """How many places have it."""
    also: list[str] = field(default_factory=list)
    """Further places, at most 100."""


@dataclass(frozen=True, slots=True)
class Remark:
    """A finding of a slot before it has a place: slots that are equal share it."""

    level: Level
    code: str
    text: str
    source: str
    member: str = ""
    """What follows the slot's pointer: `/target`."""

    def at(self, pointer: str, lift: str | None = None) -> Finding:
        """The finding at a place."""
        return Finding(self.level, self.code, self.text, self.source, pointer + self.member, lift)


def merged(found: Iterable[Finding]) -> list[Finding]:
    """Findings that say the same become one with all its places; by level, then in the template's order."""
    held: dict[tuple[str, str, str], Finding] = {}
    for one in found:
        key = (one.level, one.code, one.text)
        first = held.get(key)
        if first is None:
            held[key] = one
            continue
        first.times += 1
        if len(first.also) < MOST_PLACES:
            first.also.append(one.pointer)
    return sorted(held.values(), key=lambda one: LEVELS.index(one.level))


def slot_at(week: int, session: int, slot: int) -> str:
    """The pointer of a slot, all counted from 0."""
    return f"#/weeks/{week}/sessions/{session}/slots/{slot}"


def session_at(week: int, session: int) -> str:
    """The pointer of a session, both counted from 0."""
    return f"#/weeks/{week}/sessions/{session}"
