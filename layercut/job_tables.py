"""The tables of the job file: one model each, with every key, its default and its words.

Enters: values as TOML has them. Leaves: frozen tables, lengths in mm. docs/job-file.md is generated from these
models, so every default is written down once, here.
"""

import datetime
from collections.abc import Sequence
from typing import Annotated

from pydantic import BaseModel, BeforeValidator, ConfigDict, Field, StringConstraints, model_validator

from layercut.job_values import (
    Acceleration,
    Angle,
    Area,
    Coats,
    Colour,
    Density,
    FaceSource,
    Grain,
    HangerKind,
    Length,
    Mass,
    PaintHand,
    PiecePolicy,
    Pins,
    Policy,
    Role,
    RoleColour,
    SingleLineFace,
    SpacerSource,
    Speed,
    StripJoint,
    TextStyle,
)
from layercut.units import UnitName

MOST_SPACERS = 20
"""More frames than this is a wrong number in the job, not a picture."""


class Table(BaseModel):
    """A table: frozen, without keys of its maker's own."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=False, validate_default=False)


class PanelJob(Table):
    """The outline that every sheet shares, and the ring inside its rim that every sheet keeps."""

    width: Length | None = Field(None, description="width of the panel; without it, the drawing's page")
    height: Length | None = Field(None, description="height of the panel; without it, the drawing's page")
    frame: Length = Field(6.35, description="width of the frame, a quarter of an inch")
    corner: Length = Field(
        0.0, description="radius of the rim's corners; half the width of a square panel makes it round"
    )
    pins: Pins = Field(
        False,
        description="true: three holes in the frame to line the sheets up; a sheet turned or flipped doesn't fit "
        'them; "blind": the same, but the front sheet stays whole, so that none is seen',
    )
    pin_diameter: Length = Field(2.0, description="diameter of the pins; the holes are cut to it")


class MaterialJob(Table):
    """The wood."""

    name: str = Field(
        "plywood", min_length=1, max_length=80, description="what the manifest and the traveller call it"
    )
    thickness: Length = Field(3.0, ge=0.01, description="thickness of one sheet")
    kerf: Length = Field(0.15, le=2.0, description="width that the beam removes; measure it on your own wood")
    density: Density | None = Field(
        None,
        description="for the weight; without it, that of the wood that `material.name` names (basswood plywood "
        "weighs as basswood), else 680 kg/m3, about that of birch plywood; the traveller says which was taken",
    )
    stock_width: Length | None = Field(
        None,
        gt=0,
        description="width of the boards you buy; with it and the height, or with a bed, `boards/` is written: all "
        "sheets and spares, laid on boards",
    )
    stock_height: Length | None = Field(None, gt=0, description="height of the boards you buy")
    gap: Length = Field(
        2.0, description="distance between the cut lines of parts that are cut from one board, and from its edge"
    )
    grain: Grain = Field(
        "along",
        description="how parts may lie on a board: along: the wood's grain runs the same way through all of them; "
        "any: turned by quarters, which may need fewer boards",
    )
    spares: int = Field(
        1,
        ge=0,
        le=9,
        description="spares of each loose piece; on boards they are cut with the rest, at most 200 in all, those of "
        "the largest pieces; else a place is looked for in the waste of openings",
    )


class LimitsJob(Table):
    """What the wood must bear."""

    neck: Length = Field(1.5, description="narrowest wood that may carry something")
    setback: Length = Field(1.0, description="how far hidden ground keeps away from an opening")
    glue_contact: Area = Field(
        20.0, description="glued area that holds a loose piece; two fifths of a small piece are enough"
    )
    slender: float = Field(
        8.0, ge=1, le=1000, description="no tie is longer than so many times its width: it would break in the hand"
    )
    piece: Length = Field(
        4.0, description="least width of a loose piece at its widest place; a smaller one falls through the bed"
    )
    narrow_reach: Length = Field(
        6.0, description="a prong narrower than the neck limit is reported when it reaches further than this"
    )


class LayerIslandsJob(Table):
    """What to do with the islands of one layer."""

    policy: Policy = Field(description="for this layer's islands")


class IslandsJob(Table):
    """What to do with wood that isn't joined to the frame."""

    policy: Policy = Field(
        "auto",
        description="auto: for each the way out that is seen least, by `[prices]`; refuse: cut nothing and show "
        "every island; tie: join each by the least visible strips; "
        "loose: cut it free, to be glued on; behind: paint it on the sheet behind that shows around it",
    )
    tie_width: Length | None = Field(None, le=25, description="width of a tie; without it, the neck limit")
    layers: dict[str, LayerIslandsJob] = Field(
        default_factory=dict, description="a policy for one layer, by its name: a table `islands.layers.NAME`"
    )
    pieces: dict[str, PiecePolicy] = Field(
        default_factory=dict,
        description='a policy for one island, by the name in its finding, such as "smoke" = "loose": the label or id '
        'of its element, or one that its outline gives; "out" leaves it out',
    )

    def policy_for(self, layer: str, names: Sequence[str]) -> PiecePolicy:
        """The policy of an island that is known by some names, the best first: its own, else its layer's, else the
        job's."""
        own = self.choice_for(names)
        if own is not None:
            return self.pieces[own]
        table = self.layers.get(layer)
        return table.policy if table is not None else self.policy

    def choice_for(self, names: Sequence[str]) -> str | None:
        """The key under which an island that is known by some names has a choice of its own; None for none.

        A name that begins with `#` is a digest: whatever stands before it in the key is for people.
        """
        for name in names if self.pieces else ():
            if name in self.pieces:
                return name
            if name.startswith("#"):
                for key in self.pieces:
                    if key.endswith(name):
                        return key
        return None


