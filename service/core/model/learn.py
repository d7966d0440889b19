"""One set is learned from: the athlete and the lift before it become those after it."""

from __future__ import annotations

from dataclasses import replace

from service.core.model.anchor import anchored, found, not_against, starts_anew
from service.core.model.evidence import NOISE_GROWTH, REPORT_NOISE, WOBBLE, Evidence, Report, compare, reported
from service.core.model.expect import expected_repetitions
from service.core.model.fatigue import MOST_LEFT, fatigue_unit
from service.core.model.heard import UNMOVED, Heard, Lesson, Status
from service.core.model.judge import SAYS_NOTHING, Verdict, beside_a_bound, judge, nothing_new
from service.core.model.passing import adopt
from service.core.model.shape import h, slope
from service.core.model.state import RATE_LIMIT, Person, Row
from service.core.model.update import project

RATE_GAIN = 0.05
"""Weight of the newest set in the share of rated sets: six rated sets bring any share above `RATE_LIMIT`. Ours. [1]"""
UNKNOWN_LEFT = 2.0
"""Repetitions left that a refused set without an effort is taken to have had. Ours. [reps]"""
REFUSED_KEPT = 8
"""Refused sets of a session that are remembered. Ours. [sets]"""
SEEN_PART = 0.6
"""Share of the report noise that the next report shows: part of the noise is what the lifter is like, not the set.
Simulation. [1]"""
JUDGED_MOST, JUDGED_START, JUDGED_CAP = 200, 20, 9.0
"""Memory of how erratic reports are, sets that its start counts for, and the most that one set says. Simulation."""


def learn(
    person: Person, row: Row, heard: Heard, expected: float | None = None
) -> tuple[Person, Row, Lesson]:  # fmt: skip
    """What the athlete and the lift are after a set, and what the set did.

    Parameters
    ----------
    person : Person
        The athlete before the set.
    row : Row
        The lift before the set, with `begin` done for the set's date; it may be empty.
    heard : Heard
        The set.
    expected : float or None
        What `expected_repetitions` says of the set on this row, by whoever has asked it already. [reps]

    Returns
    -------
    tuple of (Person, Row, Lesson)
        New ones. The arguments are not changed, so that a set can be imagined and thrown away.

    Notes
    -----
    A Kalman filter with the model's equation (see `evidence.compare`): the surprise is shared out among the states in
    proportion to how unsure each is. What it learns of the athlete is given back at once, for the other lifts.

    Examples
    --------
    >>> from service.core.model.state import new_person, new_row
    >>> person, row, lesson = learn(new_person(), new_row("squat_like", 150), Heard(112.5, 5, 7))
    >>> lesson.status, lesson.surprise < 0, round(row.m[0], 7)
    ('used', True, -0.0410818)
    """
    known, row = row, adopt(row, person)
    if row.reference is None:
        expected = None
    elif expected is None or row is not known:
        expected = expected_repetitions(row, heard.kg, heard.reps)
    report = reported(heard, expected)
    if heard.excluded or heard.counts != "all":
        return person, *_only_tired(row, heard, report, expected)
    person = _with_rate(person, heard)
    if report.rpe is None and not report.failed and (expected is None or person.rate >= RATE_LIMIT):
        return person, *_only_tired(row, heard, report, expected)
    if expected is None:
        row = found(row, report)
        if row.at_least:
            return _learned(person, row, _unmoved(row, heard, report), None)
    elif row.at_least:
        return _of_a_bound(person, row, heard, report, expected)
    verdict = _weighed(row, heard, report, expected)
    if verdict.status != "refused":
        return _learned(person, row, verdict, expected)
    off = verdict.evidence.off
    if not starts_anew(row, person, heard, off):
        return person, *_refused(row, verdict, expected)
    row = anchored(row, report)
    return _learned(person, row, _weighed(row, heard, report, None), expected, off)


def _of_a_bound(
    person: Person, row: Row, heard: Heard, report: Report, expected: float
) -> tuple[Person, Row, Lesson]:  # fmt: skip
    """A set of a lift of which only easy sets are known.

    An easy one that shows more finds the level anew, still as a bound; nothing else moves, since what makes a level too
    low says nothing of the lifter's curve. The first set that tells how many repetitions are possible finds the level.
    """
    if report.in_words:  # nothing is known to hold a word against
        return person, *_only_tired(row, heard, report, expected)
    before = _unmoved(row, heard, report)
    surprise, off = before.evidence.surprise, None
    if nothing_new(before.evidence):
        return _learned(person, row, before, None)
    if before.status == "refused":
        off = before.evidence.off
        if not starts_anew(row, person, heard, off):
            return person, *_refused(row, before, expected)
    after = found(row, report)
    now = _unmoved(after, heard, report) if after.at_least else _weighed(after, heard, report, None)
    if off is None:
        now.m = not_against(surprise, row, after, now.m)
    now.evidence, now.spread = before.evidence, before.spread  # told of is what it was against the bound
    return _learned(person, after, now, None, off)


def _unmoved(row: Row, heard: Heard, report: Report) -> Verdict:
    """How a set stands to a level that is only a bound; no state is moved by it."""
    evidence = compare(row, report, expected_repetitions(row, heard.kg, heard.reps))
    return beside_a_bound(row, evidence)


def _with_rate(person: Person, heard: Heard) -> Person:
    """The athlete with a completed set counted as rated or not; a failed set does not ask for an effort."""
    if heard.failed:
        return person
    rated = heard.rpe is not None or heard.felt is not None
    return Person(
        person.bias,
        person.factor,
        person.v_bias,
        person.v_both,
        person.v_factor,
        person.rate + RATE_GAIN * (rated - person.rate),
        person.erratic,
        person.judged,
        person.version,
    )


