"""Models of what the crew brings: sources, heads, detectors, kit."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.carrier import Carrier
from halflayer.order.fields import (
    Activity,
    ArealDensity,
    Density,
    DoseRate,
    Fraction,
    HalfAngle,
    HeadTurn,
    Ident,
    Kerma,
    LeanAngle,
    Mass,
    Model,
    Moment,
    NonNegativeLength,
    NonNegativeThickness,
    NonNegativeTime,
    PieceLength,
    Point,
    PositiveLength,
    SourceLength,
    Text,
    Thickness,
    yaml_name,
)
from halflayer.order.gear import Gear
from halflayer.order.guide import GuideTube
from halflayer.order.stand_kit import Clamp, Legs

PlacementName = Literal[
    "over",
    "lean-out",
    "lean-back",
    "over-shrouded",
    "lean-out-shrouded",
    "outside",
    "strap",
    "strap-guided",
    "bore",
]
SHROUDED = frozenset({"over-shrouded", "lean-out-shrouded"})  # a rigid shroud instead of the wrap
FLAT_FILM = frozenset({"over", "lean-out", "lean-back"}) | SHROUDED  # clamp, legs, flat film, stop
ON_A_STAND = FLAT_FILM | {"outside"}  # clamp, legs, stop
STRAPPED = frozenset({"strap", "strap-guided"})  # head in contact, film round the far side

# Sizes that a solid of a shape needs, and those it may have beside them.
SOLID_SIZES: dict[str, tuple[set[str], set[str]]] = {
    "box": ({"size"}, set()),
    "tube": ({"outer_radius_m", "length_m"}, {"wall_m"}),
    "sphere": ({"outer_radius_m"}, {"wall_m"}),
    "frustum": ({"radius_start_m", "radius_end_m", "length_m"}, {"wall_m"}),
}


class MaterialSpec(Model):
    """A material by name, or one of the order's own by density and mass fractions."""

    name: Text
    density_kg_m3: Density | None = None  # needed with mass_fractions
    mass_fractions: dict[str, float] | None = None  # by element symbol, sum 1 within 1 %


class Source(Model):
    """A sealed source: nuclide, certified activity and its moment, focal size, capsule."""

    id: Ident
    serial: Text | None = None  # number on its certificate; left out: a blank beside it
    nuclide: Text  # Se-75, Ir-192, Co-60, Yb-169 or Cs-137
    activity_Bq: Activity
    on: Moment  # moment of the certificate
    activity_uncertainty: Fraction = 0.10  # coverage factor 1.645; printed in the budget
    diameter_m: SourceLength  # focal size of the active cylinder
    length_m: SourceLength
    capsule_material: Text = "stainless steel 316"
    capsule_wall_m: NonNegativeThickness = 0.001
    container_mass_kg: Mass | None = (
        None  # of the container it comes from, for the load plan; left out: not counted
    )
    axis: Literal["across the beam", "along the beam"] = (
        "across the beam"  # how the cylinder lies in the head
    )


class Aperture(Model):
    """An opening that cuts the beam: round, or rectangular with half angles along and across the pipe."""

    id: Ident
    shape: Literal["round", "rectangular"]
    half_angle_rad: HalfAngle | None = None
    half_along_rad: HalfAngle | None = None  # opening in the plane of the pipe axis
    half_across_rad: HalfAngle | None = None  # opening in the plane of the weld

    @model_validator(mode="after")
    def _angles(self) -> Aperture:
        given = [a is not None for a in (self.half_angle_rad, self.half_along_rad, self.half_across_rad)]
        if given != ([True, False, False] if self.shape == "round" else [False, True, True]):
            raise PydanticCustomError(
                "aperture",
                "the angles do not fit the shape",
                {"accepted": "round: half_angle; rectangular: half_along and half_across"},
            )
        return self


class Leakage(Model):
    """Leakage measured with the source in the beam position, ports closed by the beam's own stop, H*(10)."""

    activity_Bq: Activity  # the activity at which it was measured
    surface_Sv_s: DoseRate | None = None  # the larger of surface and 1 m is used
    at_1m_Sv_s: DoseRate | None = None
    stored_surface_Sv_s: DoseRate | None = None  # source stored: for the crew's set-up dose
    stored_at_1m_Sv_s: DoseRate | None = None

    @model_validator(mode="after")
    def _one(self) -> Leakage:
        if self.surface_Sv_s is None and self.at_1m_Sv_s is None:
            raise PydanticCustomError("leakage", "no reading given", {"accepted": "surface and/or at_1m"})
        return self


class StoredReadings(Model):
    """Readings beside a head, a changer or the container of a spider's source, with the source stored, H*(10)."""

    activity_Bq: Activity  # the activity at which they were taken
    surface_Sv_s: DoseRate | None = None
    at_1m_Sv_s: DoseRate  # 1 m from the surface


