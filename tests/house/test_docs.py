"""The map in DEVELOPERS.md and the tree say the same."""

import re

from tests.house.tree import PACKAGES, ROOT, modules, short

FENCE = re.compile(r"^## Map\b.*?^```\w*\n(.*?)^```", re.MULTILINE | re.DOTALL)
INDENT = 2


def mapped(block):
    """Return the paths that a map names.

    A line is indented by two spaces a level; it names a folder (``judge/``) or
    modules (``dwell.py stay.py``), then says what they are for after two spaces.
    """
    paths, folders = set(), []
    for line in block.splitlines():
        level = (len(line) - len(line.lstrip())) // INDENT
        names = re.split(r"\s{2,}|\t", line.strip())[0].split()
        for name in names:
            if name.endswith("/"):
                folders[level:] = [name.rstrip("/")]
            elif name.endswith(".py"):
                paths.add("/".join([*folders[:level], name]))
    return paths


def test_map_reader_follows_folders_and_lists():
    block = (
        "safety/  science\n  units.py  exact\n  judge/\n    dwell.py stay.py  kinds\n"
    )
    assert mapped(block) == {
        "safety/units.py",
        "safety/judge/dwell.py",
        "safety/judge/stay.py",
    }


def test_map_names_every_module_and_no_other():
    found = FENCE.search((ROOT / "DEVELOPERS.md").read_text("utf-8"))
    assert found, "DEVELOPERS.md has no fenced block under '## Map'"
    there = {short(path) for path in modules(*PACKAGES)}
    there = {path for path in there if not path.endswith("__init__.py")}
    listed = mapped(found[1])
    listed = {path for path in listed if path.split("/")[0] in PACKAGES}
    assert sorted(there - listed) == [], "not on the map"
    assert sorted(listed - there) == [], "on the map, but not there"
