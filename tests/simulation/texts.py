"""What stands in the guide around the tables."""

from __future__ import annotations

MEANING = """\
Invented lifters train for sixteen weeks, three lifts, with the loads of each method in turn; what is true of them is
known, and no method is told. They differ in their curves, gains, good and bad days, breaks, in how honestly and how
exactly they tell effort, and in what they mistype. All methods meet the same lifters on the same days. Nothing below
was chosen by these lifters: others were looked at while the model was made.

- *max: error, bias*: the max that a method says before a session against the true one on a typical day; bias above
  zero: too high. *10 % off*: sessions where it is off by more.
- *top set: off target, mean*: true effort of the top set against the one asked for, in RPE points; mean below zero: too
  easy. *2 points light*: top sets that were easier by more than that. To keep the bar light is no merit by itself, so
  read these beside the next.
- *above 9.5, missed*: work sets that were harder in truth than RPE 9.5, and that had a repetition too many.
- ± is one standard error over lifters. Ratios and differences are of the same lifters, so they are surer than the
  numbers they stand on.

The moving average counts each top set with weight 0.3, by the default curve for everybody, and refuses sets that are a
fifth off; so do the other usual methods. *The model* takes its loads as they are; *the whole product* goes through
plans, plates and limits as the service does. *Knows the lifter, not the day* has the true max, curve and fatigue of
everybody: nothing that only reads a log can do as well.
"""

PARTS = (
    "A variation without a max starts from its lift and its ratio (*lifts unrelated*: from its first "
    "set). A tested max counts as one very good single. Of the answers to questions about slips one in "
    "ten never comes and one in twenty is the wrong button. *Loads eased* takes 1.5 % off for each week "
    "without training after the first, and a third of the sets: prudence that is not switched on by "
    "itself, since it makes the first sets much too easy."
)

REASONS = {
    "effort is never logged": (
        "without efforts a set says only what went up and what did not. The loads are nearer to the target "
        "than the average's all the same."
    ),
    "reports are always the target": (
        "who answers every set with the effort that was asked tells of a light bar that it was hard, so it "
        "stays light. No set in such a log is true."
    ),
    "beginners, six in ten cannot judge effort": (
        "such reports are noise around one number, and a bar that is kept light for what is not known is not "
        "made heavier by them."
    ),
    "12 % lost in 16 weeks": (
        "a level is expected to hold or to rise a little, so it follows a steady fall late. The sets are "
        "seldom too hard for it."
    ),
    "all curves flatter (0.65)": (
        "nobody's curve is expected to be so flat, and the range of the max does not hold there."
    ),
    "day swings 2.5 times as wide": ("what is a bad day is taken in part for a lower max, and the other way round."),
    "smallest step 5 kg": ("a load that rounding would take past a limit is rounded down, and a step of 5 kg is far."),
}
"""Why the model is worse than the moving average where it was found to be."""