class HeadSolid(Model):
    """One solid of a head's shield in the head's frame: source at the origin, beam along -z, x along the pipe.

    Later solids lie over earlier ones; a shell (`wall` stated) occupies its wall only. Matter lies within the head's
    body, whose face lies `source_to_face` below the source; a port of air may reach through the face.
    """

    shape: Literal["box", "tube", "sphere", "frustum"]
    material: Text
    centre: Point = (0.0, 0.0, 0.0)
    axis: tuple[float, float, float] = (0.0, 0.0, 1.0)
    size: tuple[PieceLength, PieceLength, PieceLength] | None = None
    outer_radius_m: PieceLength | None = None
    radius_start_m: PieceLength | None = None
    radius_end_m: PieceLength | None = None
    wall_m: PieceLength | None = None
    length_m: PieceLength | None = None

    @model_validator(mode="after")
    def _sizes(self) -> HeadSolid:
        wanted, allowed = SOLID_SIZES[self.shape]
        sizes = ("size", "outer_radius_m", "radius_start_m", "radius_end_m", "wall_m", "length_m")
        given = {n for n in sizes if getattr(self, n) is not None}
        if not wanted <= given <= wanted | allowed:
            words = ", ".join(yaml_name(n) for n in sizes if n in wanted)
            words += "".join(f" and, if hollow, {yaml_name(n)}" for n in allowed)
            text = "the sizes do not fit the shape"
            raise PydanticCustomError("solid", text, {"accepted": f"{self.shape}: {words}"})
        radii = [r for r in (self.outer_radius_m, self.radius_start_m, self.radius_end_m) if r is not None]
        if self.wall_m is not None and self.wall_m > min(radii):
            text = f"a wall up to {min(radii) * 1000:g} mm"
            raise PydanticCustomError(
                "solid", "the wall is thicker than the radius", {"accepted": text, "field": "wall"}
            )
        if not any(self.axis):
            text = "three numbers, not all zero"
            raise PydanticCustomError(
                "solid", "the axis has no direction", {"accepted": text, "field": "axis"}
            )
        return self


class Head(Model):
    """A head that holds the source during the exposure: its shield (solids or measured leakage), apertures.

    `kind` "shielded" is a small shielded head; "spider" centres a bare source in a bore, without a shield
    and without an aperture.
    """

    id: Ident
    serial: Text | None = None  # number on the head and its papers; left out: a blank beside its source
    kind: Literal["shielded", "spider"] = "shielded"
    nuclides: Annotated[tuple[Text, ...], Field(min_length=1)]  # that the head may hold
    placements: Annotated[tuple[PlacementName, ...], Field(min_length=1)]  # for which it is made
    apertures: tuple[Aperture, ...] = ()  # that it can carry, one at a time
    solids: tuple[HeadSolid, ...] | None = None  # the shield by its shape; or `leakage`
    leakage: Leakage | None = None  # the shield by measurement; or `solids`
    body: tuple[PieceLength, PieceLength, PieceLength]  # outer size along the head's x, y, z
    source_to_face_m: PieceLength  # source to the front face, along the beam
    # What scattered photons meet in the body of a head whose leakage is measured; without it the body is
    # taken as open to them, which errs on the high side behind the head.
    shell_material: Text | None = None
    shell_m: PieceLength | None = None
    mass_kg: Mass
    travel_s: NonNegativeTime = 1.0  # time of the source between stored and beam position
    maximum_activity_Bq: Activity | None = None  # that it may hold
    stored: StoredReadings | None = None  # with the source stored; for heads without them under `leakage`

    @model_validator(mode="after")
    def _shield(self) -> Head:
        if self.kind == "shielded":
            if (self.solids is None) == (self.leakage is None):
                raise PydanticCustomError(
                    "head",
                    "the shield is stated either as solids or as measured leakage, not both and not neither",
                    {"accepted": "solids: [...] or leakage: {...}"},
                )
            if not self.apertures:
                raise PydanticCustomError(
                    "head", "a shielded head needs an aperture", {"accepted": "apertures: [...]"}
                )
            if (self.shell_material is None) != (self.shell_m is None):
                raise PydanticCustomError(
                    "head", "half of the shell is stated", {"accepted": "shell_material and shell together"}
                )
        elif self.apertures or self.solids or self.leakage:
            raise PydanticCustomError(
                "head",
                "a spider has no shield and no aperture",
                {"accepted": "kind: shielded, or none of them"},
            )
        return self


class Screens(Model):
    """Intensifying screens and the lead behind the cassette."""

    material: Text = "lead"
    front_m: NonNegativeThickness
    back_m: NonNegativeThickness
    backing_lead_m: NonNegativeThickness = 0.0


