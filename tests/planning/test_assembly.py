"""The order of gluing: from the back forwards, every piece after what carries it, spacers and hanger last."""

from builds import spacers_made
from scenes import Scenes
from shapely import Point, box

from layercut.model import Drawing
from layercut.planning.assembly import plan_assembly
from layercut.planning.paint import plan_paint
from layercut.workplan import Step


def steps_of(scenes: Scenes, drawing: Drawing, *settings: str) -> tuple[Step, ...]:
    made = scenes.make(drawing, *settings)
    sheets = (*made.sheets, *spacers_made(made.stack, made.job))
    paint = plan_paint(drawing, made.stack, 0.0, made.job.paint, None)
    return plan_assembly(made.stack, sheets, paint.sheets)


def test_sheets_from_the_back_forwards(scenes: Scenes) -> None:
    drawing = scenes.drawing([scenes.ground()], [box(0, 50, 100, 100)], [box(0, 70, 100, 100)])
    steps = steps_of(scenes, drawing)
    assert [(step.kind, step.what, step.on) for step in steps] == [
        ("lay", "l0", ""),
        ("sheet", "l1", "l0"),
        ("sheet", "l2", "l1"),
        ("edges", "outer edges", ""),
        ("hanger", "hanger", "l0"),
    ]
    assert all(step.contact_mm2 > 1000 for step in steps if step.kind == "sheet")


def test_loose_pieces_come_after_what_carries_them(scenes: Scenes) -> None:
    """A dot before a disc before the ground, both loose: the dot rests on the disc."""
    disc, dot = Point(50, 35).buffer(12), Point(50, 35).buffer(5)
    drawing = scenes.drawing([scenes.ground()], [box(0, 70, 100, 100), disc], [box(0, 85, 100, 100), dot])
    steps = steps_of(scenes, drawing, "islands.policy=loose")
    assert [step.kind for step in steps] == ["lay", "sheet", "pieces", "sheet", "pieces", "edges", "hanger"]
    (first,), (second,) = steps[2].pieces, steps[4].pieces
    assert first.rests_on == "l0"
    assert second.rests_on == first.piece
    assert first.locator
    assert second.locator
    assert second.contact_mm2 > 20
    done: set[str] = set()
    for step in steps:
        for piece in step.pieces:
            assert piece.rests_on in done
            done.add(piece.piece)
        done.add(step.what)


def test_the_contact_of_a_sheet_is_without_its_loose_pieces(scenes: Scenes) -> None:
    ground, strip, disc = scenes.ground(), box(0, 70, 100, 100), Point(50, 35).buffer(12)
    plain = steps_of(scenes, scenes.drawing([ground], [strip]))
    loose = steps_of(scenes, scenes.drawing([ground], [strip, disc]), "islands.policy=loose")
    assert abs(loose[1].contact_mm2 - plain[1].contact_mm2) < 1


def test_spacers_go_behind_one_on_another_and_the_hanger_on_the_last(scenes: Scenes) -> None:
    steps = steps_of(scenes, scenes.drawing([scenes.ground()]), "hanging.screw=6mm")
    assert [(step.kind, step.what, step.on) for step in steps] == [
        ("lay", "l0", ""),
        ("spacer", "spacer 1", "the back of l0"),
        ("spacer", "spacer 2", "spacer 1"),
        ("edges", "outer edges", ""),
        ("hanger", "hanger", "spacer 2"),
    ]


def test_nothing_to_glue(scenes: Scenes) -> None:
    made = scenes.make(scenes.drawing([scenes.ground()]))
    assert plan_assembly(made.stack, (), ()) == ()
