"""Which declaration wins, and what is drawn at all: at one pixel of small drawings, as a renderer has it.

Each case is a rule of CSS Cascade 4, Selectors 4 or SVG 2 (chapters 5 and 6), told by its name; the renderer is the
oracle, but for the three that it gets wrong by the standard's own words (`BY_STANDARD`).
"""

import io
from pathlib import Path

import numpy as np
import pytest
import resvg_py
import shapely
from PIL import Image

from layercut.drawing import read_drawing
from layercut.job import load_job

ALL_WOOD = load_job(None, ["marks.line_below=0mm"])
HEAD = '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" width="80" height="60" '
BOX = '<rect width="80" height="60"'

CASES = {
    "an attribute alone": f'{BOX} fill="#aa2211"/>',
    "nothing said is black": f"{BOX}/>",
    "a type selector wins over an attribute": f'<style>rect{{fill:#1144aa}}</style>{BOX} fill="#aa2211"/>',
    "any selector wins over an attribute": f'<style>*{{fill:#1144aa}}</style>{BOX} fill="#aa2211"/>',
    "a style attribute wins over an id": f'<style>#b{{fill:#1144aa}}</style>{BOX} id="b" style="fill:#22aa44"/>',
    "an important rule wins over a style attribute": "<style>rect{fill:#1144aa!important}</style>"
    f'{BOX} style="fill:#22aa44"/>',
    "of two important ones the style attribute's": "<style>#b{fill:#1144aa!important}</style>"
    f'{BOX} id="b" style="fill:#22aa44!important"/>',
    "importance means nothing in an attribute": f'{BOX} fill="#aa2211 !important"/>',
    "a class wins over a later type": f'<style>.k{{fill:#1144aa}}rect{{fill:#22aa44}}</style>{BOX} class="k"/>',
    "an id wins over two classes": f'<style>.k.j{{fill:#1144aa}}#b{{fill:#22aa44}}</style>{BOX} id="b" class="j k"/>',
    "of equals the later": f"<style>rect{{fill:#1144aa}}rect{{fill:#22aa44}}</style>{BOX}/>",
    "a declaration that is none is passed over": f"<style>rect{{fill:#1144aa;fill:no-colour}}</style>{BOX}/>",
    "a selector that is none drops its whole rule": f"<style>rect,!{{fill:#1144aa}}</style>{BOX} fill='#aa2211'/>",
    "what a group says is inherited": f'<g fill="#aa2211">{BOX}/></g>',
    "a rule on the element wins over what is inherited": "<style>*{fill:#1144aa}</style>"
    f'<g style="fill:#22aa44">{BOX}/></g>',
    "inherit asks the parent": f'<g fill="#22aa44">{BOX} fill="inherit"/></g>',
    "a child's selector": f"<style>#o>rect{{fill:#1144aa}}</style><g id='o'><g>{BOX}/></g></g>",
    "a descendant's selector": f"<style>#o rect{{fill:#1144aa}}</style><g id='o'><g>{BOX}/></g></g>",
    "the first of its kind": f"<style>rect:first-child{{fill:#1144aa}}</style><g>{BOX}/></g>",
    "a sheet within CDATA": f"<style><![CDATA[rect{{fill:#1144aa}}]]></style>{BOX}/>",
    "a colour in three digits": f'{BOX} fill="#a21"/>',
    "a colour by its name": f'{BOX} fill="SeaGreen"/>',
    "a colour in percent": f'{BOX} fill="rgb(20%, 40%, 60%)"/>',
    "the current colour of where it is used": f'<g color="#22aa44">{BOX} fill="currentColor"/></g>',
    "no fill": f'{BOX} fill="none"/>',
    "a switch takes the first that passes": f'<switch><g systemLanguage="xx">{BOX}/></g>'
    f'<g>{BOX} fill="#22aa44"/></g><g>{BOX} fill="#1144aa"/></g></switch>',
    "a symbol isn't drawn where it stands": f'<symbol id="s">{BOX} fill="#aa2211"/></symbol>',
    "a symbol is drawn where it is used": f'<symbol id="s">{BOX} fill="#aa2211"/></symbol><use href="#s"/>',
    "what is used inherits from its use": f'<defs>{BOX} id="b"/></defs><use xlink:href="#b" fill="#22aa44"/>',
    "what is used keeps what it says itself": f'<defs>{BOX} id="b" fill="#aa2211"/></defs>'
    '<use href="#b" fill="#22aa44"/>',
    "nothing of what isn't displayed": f'<g display="none">{BOX} fill="#aa2211" style="display:inline"/></g>',
    "a visible child of a hidden group": f'<g visibility="hidden">{BOX} fill="#aa2211" visibility="visible"/></g>',
    "a rectangle without a width isn't drawn": '<rect height="60" fill="#aa2211"/>',
    "later lies over earlier": f'{BOX} fill="#aa2211"/><circle cx="40" cy="30" r="9" fill="#1144aa"/>',
    "a clip path cuts off": f'<clipPath id="c"><circle cx="9" cy="9" r="5"/></clipPath>{BOX} clip-path="url(#c)"/>',
}
AT = (40, 30)

BY_STANDARD = {
    "of two important ones the style attribute's": "#22aa44",  # CSS Cascade 4, 6.1: element-attached after important
    "a declaration that is none is passed over": "#1144aa",  # CSS Syntax 3, 9: ignored as if it weren't there
    "a selector that is none drops its whole rule": "#aa2211",  # Selectors 4, 3.9: one invalid part, all of the list
}


def rendered(svg: str) -> str | None:
    """The colour that the renderer has at the middle; None where it drew nothing."""
    png = bytes(resvg_py.svg_to_bytes(svg_string=svg, dpi=96))
    red, green, blue, alpha = np.asarray(Image.open(io.BytesIO(png)).convert("RGBA"))[AT[1], AT[0]].tolist()
    return f"#{red:02x}{green:02x}{blue:02x}" if alpha else None


@pytest.mark.parametrize("name", CASES)
def test_the_colour_is_the_renderers(name: str, tmp_path: Path) -> None:
    svg = f'{HEAD}viewBox="0 0 80 60"><g id="layer">{CASES[name]}<path d=""/></g></svg>'
    path = tmp_path / "case.svg"
    path.write_text(svg, encoding="utf-8")
    drawing = read_drawing(path, ALL_WOOD)
    point = shapely.Point(*((at + 0.5) * drawing.width_mm / 80 for at in AT))
    there = [s.paint.colour for layer in drawing.layers for s in layer.shapes if s.geometry.contains(point)]
    assert (there[-1] if there else None) == BY_STANDARD.get(name, rendered(svg))


def test_the_cases_tell_all_kinds_of_outcomes() -> None:
    seen = {rendered(f'{HEAD}viewBox="0 0 80 60">{body}</svg>') for body in CASES.values()}
    assert None in seen
    assert len(seen) >= 6
