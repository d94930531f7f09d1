"""The cascade: what every element's style is.

Enters: the tree. Leaves: `Styles`, which gives each element its declared values, and `Style`, the computed
values with inheritance done. Order (CSS Cascading 4, SVG 2 "Presentation attributes"): attributes, sheets by
specificity and place, `style`, and then `!important` ones in the same order. A value that isn't valid for its
property doesn't count, so that the next weaker one does.
"""

import functools
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import cssselect2
import tinycss2
from lxml import etree

from layercut.drawing.css.fonts import font_shorthand, font_size, font_weight
from layercut.drawing.css.limits import (
    MAX_RULES,
    MAX_SELECTOR_STEPS,
    MAX_STEPS,
    TreeSize,
    measure_tree,
    selector_steps,
    sheet_steps,
)
from layercut.drawing.css.properties import INHERITED, INITIAL, PRESENTATION, is_valid
from layercut.drawing.diagnostics import Diagnostics
from layercut.drawing.document import Document, local_name
from layercut.drawing.units import parse_length
from layercut.errors import DrawingError

Declared = Mapping[str, str]

_MEDIA = {"", "all", "print"}
_QUIET_RULES = {"charset", "namespace", "font-face", "keyframes", "page", "counter-style", "property"}
_INSUBSTANTIAL = {"var", "env", "calc", "attr", "min", "max", "clamp"}


@dataclass(frozen=True, slots=True)
class Style:
    """Computed values as text: inherited properties, and the element's own others."""

    inherited: Declared = field(default_factory=lambda: INHERITED)
    own: Declared = field(default_factory=dict)
    font_size: float = 16.0

    def get(self, name: str) -> str:
        """The value of a property; its initial value where nothing sets it."""
        if name in INHERITED:
            return self.inherited[name]
        return self.own.get(name, INITIAL.get(name, ""))

    def child(self, declared: Declared) -> "Style":
        """The style of a child with these declared values."""
        if not declared:
            return Style(self.inherited, {}, self.font_size) if self.own else self
        inherited, own = dict(self.inherited), {}
        # The size of letters comes first: spacings in em, of the same element, count in it.
        size = self._font_size(declared.get("font-size"))
        for name, value in declared.items():
            word = value.lower()
            if name in INHERITED:
                if word in ("initial", "revert"):
                    inherited[name] = INHERITED[name]
                elif word not in ("inherit", "unset"):
                    inherited[name] = self._inheritable(name, value, size)
            elif word == "inherit":
                own[name] = self.get(name)
            elif word not in ("initial", "unset", "revert"):
                own[name] = value
        return Style(inherited, own, size)

    def _font_size(self, text: str | None) -> float:
        size = font_size(text, self.font_size) if text else None
        return self.font_size if size is None else size

    def _inheritable(self, name: str, value: str, size: float) -> str:
        """What children take over: relative weights and spacings by what they came out as here."""
        if name == "font-weight":
            return str(font_weight(value, font_weight(self.inherited[name]) or 400))
        if name in ("letter-spacing", "word-spacing"):
            return repr(parse_length(value, None, size) or 0.0)
        return value


@dataclass(frozen=True, slots=True)
class Styles:
    """The declared values of every element of a drawing."""

    _sheets: Mapping[etree._Element, Declared]
    _important: Mapping[etree._Element, Declared]
    _diagnostics: Diagnostics
    _computed: dict[etree._Element, Style] = field(default_factory=dict)

    def computed(self, element: etree._Element) -> Style:
        """The computed style of an element where it stands, for what is drawn only by reference."""
        chain = []
        current: etree._Element | None = element
        while current is not None and current not in self._computed:
            chain.append(current)
            current = current.getparent()
        style = Style() if current is None else self._computed[current]
        for link in reversed(chain):
            style = self._computed[link] = style.child(self.declared(link))
        return style

    def declared(self, element: etree._Element) -> dict[str, str]:
        """What applies to an element itself, the strongest of each property."""
        values = {
            str(name): str(value)
            for name, value in element.attrib.items()
            if name in PRESENTATION and "!" not in str(value) and is_valid(str(name), str(value))
        }
        values.update(self._sheets.get(element, {}))
        own = element.get("style")
        normal, important = self._own(own) if own else ({}, {})
        values.update(normal)
        values.update(self._important.get(element, {}))
        values.update(important)
        return values

    def _own(self, text: str) -> tuple[Declared, Declared]:
        try:
            normal, important, unread = parse_declarations(text)
        except RecursionError:
            self._diagnostics.add("unsupported", "a style whose brackets are nested too deeply was ignored")
            return {}, {}
        for what in unread:
            _note_function(self._diagnostics, what)
        return normal, important


