"""Sentences about the next set: what to do, and what in the sets before made it so. For lifters; short and true."""

from __future__ import annotations

from service.core import words
from service.core.ability.by_model import ByModel
from service.core.adjust.facts import Decision, Facts, Planned
from service.core.adjust.judged import Judged
from service.core.adjust.today import Today
from service.core.answers import PrescribedSet
from service.core.effort import nearest_half
from service.core.methods import NAMED
from service.core.model.load import limit_for
from service.core.prescribe.one_set import LIGHTEST_RPE, UNSURE
from service.core.prescribe.parts import count_words
from service.core.prescribe.until import goes_on, in_hand
from service.core.slots import OpenLastSet, TopSet
from service.core.units import GRAINS_PER_KG, Load, from_kg

_NO_STRENGTH = {
    "technique": "The last set ended over technique, which says nothing about strength.",
    "command": "The last set was turned down over a command, which says nothing about strength.",
    "grip": "The last set ended over the grip, which says nothing about the rest of you.",
    "other": "The last set ended for another reason than strength, so it changes nothing.",
}
_POINTS = {0.5: "half a point", 1.0: "a point", 1.5: "one and a half points", 2.0: "two points", 3.0: "three points"}
_KEPT = {
    "pain": "kept light after the pain that was reported",
    "miss": "clearly lighter after the missed repetition",
    "doubt": "no more until it is clear whether the last set was entered right",
    "after_hard": "the last set was so hard that this one is kept easier",
    "hard": "kept lighter after a set that was too hard",
}
_UNSAID = "no effort was given for the last set"
_COUNT = {1: "one repetition", 2: "two repetitions"}
_LIFT_DONE = "this lift is done for today."
_AGAINST_LAST = frozenset({"same_again", "for_target", "published_step", "step", "no_less"})
"""Rules whose load and repetitions are held against the last set."""
_NOTICED = 0.005
"""Part of a max by which today has to differ before it is called harder or easier: less is less than any plate. Ours.
[1]"""


def set_text(f: Facts, today: Today, d: Decision, source: PrescribedSet) -> str:
    """What to do next, with the reason where it is not simply the plan, and what ends sets until an effort."""
    text = _set_text(f, today, d, source)
    if f.until is None or source.role != "back_off":
        return text
    return text + goes_on(f.until, source.number, source.of)


def _set_text(f: Facts, today: Today, d: Decision, source: PrescribedSet) -> str:
    aside = f"{note} " if (note := _aside(f, today)) else ""
    if d.load is None:
        return aside + _of_choice(f, today, source)
    if unchanged(d, source) and _as_hard(d, source):
        return aside + _of_plan(f, source)
    if d.planned is not None and d.planned.role == "open_set":
        return aside + _open(f, d)
    count = _count(f, d)
    because = _because(f, today, d)
    because = f": {because}" if because else ""
    text = f"{count} with {words.load(d.load, f.g.lift.load_kind, f.g.unit)}{_how(f, today, d)}{because}."
    if d.expected is not None and f.slot.scheme.kind == "cluster":
        text += f" In one go it {words.should_leave(d.expected)}, and the rests make it easier."
    elif d.expected is not None:
        if d.reps and d.reps_to and d.reps != d.reps_to:
            text += f" {words.middle_leaves((d.reps + d.reps_to) / 2, d.expected)}."
        else:
            text += f" This {words.should_leave(d.expected)}."
    if d.rule == "fixed" and d.expected is not None and f.g.limit is not None and d.expected >= f.g.limit:
        text += " That looks too hard today: ask your coach before you take it."
    return aside + text


def _of_plan(f: Facts, source: PrescribedSet) -> str:
    """The plan's sentence, without what is no longer true of a set about to be lifted."""
    text = source.text if f.until is None else in_hand(source.text)
    for note in UNSURE:
        text = text.removesuffix(note)
    return text


def _of_choice(f: Facts, today: Today, source: PrescribedSet) -> str:
    """The plan's sentence where the lifter chooses the load, with the load of the last set to go by."""
    last = None if today.last is None else today.last.load
    if last is None or f.g.lift.load_kind == "none" or f.g.massless or source.role in ("back_off", "same_load"):
        return in_hand(source.text)
    return f"{source.text} The last set was with {words.load(last, f.g.lift.load_kind, f.g.unit)}."


