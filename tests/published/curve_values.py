"""Published check values for repetition curves. Data only; each block names its source."""

from __future__ import annotations

# Percent of the load that is the max, by repetitions to failure, of the equations as printed: Epley 1985 (poundage
# chart), Brzycki 1993 (JOPERD 64(1):88-90), Lander 1985 (NSCA Journal 6(6):60-61), Lombardi 1989 (Beginning Weight
# Training), Mayhew et al. 1992 (J Appl Sport Sci Res 6(4):200-206), O'Conner et al. 1989 (Weight Training Today),
# Wathen 1994 (Essentials of Strength Training and Conditioning), Kemmler et al. 2006 (JSCR 20(4):838-842), Reynolds
# et al. 2006 (JSCR 20(3):584-592). Worked out to two decimals from the printed forms by another hand than the code's.
MULTIPLIER_CURVES = (
    "epley", "brzycki", "lander", "lombardi", "mayhew", "oconner", "wathen", "kemmler", "reynolds",
)  # fmt: skip
MULTIPLIERS = {
    1: (103.33, 100.00, 101.39, 100.00, 108.86, 102.50, 101.30, 100.02, 99.89),
    2: (106.67, 102.86, 104.21, 107.18, 111.44, 105.00, 105.15, 101.59, 103.62),
    3: (110.00, 105.88, 107.20, 111.61, 113.99, 107.50, 108.98, 103.47, 107.35),
    5: (116.67, 112.50, 113.71, 117.46, 119.01, 112.50, 116.58, 108.02, 114.76),
    8: (126.67, 124.14, 125.11, 123.11, 126.29, 120.00, 127.67, 116.29, 125.63),
    10: (133.33, 133.33, 134.07, 125.89, 130.93, 125.00, 134.75, 122.36, 132.61),
    12: (140.00, 144.00, 144.41, 128.21, 135.40, 130.00, 141.50, 128.55, 139.31),
    15: (150.00, 163.64, 163.31, 131.10, 141.72, 137.50, 150.91, 137.44, 148.73),
}

# Rows of the load chart of the National Strength and Conditioning Association for maxes of 100, 150, 200 and 250 (any
# unit), repetitions 1 to 10, unrounded; its entry at 12 repetitions stands apart because the textbook differs there.
LOAD_CHART = {
    100: (100, 95, 93, 90, 87, 85, 83, 80, 77, 75),
    150: (150, 142.5, 139.5, 135, 130.5, 127.5, 124.5, 120, 115.5, 112.5),
    200: (200, 190, 186, 180, 174, 170, 166, 160, 154, 150),
    250: (250, 237.5, 232.5, 225, 217.5, 212.5, 207.5, 200, 192.5, 187.5),
}
LOAD_CHART_AT_12 = {100: 70, 150: 105, 200: 140, 250: 175}

# Haff and Triplett (eds.), Essentials of Strength Training and Conditioning, 4th ed., table 17.7.
TEXTBOOK_BEYOND_10 = {11: 70, 12: 67, 15: 65}

# Percent of the max by the default curve, to four decimals, from its closed form (ours, not published).
DEFAULT_PERCENTS = {
    1: 100, 2: 95.7049, 3: 91.9932, 4: 88.7409, 5: 85.8586, 6: 83.2793, 7: 80.9524, 8: 78.8382, 9: 76.9055, 10: 75.1290,
    12: 71.9666, 15: 67.9852, 20: 62.7658,
}  # fmt: skip

# Nuzzo, Pinto, Nosaka and Steele 2024, Sports Med 54(2):303-321, doi 10.1007/s40279-023-01937-7: mean repetitions to
# failure, and 95 % interval, at a percentage of the max.
NUZZO_MAIN = {80: 9.75, 70: 15.0}
NUZZO_BENCH = {80: (8.8, 7.7, 10.1), 70: (14.08, 12.4, 16.1)}
NUZZO_LEG_PRESS = {80: (13.1, 9.8, 17.5), 70: (18.96, 14.2, 25.5)}
NUZZO_SD = {80: 2.51, 60: 4.36}