def read_styles(document: Document, diagnostics: Diagnostics) -> Styles:
    """The cascade of a drawing; what its sheets use and layercut doesn't support becomes a remark.

    Raises DrawingError `too-detailed` for sheets that would take too long to match.
    """
    if document.outside_sheets:
        _note_outside(diagnostics)
    matcher = cssselect2.Matcher()
    count = steps = 0
    tree = measure_tree(document.root)
    # What matching would cost is added up rule by rule and refused before anything is matched.
    for element in document.root.iter():
        if local_name(element) == "style":
            for rule in _read_sheet(element, diagnostics):
                text = tinycss2.serialize(rule.prelude)
                added = _add_rule(matcher, rule, tree, diagnostics)
                steps += sum(sheet_steps(selector, tree) for selector in text.split(",")) if added else 0
                count += added
                if count > MAX_RULES or steps > MAX_STEPS:
                    hint = "Simplify them, or let your editor write styles as attributes."
                    raise DrawingError("too-detailed", "its style sheets take too long.", hint, file=document.file)
        elif str(element.tag).endswith("}link") and "stylesheet" in (element.get("rel") or ""):
            _note_outside(diagnostics)
    if not count:
        return Styles({}, {}, diagnostics)
    return _match_all(document.root, matcher, diagnostics)


@functools.lru_cache(maxsize=8192)
def parse_declarations(text: str) -> tuple[Declared, Declared, tuple[str, ...]]:
    """Valid declarations of a style attribute: the normal ones, the important ones, and functions not supported."""
    return _sort_declarations(tinycss2.parse_blocks_contents(text, skip_comments=True, skip_whitespace=True))


def _sort_declarations(nodes: list[tinycss2.ast.Node]) -> tuple[Declared, Declared, tuple[str, ...]]:
    normal: dict[str, str] = {}
    important: dict[str, str] = {}
    unread: list[str] = []
    for node in nodes:
        if node.type != "declaration":
            continue
        name, value = node.lower_name, tinycss2.serialize(node.value).strip()
        functions = {token.lower_name for token in node.value if token.type == "function"} & _INSUBSTANTIAL
        if functions and (name in INHERITED or name in INITIAL or name == "font"):
            unread += [f"{function}() in '{name}'" for function in sorted(functions)]
        # Shorthands are taken apart here, so that a later longhand wins over its part of them, and the reverse.
        elif name == "marker":
            for part in ("marker-start", "marker-mid", "marker-end"):
                (important if node.important else normal)[part] = value
        elif name == "font":
            for part, said in (font_shorthand(value) or {}).items():
                (important if node.important else normal)[part] = said
        elif (name in INHERITED or name in INITIAL) and is_valid(name, value):
            (important if node.important else normal)[name] = value
            if node.important:
                normal.pop(name, None)
    return normal, important, tuple(unread)


def _sheet_rules(element: etree._Element, diagnostics: Diagnostics) -> Iterator[tinycss2.ast.QualifiedRule]:
    kind = (element.get("type") or "text/css").split(";")[0].strip().lower()
    if kind not in ("text/css", ""):
        diagnostics.add("unsupported", "a style sheet that isn't CSS was ignored", element=kind[:40])
        return
    if not _media_applies(element.get("media") or "", diagnostics):
        return
    text = "".join(map(str, element.itertext()))
    yield from _rules(tinycss2.parse_stylesheet(text, skip_comments=True, skip_whitespace=True), diagnostics)


