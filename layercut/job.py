"""The job: every choice of a run that isn't in the drawing.

Enters: the job file's text (TOML) and `KEY=VALUE` settings. Leaves: one frozen `Job`, lengths in mm.
Its tables are in `job_tables.py`.
"""

import difflib
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any, cast

from pydantic import BaseModel, Field, ValidationError, model_validator

from layercut.errors import JobError
from layercut.job_tables import (
    CurvesJob,
    HangingJob,
    IslandsJob,
    LabelJob,
    LayerJob,
    LimitsJob,
    MachineJob,
    MarksJob,
    MaterialJob,
    PageJob,
    PaintJob,
    PanelJob,
    PricesJob,
    RolesJob,
    Table,
)
from layercut.job_text import check_words, read_tables, setting_value, shown
from layercut.job_values import unit_of
from layercut.renamed import check_renamed
from layercut.units import INCHES, Units


class Job(Table):
    """Every choice of a run; each table of the job file is one field."""

    panel: PanelJob = PanelJob()  # type: ignore[call-arg]
    material: MaterialJob = MaterialJob()  # type: ignore[call-arg]
    limits: LimitsJob = LimitsJob()  # type: ignore[call-arg]
    islands: IslandsJob = IslandsJob()  # type: ignore[call-arg]
    prices: PricesJob = PricesJob()  # type: ignore[call-arg]
    marks: MarksJob = MarksJob()  # type: ignore[call-arg]
    paint: PaintJob = PaintJob()  # type: ignore[call-arg]
    layers: dict[str, LayerJob] = Field(default_factory=dict, description="What one layer is, by its name")
    machine: MachineJob = MachineJob()  # type: ignore[call-arg]
    hanging: HangingJob = HangingJob()  # type: ignore[call-arg]
    label: LabelJob = LabelJob()  # type: ignore[call-arg]
    roles: RolesJob = RolesJob()  # type: ignore[call-arg]
    curves: CurvesJob = CurvesJob()  # type: ignore[call-arg]
    page: PageJob = PageJob()  # type: ignore[call-arg]

    @model_validator(mode="before")
    @classmethod
    def _units_of_panel(cls, tables: Any) -> Any:
        """Who gives the panel in inches reads inches, unless the job says otherwise."""
        panel, page = tables.get("panel"), tables.get("page", {})
        if not isinstance(panel, dict) or not isinstance(page, dict) or "units" in page:
            return tables
        given = any(unit_of(panel.get(side)) in {"in", "ft"} for side in ("width", "height"))
        return {**tables, "page": {**page, "units": "in"}} if given else tables

    @property
    def units(self) -> Units:
        """The units of all that a person reads."""
        return Units(self.page.units)


def load_job(path: Path | None, settings: Iterable[str] = ()) -> Job:
    """The job from a TOML file (or none) and `KEY=VALUE` settings, which win over the file.

    Raises JobError with the file, the key and, for an unknown key, the nearest known one.
    """
    tables = read_tables(path) if path is not None else {}
    file = path.name if path is not None else ""
    job = _validate(tables, file)
    settings = list(settings)
    if settings:
        for setting in settings:
            _apply_setting(tables, setting)
        job = _validate(tables, "--set")
    return job


def known_keys() -> Iterator[str]:
    """Every dotted key of the job file, such as `panel.frame`."""
    for table, field in Job.model_fields.items():
        if table == "layers":
            yield from (f"layers.NAME.{key}" for key in LayerJob.model_fields)
        else:
            model = cast(type[BaseModel], field.annotation)
            yield from (f"{table}.{key}" for key in model.model_fields)


def _apply_setting(tables: dict[str, Any], setting: str) -> None:
    key, equals, text = setting.partition("=")
    parts = [part.strip() for part in key.split(".")]
    named = 1 if parts[0] == "layers" else 2  # from here on a part may be a layer's own name
    parts = [part.replace("-", "_") if place < named else part for place, part in enumerate(parts)]
    if not equals or len(parts) < 2 or not all(parts):
        raise JobError(
            "job-setting",
            f"{shown(setting)} is not a setting.",
            "Write TABLE.KEY=VALUE, such as material.kerf=0.2mm.",
            file="--set",
        )
    table: Any = tables
    for part in parts[:-1]:
        table = table.setdefault(part, {})
        if not isinstance(table, dict):
            raise JobError(
                "job-setting", f"{shown(key)} goes through {shown(part)}, which is not a table.", file="--set"
            )
    table[parts[-1]] = setting_value(text.strip())


def _validate(tables: dict[str, Any], file: str) -> Job:
    check_words(tables, file)
    check_renamed(tables, file)
    try:
        return Job.model_validate(tables)
    except ValidationError as error:
        first = error.errors()[0]
        message, value = _as_typed(first["msg"], first.get("input"), tables, first["loc"])
        raise _job_error(first["type"], first["loc"], message, value, file) from None


def _as_typed(message: str, value: object, tables: Any, location: tuple[int | str, ...]) -> tuple[str, object]:
    """What a length is held against, and the length, in inches where it was written so; zero is zero."""
    written = tables
    for part in location:
        written = written.get(part) if isinstance(written, dict) else None
    words, _, bound = message.rpartition(" ")
    if unit_of(written) not in {"in", "ft"} or not bound.replace(".", "").isdigit():
        return message, value
    return f"{words} {INCHES.length(float(bound)) if float(bound) else bound}", written


def _job_error(kind: str, location: tuple[int | str, ...], message: str, value: object, file: str) -> JobError:
    key = ".".join(str(part) for part in location if part != "[key]")
    if kind == "extra_forbidden":
        return JobError("job-unknown-key", f"there is no setting '{key}'.", _meant(key), file=file)
    reason = message.removeprefix("Value error, ")
    reason = reason[:1].lower() + reason[1:]
    instead = f", not {shown(value)}" if isinstance(value, str | int | float | bool) else ""
    return JobError(
        "job-value",
        f"'{key}' {reason}{instead}." if reason.startswith("needs") else f"'{key}': {reason}{instead}.",
        file=file,
    )


def _meant(key: str) -> str:
    """What may have been meant by a key that there isn't, or else what there is at its place."""
    table, _, word = key.rpartition(".")
    known = list(known_keys())
    start = "layers.NAME." if table.startswith("layers.") else f"{table}."
    keys = [name.removeprefix(start) for name in known if name.startswith(start)]
    if keys:
        near = [f"{table}.{match}" for match in difflib.get_close_matches(word, keys, n=1, cutoff=0.5)]
    else:
        near = difflib.get_close_matches(key, [*Job.model_fields, *known], n=1, cutoff=0.5)
    near = near or _same_last_word(key, known)
    if near:
        return f"Did you mean '{near[0]}'?"
    return f"[{table}] has {', '.join(keys)}." if keys else f"The tables are {', '.join(Job.model_fields)}."


def _same_last_word(key: str, known: list[str]) -> list[str]:
    last = key.rpartition(".")[2]
    names = {name.rpartition(".")[2]: name for name in known}
    return [names[match] for match in difflib.get_close_matches(last, list(names), n=1, cutoff=0.6)]
