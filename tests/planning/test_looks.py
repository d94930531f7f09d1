"""How paints look without their places: what makes two of them one paint."""

from layercut.colour.washes import FlatWash, GradedWash, Gradient, GroupWash, Stop
from layercut.model import Paint
from layercut.planning.looks import CoatLook, PaintLook, coats_of, look_of

RED, BLUE = (1.0, 0.0, 0.0), (0.0, 0.0, 1.0)
STOPS = (Stop(0.0, RED), Stop(1.0, BLUE, 0.5))


def gradient(*points: float) -> Gradient:
    return Gradient("linear", points, (1, 0, 0, 1, 0, 0), "pad", STOPS)


def test_a_flat_paint_is_its_colour() -> None:
    assert look_of(Paint("#ff0000")) == PaintLook("#ff0000")
    assert not PaintLook("#ff0000").is_stack
    assert PaintLook("#ff0000").blend == ()


def test_one_blend_is_one_paint_wherever_it_runs() -> None:
    down, across = (Paint("#800080", (GradedWash(gradient(*ends)),)) for ends in ((0, 0, 0, 9), (0, 0, 50, 0)))
    assert look_of(down) == look_of(across)
    assert [(stop.offset, stop.colour, stop.opacity) for stop in look_of(down).blend] == [
        (0, "#ff0000", 1),
        (1, "#0000ff", 0.5),
    ]


def test_the_opacity_of_a_coat_reaches_its_stops() -> None:
    ((coat, along),) = coats_of((GradedWash(gradient(0, 0, 0, 9), 0.5),))
    assert [stop.opacity for stop in coat.stops] == [0.5, 0.25]
    assert along == gradient(0, 0, 0, 9)


def test_groups_come_apart_into_coats_that_they_thin_and_mask() -> None:
    inner = GroupWash((FlatWash(RED, 0.5),), 0.5)
    outer = GroupWash((FlatWash(BLUE), inner), 0.5, (FlatWash(RED),))
    assert [(coat.colour, coat.opacity, coat.masked) for coat, _ in coats_of((FlatWash(RED), outer))] == [
        ("#ff0000", 1.0, False),
        ("#0000ff", 0.5, True),
        ("#ff0000", 0.125, True),
    ]


def test_coats_are_a_stack_when_they_are_a_paint_only_together() -> None:
    coat = CoatLook("#ff0000")
    assert PaintLook("#800080", (coat, coat)).is_stack
    assert PaintLook("#800080", (CoatLook("#ff0000", opacity=0.5),)).is_stack
    assert PaintLook("#800080", (CoatLook("#ff0000", masked=True),)).is_stack
    assert not PaintLook("#ff0000", (coat,)).is_stack


def test_a_coat_alone_is_at_full_strength() -> None:
    assert CoatLook("#ff0000", opacity=0.3, masked=True).alone == PaintLook("#ff0000")
    ((graded, _),) = coats_of((GradedWash(gradient(0, 0, 0, 9)),))
    assert graded.alone.blend == graded.stops
    assert not graded.alone.is_stack