def _rules(nodes: list[tinycss2.ast.Node], diagnostics: Diagnostics) -> Iterator[tinycss2.ast.QualifiedRule]:
    for node in nodes:
        if node.type == "qualified-rule":
            yield node
        elif node.type == "error":
            diagnostics.add(
                "unsupported", f"a part of the style sheet can't be read and was ignored ({node.message})"
            )
        elif node.type == "at-rule":
            name = node.lower_at_keyword
            if name == "media" and node.content is not None:
                if _media_applies(tinycss2.serialize(node.prelude), diagnostics):
                    inner = tinycss2.parse_rule_list(node.content, skip_comments=True, skip_whitespace=True)
                    yield from _rules(inner, diagnostics)
            elif name == "import":
                _note_outside(diagnostics)
            elif name not in _QUIET_RULES:
                hint = "Write its rules without it."
                diagnostics.add("unsupported", f"'@{name[:40]}' in the style sheet was ignored", hint)


def _media_applies(text: str, diagnostics: Diagnostics) -> bool:
    """Wood is nearest to print: sheets for `all` and `print` apply."""
    queries = [re.sub(r"^only\s+", "", query.strip().lower()) for query in text.split(",")]
    if any(query in _MEDIA for query in queries):
        return True
    diagnostics.add(
        "unsupported", f"styles for '@media {' '.join(text.split())[:40]}' were ignored", "Only all and print count."
    )
    return False


def _read_sheet(element: etree._Element, diagnostics: Diagnostics) -> list[tinycss2.ast.QualifiedRule]:
    """The rules of a sheet that apply; none of one whose brackets are nested by the thousand."""
    try:
        rules = list(_sheet_rules(element, diagnostics))
        for rule in rules:
            tinycss2.serialize([*rule.prelude, *rule.content])
    except RecursionError:
        diagnostics.add("unsupported", "a style sheet whose brackets are nested too deeply was ignored")
        return []
    return rules


def _add_rule(
    matcher: cssselect2.Matcher, rule: tinycss2.ast.QualifiedRule, tree: TreeSize, diagnostics: Diagnostics
) -> int:
    contents = tinycss2.parse_blocks_contents(rule.content, skip_comments=True, skip_whitespace=True)
    normal, important, unread = _sort_declarations(contents)
    for what in unread:
        _note_function(diagnostics, what)
    text = tinycss2.serialize(rule.prelude).strip()
    if max(selector_steps(selector, tree) for selector in text.split(",")) > MAX_SELECTOR_STEPS:
        hint = "Give the shapes a class instead."
        diagnostics.add(
            "unsupported", f"the CSS selector '{text[:60]}' takes too long and its rule was ignored", hint
        )
        return 0
    try:
        selectors = cssselect2.compile_selector_list(rule.prelude)
    except Exception:  # it makes Python's own source of a selector, and fails in as many ways as that can
        diagnostics.add("unsupported", f"the CSS selector '{text[:60]}' isn't understood and its rule was ignored")
        return 0
    for selector in selectors:
        if selector.pseudo_element is None:
            matcher.add_selector(selector, (normal, important))
    return len(selectors)


def _match_all(root: etree._Element, matcher: cssselect2.Matcher, diagnostics: Diagnostics) -> Styles:
    sheets: dict[etree._Element, Declared] = {}
    important: dict[etree._Element, Declared] = {}
    for wrapper in cssselect2.ElementWrapper.from_xml_root(root).iter_subtree():
        matches = matcher.match(wrapper)  # weakest first: by specificity, then by place
        if not matches:
            continue
        normal_values: dict[str, str] = {}
        important_values: dict[str, str] = {}
        for _, _, _, (normal, strong) in matches:
            normal_values.update(normal)
            important_values.update(strong)
        sheets[wrapper.etree_element] = normal_values
        important[wrapper.etree_element] = important_values
    return Styles(sheets, important, diagnostics)


def _note_outside(diagnostics: Diagnostics) -> None:
    hint = "Put its rules into a <style> of the drawing."
    diagnostics.add("unsupported", "a style sheet outside the file was not read", hint)


def _note_function(diagnostics: Diagnostics, what: str) -> None:
    diagnostics.add("unsupported", f"{what} isn't supported and was ignored", "Write the value itself.")
