"""The worked examples A to I of the specification, as data: stories of sets, and what is asked in between.

Printed there to six digits by the reference program. Kilograms, days from the start of the story, RPE points.
"""

from typing import Any, NamedTuple


class Step(NamedTuple):
    """A set, and the row after it; numbers that the specification does not print are None."""

    lift: str
    day: int
    sets: dict[str, Any]
    status: str
    state: tuple[float, ...] | None = None
    maximum: tuple[float, float, float] | None = None
    fatigue: float | None = None


class Asked(NamedTuple):
    """What is asked of a lift, opened on a day, after so many steps of the story."""

    after: int
    lift: str
    day: int
    what: str
    about: dict[str, Any]
    answer: Any


class Story(NamedTuple):
    lifts: dict[str, dict[str, Any]]
    steps: tuple[Step, ...]
    asked: tuple[Asked, ...]


SQUAT = {"kg": 150.0, "group": 0.08}
TESTED_SQUAT = {"kg": 150.0, "group": 0.08, "tested": True}
EMPTY_BENCH = {"kg": None}


def rated(kg, reps, rpe):
    return {"kg": kg, "reps": reps, "rpe": rpe}


def unrated(kg, reps):
    return {"kg": kg, "reps": reps}


def failed(kg, reps):
    return {"kg": kg, "reps": reps, "failed": True}


# fmt: off
A_AND_B = Story(
    {"squat": SQUAT, "bench": EMPTY_BENCH},
    (
        Step("squat", 0, rated(112.5, 5, 7), "used",
             (-0.0410818, 1.05613, -0.00256761, 0.006, 0.014124, 0.222714, -0.0143004),
             (144.277, 134.86, 154.352), 0.629961),
        Step("squat", 0, rated(117.5, 5, 7.5), "used",
             (-0.0276637, 1.05593, -0.00172898, 0.00585671, 0.0626776, 0.201982, -0.0144168),
             (146.121, 138.072, 154.64), 1.42366),
        Step("squat", 0, rated(125, 5, 8.5), "used",
             (0.00436362, 1.00341, 0.000272727, 0.00470269, 0.195791, 0.117184, -0.0458778),
             (150.654, 142.441, 159.34), 2.68358),
        Step("squat", 0, rated(117.5, 5, 8.5), "used",
             (0.00262113, 0.98845, 0.000163821, 0.0057335, 0.224968, 0.0983413, -0.0548396),
             (150.398, 142.115, 159.164), 3.9435),
        Step("bench", 1, unrated(60, 5), "ignored", None, None, 1),
        Step("bench", 1, rated(80, 5, 7), "used",
             (0.0612245, 0.95201, 0.000956633, 0.00596173, 0.00300568, 0.0882313, -0.0509379),
             (108.214, 83.8871, 139.595), 1.62996),
        Step("bench", 1, rated(90, 5, 8), "used",
             (0.106534, 0.953811, 0.00166459, 0.00591019, 0.00753324, 0.0794869, -0.0499114),
             (113.465, 105.866, 121.609), 2.62996),
        Step("squat", 3, unrated(130, 3), "unrated",
             (0.00180048, 0.992954, 0, 0.00573402, 0.225641, 0.0794869, -0.0499114),
             (150.272, 141.88, 159.161), 1.15396),
        Step("squat", 3, rated(132.5, 3, 6), "used",
             (0.0500186, 0.934366, 0.0296972, 0.00586088, 0.281992, -0.00446219, -0.0849647),
             (158.249, 149.004, 168.067), 1.55081),
        Step("squat", 3, failed(147.5, 2), "used",
             (0.029077, 0.982832, 0.0244894, 0.00604997, 0.300774, -0.1682, -0.0560652),
             (154.504, 148.462, 160.792), 4.07065),
        Step("squat", 3, failed(155, 0), "used",
             (0.0233867, 1.00939, 0.0239243, 0.00743385, 0.371559, -0.193234, -0.0402001),
             (153.516, 147.912, 159.332), 6.5905),
    ),
    (
        Asked(0, "squat", 0, "state", {}, (0, 1.08, 0, 0.006, 0, 0.2, 0)),
        Asked(0, "squat", 0, "maximum", {}, (150, 132.114, 170.307)),
        Asked(0, "squat", 0, "load", {"reps": 5, "rpe": 8}, 112.394),
        Asked(0, "squat", 0, "loads", {"reps": 5, "rpe": 8}, (122.41, 115.958, 112.394)),
        Asked(0, "squat", 0, "expected", {"kg": 120, "reps": 5}, (7.25294, 1.81808, 12.6878)),
        Asked(0, "squat", 0, "single", {"kg": 150}, 0.5),
        Asked(0, "squat", 0, "pass", {"kg": 125, "reps": 5, "rpe": 9}, (0.470222, 0.448149)),
        Asked(3, "squat", 0, "covariance", {}, (
            0.00165331, -0.00331979, -0.000521668, 2.57341e-05, -0.00267875, 0.00644079, -0.00198859,
            0.0166205, -0.000207487, -2.67867e-05, 0.00452054, 0.000273487, 0.00995584,
            0.000592396, 1.60838e-06, -0.000167422, 0.000402549, -0.000124287,
            2.43132e-05, 0.000101858, -5.76789e-05, -1.60455e-05,
            0.229753, 0.00859608, 0.00270785,
            0.242576, 0.000163821,
            0.0108156,
        )),
        Asked(3, "squat", 0, "athlete", {},
              (0.117184, -0.0458778, 0.242576, 0.000163821, 0.0108156, 0.571313, 1.01915, 3)),
        Asked(3, "squat", 0, "load", {"reps": 5, "rpe": 8}, 120.032),
        Asked(3, "squat", 0, "loads", {"reps": 5, "rpe": 8}, (120.032, 123.023, 122.598)),
        Asked(3, "squat", 0, "expected", {"kg": 117.5, "reps": 5}, (7.28518, 5.98088, 8.58947)),
        Asked(3, "squat", 0, "pass_reported", {"kg": 120, "reps": 5, "rpe": 9}, 0.0524752),
        Asked(3, "squat", 0, "day", {}, (150.695, 144.08, 157.613)),
        Asked(3, "squat", 0, "follow", {"reps": 5, "count": 3, "kg": 125},
              ((123.878, 9), (122.9, 8.98517), (121.141, 8.76769))),
        Asked(3, "squat", 0, "follow", {"reps": 5, "count": 3, "kg": 0.95 * 125},
              ((118.75, 7.64389), (118.75, 7.77662), (118.75, 7.91654))),
        Asked(3, "squat", 0, "follow", {"reps": 5, "count": 3, "rpe": 8},
              ((120.032, 7.99997), (119.471, 7.99997), (118.913, 7.99997))),
        # The specification gives the row as it is made; adopting does not depend on what follows.
        Asked(5, "bench", 1, "adopted", {}, (0.94516, 0.0983413, -0.0548396, 0.0188154, 0.242133)),
        Asked(7, "bench", 1, "reference", {}, 101.474),
        Asked(7, "bench", 1, "load", {"reps": 3, "rpe": 9}, 98.198),
        Asked(7, "bench", 1, "athlete", {},
              (0.0794869, -0.0499114, 0.240792, 0.000175948, 0.0106639, 0.605706, 0.99887, 5)),
        Asked(7, "squat", 3, "state", {}, (0.00180048, 0.992954, 0, 0.00573402, 0.225641, 0.0794869, -0.0499114)),
        Asked(7, "squat", 3, "maximum", {}, (150.272, 141.88, 159.161)),
        Asked(7, "squat", 3, "load", {"reps": 3, "rpe": 8}, 128.518),
        Asked(7, "squat", 3, "forecast", {"days": 28}, (151.116, 141.187, 161.743)),
        Asked(7, "squat", 3, "single", {"kg": 152.5}, 0.386353),
        Asked(7, "squat", 3, "listed", {"reps": 5, "left": 2}, 121.092),
        Asked(7, "squat", 3, "listed", {"reps": 1, "left": 2}, 137.655),
        Asked(7, "squat", 3, "listed", {"reps": 8, "left": 1}, 115.044),
        Asked(11, "squat", 3, "athlete", {},
              (-0.193234, -0.0402001, 0.201611, 0.00671805, 0.0090092, 0.59665, 0.99887, 5)),
    ),
)

