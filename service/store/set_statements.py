"""The statement that stores a set: built once, as it runs with every set of every lifter."""

from __future__ import annotations

from sqlalchemy import Boolean, Date, DateTime, Double, Integer, Numeric, SmallInteger, Text, Uuid, bindparam, text
from sqlalchemy.dialects.postgresql import ARRAY

from service.store.hot import Hot

TAKE_IN = Hot(text("""
WITH made AS (
  INSERT INTO sets (
    gym_id, id, athlete_id, session_id, slot_id, prescription_id, lift, role, load_value, load_unit, load_kg, reps,
    seconds, metres, rpe, rir, or_more, felt, made, ended_by, pain, method, support, support_class, stack, expected_rpe,
    by_ladder, shown, note, doubt, at, at_offset_minutes, local_date
  ) VALUES (
    :gym, :id, :athlete, :session_id, :slot_id, :prescription_id, :lift, :role, :load_value, :load_unit, :load_kg,
    :reps, :seconds, :metres, :rpe, :rir, :or_more, :felt, :made, :ended_by, :pain, :method, :support, :support_class,
    :stack, :expected_rpe, :by_ladder, CAST(:shown AS json), :note, CAST(:doubt AS json), :at, :at_offset_minutes,
    :local_date
  )
), entered AS (
  INSERT INTO set_entries (gym_id, set_id, version, entry, made_by)
  VALUES (:gym, :id, 1, CAST(:entry AS json), :made_by)
), learned AS (
  INSERT INTO lift_states (gym_id, athlete_id, lift, support_class, stack, body, model, before)
  SELECT :gym, :athlete, :lift, :support_class, :stack, CAST(:state AS json), CAST(:model AS json),
         CAST(:before AS json)
   WHERE :state IS NOT NULL OR :model IS NOT NULL
  ON CONFLICT (gym_id, athlete_id, lift, support_class, stack) DO UPDATE
  SET body = coalesce(excluded.body, lift_states.body), model = coalesce(excluded.model, lift_states.model),
      before = coalesce(excluded.before, lift_states.before)
), shown AS (
  INSERT INTO day_estimates (gym_id, athlete_id, lift, support_class, stack, date, set_id, effective_kg)
  SELECT :gym, :athlete, :lift, :support_class, :stack, :local_date, :id, CAST(:day_kg AS float8)
   WHERE CAST(:day_kg AS float8) IS NOT NULL
  ON CONFLICT (gym_id, athlete_id, lift, support_class, stack, date)
  DO UPDATE SET set_id = excluded.set_id, effective_kg = excluded.effective_kg
)
UPDATE athlete_states
   SET changes = changes + 1, person = coalesce(CAST(:person AS json), person),
       day = CASE WHEN :person IS NULL THEN day ELSE :local_date END,
       last_at = CASE WHEN :person IS NULL THEN last_at ELSE :at END,
       last_set = CASE WHEN :person IS NULL THEN last_set ELSE :id END
 WHERE gym_id = :gym AND athlete_id = :athlete
""").bindparams(
    *(bindparam(name, type_=Uuid()) for name in ("gym", "id", "athlete", "session_id", "slot_id", "prescription_id")),
    *(
        bindparam(name, type_=Text())
        for name in (
            "lift", "role", "load_unit", "felt", "ended_by", "pain", "method", "support_class", "stack", "note",
            "state", "entry", "made_by", "shown", "doubt", "model", "before", "person",
        )
    ),
    *(bindparam(name, type_=Numeric()) for name in ("load_value", "load_kg")),
    *(bindparam(name, type_=Double()) for name in ("metres", "rpe", "rir", "expected_rpe", "day_kg")),
    bindparam("by_ladder", type_=Boolean()),
    bindparam("reps", type_=SmallInteger()),
    bindparam("at_offset_minutes", type_=SmallInteger()),
    bindparam("seconds", type_=Integer()),
    bindparam("support", type_=ARRAY(Text)),
    bindparam("at", type_=DateTime(timezone=True)),
    bindparam("local_date", type_=Date()),
))  # fmt: skip
"""Data-modifying parts see the state from before each other; none of them reads what another writes."""
