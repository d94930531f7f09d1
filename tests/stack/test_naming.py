"""A piece keeps its name, and so its choice, whatever is done to the rest of the drawing."""

import random
from dataclasses import dataclass, field, replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scenes import Scenes
from shapely import MultiPolygon, Point, Polygon, affinity, box
from shapely.geometry.base import BaseGeometry

from layercut.job_tables import IslandsJob
from layercut.job_values import PiecePolicy
from layercut.model import Called, Drawing, Island, Layer, Paint, Shape, Tie
from layercut.pipeline import plan_stack
from layercut.stack.naming import find_shared_names, held_by, keep_names, name_pieces

SLOTS = [(10.0 * x, 10.0 * y) for x in range(10) for y in range(10)]


def _shape(
    geometry: BaseGeometry, *, label: str = "", ident: str = "", kind: str = "path", around: tuple[str, ...] = ()
) -> Shape:
    return Shape("wood", geometry, Paint("#aabbcc"), "a path", Called(kind, label, ident, around))


def _names(*layers: list[Shape]) -> list[list[str]]:
    """The name of every part of every shape, by layer; each part is taken for a piece."""
    named_apart = find_shared_names([Layer(f"layer {number}", tuple(shapes)) for number, shapes in enumerate(layers)])
    return [[named.id for named in name_pieces(layer, _pieces(layer))] for layer in named_apart]


def _pieces(layer: Layer) -> list[Polygon]:
    return [part for shape in layer.shapes for part in getattr(shape.geometry, "geoms", [shape.geometry])]


def _square(x: float, y: float, size: float = 4.0) -> Polygon:
    return box(x, y, x + size, y + size)


def test_a_label_comes_before_an_id_and_an_id_before_an_outline() -> None:
    shapes = [
        _shape(_square(0, 0), label="smoke", ident="path12"),
        _shape(_square(10, 0), ident="roof"),
        _shape(_square(20, 0), kind="circle"),
        _shape(_square(30, 0), around=("birds", "wing")),
    ]
    ((smoke, roof, circle, wing),) = _names(shapes)
    assert (smoke, roof) == ("smoke", "roof")
    assert circle.startswith("circle#")
    assert wing.startswith("wing#")


def test_of_two_with_one_label_the_ids_tell_which() -> None:
    leaves = [_shape(_square(x, 0), label="leaf", ident=f"path{x}") for x in (0, 10)]
    assert _names(leaves) == [["leaf#path0", "leaf#path10"]]
    assert _names(leaves[:1], leaves[1:]) == [["leaf#path0"], ["leaf#path10"]]


def test_of_two_with_one_label_and_no_id_the_outlines_tell_which() -> None:
    leaves = [_shape(_square(x, 0), label="leaf") for x in (0, 10)]
    (first,), (second,) = _names(leaves[:1], leaves[1:])
    assert first != second
    assert first.startswith("leaf#")
    assert second.startswith("leaf#")


def test_copies_in_the_same_place_on_two_layers_have_two_names() -> None:
    (first,), (second,) = _names([_shape(_square(0, 0))], [_shape(_square(0, 0))])
    assert first != second


def test_a_name_of_two_parts_is_nobodys_even_when_one_of_them_holds() -> None:
    """Which of them floats can change; the name must not pass from the one to the other."""
    spray = _shape(MultiPolygon([_square(0, 0), _square(10, 0, 3)]), label="spray")
    (layer,) = find_shared_names([Layer("roses", (spray,))])
    names = [name_pieces(layer, [part])[0].id for part in _pieces(layer)]
    assert names == _names([spray])[0]
    assert all(name.startswith("spray#") for name in names)


def test_the_larger_share_of_a_part_is_called_by_its_name_and_the_smaller_is_not() -> None:
    (layer,) = find_shared_names([Layer("roses", (_shape(box(0, 0, 20, 4), label="bough"),))])
    large, small = name_pieces(layer, [box(0, 0, 13, 4), box(14, 0, 20, 4)])
    assert large.id == "bough"
    assert small.id.startswith("bough#")
    assert [named.id for named in name_pieces(layer, [box(14, 0, 20, 4)])] == [small.id]


def test_shapes_are_the_same_after_a_save_with_fewer_decimals() -> None:
    """A thousand circles at places of hundredths, read back at tenths of a hundredth off: few digests change."""
    rng = random.Random(4)
    circles = [Point(round(rng.uniform(5, 95), 2), round(rng.uniform(5, 95), 2)).buffer(2.0) for _ in range(1000)]
    moved = [affinity.translate(circle, 0.0005, -0.0005) for circle in circles]
    layer = find_shared_names([Layer("dots", ())])[0]
    names = [name_pieces(layer, [one])[0].id for one in circles]
    again = [name_pieces(layer, [one])[0].id for one in moved]
    assert sum(a != b for a, b in zip(names, again, strict=True)) < 20


