"""Values on their way to another process or to the shelf: what comes back is what went, and cannot be changed."""

from __future__ import annotations

import ast
import pickle
from fractions import Fraction
from types import MappingProxyType

import pytest

from engrave.instruments import find_hand
from engrave.model import Hand, Placement, Stroke
from engrave.workshop import unpacked
from tests.build import passage
from tests.test_rooms import modules


@pytest.mark.parametrize("name", ["standard", "small", "large"])
def test_a_hand_comes_back_with_views_of_its_reaches(name: str) -> None:
    """They cannot be pickled themselves; a hand that was sent is as unchangeable as before."""
    hand = find_hand(name)
    back = unpacked(pickle.dumps(hand))
    assert isinstance(back, Hand)
    assert back == hand
    assert isinstance(back.comfortable, MappingProxyType)
    assert isinstance(back.practical, MappingProxyType)


def test_notes_come_back_as_they_went() -> None:
    """The small values of a passage, with what the hands do to them."""
    music = passage("E4/8 F4/8 C4/4 D4/2")
    assert unpacked(pickle.dumps(music)) == music
    done = (Placement(string=2, fret=1, finger=1, barre="half"), Stroke(finger="a", kind="rest"), Fraction(1, 3))
    assert unpacked(pickle.dumps(done)) == done


def test_no_dataclass_has_methods_of_its_own_for_pickling() -> None:
    """Until Python 3.11.4 `dataclass` replaces those of a frozen class with slots (python/cpython issue 104035)."""
    found = 0
    for module in modules():
        for node in ast.walk(ast.parse(module.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ClassDef) and any("dataclass" in ast.unparse(d) for d in node.decorator_list):
                found += 1
                named = {inner.name for inner in node.body if isinstance(inner, ast.FunctionDef)}
                assert not named & {"__getstate__", "__setstate__"}, f"{module.name}: {node.name}"
    assert found > 100