class PricesJob(Table):
    """What `islands.policy = "auto"` weighs, in mm² of what the viewer sees wrong."""

    sky: float = Field(
        1.0, ge=0, le=1000, description="a mm² of tie over open ground, in a colour that stands out from it"
    )
    blending: float = Field(
        0.2, ge=0, le=1000, description="a mm² of tie in the very colour of what it crosses; in between by difference"
    )
    along: float = Field(
        0.3, ge=0, le=1, description="share of that price where the tie runs along a drawn line or a colour's edge"
    )
    strange: float = Field(
        2.0, ge=1, le=1000, description="times that price where the tie's colour is neither of those that it joins"
    )
    frame: float = Field(
        4.0, ge=1, le=1000, description="times that price where the tie hangs from the frame, like an icicle"
    )
    flat: float = Field(
        0.3, ge=0, le=1000, description="a mm² painted behind, for each sheet that it lies deeper than drawn"
    )
    missing: float = Field(3.0, ge=0, le=1000, description="a mm² that is left out")
    astray: Length = Field(0.15, description="how far a piece that is glued on lies beside its place, all around")
    gluing: Area = Field(4.0, description="each piece to be glued on, a riser too")


class MarksJob(Table):
    """What is engraved."""

    line_below: Length = Field(0.8, description="a stroke thinner than this is a marked line; a thicker one is wood")
    colour_boundaries: bool = Field(True, description="mark where two colours meet on one sheet, for the painter")
    behind: bool = Field(True, description="mark the outline of each piece that is painted on a sheet behind its own")
    text: TextStyle = Field(
        "area",
        description="how live text is engraved: area: its letters filled; outline: their outlines; "
        "single-line: letters of single strokes, quick to burn",
    )
    fonts: tuple[str, ...] = Field(
        (),
        description='font files, or folders of them, from where the drawing is, such as ["fonts/Name.ttf"]; they '
        "come before the machine's own",
    )
    single_line: SingleLineFace = Field("plain", description="the face of single-line letters")


class LayerJob(Table):
    """What one layer is, by its name."""

    face: FaceSource = Field(
        "fills",
        description="what makes the layer's wood: fills: its filled shapes; lines: whatever its lines enclose, so "
        "that the outer ones are cut and the inner ones marked",
    )
    gap: Length = Field(0.5, description="of a layer drawn in lines: gaps up to this width are bridged and reported")
    paint: Colour | None = Field(
        None,
        description="of a layer drawn in lines: the paint of what they enclose; without it, the layer's first fill, "
        "else the colour of bare plywood",
    )


