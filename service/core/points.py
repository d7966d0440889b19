"""Points that compare totals of lifters of different body weight, by published coefficients."""

from __future__ import annotations

from math import exp
from typing import Literal

from service.core.errors import OutOfRange

Sex = Literal["female", "male"]

_GL: dict[tuple[Sex, bool, bool], tuple[float, float, float]] = {
    # (sex, equipped, bench press only): A, B, C
    ("male", False, False): (1199.72839, 1025.18162, 0.00921),
    ("male", True, False): (1236.25115, 1449.21864, 0.01644),
    ("female", False, False): (610.32796, 1045.59282, 0.03048),
    ("female", True, False): (758.63878, 949.31382, 0.02435),
    ("male", False, True): (320.98041, 281.40258, 0.01008),
    ("male", True, True): (381.22073, 733.79378, 0.02398),
    ("female", False, True): (142.40398, 442.52671, 0.04724),
    ("female", True, True): (221.82209, 357.00377, 0.02937),
}
_WILKS: dict[Sex, tuple[float, ...]] = {
    "male": (-216.0475144, 16.2606339, -0.002388645, -0.00113732, 7.01863e-6, -1.291e-8),
    "female": (594.31747775582, -27.23842536447, 0.82112226871, -0.00930733913, 4.731582e-5, -9.054e-8),
}
# Ours: inside these the points of a total fall as body weight rises; beyond, the Wilks polynomials turn.
_GL_BODY_WEIGHTS = (40.0, 250.0)
_WILKS_BODY_WEIGHTS: dict[Sex, tuple[float, float]] = {"male": (40.0, 200.0), "female": (40.0, 150.0)}
_MOST_KG = 2000.0


def gl_points(kg: float, *, sex: Sex, body_weight_kg: float, equipped: bool = False, bench_only: bool = False) -> float:
    """International federation's GL points, in force since 1 May 2020.

    Parameters
    ----------
    kg : float
        Total of three lifts, or the bench press alone, 0 to 2000. [kg]
    sex, equipped, bench_only
        Which of the eight sets of coefficients.
    body_weight_kg : float
        40 to 250. [kg]

    Returns
    -------
    float
        100 kg / (A - B e^(-C body weight)). [points]

    Raises
    ------
    OutOfRange
        If a mass lies outside its range.

    References
    ----------
    Coefficients by Kopayev, Onyshchenko and Stetsenko, as published by the International Powerlifting Federation.

    Examples
    --------
    >>> round(gl_points(122.5, sex="female", body_weight_kg=70.5, bench_only=True), 2)
    96.78
    """
    _check("kg", kg, 0, _MOST_KG)
    _check("body_weight_kg", body_weight_kg, *_GL_BODY_WEIGHTS)
    a, b, c = _GL[sex, equipped, bench_only]
    return 100 * kg / (a - b * exp(-c * body_weight_kg))


def wilks(kg: float, *, sex: Sex, body_weight_kg: float) -> float:
    """Wilks points with the coefficients of 1994.

    Parameters
    ----------
    kg : float
        Total, 0 to 2000. [kg]
    sex : Sex
        Which of the two polynomials.
    body_weight_kg : float
        Men 40 to 200, women 40 to 150. [kg]

    Returns
    -------
    float
        500 kg / (a + b x + c x² + d x³ + e x⁴ + f x⁵) with x the body weight. [points]

    Raises
    ------
    OutOfRange
        If a mass lies outside its range.

    Examples
    --------
    >>> round(wilks(1000, sex="male", body_weight_kg=100), 3)
    608.589
    """
    _check("kg", kg, 0, _MOST_KG)
    _check("body_weight_kg", body_weight_kg, *_WILKS_BODY_WEIGHTS[sex])
    polynomial = 0.0
    for coefficient in reversed(_WILKS[sex]):
        polynomial = polynomial * body_weight_kg + coefficient
    return 500 * kg / polynomial


def _check(name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise OutOfRange(name, value, low, high, "kg")