def unchanged(d: Decision, source: PrescribedSet | Planned) -> bool:
    """Whether a set is as it was planned."""
    return d.load == source.load and d.reps == source.reps and d.rule in ("planned", "fixed")


def _as_hard(d: Decision, source: PrescribedSet) -> bool:
    """Whether what the plan says about its effort still holds."""
    if d.expected is None or source.expected_rpe is None:
        return True
    return abs(d.expected - float(source.expected_rpe)) < 0.5


def _aside(f: Facts, today: Today) -> str:
    """What is to be said about a last set that teaches nothing."""
    done = today.done
    if done is None or done.role == "warm_up" or today.seen is None:
        return ""
    if today.seen.verdict == "doubtful" and done.answer == "confirmed":
        return "The last set looks like a slip, so it counts as soon as another set agrees with it."
    if today.seen.verdict == "doubtful":
        return (
            "The last set is too far from what is known to be believed, so it does not count until somebody has said "
            "whether it is right."
        )
    if done.method not in ("straight", f.method):
        return f"The last set says nothing about the next one: {NAMED[done.method]}."
    return _NO_STRENGTH.get(done.ended_by, "")


def _open(f: Facts, d: Decision) -> str:
    scheme = f.slot.scheme
    load = words.load(d.load, f.g.lift.load_kind, f.g.unit) if d.load is not None else ""
    text = f"As many good repetitions as possible with {load}"
    if isinstance(scheme, OpenLastSet):
        text += f", {scheme.most_reps} at most" if scheme.most_reps is not None else ""
        stop = scheme.stop_rpe if scheme.stop_rpe is not None else f.g.most_rpe
        text += f"; stop when another one would take you past RPE {words.number(stop)}" if stop is not None else ""
    return f"{text}."


def _how(f: Facts, today: Today, d: Decision) -> str:
    """After the load: what it is held against."""
    reps_by = _reps_by(today, d)
    fewer = f", with {_COUNT.get(abs(reps_by), f'{abs(reps_by)} repetitions')} {'fewer' if reps_by < 0 else 'more'}"
    fewer = fewer if reps_by else ""
    apart = difference(d)
    if d.was is None and d.rule not in ("fixed", "percent_off"):
        return ""  # nothing to hold it against
    if d.rule == "step":
        return f", one step {'lighter' if apart < 0 else 'heavier'}" + fewer
    if d.rule == "fixed":
        return ", as the coach has decided" + fewer
    if d.rule == "percent_off" and isinstance(f.slot.scheme, TopSet) and f.slot.scheme.back_off is not None:
        less = f"{words.number(f.slot.scheme.back_off.less_percent, 2)} % lighter than the top set"
        limited = any(limit != "fewer_reps" for limit in d.limits)
        return (f", more than {less}" if limited and apart < 0 else f", about {less}") + fewer
    against = {"moved": "planned", "planned": "planned", "same_load": "in the top set"}.get(d.rule)
    against = against or ("planned" if today.last is None else f"in the {today.before_next}")
    if apart == 0:
        again = {"planned": ", as planned", "in the top set": ", the top set's load again"}.get(against, " again")
        return again + fewer
    shown = _shown(abs(apart), d)
    if _assisted(d.load) and _assisted(d.was):
        return f", {shown} {'more' if apart < 0 else 'less'} assistance than {against}" + fewer
    return f", {shown} {'less' if apart < 0 else 'more'} than {against}" + fewer


def _assisted(load: Load | None) -> bool:
    return load is not None and load.value < 0


def difference(d: Decision) -> float:
    """How much heavier the load is than what it is held against, in its own unit or steps; 0 for the same."""
    if d.load is None or d.was is None:
        return 0.0
    if d.load.unit == "step" or d.was.unit == "step":
        return float(d.load.value) - float(d.was.value)
    apart = (d.load.grains - d.was.grains) / GRAINS_PER_KG
    return 0.0 if abs(apart) < 0.001 else float(from_kg(apart, d.load.unit).value)


def _shown(apart: float, d: Decision) -> str:
    return f"{words.number(apart, 2)} {d.load.unit if d.load is not None else ''}".strip()


def _reps_by(today: Today, d: Decision) -> int:
    """How many repetitions more than in what the load is held against: the last set as it was asked, or the plan."""
    if d.planned is None or d.planned.reps is None or d.reps is None:
        return 0
    asked = today.last.asked[0] if today.last is not None and d.rule in _AGAINST_LAST else None
    return d.reps - (d.planned.reps if asked is None else asked)


