"""What happens to a lift between its sets: days pass, and what other lifts taught about the athlete is adopted."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

from service.core.model.state import DAY_SD, Person, Row

DRIFT, DRIFT_DAYS = 0.0002, 14
"""Gain of the level a day, and the days without training after which it stops: 7.6 % a year; published gains in the
first competitive year: 7.5 to 12.5 %. [log / day], [days]"""
WANDER = 0.005
"""Spread that the level gains a day. Simulation; published retest variation of a max. [log / sqrt(day)]"""
LONG_DAYS = 120
"""Days of absence after which the level is believed no better than `DOUBT_SD`. Ours. [days]"""
DOUBT_SD = 0.10
"""Least spread of the level after a long absence or an injury: that of a given max. Ours. [log]"""


def begin(row: Row, on: date) -> Row:
    """The row at the start of a session on `on`: on another date than its last session's, time passes.

    The level drifts a little and gets less sure, the day's readiness is drawn anew, fatigue is gone. What was refused
    in the session that is closed is kept as `flag`, if that session used nothing and refused at least two sets.

    Parameters
    ----------
    row : Row
        The lift after its last set; it may be empty.
    on : date
        Local date of the session. Every other date than the row's counts as at least one day later: a lifter who
        travels may see the date go back.

    Returns
    -------
    Row
        The same object on the same date.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> first = begin(new_row("other", 100), date(2026, 1, 1))
    >>> later = begin(first, date(2026, 1, 31))
    >>> round(later.m[0], 6), round(later.p[0], 6)  # 14 x 0.0002; 0.1² + 30 x 0.005²
    (0.0028, 0.01075)
    """
    last = row.day
    if last == on:
        return row
    if last is None:
        return replace(row, day=on)
    days = max((on - last).days, 1)
    a, factor, _, loss, bend, bias, person = row.m
    p = row.p
    variance = p[0] + WANDER * WANDER * days
    if days >= LONG_DAYS:
        variance = max(variance, DOUBT_SD * DOUBT_SD)
    refused = row.refused
    return Row(
        reference=row.reference,
        group=row.group,
        m=(a + DRIFT * min(days, DRIFT_DAYS), factor, 0.0, loss, bend, bias, person),
        p=(variance, p[1], 0.0, *p[3:8], 0.0, *p[9:13], DAY_SD * DAY_SD, 0.0, 0.0, 0.0, 0.0, *p[18:]),
        day=on,
        used_ever=row.used_ever,
        flag=sum(refused) / len(refused) if len(refused) >= 2 and not row.used_in_session else None,
        seen=row.seen,
        at_least=row.at_least,
    )


def adopt(row: Row, person: Person) -> Row:
    """The row with what all lifts of the athlete taught meanwhile about the report bias and the curve.

    Replaces the joint belief in (bias, person) by the athlete's, and moves the rest along the row's own regression on
    them. Lifts depend on each other through these two alone, so that this equals one joint estimate of all lifts.

    Parameters
    ----------
    row : Row
        The lift, after the time step; it may be empty.
    person : Person
        The athlete. Unchanged since the row last saw it: the row is given back as it is.

    Examples
    --------
    >>> from service.core.model.state import new_row
    >>> known = Person(factor=0.05, v_factor=0.01, version=4)
    >>> row = adopt(new_row("other", 100), known)
    >>> round(row.m[1], 6), round(row.p[7], 6), row.seen  # 1 + 0.05; 0.09² + 0.01
    (1.05, 0.0181, 4)
    """
    if row.seen == person.version:
        return row
    a, factor, d, loss, bend, bias, own = row.m
    (
        aa, af, ad, al, ak, ab, ae,
        ff, fd, fl, fk, fb, fe,
        dd, dl, dk, db, de,
        ll, lk, lb, le,
        kk, kb, ke,
        bb, be,
        ee,
    ) = row.p  # fmt: skip
    # The regression on (bias, person): covariances times the inverse of their 2 x 2 block.
    determinant = bb * ee - be * be
    ibb, ibe, iee = ee / determinant, -be / determinant, bb / determinant
    a1, a2 = ab * ibb + ae * ibe, ab * ibe + ae * iee
    f1, f2 = fb * ibb + fe * ibe, fb * ibe + fe * iee
    d1, d2 = db * ibb + de * ibe, db * ibe + de * iee
    l1, l2 = lb * ibb + le * ibe, lb * ibe + le * iee
    k1, k2 = kb * ibb + ke * ibe, kb * ibe + ke * iee
    # What changes of the block, and the regression times it.
    x, y = person.bias - bias, person.factor - own
    vbb, vbe, vee = person.v_bias - bb, person.v_both - be, person.v_factor - ee
    a3, a4 = a1 * vbb + a2 * vbe, a1 * vbe + a2 * vee
    f3, f4 = f1 * vbb + f2 * vbe, f1 * vbe + f2 * vee
    d3, d4 = d1 * vbb + d2 * vbe, d1 * vbe + d2 * vee
    l3, l4 = l1 * vbb + l2 * vbe, l1 * vbe + l2 * vee
    k3, k4 = k1 * vbb + k2 * vbe, k1 * vbe + k2 * vee
    return Row(
        row.reference,
        row.group,
        (
            a + a1 * x + a2 * y, factor + f1 * x + f2 * y, d + d1 * x + d2 * y, loss + l1 * x + l2 * y,
            bend + k1 * x + k2 * y, person.bias, person.factor,
        ),
        (
            aa + a3 * a1 + a4 * a2, af + a3 * f1 + a4 * f2, ad + a3 * d1 + a4 * d2, al + a3 * l1 + a4 * l2,
            ak + a3 * k1 + a4 * k2, ab + a3, ae + a4,
            ff + f3 * f1 + f4 * f2, fd + f3 * d1 + f4 * d2, fl + f3 * l1 + f4 * l2, fk + f3 * k1 + f4 * k2,
            fb + f3, fe + f4,
            dd + d3 * d1 + d4 * d2, dl + d3 * l1 + d4 * l2, dk + d3 * k1 + d4 * k2, db + d3, de + d4,
            ll + l3 * l1 + l4 * l2, lk + l3 * k1 + l4 * k2, lb + l3, le + l4,
            kk + k3 * k1 + k4 * k2, kb + k3, ke + k4,
            person.v_bias, person.v_both,
            person.v_factor,
        ),
        row.day,
        row.fatigue,
        row.used_in_session,
        row.used_ever,
        row.refused,
        row.flag,
        person.version,
        row.at_least,
    )  # fmt: skip


def opened(row: Row, person: Person, on: date) -> Row:
    """The row as it is before the next set on `on`: time has passed, the athlete is adopted."""
    return adopt(begin(row, on), person)


def returned_from_injury(row: Row) -> Row:
    """The row with its level believed no better than a given max, as after `LONG_DAYS` of absence."""
    return replace(row, p=(max(row.p[0], DOUBT_SD * DOUBT_SD), *row.p[1:]))
