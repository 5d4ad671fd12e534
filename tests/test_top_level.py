"""The top level holds what the card names, and nothing else that shows."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
CARD = {
    *("README.md", "DEVELOPERS.md", "pyproject.toml"),
    *("desktop", "core", "resources", "tests", "profiles"),
}


def test_nothing_but_the_card_is_committed_at_the_top() -> None:
    listed = subprocess.run(["git", "ls-files", "-z"], cwd=ROOT, capture_output=True, check=False)
    if listed.returncode:
        pytest.skip("not a clone: what is committed can't be asked")
    tops = {name.split("/")[0] for name in listed.stdout.decode().split("\0") if name}
    assert {top for top in tops if not top.startswith(".")} == CARD
