"""The named curves between repetitions to failure and load share: forms, sources, valid ranges."""

from __future__ import annotations

from dataclasses import dataclass, field

from service.core.curves.forms import Form, cubic, exponential, growing, hyperbolic, power, straight, table

TEXTBOOK_PERCENTS = (
    (1, 100), (2, 95), (3, 93), (4, 90), (5, 87), (6, 85), (7, 83),
    (8, 80), (9, 77), (10, 75), (11, 70), (12, 67), (15, 65),
)  # fmt: skip
"""Repetitions and percent of the max, Haff and Triplett (eds.), Essentials of Strength Training and Conditioning,
4th ed., table 17.7. The association's own load chart prints 70 at 12 repetitions where the book has 67."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Curve:
    """A named curve.

    `fewest` to `most` repetitions to failure are answered, all else refused; `published_fewest` to `published_most` is
    what its source or its sample covers, and answers beyond it say so. `jumps_at_one`: the formula does not give
    100 % at one repetition; then a straight line from 100 % at 1 to the formula's value at 2 is used between them.
    """

    name: str
    title: str
    source: str
    fewest: float
    most: float
    published_fewest: float
    published_most: float
    jumps_at_one: bool
    formula: str
    form: Form = field(repr=False)


_TESTED = "no range stated; Mayhew et al. 2008 found mean errors within 5 % up to 10 repetitions"


def _curve(
    name: str,
    title: str,
    source: str,
    formula: str,
    form: Form,
    *,
    most: float,
    published: tuple[float, float],
    fewest: float = 1,
    jumps: bool = False,
) -> tuple[str, Curve]:
    return name, Curve(
        name=name,
        title=title,
        source=source,
        fewest=fewest,
        most=most,
        published_fewest=published[0],
        published_most=published[1],
        jumps_at_one=jumps,
        formula=formula,
        form=form,
    )


# `most`: what has no pole is answered to 30, the longest sets that Mayhew et al. 2008 (JSCR 22(5):1570-1577) tested;
# what divides by a difference (Brzycki, Lander, Adams) to 20, well before its pole at 37, 37.9, 50, where it runs away
# (their errors there: +27 % with a standard deviation of 102 %); Kemmler to 20, its sample's limit, since the cubic
# turns at 24; the table to its last row; the default to 40, where its repetitions are of no use to anybody.
CURVES: dict[str, Curve] = dict(
    (
        _curve(
            "default",
            "Default",
            "ours: set by a single with two left at about 92 % (common practice, no source) and by the textbook's "
            "repetitions at 70 to 90 %; little is known beyond 15 repetitions",
            "share = (1 + 0.116 × (reps - 1)) ^ -0.4",
            hyperbolic(0.4, 0.116),
            fewest=0.3,
            most=40,
            published=(1, 15),
        ),
        _curve(
            "epley",
            "Epley 1985",
            f"poundage chart in a university manual, no derivation published; {_TESTED}",
            "max = load × (1 + reps / 30)",
            growing(1 / 30),
            most=30,
            published=(1, 10),
            jumps=True,
        ),
        _curve(
            "brzycki",
            "Brzycki 1993",
            "JOPERD 64(1):88-90, doi 10.1080/07303084.1993.10606684; stated for fewer than 10 repetitions",
            "max = load × 36 / (37 - reps)",
            straight(37, 1, 36),
            most=20,
            published=(1, 9),
        ),
        _curve(
            "lander",
            "Lander 1985",
            f"NSCA Journal 6(6):60-61; {_TESTED}",
            "max = load × 100 / (101.3 - 2.67123 × reps)",
            straight(101.3, 2.67123, 100),
            most=20,
            published=(1, 10),
            jumps=True,
        ),
        _curve(
            "lombardi",
            "Lombardi 1989",
            f"Beginning Weight Training (Brown); {_TESTED}",
            "max = load × reps ^ 0.10",
            power(0.1),
            most=30,
            published=(1, 10),
        ),
        _curve(
            "mayhew",
            "Mayhew et al. 1992",
            "J Appl Sport Sci Res 6(4):200-206; bench press for one minute at 55 to 95 % of the max, 435 students; "
            "to 15 repetitions by Reynolds et al. 2006",
            "max = load × 100 / (52.2 + 41.9 × e ^ (-0.055 × reps))",
            exponential(0.522, 0.419, 0.055),
            most=30,
            published=(1, 15),
            jumps=True,
        ),
        _curve(
            "oconner",
            "O'Conner et al. 1989",
            f"Weight Training Today (West); {_TESTED}",
            "max = load × (1 + 0.025 × reps)",
            growing(0.025),
            most=30,
            published=(1, 10),
            jumps=True,
        ),
        _curve(
            "wathen",
            "Wathen 1994",
            f"chapter in Essentials of Strength Training and Conditioning; {_TESTED}",
            "max = load × 100 / (48.8 + 53.8 × e ^ (-0.075 × reps))",
            exponential(0.488, 0.538, 0.075),
            most=30,
            published=(1, 10),
            jumps=True,
        ),
        _curve(
            "kemmler",
            "Kemmler et al. 2006",
            "JSCR 20(4):838-842; 70 trained women of about 57 years, machines, 3 to 20 repetitions",
            "max = load × (0.988 + 0.0104 × reps + 0.0019 × reps ^ 2 - 0.0000584 × reps ^ 3)",
            cubic(0.988, 0.0104, 0.0019, -0.0000584, most=20),
            most=20,
            published=(3, 20),
            jumps=True,
        ),
        _curve(
            "adams",
            "Adams",
            f"as given in table 2 of Mayhew et al. 2008, JSCR 22(5):1570-1577; {_TESTED}",
            "max = load / (1 - 0.02 × reps)",
            straight(1, 0.02, 1),
            most=20,
            published=(1, 10),
            jumps=True,
        ),
        _curve(
            "reynolds",
            "Reynolds et al. 2006",
            "JSCR 20(3):584-592, doi 10.1519/R-15304.1; 70 people, bench press and leg press, 1, 5, 10 and 20 "
            "repetitions",
            "max = load / (0.5551 × e ^ (-0.0723 × reps) + 0.4847)",
            exponential(0.4847, 0.5551, 0.0723),
            most=30,
            published=(1, 20),
            jumps=True,
        ),
        _curve(
            "textbook_table",
            "Textbook table",
            "Haff and Triplett (eds.), Essentials of Strength Training and Conditioning, 4th ed., table 17.7; no data "
            "behind it; at 12 repetitions the association's load chart has 70 % where the book has 67 %",
            "rows of percent by repetitions, straight lines between them",
            table(TEXTBOOK_PERCENTS),
            most=15,
            published=(1, 15),
        ),
    )
)