C = Story(
    {"bench": {"kg": 100.0}},
    (
        Step("bench", 0, rated(80, 5, 8), "used"),
        Step("bench", 0, rated(80, 5, 8.5), "used"),
        Step("bench", 4, rated(176.37, 5, 8), "refused",
             (-0.00553639, 0.997144, 0, 0.00613403, -0.00313813, 0.205074, -0.00171085),
             (99.4463, 93.6536, 105.597), 1),
        Step("bench", 4, rated(82.5, 5, 8.5), "used",
             (0.00549098, 0.995024, 0.00664766, 0.0059971, 0.0118966, 0.191334, -0.00298088),
             (100.553, 95.332, 106.061), 2.25992),
    ),
    (
        Asked(2, "bench", 4, "state", {},
              (-0.00553639, 0.997144, 0, 0.00613403, -0.00313813, 0.205074, -0.00171085)),
        Asked(2, "bench", 4, "maximum", {}, (99.4463, 93.6536, 105.597)),
        Asked(2, "bench", 4, "slip", rated(176.37, 5, 8), "pounds_as_kilograms"),
        Asked(2, "bench", 4, "slip_z", rated(176.37, 5, 8), (6.80492, 0.053879, 7.2336, -7.00971, 7.32612)),
        Asked(3, "bench", 4, "refused", {}, (0.782639,)),
        Asked(4, "bench", 4, "load", {"reps": 5, "rpe": 8}, 80.1156),
    ),
)