def _weighed(row: Row, heard: Heard, report: Report, expected: float | None) -> Verdict:
    """What becomes of a report; None: what this row expects is not known yet."""
    if expected is None:
        expected = expected_repetitions(row, heard.kg, heard.reps)
    return judge(row, compare(row, report, expected))


def _only_tired(row: Row, heard: Heard, report: Report, expected: float | None) -> tuple[Row, Lesson]:
    """A set that teaches nothing: without an effort, ended by something else than strength, or taken out."""
    rpe = None if expected is None else 10 - (expected - heard.reps)
    if heard.counts == "nothing":
        return row, Lesson("unrated", expected_rpe=rpe)
    if heard.excluded and heard.counts == "all":
        left = _left_unbelieved(report)
    elif expected is not None:
        left = _left_expected(expected, heard.reps)
    else:
        status: Status = "ignored" if heard.counts == "all" else "unrated"
        return replace(row, fatigue=row.fatigue + 1), Lesson(status)
    return replace(row, fatigue=row.fatigue + fatigue_unit(left)), Lesson("unrated", expected_rpe=rpe, left=left)


def _refused(row: Row, verdict: Verdict, expected: float | None) -> tuple[Row, Lesson]:
    """A set that is not believed: it tires, and is remembered in case others agree with it."""
    evidence = verdict.evidence
    left = _left_unbelieved(evidence.report)
    after = replace(row, fatigue=row.fatigue + fatigue_unit(left), refused=(*row.refused, evidence.off)[-REFUSED_KEPT:])
    return after, _lesson("refused", row, verdict, expected, left, evidence.off)


def _learned(
    person: Person, row: Row, verdict: Verdict, expected: float | None, off: float | None = None
) -> tuple[Person, Row, Lesson]:
    """A set that is believed; `off` where the anchor was moved for it."""
    evidence, m, p = verdict.evidence, verdict.m, verdict.p
    report = evidence.report
    rpe = report.rpe
    left = _left_expected(evidence.expected, report.reps) if rpe is None else 10 - rpe
    if report.failed:
        left = 0.0
    status: Status = verdict.status if off is None else "re_anchored"
    used = status == "used" and (rpe is not None or report.failed)
    if used and rpe is not None and rpe > SAYS_NOTHING and expected is not None and not report.in_words:
        erratic, judged = _erratic(person, row, evidence)
    else:
        erratic, judged = person.erratic, person.judged
    version = person.version if m is row.m else person.version + 1
    counted = used or status == "re_anchored"
    after = Row(
        row.reference,
        row.group,
        m,
        p,
        row.day,
        row.fatigue + fatigue_unit(left),
        row.used_in_session + counted,
        row.used_ever + counted,
        row.refused,
        row.flag,
        version,
        row.at_least,
    )
    # Giving back what is shared: the row's own belief in it is now the athlete's.
    person = Person(m[5], m[6], p[25], p[26], p[27], person.rate, erratic, judged, version)
    return person, after, _lesson(status, row, verdict, expected, left, off)


def _erratic(person: Person, row: Row, evidence: Evidence) -> tuple[float, int]:
    """How erratic the athlete's reports are, with a rated set whose effort was expected from a known row."""
    report, n = evidence.report, evidence.expected
    left = max(0.0, n - report.reps)
    if n == evidence.at:
        worth, known, noise = evidence.worth, evidence.known, evidence.noise
    else:
        assert row.reference is not None  # noqa: S101 # for the type checker
        worth = slope(n)
        _, known = project(row.p, report.log_kg - row.reference, row.fatigue, h(n), worth)
        noise = (worth * (REPORT_NOISE + NOISE_GROWTH * left)) ** 2 + WOBBLE
    assert report.rpe is not None  # noqa: S101 # as above
    missed = (report.rpe - min(10 - (n - report.reps), 10.0)) * worth
    judged = min(person.judged + 1, JUDGED_MOST)
    size = min(missed * missed / (known + SEEN_PART * SEEN_PART * noise), JUDGED_CAP)
    return person.erratic + (size - person.erratic) / (JUDGED_START + judged), judged


def _lesson(
    status: Status, row: Row, verdict: Verdict, expected: float | None, left: float, off: float | None
) -> Lesson:
    """What the set did, for sentences."""
    evidence, m, old = verdict.evidence, verdict.m, row.m
    return Lesson(
        status,
        evidence.surprise,
        verdict.spread,
        evidence.worth,
        None if expected is None else 10 - (expected - evidence.report.reps),
        UNMOVED
        if m is old
        else (
            m[0] - old[0], m[1] - old[1], m[2] - old[2], m[3] - old[3], m[4] - old[4], m[5] - old[5], m[6] - old[6],
        ),
        verdict.widened,
        verdict.weighed_down,
        off,
        left,
        verdict.held,
    )  # fmt: skip


def _left_expected(expected: float, reps: int) -> float:
    """Repetitions left that a set is taken to have had that does not say: as expected. [reps]."""
    return min(max(expected - reps, 0.0), MOST_LEFT)


def _left_unbelieved(report: Report) -> float:
    """Repetitions left of a set that is not believed: what it says is all there is. [reps]."""
    if report.rpe is not None:
        return 10 - report.rpe
    return 0.0 if report.failed else UNKNOWN_LEFT