class PaintJob(Table):
    """What a colour of the drawing means, and how it is painted."""

    roles: dict[Colour, Role] = Field(
        default_factory=dict,
        description='what a fill or stroke of a colour is, such as "#ff0000" = "mark-line"',
    )
    wood_opacity: float = Field(
        0.5,
        ge=0,
        le=1,
        description="paint at least so opaque is wood, its opacity and those of the groups around it multiplied; "
        "fainter paint is a glaze, which only colours the wood that is seen through it",
    )
    overlap: Length = Field(
        1.0, description="how far paint reaches under the sheet in front, and glue keeps away from edges"
    )
    coats: int | None = Field(
        None,
        ge=1,
        le=9,
        description="coats of each colour; without it, by colour: 4 of white and strong yellow, 3 of what is light "
        "or a bright red or orange, 2 of the rest (common practice over bare wood)",
    )
    coats_of: dict[Colour, Coats] = Field(
        default_factory=dict,
        description='coats of single colours, as drawn, such as "#f2d16b" = 4; they come before `paint.coats`',
    )
    merge: float = Field(
        2.0,
        ge=0,
        le=10,
        description="colours that differ by no more (CIEDE2000) are painted from one pot, the one of which more is "
        "seen; 0: every colour has its own",
    )
    colours: int | None = Field(
        None,
        ge=1,
        le=200,
        description="so many pots of paint at most: what is seen of a colour counts with the square of how far its "
        "pot is off; gradients keep what else they are mixed from, and stains are not counted",
    )
    stain: tuple[str, ...] = Field(
        (),
        description="layers, groups or elements, by name, that are stained instead of painted, as the frame is, such "
        'as ["name board"]; capitals, spaces and hyphens don\'t matter, nor words that follow',
    )
    own: str | None = Field(
        None,
        description="your own paints: a file with the columns `name` and `hex`, separated by commas, from where the "
        "drawing is; each colour is given the nearest of them",
    )
    own_limit: float = Field(
        5.0, gt=0, le=100, description="one of your own paints that differs by more (CIEDE2000) is reported as far"
    )
    edge: Length = Field(
        0.8,
        le=4.0,
        description="how far the middle shade stays back from a region's edges, so that a dark edge of the base "
        "stays; never more than a quarter of the region's local width",
    )
    hands: dict[str, PaintHand] = Field(
        default_factory=dict,
        description='how layers, groups or elements are painted, by name, such as "ivy" = "stipple": flat; stipple: '
        "dabs of a fan brush; blend: wet in wet; without it, names such as leaf, hedge, sky or water decide",
    )


class MachineJob(Table):
    """The machine, to reckon the time. layercut never sets a beam's power."""

    bed_width: Length | None = Field(None, description="width of the bed; a panel that is larger is refused")
    bed_height: Length | None = Field(None, description="height of the bed")
    cut_speed: Speed = Field(10.0, description="speed along cut lines")
    mark_speed: Speed = Field(60.0, description="speed along marked lines")
    area_speed: Speed = Field(200.0, description="speed of the rows of a marked area")
    row_pitch: Length = Field(0.1, ge=0.001, description="distance of the rows of a marked area")
    travel_speed: Speed = Field(150.0, description="speed between lines, beam off")
    acceleration: Acceleration = Field(
        1000.0, description="how fast the speed changes; the machine's settings or manual say it"
    )
    corner_rounding: Length = Field(
        0.02, description="how far the machine may round a corner off; with 0 it stops at every vertex"
    )