D = Story(
    {"bench": {"kg": 100.0}},
    (
        Step("bench", 0, rated(80, 5, 8), "used"),
        Step("bench", 0, rated(80, 5, 8.5), "used"),
        Step("bench", 0, rated(80, 5, 8.5), "used"),
        Step("bench", 30, rated(50, 5, 8), "refused"),
        Step("bench", 30, rated(52.5, 5, 8.5), "refused"),
        Step("bench", 33, rated(50, 5, 8), "re_anchored",
             (0.00742418, 0.998714, 0.000206227, 0.0060421, -0.00101233, 0.201959, -0.000770423),
             (62.2256, 58.3262, 66.3856), 1),
    ),
    (
        Asked(5, "bench", 30, "refused", {}, (-0.477209, -0.436421)),
        Asked(5, "bench", 33, "flag", {}, -0.456815),
        Asked(6, "bench", 33, "reference", {}, 61.7647),
        Asked(6, "bench", 33, "load", {"reps": 5, "rpe": 8}, 49.6531),
    ),
)

E = Story(
    {"bench": {"kg": 150.0}},
    (
        Step("bench", 0, rated(90, 5, 5), "used",
             (0, 1, 0, 0.006, 0, 0.2, 0), (150, 130.779, 172.046), 0.25),
        Step("bench", 0, rated(130, 5, 6), "used",
             (0.143887, 1.04159, 0.00899292, 0.00591007, 0.0441174, 0.0943616, 0.0249143),
             (172.221, 157.86, 187.888), 0.64685),
    ),
    (Asked(2, "bench", 0, "load", {"reps": 3, "rpe": 8}, 145.518),),
)

F = Story(
    {"deadlift": {"kg": 250.0, "group": -0.06}},
    (
        Step("deadlift", 0, rated(150, 5, 8), "used",
             (-0.139292, 0.833881, -0.0064276, 0.006, 0.0264412, 0.258364, -0.0635663),
             (211.541, 188.953, 236.831), 1),
        Step("deadlift", 0, rated(155, 5, 8.5), "used",
             (-0.161718, 0.821673, -0.00746247, 0.00618412, 0.00544567, 0.27339, -0.0708787),
             (205.336, 189.372, 222.645), 2.25992),
        Step("deadlift", 0, rated(160, 5, 9), "used",
             (-0.157542, 0.820874, -0.00726974, 0.00599665, 0.0206329, 0.265506, -0.0713575),
             (206.343, 191.611, 222.208), 3.84732),
    ),
    (
        Asked(3, "deadlift", 0, "load", {"reps": 5, "rpe": 8}, 151.894),
        Asked(3, "deadlift", 0, "load", {"reps": 5, "rpe": 9}, 157.616),
    ),
)

G = Story(
    {"bench": {"kg": 100.0}},
    (
        *(Step("bench", 0, unrated(80, 5), "unrated") for _ in range(12)),
        Step("bench", 0, unrated(80, 5), "unrated",
             (0, 1, 0, 0.006, 0, 0.2, 0), (100, 87.186, 114.697), 24.044),
        Step("bench", 0, unrated(80, 5), "used",
             (0.0648357, 1.02922, 0.00405223, 0.00210273, 0.0241034, 0.2, 0.0175059),
             (106.502, 91.4925, 123.974), 26.5638),
        Step("bench", 0, failed(92.5, 3), "used",
             (0.0651343, 1.02908, 0.0040709, 0.00207885, 0.0242104, 0.2, 0.0174211),
             (106.534, 92.4895, 122.711), 29.0836),
    ),
    (
        Asked(15, "bench", 0, "rate", {}, 0.243837),
        Asked(15, "bench", 0, "load", {"reps": 5, "rpe": 8}, 81.4955),
    ),
)

H_AND_I = Story(
    {"squat": TESTED_SQUAT},
    (
        Step("squat", 0, rated(100, 5, 5), "used",
             (0, 1.08, 0, 0.006, 0, 0.2, 0), (150, 140.773, 159.831), 0.25),
        Step("squat", 0, rated(112.5, 5, 6.5), "used",
             (-0.0165175, 1.04161, -0.00412937, 0.00604129, 0.0219202, 0.236659, -0.0229986),
             (147.64, 140.277, 155.389), 0.75),
        Step("squat", 0, rated(112.5, 5, 7), "used",
             (-0.0223515, 1.02804, -0.00558787, 0.00616488, 0.00732359, 0.253824, -0.0311218),
             (146.774, 139.864, 154.025), 1.37996),
    ),
    (
        Asked(0, "squat", 0, "load", {"reps": 5, "rpe": 8}, 118.403),
        Asked(0, "squat", 0, "free", {"reps": 5, "rpe": 8}, 122.41),
        Asked(0, "squat", 0, "expected", {"kg": 120, "reps": 5}, (7.25294, 3.88307, 10.6228)),
        Asked(2, "squat", 0, "load", {"reps": 5, "rpe": 8}, 118.142),
        Asked(2, "squat", 0, "free", {"reps": 5, "rpe": 8}, 118.501),
        Asked(2, "squat", 0, "expected_only", {"kg": 112.5, "reps": 5}, 6.04279),
    ),
)
# fmt: on

STORIES = {"A and B": A_AND_B, "C": C, "D": D, "E": E, "F": F, "G": G, "H and I": H_AND_I}
