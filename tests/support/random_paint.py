"""Random drawings rich in paint, as SVG text, from one source of chance: gradients of all kinds under random
maps, opacities of fills, shapes and nested groups, so that half is glaze and half wood.

`random.Random(seed)` gives the same drawing for the same seed; hypothesis's `randoms()` gives ones that it can
shrink.
"""

from random import Random

WIDTH_MM, HEIGHT_MM = 100, 80
COLOURS = ("#c8502f", "#1f3892", "#f0e442", "#18221a", "#ffffff", "#88aacc", "#4c7a34", "#000000")
OPACITIES = (0.15, 0.3, 0.45, 0.5, 0.6, 0.85)
MOST_DEEP = 3


def random_painting(chance: Random) -> str:
    """A drawing of two to four layers; the back one has a ground, flat or graded."""
    gradients = [_gradient(chance, number) for number in range(chance.randint(2, 5))]
    names = [f"url(#g{number})" for number in range(len(gradients))]
    ground = f'<rect width="{WIDTH_MM}" height="{HEIGHT_MM}" fill="{chance.choice([*COLOURS, *names])}"/>'
    layers = []
    for number in range(chance.randint(2, 4)):
        inside = "".join(_drawn(chance, names, 0) for _ in range(chance.randint(1, 3)))
        look = _opacity(chance, "opacity", 0.15)
        layers.append(f'<g id="layer-{number}"{look}>{ground if number == 0 else ""}{inside}</g>')
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{WIDTH_MM}mm" height="{HEIGHT_MM}mm" '
        f'viewBox="0 0 {WIDTH_MM} {HEIGHT_MM}"><defs>{"".join(gradients)}</defs>{"".join(layers)}</svg>'
    )


def _drawn(chance: Random, names: list[str], depth: int) -> str:
    """A shape, or a group of a few."""
    if depth < MOST_DEEP and chance.random() < 0.35:
        inside = "".join(_drawn(chance, names, depth + 1) for _ in range(chance.randint(1, 3)))
        return f"<g{_opacity(chance, 'opacity', 0.6)}{_transform(chance, 0.4)}>{inside}</g>"
    look = f' fill="{chance.choice([*COLOURS[:4], *names, *names])}"'
    look += _opacity(chance, "fill-opacity", 0.35) + _opacity(chance, "opacity", 0.2) + _transform(chance, 0.3)
    x, y, a, b = (chance.randint(0, 80), chance.randint(0, 60), chance.randint(12, 60), chance.randint(12, 50))
    return chance.choice(
        (
            f'<rect x="{x}" y="{y}" width="{a}" height="{b}"{look}/>',
            f'<ellipse cx="{x}" cy="{y}" rx="{a // 2 + 4}" ry="{b // 2 + 4}"{look}/>',
            f'<path d="M{x} {y}l{a} {b // 3}L{x + a // 2} {y + b}z"{look}/>',
        )
    )


def _gradient(chance: Random, number: int) -> str:
    """A gradient of its own, or one that takes its stops, and perhaps more, from an earlier one."""
    kind = chance.choice(("linear", "radial"))
    boxed = chance.random() < 0.5
    unit = "" if boxed else ' gradientUnits="userSpaceOnUse"'
    wide, high = (1.0, 1.0) if boxed else (WIDTH_MM, HEIGHT_MM)

    def at(low: float, high_end: float, size: float) -> str:
        return f"{size * (low + (high_end - low) * chance.randint(0, 10) / 10):g}"

    if kind == "linear":
        places = (
            f' x1="{at(0, 0.4, wide)}" y1="{at(0, 1, high)}" x2="{at(0.6, 1, wide)}" y2="{at(0, 1, high)}"'
            if chance.random() < 0.8
            else ""
        )
    else:
        places = f' cx="{at(0.3, 0.7, wide)}" cy="{at(0.3, 0.7, high)}" r="{at(0.3, 0.8, wide)}"'
        if chance.random() < 0.4:
            places += f' fx="{at(0.4, 0.6, wide)}" fy="{at(0.4, 0.6, high)}"'
    borrowed = number > 0 and chance.random() < 0.25
    # resvg doesn't take a template's gradientTransform, against SVG 2, 13.2.2 and browsers; so it is always given.
    if borrowed or chance.random() < 0.4:
        turn, skew = chance.randint(-60, 60), chance.randint(-25, 25)
        places += f' gradientTransform="rotate({turn} {wide / 2:g} {high / 2:g}) skewX({skew})"'
    if chance.random() < 0.3:
        places += f' spreadMethod="{chance.choice(("reflect", "repeat"))}"'
    if borrowed:
        return f'<{kind}Gradient id="g{number}" href="#g{chance.randint(0, number - 1)}"{unit}{places}/>'
    return f'<{kind}Gradient id="g{number}"{unit}{places}>{_stops(chance)}</{kind}Gradient>'


def _stops(chance: Random) -> str:
    clear = chance.random() < 0.5
    count = chance.randint(2, 4)
    stops = []
    for place in range(count):
        opacity = f' stop-opacity="{chance.choice((0, 0.2, 0.5, 0.8, 1))}"' if clear else ""
        stops.append(f'<stop offset="{place / (count - 1):.3g}" stop-color="{chance.choice(COLOURS)}"{opacity}/>')
    return "".join(stops)


def _opacity(chance: Random, name: str, often: float) -> str:
    return f' {name}="{chance.choice(OPACITIES)}"' if chance.random() < often else ""


def _transform(chance: Random, often: float) -> str:
    if chance.random() >= often:
        return ""
    turn, scale, skew = chance.randint(-40, 40), chance.choice((0.7, 1, 1.3)), chance.randint(-20, 20)
    moved = f"translate({chance.randint(-10, 20)} {chance.randint(-10, 15)})"
    return f' transform="{moved} rotate({turn}) scale({scale} 1) skewX({skew})"'