class HangingJob(Table):
    """What is screwed to the back, and how the picture hangs."""

    screw: Length | None = Field(
        None,
        gt=0,
        description="length of the hanger's screws in the wood; without `spacers`, as many spacer frames are made as "
        "it needs",
    )
    spacers: int | None = Field(
        None,
        ge=0,
        le=MOST_SPACERS,
        description="so many spacer frames behind the picture; the page says how long the screws may be. Without it "
        "and without `screw` there are none",
    )
    spacer_from: SpacerSource = Field(
        "ring",
        description="ring: each spacer is one frame, cut out of a whole panel; strips: it is glued from strips, or "
        "from arcs where the rim is round, which lie close together on one board",
    )
    joints: StripJoint = Field(
        "butt",
        description="ends of straight strips: butt: square; mitre: at 45 degrees on every other spacer, square on "
        "those between, so that no joint lies on another",
    )
    guard: Length = Field(2.0, description="wood that must stay in front of a screw's point")
    plate: Length = Field(10.0, gt=0, description="width of the hanger's plate")
    plate_edge: Length = Field(2.0, description="wood on both sides of the plate")
    extra: Mass = Field(0.0, description="weight of what comes on top of the wood: paint, glue, hanger")
    hanger: HangerKind = Field(
        "wire", description="wire: two rings with a wire between them; one: a single hanger above the middle"
    )
    wire_angle: Angle = Field(
        30.0, ge=1, le=90, description="angle of the hanging wire to the horizontal, on each side of the hook"
    )
    top: Length | None = Field(
        None,
        gt=0,
        description="height of the picture's top edge above the floor, once it hangs; with it the page says how high "
        "the hook goes",
    )
    safety: float = Field(
        4.0,
        ge=1,
        le=20,
        description="what hooks, wire and wall must bear, in weights of the picture; 4 is layercut's own choice, "
        "no standard's",
    )


def _as_words(value: object) -> object:
    """A year or a date that stands in the job file without quotes is words here."""
    return str(value) if isinstance(value, int | datetime.date) and not isinstance(value, bool) else value


LabelWords = Annotated[
    str, BeforeValidator(_as_words), StringConstraints(strip_whitespace=True, min_length=1, max_length=120)
]
"""Words on the label."""


class LabelJob(Table):
    """What the label for the back of the picture says, beside the wood; without any of these there is none."""

    title: LabelWords | None = Field(None, description="what the picture is called")
    maker: LabelWords | None = Field(None, description="who made it")
    date: LabelWords | None = Field(None, description='when it was made, as it is to be read, such as "May 2031"')

    @property
    def wanted(self) -> bool:
        """Whether there is to be a label."""
        return any((self.title, self.maker, self.date))


class RolesJob(Table):
    """The colour of each role in the written sheets.

    The defaults are of the set that colour-blind people tell apart too (M. Okabe, K. Ito, Color Universal Design,
    2002, revised 2008)."""

    mark_area: RoleColour = Field("#56B4E9", description="fill of marked areas")
    mark_line: RoleColour = Field("#CC79A7", description="stroke of marked lines")
    cut_opening: RoleColour = Field("#009E73", description="stroke of every cut contour but the rim")
    cut_outline: RoleColour = Field("#E69F00", description="stroke of the rim")

    @model_validator(mode="after")
    def _all_different(self) -> "RolesJob":
        if len({self.mark_area, self.mark_line, self.cut_opening, self.cut_outline}) < 4:
            raise ValueError("needs four different colours, or the machine can't tell the roles apart")
        return self


class CurvesJob(Table):
    """How cut lines leave."""

    tolerance: Length = Field(
        0.02,
        gt=0,
        le=0.5,
        description="largest deviation of a written cut line from the drawing's curve, flattening included",
    )
    smooth: bool = Field(
        True,
        description="write cuts and marks as few smooth curves; false: as short straight lines",
    )


class PageJob(Table):
    """What a person reads: the traveller, the watch page, findings, paint maps."""

    units: UnitName = Field(
        "mm",
        description="units of all that a person reads: in (inches, ounces, pounds) or mm; without it, inches where "
        "the width or height of the panel is given in inches or feet; files for machines and `--json` are in mm",
    )
    steps: bool = Field(
        False,
        description="draw on the traveller how the stack and each sheet look after base, middle and light; it takes "
        "a second or so, so it is left out unless it is asked for",
    )
