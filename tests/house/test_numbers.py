"""No published figure hides in the code: it lives in the limit files, with its source."""

import ast
import re
import tomllib
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import pytest

from tests.house.tree import ROOT, modules, parsed, short

WATCHED = (
    "safety/audit", "safety/foods", "safety/judge", "safety/plans", "safety/processes",
    "safety/science",
    "batches", "reports",
)  # fmt: skip
STORY = "batches/demo/"  # an invented season: what its people read and did
DRAWING = "reports/chart.py"  # points on paper

PLAIN = {-1, 0, 1, 2, 10, 100}
CLOCK = {24, 60}  # minutes and hours, when multiplied or divided
SHAPES = {  # keywords that size a field, a page or an answer
    "decimal_places",
    "max_digits",
    "max_length",
    "max_value",
    "min_length",
    "min_value",
    "rows",
    "status",
}
MEASURED = {"AW", "C", "F", "FRAC", "LIMIT", "LOG10", "PCT", "PH", "PPM", "TEMPERATURE"}
FIGURE = re.compile(r"\d\s*(?:°|%|ppm\b|&deg;|&#176;|deg[CF]\b)")
TAG = re.compile(r"\{[%#].*?[%#]\}|\{\{.*?\}\}|<style.*?</style>", re.DOTALL)
LIMIT_FILES = ROOT / "safety" / "limits" / "data"


def is_number(node: ast.AST) -> bool:
    return isinstance(node, ast.Constant) and type(node.value) in {int, float}


def is_figure(node: ast.AST) -> bool:
    return is_number(node) and node.value not in PLAIN


def published() -> set[Decimal]:
    """Return the published figures that are too odd to be met by chance."""
    found: set[Decimal] = set()

    def walk(value: object) -> None:
        if isinstance(value, dict):
            value = list(value.values())
        if isinstance(value, list):
            for item in value:
                walk(item)
        elif isinstance(value, int | Decimal) and not isinstance(value, bool):
            found.add(Decimal(value))

    for path in LIMIT_FILES.glob("*.toml"):
        walk(tomllib.loads(path.read_text("utf-8"), parse_float=Decimal))
    return {one for one in found if is_odd(one)}


def is_odd(figure: Decimal) -> bool:
    digits = len(figure.normalize().as_tuple().digits)
    if figure == figure.to_integral_value():
        return figure > max(PLAIN) and digits > 1  # 500 may count anything
    return digits > 1


def constants(tree: ast.Module) -> Iterator[tuple[str, ast.expr]]:
    """Yield the named constants of a module and of its classes."""
    for owner in ast.walk(tree):
        if isinstance(owner, ast.Module | ast.ClassDef):
            for node in owner.body:
                if isinstance(node, ast.Assign | ast.AnnAssign) and node.value:
                    targets = getattr(node, "targets", None) or [node.target]
                    names = [
                        name.id
                        for target in targets
                        for name in ast.walk(target)
                        if isinstance(name, ast.Name)
                    ]
                    if all(name.isupper() for name in names):
                        yield " ".join(names), node.value


def excused(tree: ast.Module) -> set[ast.AST]:
    """Return the numbers that say how, not how much."""
    fine: set[ast.AST] = set()
    for _, value in constants(tree):
        fine.update(ast.walk(value))
    for node in ast.walk(tree):
        fine.update(excused_under(node))
    return fine


def excused_under(node: ast.AST) -> Iterator[ast.AST]:
    """Yield the sizes, positions and clock figures directly under a node."""
    if isinstance(node, ast.keyword) and node.arg in SHAPES:
        yield from ast.walk(node.value)
    elif isinstance(node, ast.Subscript):
        yield from ast.walk(node.slice)
    elif isinstance(node, ast.Dict):
        pairs = zip(node.keys, node.values, strict=True)
        yield from (value for key, value in pairs if getattr(key, "value", 0) in SHAPES)
    elif isinstance(node, ast.BinOp | ast.Call):
        numbers = filter(is_number, ast.iter_child_nodes(node))
        yield from (one for one in numbers if one.value in CLOCK)


def problems(tree: ast.Module, figures: set[Decimal]) -> list[str]:
    """Return what a reader must look at in a module."""
    fine = excused(tree)
    found = [
        f"line {node.lineno}: {node.value} has no name"
        for node in ast.walk(tree)
        if is_figure(node) and node not in fine
    ]
    for name, value in constants(tree):
        numbers = [node.value for node in ast.walk(value) if is_figure(node)]
        if numbers and MEASURED & set(re.split(r"[ _]", name)):
            found.append(f"line {value.lineno}: {name} is a figure for a limit file")
        hits = [one for one in numbers if Decimal(str(one)) in figures]
        found += [
            f"line {value.lineno}: {name} holds the published {one}" for one in hits
        ]
    return found


WRONG = {
    "a comparison": "def f(core):\n    return core >= 145",
    "an argument": "hold(minutes=30)",
    "a named temperature": "CORE_F = 30",
    "a named limit": "LIMIT = 30",
    "a published figure under another name": "ENOUGH = 62.8",
    "a published figure in a class": "class A:\n    ENOUGH = [62.8]",
    "a default": "def f(hold_min=30): ...",
}


@pytest.mark.parametrize("source", WRONG.values(), ids=WRONG)
def test_figure_in_code_is_found(source):
    assert problems(ast.parse(source), {Decimal("62.8")})


def test_sizes_clock_and_positions_are_no_figures():
    source = "MOST_ROWS = 30\nf(max_length=40)\nx[:3]\nh, m = divmod(t, 60)\nt * 24"
    assert problems(ast.parse(source), {Decimal("62.8")}) == []


def test_limit_files_are_read():
    assert Decimal("62.8") in published()


@pytest.mark.parametrize("path", modules(*WATCHED), ids=short)
def test_module_holds_no_figure(path: Path):
    if short(path) != DRAWING and not short(path).startswith(STORY):
        assert problems(parsed(path), published()) == []


@pytest.mark.parametrize(
    "path", sorted((ROOT / "templates").rglob("*.html")), ids=short
)
def test_template_holds_no_figure(path: Path):
    words = TAG.sub(" ", path.read_text("utf-8"))
    assert FIGURE.findall(words) == []