def test_a_piece_that_only_touches_a_shape_is_not_named_by_it() -> None:
    layer = Layer("garden", (_shape(_square(0, 0), label="leaf"),))
    beside, apart = (name_pieces(layer, [_square(x, 0)])[0] for x in (4, 20))
    assert beside.place == apart.place == -1
    assert "leaf" not in (beside.id, *beside.aliases)


def test_old_names_count_elements_and_pieces() -> None:
    leaf, spray = _square(0, 0), MultiPolygon([_square(10, 10), _square(10, 0)])
    shapes = [replace(_shape(leaf), element="the 1st path"), replace(_shape(spray), element="the 2nd path")]
    (layer,) = find_shared_names([Layer("roses", tuple(shapes))])
    old = [named.old_id for named in name_pieces(layer, _pieces(layer))]
    assert old == ["roses#1", "roses#2b", "roses#2"]


def _island(name: str, region: Polygon, aliases: tuple[str, ...] = (), old_id: str = "") -> Island:
    return Island(name, region, (0.0, 0.0), region.area, "", aliases=aliases, old_id=old_id)


def test_a_later_look_keeps_the_names_of_the_first() -> None:
    before = [_island("bough", box(0, 0, 20, 4), aliases=("#aaaaaaa",), old_id="roses#4")]
    large, small, other = keep_names(
        [_island("x", box(0, 0, 13, 4)), _island("y", box(13.2, 0, 20, 4)), _island("bough", box(40, 0, 44, 4))],
        before,
    )
    assert (large.id, large.names) == ("bough", ("bough", "#aaaaaaa", "roses#4"))
    assert "bough" in small.names[1:]
    assert "bough" not in other.names


def test_a_tie_holds_the_island_that_it_touches_most() -> None:
    islands = [_island("a", box(0, 0, 10, 10)), _island("b", box(12, 0, 20, 10))]
    strips = [box(8, 4, 30, 6), box(40, 40, 50, 50), box(5, 4, 13, 6)]
    assert held_by(strips, islands) == ["b", "", "a"]
    assert held_by([box(9, 4, 13, 6)], islands) == ["a"]
    assert held_by([], islands) == []


# --- choices through edits


@dataclass
class _Element:
    """An element of the model: its parts by their numbers, each with its place and its size, which no other has."""

    label: str
    ident: str
    layer: int
    parts: dict[int, tuple[float, float, float]]


@dataclass
class _Model:
    """A drawing that is edited: elements in paint order, and the names of its layers."""

    rng: random.Random
    elements: list[_Element] = field(default_factory=list)
    layers: list[str] = field(default_factory=lambda: ["back", "front"])
    made: int = 0
    free: list[tuple[float, float]] = field(default_factory=lambda: list(SLOTS))

    def part(self) -> dict[int, tuple[float, float, float]]:
        """A part where none has ever been: what looks alike and lies where another lay counts as that one."""
        self.made += 1
        x, y = self.free.pop(self.rng.randrange(len(self.free)))
        return {self.made: (x, y, 2.0 + (self.made % 60) * 0.1)}

    def insert(self, parts: int = 1) -> None:
        label = self.rng.choice(["", "", f"leaf {self.made}"])
        ident = self.rng.choice(["", f"path{self.made}"])
        self.elements.insert(
            self.rng.randint(0, len(self.elements)), _Element(label, ident, self.rng.randint(0, 1), self.part())
        )
        for _ in range(parts - 1):
            self.elements[-1].parts.update(self.part())

    def delete(self) -> None:
        element = self.rng.choice(self.elements)
        if len(element.parts) > 1:
            del element.parts[self.rng.choice(list(element.parts))]
        elif len(self.elements) > 3:
            self.elements.remove(element)

    def reorder(self) -> None:
        self.rng.shuffle(self.elements)

    def move(self) -> None:
        element = self.rng.choice(self.elements)
        number = self.rng.choice(list(element.parts))
        (place,) = self.part().values()
        element.parts[number] = (*place[:2], element.parts[number][2])

    def rename(self) -> None:
        self.made += 1
        self.rng.choice(self.elements).label = f"new {self.made}"

    def unname(self) -> None:
        element = self.rng.choice(self.elements)
        element.label = element.ident = ""

    def rename_layer(self) -> None:
        self.made += 1
        self.layers[self.rng.randint(0, 1)] = f"layer {self.made}"

    def share_a_label(self) -> None:
        """Two of those that are there get a label that nobody had."""
        self.made += 1
        for element in self.rng.sample(self.elements, 2):
            element.label = f"both {self.made}"

    def drawn(self) -> list[Layer]:
        return [
            Layer(
                name,
                tuple(
                    Shape(
                        "wood",
                        MultiPolygon([_square(*part) for part in element.parts.values()]),
                        Paint(f"#{self.rng.randrange(16**6):06x}"),
                        f"element {place}",
                        Called("path", element.label, element.ident),
                    )
                    for place, element in enumerate(self.elements)
                    if element.layer == number
                ),
            )
            for number, name in enumerate(self.layers)
        ]

    def names(self) -> dict[int, tuple[str, ...]]:
        """The names of each part; the old ones, which count, left out."""
        numbers = {place: number for one in self.elements for number, place in one.parts.items()}
        found = {}
        for layer in find_shared_names(self.drawn()):
            pieces = _pieces(layer)
            for piece, named in zip(pieces, name_pieces(layer, pieces), strict=True):
                x0, y0, x1, _ = piece.bounds
                number = next(n for (x, y, s), n in numbers.items() if (x, y) == (x0, y0))
                assert abs(x1 - x0 - numbers_size(numbers, number)) < 1e-6
                found[number] = (named.id, *named.aliases)
        return found


