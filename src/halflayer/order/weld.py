"""Models of a weld and of what stands around it."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field, model_validator
from pydantic_core import PydanticCustomError

from halflayer.order.codes import Code, IqiKind, TestClass
from halflayer.order.contract import Acceptance
from halflayer.order.equipment import PlacementName
from halflayer.order.fields import (
    Angle,
    Density,
    Fraction,
    Ident,
    Length,
    Model,
    NonNegativeLength,
    PieceLength,
    Point,
    PositiveLength,
    SizeName,
    Text,
    Thickness,
)
from halflayer.order.flaws import Flaw
from halflayer.order.testing import HowTested, Made


class Pipe(Model):
    """A pipe by outside diameter and wall, or by NPS or DN with schedule (ASME B36.10M, B36.19M).

    A size stated beside the name stands in place of the table's, such as a measured wall.
    """

    outer_diameter_m: PieceLength | None = None
    wall_m: PositiveLength | None = None
    nps: SizeName | None = None  # such as 4, 1-1/2 or 0.5
    dn: Annotated[int, Field(gt=0)] | None = None
    schedule: SizeName | None = None  # such as 40, 80S, STD or XXS
    material: Text

    @model_validator(mode="after")
    def _complete(self) -> Pipe:
        sized = self.outer_diameter_m is not None and self.wall_m is not None
        named = (self.nps is None) != (self.dn is None) and self.schedule is not None
        if not sized and not named:
            raise PydanticCustomError(
                "pipe",
                "the pipe's size is incomplete",
                {"accepted": "outer_diameter and wall, or one of nps and dn with schedule"},
            )
        if self.nps is not None and self.dn is not None:
            raise PydanticCustomError(
                "pipe",
                "the pipe's size is named twice",
                {"accepted": "one of nps and dn", "field": "dn"},
            )
        od, wall = self.outer_diameter_m, self.wall_m
        if od is not None and wall is not None and 2 * wall >= od:
            raise PydanticCustomError(
                "pipe",
                "the wall is half the outside diameter or more",
                {"accepted": f"a wall below {od * 500:g} mm", "field": "wall"},
            )
        return self

    @property
    def od(self) -> float:
        """Outside diameter [m]; known once the order is read."""
        assert self.outer_diameter_m is not None
        return self.outer_diameter_m

    @property
    def wall(self) -> float:
        """Wall thickness [m]; known once the order is read."""
        assert self.wall_m is not None
        return self.wall_m

    @property
    def bore(self) -> float:
        """Inside diameter [m]."""
        return self.od - 2 * self.wall


class Cap(Model):
    """The weld's cap and root: width at the cap, reinforcement outside, penetration inside."""

    width_m: PositiveLength  # at the outside surface
    height_m: NonNegativeLength = 0.0  # reinforcement outside
    root_m: NonNegativeLength = 0.0  # penetration inside


class Contents(Model):
    """What fills the pipe while it is shot."""

    material: Text = "air"  # such as water or oil
    density_kg_m3: Density | None = None  # in place of the material's own


class Insulation(Model):
    """Insulation of the pipe, and over what length it is taken off at the weld."""

    material: Text
    thickness_m: Thickness
    density_kg_m3: Density | None = None
    removed_m: PositiveLength | None = (
        None  # taken off along the pipe, the weld in its middle; left out: left on
    )


class Neighbour(Model):
    """What stands next to the weld on one side: left is x < 0, right is x > 0."""

    kind: Literal["pipe", "elbow", "flange", "valve", "tee", "reducer", "cap", "open end"] = "pipe"
    distance_m: NonNegativeLength  # straight run between the weld centre and it
    wall_m: PositiveLength | None = (
        None  # wall on this side where it is thicker than the pipe's (unequal walls)
    )


class Clearances(Model):
    """Free room from the pipe's outside surface, by side; free where left out."""

    above_m: NonNegativeLength | None = None
    below_m: NonNegativeLength | None = None
    left_m: NonNegativeLength | None = (
        None  # along the pipe from the weld, x < 0, for all that is put up there
    )
    right_m: NonNegativeLength | None = None
    sides_m: NonNegativeLength | None = None  # across the pipe, both sides
    # What bounds the sides reaches so far above and below the pipe's axis; left out: all the way.
    sides_height_m: NonNegativeLength | None = None


class Obstacle(Model):
    """A wall, slab or piece of equipment near the weld, a box in site coordinates."""

    id: Ident
    name: Text
    material: Text
    centre: Point
    size: tuple[PositiveLength, PositiveLength, PositiveLength]
    # What it may lack of its least size and of its density: places behind it get that in their budget. Neither stated:
    # a tenth of its mass is taken, which the sheets say.
    thickness_tolerance_m: NonNegativeLength | None = None
    density_tolerance: Annotated[Fraction, Field(lt=1)] | None = None
    basis: Text | None = None  # what the tolerances rest on; required beside one

    @model_validator(mode="after")
    def _founded(self) -> Obstacle:
        if (self.thickness_tolerance_m is not None or self.density_tolerance is not None) and not self.basis:
            raise PydanticCustomError(
                "obstacle",
                "what the tolerance of the wall rests on is not said",
                {"accepted": "basis: drawing, survey or measurement", "field": "basis"},
            )
        return self


