"""Read a written sheet back as a machine would, knowing only the outside contract.

Enters: a file's text and the colours of the roles. Leaves: a `ReadSheet`, its contours by role in burning order.
Holds: a path's role is what its effective paint says, whatever its group is called, and the two agree.
"""

import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from lxml import etree

from layercut.errors import DrawingError
from layercut.proof.document import SVG, check_element, check_title, children, open_document, refuse
from layercut.proof.looks import INITIAL, ROLES, Colours, ComputedPaint, role_fault
from layercut.proof.paths import Contour, Points, read_paths

_ROOT = {"width", "height", "viewBox", "overflow"}
_GROUP = {"data-role", *INITIAL}
_PATH = {"d", *INITIAL}


@dataclass(frozen=True, slots=True)
class ReadSheet:
    """What a sheet file says: size in mm, and for each role its paths in burning order, each a list of contours."""

    width_mm: float
    height_mm: float
    paths: Mapping[str, tuple[tuple[Points, ...], ...]]
    roles_in_order: tuple[str, ...]

    def contours(self, *roles: str) -> tuple[Points, ...]:
        """All contours of some roles, in burning order."""
        return tuple(contour for role in roles for path in self.paths.get(role, ()) for contour in path)


def read_sheet(text: str, file: str, colours: Colours) -> ReadSheet:
    """Parse one written sheet.

    Raises DrawingError when the file isn't a sheet of the contract (`sheet-unreadable`): another unit, an element or
    an attribute that layercut doesn't write, a role that is missing or twice, a contour that isn't closed; and when a
    machine would take something for another role than its group's (`sheet-miscoloured`).
    """
    root, width, height = open_document(text, file, _ROOT | set(INITIAL))
    groups = _groups(root, file)
    if root.get("overflow") != "visible":
        refuse("doesn't let the rim be seen: the 'overflow' of its <svg> isn't visible", file)
    roles = tuple(group.get("data-role", "") for group in groups)
    if sorted(roles) != sorted(ROLES):
        refuse(f"has the roles {', '.join(roles) or 'none'} where it needs {', '.join(ROLES)}, each once", file)
    outside = ComputedPaint().within(_own(root))
    paths = {
        role: _read_group(group, role, outside, colours, file) for role, group in zip(roles, groups, strict=True)
    }
    _refuse_own(root, "its <svg>", file)
    return ReadSheet(width, height, paths, roles)


def _groups(root: etree._Element, file: str) -> list[etree._Element]:
    """The groups of the roles; the title before them is for people."""
    found = [*children(root, file)]
    if found and found[0].tag == f"{SVG}title":
        check_title(found.pop(0), file)
    for group in found:
        check_element(group, "g", _GROUP, file, group.get("data-role") or "the document")
    return found


def _own(element: etree._Element) -> dict[str, str]:
    """The paint properties that stand on an element itself."""
    return {name: str(element.attrib[name]) for name in INITIAL if name in element.attrib}


def _read_group(
    group: etree._Element, role: str, outside: ComputedPaint, colours: Colours, file: str
) -> tuple[tuple[Points, ...], ...]:
    look = outside.within(_own(group))
    _check_role(look, role, colours, role, file)
    paths = [*children(group, file)]
    for number, path in enumerate(paths, start=1):
        if path.tag != f"{SVG}path" or path.keys() != ["d"] or path.prefix is not None:
            where = f"path {number} of {role}"
            check_element(path, "path", _PATH, file, where)
            _check_role(look.within(_own(path)), role, colours, f"{where}, at {_begin(path)},", file)
            _refuse_own(path, where, file)
    return tuple(tuple(contour.points for contour in contours) for contours in read_contours(paths, role, file, role))


def _check_role(look: ComputedPaint, role: str, colours: Colours, where: str, file: str) -> None:
    """Refuse what a machine would take for something other than its role."""
    if fault := role_fault(look, role, colours):
        raise DrawingError("sheet-miscoloured", f"draws {where} so that it {fault}.", file=file)


def _begin(path: etree._Element) -> str:
    """Where a path begins, as it says itself."""
    return ", ".join(re.findall(r"[-+.\d]+", path.get("d", ""))[:2])


def _refuse_own(element: etree._Element, where: str, file: str) -> None:
    """Paint belongs on groups: on anything else layercut doesn't write it, whatever it is."""
    if own := _own(element):
        refuse(f"has '{min(own)}' on {where}, which layercut doesn't write", file)


def read_contours(
    paths: Sequence[etree._Element], where: str, file: str, role: str = "cut-opening"
) -> list[tuple[Contour, ...]]:
    """The contours of each path, all closed unless they are marked lines."""
    for path in paths:
        if len(path) or path.text:
            refuse(f"has something inside a path of {where}", file)
    try:
        read = read_paths([path.get("d", "") for path in paths])
    except ValueError as error:
        refuse(f"has {error}, in {where}", file)
    if role == "mark-line":
        return read
    for number, contours in enumerate(read, start=1):
        if not all(contour.closed and len(contour.points) >= 4 for contour in contours):
            x, y = contours[0].points[0]
            refuse(f"has a contour that isn't closed, path {number} of {where} at {x:g}, {y:g}", file)
    return read