def _because(f: Facts, today: Today, d: Decision) -> str:
    """The reason, the weightiest one."""
    kept = next((_KEPT[limit] for limit in _KEPT if limit in d.limits), None)
    if kept is not None:
        return kept
    told = _of_top(f, today) if d.rule in ("percent_off", "same_load") else judged_words(f, today, d)
    if "no_less" in d.limits:
        keep = "no less is asked than after a harder one"
        return f"{told}, and {keep}" if told else keep
    if "effort" in d.limits and d.cap_rpe is not None:
        keep = f"this keeps the set at RPE {words.number(d.cap_rpe)} or easier"
        if isinstance(today.able, ByModel) and (d.expected or 0) < d.cap_rpe - 0.75:
            keep = f"it is not sure enough yet that more would stay at RPE {words.number(d.cap_rpe)} or easier"
        return f"{told}, and {keep}" if told and d.rule != "same_again" else keep
    if d.rule in ("planned", "fixed", "stands"):
        return ""
    if "chance" in d.limits and d.rule == "moved" and difference(d) == 0 and not _reps_by(today, d):
        return ""  # as planned
    if "chance" in d.limits and f.g.limit is not None:
        past = words.number(limit_for(f.asked_rpe or 0, f.g.limit))
        keep = f"it is not sure enough yet that more would stay under RPE {past}"
        if today.seen is not None and today.seen.reported is None and today.seen.verdict == "nothing":
            told = "" if _aside(f, today) else _UNSAID
        if not told or "than planned" in told:
            return keep
        against = (today.seen or today.last) if difference(d) <= 0 else None  # a lighter set, and yet no more
        return f"{told}, {'but' if against is not None and against.verdict == 'lighter' else 'and'} {keep}"
    return told + (_reservation(f, d) if told and d.rule != "same_again" else "")


def _reservation(f: Facts, d: Decision) -> str:
    """What is to be added to how the last set went."""
    if "fewer_reps" in d.limits or "more_reps" in d.limits:
        side = "lighter" if "fewer_reps" in d.limits else "heavier"
        return f", and the next {side} load would be too far off" if f.masses else ""
    if d.rule == "published_step" and d.factor not in (None, 1.0):
        return " (the fixed step of 2 % for each half point)"
    if d.rule in ("for_target", "moved") and difference(d) == 0:
        return ", but that is too little to change the load"
    return ""


def _of_top(f: Facts, today: Today) -> str:
    """How the top set went, for the first set after it; empty where it was as asked."""
    last = today.last
    if last is None or last is not today.top:
        return ""
    if last.verdict == "missed":
        return "the top set was missed"
    off = 0.0 if f.target_rpe is None or last.as_asked is None else last.as_asked - f.target_rpe
    if abs(off) <= 0.5:
        return ""
    if _other_reps(last, off):
        return f"the top set had {'fewer' if off > 0 else 'more'} repetitions than asked"
    return f"the top set was {points(abs(off))} {'harder' if off > 0 else 'lighter'} than asked"


def judged_words(f: Facts, today: Today, d: Decision) -> str:
    """How the last set that counts compared with what was asked or expected; empty where there is nothing to say."""
    if d.rule in _AGAINST_LAST and today.last is not None:
        return _against_target(f, today, today.last)
    judged = today.seen if today.seen is not None and today.seen.verdict != "nothing" else today.build_up
    if judged is None or judged.verdict in ("nothing", "first", "as_expected", "doubtful"):
        return _all_of_today(f, today, d) if d.rule == "moved" else ""
    if judged.verdict == "missed":
        return "a repetition was missed on the way up"
    if judged.halved and today.done is not None and today.done.felt is not None and judged is today.seen:
        return f"the last set felt {'heavier' if judged.verdict == 'harder' else 'lighter'} than expected"
    last = "last build-up set" if judged.role == "build_up" else "last set"
    return f"the {last} was {points(abs(_surprise(judged)))} {judged.verdict} than expected"


def _all_of_today(f: Facts, today: Today, d: Decision) -> str:
    """How the sets so far compared with what the plan stands on, where the last one has nothing to say.

    Said only where it moved the set that way: sets as expected can still carry the load over to the neighbouring one.
    """
    able, start = today.able, f.start
    if able is None or start is None or today.done is None:
        return ""
    better, moved = able.kg / start.kg - 1, difference(d) or _reps_by(today, d)
    if abs(better) >= _NOTICED and (not moved or (moved > 0) == (better > 0)):
        return f"today's sets have been {'easier' if better > 0 else 'harder'} than planned"
    return "the exact load has moved a little, and this fits it now" if moved else ""