# Rules of the codes that a person may answer for; what cannot stand, carry or reach is no rule of a code.
CodeRule = Literal[
    "source for the thickness",
    "source to object distance",
    "geometric unsharpness",
    "limits of DWDI ellipse",
    "limits of DWDI in plane",
    "in plane only where an ellipse is not practicable",
    "opening of the ellipse",
    "number of exposures",
    "film system class",
    "screens",
    "density",
    "image quality indicator",
    "one class A condition only",
    "basic spatial resolution",
    "signal-to-noise ratio",
    "whole weld shown",
    "travel of the source in the exposure",
]


class Override(Model):
    """A rule of the code set aside for a weld by a person, with the reason; printed wherever its verdict is shown."""

    rule: CodeRule
    reason: Text
    by: Text  # who decided it, by role or name


class Weld(Model):
    """One weld: pipe, place on site, what is around it and what is asked of it."""

    id: Ident  # names the sheet's file
    kind: Literal["girth", "branch", "fillet"] = (
        "girth"  # branch and fillet welds are read and said to be not covered
    )
    pipe: Pipe
    cap: Cap
    contents: Contents = Contents()
    insulation: Insulation | None = None
    clearances: Clearances = Clearances()
    at: tuple[Length, Length]  # site plan position of the weld centre
    height_m: PositiveLength  # weld centre above the floor it stands on
    floor_level_m: Length = 0.0  # of that floor, site coordinates
    floor_material: Text | None = "concrete"  # null: grating or open below
    floor_thickness_m: PositiveLength | None = None  # left out: solid ground
    runs: Literal["horizontal", "vertical"] = "horizontal"  # of the pipe
    # Plan direction of the pipe's +x (vertical pipes: of the clock's zero), anticlockwise from site x.
    heading_rad: Angle = 0.0
    left: Neighbour  # towards negative x; down on a vertical pipe
    right: Neighbour  # towards positive x; up on a vertical pipe
    access_inside: bool = False  # a source or film can be brought into the bore at the weld
    obstacles: tuple[Ident, ...] = ()  # modelled with this weld; empty: all of the order within 6 m
    code: Code | None = None  # that this weld is judged by, in place of the order's
    # Its test class, in place of the order's; none under ASME V.
    test_class: Annotated[TestClass | None, Field(alias="class")] = None
    iqi: IqiKind | None = None  # kind of image quality indicator, in place of the order's
    sources: tuple[Ident, ...] = ()  # ids allowed; empty: all of the order
    placements: tuple[PlacementName, ...] = ()  # wanted placements in order of preference; empty: all
    barrier_within_m: PositiveLength | None = None  # in place of the order's
    density: Annotated[float, Field(gt=1, lt=4)] | None = None  # wanted at the weld; left out: from the class
    # At least so many exposures, where those of the code leave some of the weld too light or too dark.
    exposures: Annotated[int, Field(ge=1, le=16)] | None = None
    overrides: tuple[Override, ...] = ()  # rules of the code set aside, each with its reason
    guide_from: Point | None = None  # site: where the container of a source that is sent to the weld stands
    guide_by: tuple[Point, ...] = ()  # site: bends of its way from there, in sequence
    # Who keeps everybody else out of a travelling source's reach, by role; left out: whoever keeps it at the source
    # changes, else the owner of the area, and the weld waits until somebody has said so by name.
    way_kept_by: Text | None = None
    # What a spool's hoist hangs from, how high, and what that bears, by whom; left out: settled before by who may lift.
    hoist_from: Text | None = None
    flaws: tuple[Flaw, ...] = ()  # put in on purpose: what `halflayer radiograph` must show
    repair: Text | None = None  # mark of a repaired weld, in lead behind its number, such as R1
    acceptance: Acceptance | None = None  # standard and level of its films, in place of the order's
    testing: HowTested | None = None  # of this weld, field by field in place of the order's
    procedure: Text | None = None  # by which it is tested, in place of the order's
    made: Made | None = None  # joint, spool, welder's stamp; left out: blanks
    note: Text | None = None

    @property
    def insulation_at_weld(self) -> Insulation | None:
        """The insulation where it is left on at the weld; None where it is taken off there or there is none."""
        return None if self.insulation is None or self.insulation.removed_m is not None else self.insulation

    def insulation_at_m(self, x_m: float) -> float:
        """Thickness of the insulation so far along the pipe from the weld [m]."""
        i = self.insulation
        if i is None or (i.removed_m is not None and abs(x_m) < i.removed_m / 2 - 1e-9):
            return 0.0
        return i.thickness_m
