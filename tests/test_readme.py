"""The commands people copy are the commands that are run."""

from __future__ import annotations

import re
from pathlib import Path

ROOT = Path(__file__).parents[1]
TEST_COMMAND = re.compile(r"^python3 -m venv .*pytest$", re.MULTILINE)


def test_the_test_command_is_the_same_everywhere() -> None:
    in_readme = TEST_COMMAND.findall((ROOT / "README.md").read_text(encoding="utf-8"))
    in_guide = TEST_COMMAND.findall((ROOT / "DEVELOPERS.md").read_text(encoding="utf-8"))
    assert len(in_readme) == 1
    assert in_guide == in_readme
    script = (ROOT / ".ci" / "run").read_text(encoding="utf-8")
    found = re.search(r"grep -m 1 -E '([^']+)' README.md", script)
    assert found is not None, "the build no longer takes its command from the README"
    lines = (ROOT / "README.md").read_text(encoding="utf-8").splitlines()
    taken = next(line for line in lines if re.search(found[1], line))
    assert taken == in_readme[0]


def test_every_picture_shown_exists() -> None:
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    pictures = re.findall(r"!\[[^]]+\]\(([^)]+)\)", text)
    assert pictures
    for picture in pictures:
        assert (ROOT / picture).is_file(), picture