def numbers_size(numbers: dict[tuple[float, float, float], int], number: int) -> float:
    return next(size for (_, _, size), one in numbers.items() if one == number)


EDITS = ("insert", "delete", "reorder", "move", "rename", "unname", "rename_layer", "share_a_label")


@settings(max_examples=15)
@given(seed=st.integers(0, 2**32), edits=st.lists(st.sampled_from(EDITS), min_size=20, max_size=20))
def test_twenty_edits_never_give_a_piece_another_ones_choice(seed: int, edits: list[str]) -> None:
    """Nor does the one that got no edit lose its own: what isn't touched by name or place keeps it.

    The model never calls a piece as another was called before; whoever does that has said whose the choice is.
    """
    model = _Model(random.Random(seed))
    for parts in (1, 1, 2, 1, 3, 1, 1):
        model.insert(parts)
    model.share_a_label()
    written = {names[0]: number for number, names in model.names().items()}
    assert len(written) == sum(len(element.parts) for element in model.elements)
    pieces: dict[str, PiecePolicy] = dict.fromkeys(written, "loose")
    job = IslandsJob(policy="refuse", tie_width=None, pieces=pieces)
    before = {
        number: (element.label, element.ident, element.parts[number])
        for element in model.elements
        for number in element.parts
    }
    touched: set[int] = set()
    for edit in edits:
        getattr(model, edit)()
        names = model.names()
        assert len({one[0] for one in names.values()}) == len(names)
        for number, known in names.items():
            key = job.choice_for(known)
            assert key is None or written[key] == number, (edit, key, known)
        touched |= {
            number
            for element in model.elements
            for number in element.parts
            if before.get(number) != (element.label, element.ident, element.parts[number])
        }
        for number in names.keys() & before.keys() - touched:
            assert job.choice_for(names[number]) is not None, (edit, names[number])


def _garden(scenes: Scenes, leaves: dict[str, Polygon]) -> Drawing:
    shapes = [
        scenes.shape(leaf, element=f"path '{name}'", called=Called("path", ident=name))
        for name, leaf in leaves.items()
    ]
    return scenes.drawing([scenes.ground()], shapes)


def test_a_choice_stays_through_a_tie_and_a_cut(scenes: Scenes) -> None:
    """What a policy does to one piece changes what is found at the next look; names must not."""
    leaves = {
        "a": box(20, 20, 28, 28),
        "b": box(50, 20, 58, 28),
        "c": box(20, 60, 28, 68),
        "stem": box(40, 62, 100, 63),
    }
    leaves["d"] = box(40, 55, 50, 70)
    drawing = _garden(scenes, leaves)
    job = scenes.job("limits.slender=100", "islands.pieces.a=tie", "islands.pieces.b=loose", "islands.pieces.d=loose")
    layer = plan_stack(drawing, job).layers[1]
    assert [island.id for island in layer.islands] == ["c"]
    assert sorted(piece.id for piece in layer.loose) == ["b", "d"]
    assert {tie.holds for tie in layer.ties} == {"a"}


def test_ties_of_one_piece_have_one_paint(scenes: Scenes) -> None:
    """A bird with a beak of its own colour: all ties have the colour of one of them, also the one at the other."""
    body = scenes.shape(box(30, 40, 60, 60), colour="#5a4a3a")
    beak = scenes.shape(box(60, 48, 70, 52), colour="#e0a020")
    layer = scenes.stack(
        scenes.drawing([scenes.ground()], [body, beak]), "islands.policy=tie", "limits.slender=100"
    ).layers[1]
    ties: tuple[Tie, ...] = layer.ties
    assert len(ties) >= 2
    middles = [Point(tie.region.difference(layer.face).representative_point()) for tie in ties]
    colours = {part.paint.colour for middle in middles for part in layer.painted if part.region.contains(middle)}
    assert len(colours) == 1
    assert colours <= {"#5a4a3a", "#e0a020"}


@pytest.mark.parametrize("policy", ["tie", "loose"])
def test_an_old_name_is_read_and_the_new_one_is_offered(scenes: Scenes, policy: str) -> None:
    drawing = _garden(scenes, {"a": box(20, 20, 28, 28), "b": box(50, 20, 58, 28)})
    stack = scenes.stack(drawing, "limits.slender=100", f"islands.pieces.l1#2={policy}")
    assert [island.id for island in stack.layers[1].islands] == ["a"]
    (told,) = [finding for finding in stack.findings if finding.code == "name-old"]
    assert '"l1#2"' in told.message
    assert '"b"' in told.message