def _against_target(f: Facts, today: Today, last: Judged) -> str:
    before = f"the {today.before_next}"
    if last.verdict == "missed":
        return f"{before} was missed"
    if today.seen is not None and today.seen.verdict == "doubtful":
        return ""
    if last.reported is None:
        if today.done is not None and today.done.felt is not None and today.seen is last:
            return "a word tells nothing yet, as no max is known to hold it against; say how many repetitions were left"
        return "" if _aside(f, today) else _UNSAID
    target = f.target_rpe
    off = 0.0 if target is None or last.as_asked is None else last.as_asked - target
    if abs(off) <= 0.5:
        return f"{before} was on target"
    if _other_reps(last, off):
        return f"{before} had {'fewer' if off > 0 else 'more'} repetitions than asked"
    return f"{before} was {points(abs(off))} {'harder' if off > 0 else 'lighter'} than asked"


def _other_reps(last: Judged, off: float) -> bool:
    """Whether a set was off by its repetitions, more than by its effort."""
    by_reps = (last.as_asked or 0) - (last.reported or 0)
    return by_reps * off > 0 and abs(by_reps) >= abs(off) / 2


def _surprise(judged: Judged) -> float:
    return (judged.reported or 0) - max(judged.expected or 0, LIGHTEST_RPE)


def points(off: float) -> str:
    """How far off an effort was, in words, to the nearest half. [RPE]

    >>> points(0.8), points(1.6), points(2.6)
    ('a point', 'one and a half points', '2.5 points')
    """
    half = max(nearest_half(off), 0.5)
    return _POINTS.get(half, f"{words.number(half)} points")


def end_text(today: Today, d: Decision) -> str:
    """Why this lift ends here."""
    if d.ends == "missed":
        return "Two sets were missed: end this lift for today."
    if d.ends == "pain":
        return "Stop this lift for today. Do not try to train through pain."
    if d.ends == "left_out":
        return (
            "The last set was too hard, and the loads here are too far apart to follow it: leave the rest of this lift "
            "out for today."
        )
    if d.ends == "too_hard" and d.cap_rpe is not None:
        most = words.number(d.cap_rpe)
        return f"Nothing light enough here keeps one more set at RPE {most} or easier: end this lift for today."
    if d.ends == "no_lighter":
        return "There is nothing light enough here to go on with: end this lift for today."
    if d.ends == "refused":
        return f"{d.refusal.rstrip('.')}. End this lift here, or ask the coach on the floor."
    if today.seen is not None and today.seen.verdict == "missed":
        return f"That was the last set planned, and it was missed: {_LIFT_DONE}"
    return f"That was the last set: {_LIFT_DONE}"


def last_text(text: str) -> str:
    """The end of a lift that is the end of the session too, from its sentence (`end_text`).

    >>> last_text("That was the last set: this lift is done for today.")
    'That was the last set: nothing is left to do in this session.'
    """
    if text.endswith(_LIFT_DONE):
        return f"{text.removesuffix(_LIFT_DONE)}nothing is left to do in this session."
    return f"{text} Nothing is left to do in this session."


def next_text(f: Facts, d: Decision, load: Load | None) -> str:
    """One short sentence for what would follow."""
    if d.ends is not None or d.planned is None:
        if d.ends == "until" and f.until is not None:
            return f"Then this lift is done for today: back-off sets end at RPE {words.number(f.until.until_rpe or 0)}."
        return "Then this lift is done for today." if d.ends == "all" else "Then end this lift for today."
    if d.planned.role == "open_set" and load is not None:
        return f"Then as many good repetitions as possible with {words.load(load, f.g.lift.load_kind, f.g.unit)}."
    if d.reps is None or load is None:
        return "Then go on as planned."
    return f"Then {_count(f, d)} with {words.load(load, f.g.lift.load_kind, f.g.unit)}."


def _count(f: Facts, d: Decision) -> str:
    """The repetitions, as a sentence begins."""
    if d.reps is None or (d.planned is not None and d.planned.role in ("warm_up", "build_up")):
        return words.reps(d.reps, d.reps_to)
    return count_words(f.slot, d.reps, d.reps_to, f.g.ctx.lifts)
