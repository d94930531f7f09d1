"""The pages of the job around the cut: paint, time, wood, boards, hanging and assembly.

Enters: a finished `Build`. Leaves: a fragment of HTML for the traveller: the sections of `sections/`, in the order of
work.
"""

from layercut.model import Made, Planned
from layercut.views.pages.sections.assembly import assembly_section
from layercut.views.pages.sections.boards import boards_section
from layercut.views.pages.sections.hanging import hanging_section
from layercut.views.pages.sections.paint import paint_section
from layercut.views.pages.sections.steps import steps_section
from layercut.views.pages.sections.times import times_section
from layercut.views.pages.sections.wood import wood_section
from layercut.views.picture.step_pictures import StepPictures

SECTIONS = (
    ("paint", "Paint plan"),
    ("painting", "Painting, step by step"),
    ("times", "Time on the machine"),
    ("wood", "Wood"),
    ("boards", "Boards"),
    ("hanging", "Weight and hanging"),
    ("assembly", "Assembly"),
)
"""The sections in order: anchor and name, for the page's contents."""


def section_links(build: Planned) -> tuple[tuple[str, str], ...]:
    """The sections that a build has."""
    boards = isinstance(build, Made) and build.boards is not None
    return tuple(section for section in SECTIONS if section[0] != "boards" or boards)


def work_pages_html(build: Made, page: str = "", steps: StepPictures | None = None) -> str:
    """The sections about the work around the cut, as HTML for the traveller.

    `page` is what the page holds already: gradients that it defines aren't defined again. `steps` are pictures of the
    paint's steps, None where nobody asked for any.
    """
    sections = (
        paint_section(build, page),
        steps_section(build, steps),
        times_section(build),
        wood_section(build),
        boards_section(build),
        hanging_section(build),
        assembly_section(build),
    )
    return "\n".join(filter(None, sections))
