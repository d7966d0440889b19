"""What can be loaded at a place, as bodies write it: bounded, so that no list of plates can stall the service."""

from __future__ import annotations

from collections.abc import Callable
from typing import Annotated, Any

from pydantic import AfterValidator, BeforeValidator, Field, TypeAdapter, model_validator
from pydantic_core import PydanticCustomError

from service.api.wire import Body, LiftId, LoadIn, Scale, ThingName, Words
from service.core.records import Bar, Kit, Plate, Stack
from service.core.units import Load, MassUnit, load, say

BARS, PLATE_KINDS, DUMBBELLS, STACKS, STEPS, LIFTS = 20, 30, 120, 40, 80, 40


def _at_most(kg: float, *, steps: bool = False, zero: bool = False) -> Callable[[Load], Load]:
    """A check that a load is a mass of up to `kg`, more than 0 (`zero`: or 0; `steps`: or a machine's step)."""

    def check(value: Load) -> Load:
        size = value.value if steps and value.unit == "step" else value.kg
        if size is None:
            raise PydanticCustomError("no_mass", "must be in kg or lb", {"allowed": {"values": ["kg", "lb"]}})
        if not (0 if zero else 0.001) <= size <= kg:
            rule = f"must be {'0' if zero else 'more than 0'} to {kg:g} kg or as much in lb"
            raise PydanticCustomError("out_of_range", "{rule}", {"rule": rule, "allowed": {"min": 0, "max": kg}})
        return value

    return check


BarMass = Annotated[LoadIn, AfterValidator(_at_most(100))]
PlateMass = Annotated[LoadIn, AfterValidator(_at_most(100))]
DumbbellMass = Annotated[LoadIn, AfterValidator(_at_most(200))]
CollarMass = Annotated[LoadIn, AfterValidator(_at_most(20, zero=True))]
StackStep = Annotated[LoadIn, AfterValidator(_at_most(1000, steps=True))]
Label = Annotated[str, Words(60)]
Colour = Annotated[str, Words(40)]
PlateCountIn = Annotated[int, Scale(1, 200, 1)]
BarCountIn = Annotated[int, Scale(1, 50, 1)]
Millimetres = Annotated[int, Scale(50, 1000, 1, unit="mm")]


class BarBody(Body):
    """A bar."""

    load: BarMass
    """What it weighs, up to 100 kg."""
    name: Label | None = None
    """What it is called here; left out: by its mass."""
    lifts: tuple[LiftId, ...] | None = Field(None, max_length=LIFTS)
    """The lifts that it is for; left out: all."""
    count: BarCountIn | None = None
    """How many of it there are; left out: one. A group shares them."""


class PlateBody(Body):
    """Plates of one kind."""

    load: PlateMass
    """What one weighs, up to 100 kg."""
    count: PlateCountIn
    """All that there are, both sides together; an odd one is of use on a belt only."""
    colour: Colour | None = None
    """Any text, for a picture."""
    diameter_mm: Millimetres | None = None
    """For a picture."""


class StackBody(Body):
    """A machine with listed steps."""

    name: Label
    """What it is called here."""
    steps: tuple[StackStep, ...] = Field(min_length=1, max_length=STEPS)
    """Its steps, rising, all in one unit; `step` where it lists numbers without a mass."""
    lifts: tuple[LiftId, ...] | None = Field(None, max_length=LIFTS)
    """The lifts that it is for; left out: all."""

    @model_validator(mode="after")
    def _rising(self) -> StackBody:
        if len({step.unit for step in self.steps}) > 1:
            raise PydanticCustomError("one_unit", "must all be in one unit", {"member": "steps"})
        values = [step.value for step in self.steps]
        if values != sorted(set(values)):
            raise PydanticCustomError("not_rising", "must rise from step to step", {"member": "steps"})
        return self


class KitBody(Body):
    """What can be loaded; what is left out is not there."""

    bars: tuple[BarBody, ...] | None = Field(None, max_length=BARS)
    """Bars of any mass; the first that may be used is taken."""
    collars: CollarMass | None = None
    """Both together; left out: they weigh nothing."""
    plates: tuple[PlateBody, ...] | None = Field(None, max_length=PLATE_KINDS)
    """Plates, each kind with how many there are; kg and lb may mix on one bar."""
    dumbbells: tuple[DumbbellMass, ...] | None = Field(None, max_length=DUMBBELLS)
    """The masses of which there is a pair."""
    stacks: tuple[StackBody, ...] | None = Field(None, max_length=STACKS)
    """Machines with their listed steps."""

    @model_validator(mode="after")
    def _names_once(self) -> KitBody:
        for member, names in (
            ("bars", [bar.name for bar in self.bars or () if bar.name is not None]),
            ("stacks", [stack.name for stack in self.stacks or ()]),
        ):
            if len(names) != len(set(names)):
                raise PydanticCustomError("name_twice", "must have each name once", {"member": member})
        return self


def kit_parts(body: KitBody, unit: MassUnit, *, only_sent: bool = False) -> dict[str, Any]:
    """The members of a kit as records; with `only_sent` those that the body has. `unit` is that of no collars."""
    made: dict[str, Any] = {
        "bars": tuple(
            Bar(name=bar.name or f"{say(bar.load)} bar", load=bar.load, lifts=bar.lifts or (), count=bar.count or 1)
            for bar in body.bars or ()
        ),
        "collars": load(0, unit) if body.collars is None else body.collars,
        "plates": tuple(
            Plate(load=plate.load, count=plate.count, colour=plate.colour, diameter_mm=plate.diameter_mm)
            for plate in body.plates or ()
        ),
        "dumbbells": body.dumbbells or (),
        "stacks": tuple(
            Stack(name=stack.name, lifts=stack.lifts or (), steps=stack.steps) for stack in body.stacks or ()
        ),
    }
    return {part: value for part, value in made.items() if not only_sent or part in body.model_fields_set}


def kit_of(body: KitBody, unit: MassUnit) -> Kit:
    """The kit of a body; `unit` is that of no collars."""
    return Kit(**kit_parts(body, unit))


_NAME: TypeAdapter[str] = TypeAdapter(ThingName)


def _place(value: object) -> object:
    """Tell by its form which of the two a place is, so that a refusal names one member and not one for each."""
    if isinstance(value, dict):
        return KitBody.model_validate(value)
    return value if value is None or isinstance(value, KitBody) else _NAME.validate_python(value)


PlaceIn = Annotated[ThingName | KitBody, BeforeValidator(_place)]
"""A place in the body of a calculation: an id, `ref:` and a reference, or what can be loaded there."""
