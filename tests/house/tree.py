"""Finds the modules of the tree, for the tests that look after the house."""

import ast
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
PACKAGES = ("safety", "batches", "reports")


def modules(*folders: str) -> list[Path]:
    """Return every Python file in these folders, but migrations and empty files."""
    return [
        path
        for folder in folders
        for path in sorted((ROOT / folder).rglob("*.py"))
        if "migrations" not in path.parts and path.stat().st_size
    ]


def parsed(path: Path) -> ast.Module:
    """Return the syntax tree of a file."""
    return ast.parse(path.read_text("utf-8"), filename=str(path))


def short(path: Path) -> str:
    """Return the path as one would type it at the top of the tree."""
    return path.relative_to(ROOT).as_posix()
