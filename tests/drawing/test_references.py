"""What an address names: only what is in the file."""

import pytest
from lxml import etree

from layercut.drawing.references import read_references

ROOT = etree.fromstring(
    '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink">'
    '<rect id="leaf" width="1"/><rect id="leaf" width="2"/><rect id="" width="3"/>'
    '<use href="#leaf" xlink:href="#gone"/><use xlink:href="#leaf"/><use href="" xlink:href="#leaf"/><use/></svg>'
)


@pytest.mark.parametrize("address", ["#leaf", " #leaf\n"])
def test_of_several_with_one_id_the_first_is_meant(address: str) -> None:
    found = read_references(ROOT).find(address)
    assert found is not None
    assert found.get("width") == "1"


@pytest.mark.parametrize("address", ["leaf", "#gone", "#", "", "tree.svg#leaf", "http://example.org/#leaf"])
def test_nothing_outside_is_looked_up(address: str) -> None:
    assert read_references(ROOT).find(address) is None


def test_the_plain_href_wins_even_if_it_is_empty() -> None:
    references = read_references(ROOT)
    targets = [references.target(use) for use in ROOT.iter("{*}use")]
    assert [None if target is None else target.get("width") for target in targets] == ["1", "1", None, None]
