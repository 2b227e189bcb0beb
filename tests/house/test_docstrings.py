"""Every module says in one line what it is for."""

import ast

import pytest

from tests.house.tree import PACKAGES, modules, parsed, short

WIDTH = 100  # characters


@pytest.mark.parametrize("path", modules(*PACKAGES, "tests"), ids=short)
def test_module_names_its_duty_in_one_line(path):
    text = ast.get_docstring(parsed(path))
    assert text, f"{short(path)} does not say what it is for"
    first = text.splitlines()[0]
    assert len(first) <= WIDTH
    assert first.endswith((".", "?", "!", ":")), f"not a sentence: {first}"