class Film(Model):
    """A film system: class by ISO 11699-1, dose for net density 2 with gamma rays, screens and sheet size."""

    id: Ident
    kind: Literal["film"] = "film"
    film_class: Literal["C1", "C2", "C3", "C4", "C5", "C6"]
    dose_for_density_2_Gy: Kerma  # air kerma at the film, screens included, net density 2
    dose_uncertainty: Fraction  # relative, coverage factor 1.645
    basis: Text  # where the dose figure comes from (crew's own step wedge, certificate, memory)
    gradient_at_2: Annotated[float, Field(gt=1, lt=12)] | None = None  # left out: the class minimum
    base_fog: Annotated[float, Field(ge=0, le=0.6)] = 0.25  # density of base and fog
    calibration: Annotated[float, Field(gt=0.1, lt=10)] = 1.0  # crew's factor on the dose for this processing
    processing: Text
    make: Text | None = None  # maker and type; left out: the sheets say so
    chemistry: Text | None = None  # developer and fixer; left out: the sheets say so
    screens: Screens
    sheet: tuple[PieceLength, PieceLength]  # width (along the pipe when wrapped), length (round it)
    cassette_m: NonNegativeThickness = 0.002  # thickness between object and film emulsion


class StopPlate(Model):
    """Plates of one kind for the stop behind the pipe."""

    id: Ident
    material: Text = "lead"
    thickness_m: Thickness
    along_m: PieceLength  # along the pipe
    across_m: PieceLength
    count: Annotated[int, Field(ge=0, le=500)]
    tolerance: Fraction = 0.05  # of thickness, coverage factor 1.645
    mounting_s: NonNegativeTime = 20.0  # time to mount one piece


class Blanket(Model):
    """Flexible blankets of one kind, by measured mass per area."""

    id: Ident
    material: Text
    areal_density_kg_m2: ArealDensity
    thickness_m: Thickness
    width_m: PieceLength  # along the pipe when wrapped
    length_m: PieceLength
    count: Annotated[int, Field(ge=0, le=500)]
    tolerance: Fraction = 0.07  # of mass per area, coverage factor 1.645
    mounting_s: NonNegativeTime = 60.0

    @property
    def folds(self) -> int:
        """Layers that it gives when it is folded across its length, as near to a square as it stays wide."""
        return max(1, int(self.length_m / self.width_m + 1e-9))


class Shroud(Model):
    """A rigid shroud between head and stop, in place of the wrap (over-shrouded, lean-out-shrouded).

    A closed box of four walls with a lid under the head's face, open at its foot on the stop; it parts in two
    and has cut-outs for the pipe. "skewed" leans with the beam and is cut level at its foot.
    """

    id: Ident
    form: Literal["straight", "skewed"]
    material: Text
    wall_m: Thickness
    inner: tuple[PieceLength, PieceLength]  # clear opening along and across the pipe
    length_m: PieceLength  # from the head's face to the stop, along the beam
    mass_kg: Mass
    lean_rad: LeanAngle | None = None  # that a skewed one is made for; left out: any
    # How it parts through its cut-outs: at the level of the pipe's axis into a half under the head and one at the
    # foot, or along the beam into two halves from the sides; left out: its maker's instruction is asked for.
    parts: Literal["at the pipe's axis", "along the beam"] | None = None
    slot_gap_m: NonNegativeLength = 0.005  # left open round the pipe in the cut-outs
    tolerance: Fraction = 0.05  # of the wall, coverage factor 1.645
    mounting_s: NonNegativeTime = 120.0
    count: Annotated[int, Field(ge=0, le=50)] = 1

    @model_validator(mode="after")
    def _form(self) -> Shroud:
        if self.form == "straight" and self.lean_rad:
            raise PydanticCustomError(
                "shroud", "a straight shroud does not lean", {"accepted": "form: skewed, or no lean"}
            )
        return self


class Changer(Model):
    """An exchange container in which a source is taken out of one head and put into another."""

    id: Ident
    mass_kg: Mass | None = None  # for the load plan; left out: not counted
    # Beside it with a source in it; left out: the dose of a source change is not computed.
    stored: StoredReadings | None = None
    note: Text | None = None


class Kit(Model):
    """Everything that can be mounted, with how many there are."""

    plates: tuple[StopPlate, ...] = ()
    blankets: tuple[Blanket, ...] = ()
    shrouds: tuple[Shroud, ...] = ()
    clamps: tuple[Clamp, ...] = ()
    legs: tuple[Legs, ...] = ()
    guides: tuple[GuideTube, ...] = ()  # guide tubes for strap-guided
    carriers: tuple[Carrier, ...] = ()  # what bears a wrap that head, legs and pipe do not
    stop_gap_m: NonNegativeLength = 0.03  # film pack to the first stop plate
    gap_allowance: Fraction = 0.05  # share of the wrap's area that seams may leave open, budget item
    # Turn of the head that the dose with lost shielding assumes: our choice, a knock that no one sees.
    head_turn_rad: HeadTurn = 0.05235987755982989
    head_shift_m: NonNegativeLength = 0.01  # shift of the head or stop that it assumes: our choice
    wrap_opening_m: PositiveLength = 0.1  # edge of a square hole through all layers of the wrap, our choice
    rope_m: PositiveLength | None = (
        None  # rope in stock, for the barrier; left out: its length is not checked
    )
    changers: tuple[Changer, ...] = ()  # without one a head holds one source for the whole shift
    gear: tuple[
        Gear, ...
    ] = ()  # what opens heads, recovers a source, warns, holds; else the list says: bring it
