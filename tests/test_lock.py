"""The lock holds what the project asks for, by hash alone, and names no place to fetch it from."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

ROOT = Path(__file__).parents[1]
LINE = re.compile(r"([A-Za-z0-9._-]+)==(\S+) --hash=sha256:[0-9a-f]{64}")
ON = {"python_version": "3.11", "sys_platform": "linux", "platform_machine": "x86_64"}


def locked() -> dict[str, str]:
    lines = (ROOT / ".ci" / "lock.txt").read_text("utf-8").splitlines()
    matches = [LINE.fullmatch(line) for line in lines if not line.startswith("#")]
    assert all(matches), "a line of the lock is no package with version and hash"
    return {canonicalize_name(one[1]): one[2] for one in matches if one}


def wanted() -> list[str]:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text("utf-8"))
    extras = project["project"]["optional-dependencies"]
    asked = [*project["project"]["dependencies"], *extras["test"]]
    return [*asked, *project["build-system"]["requires"]]


@pytest.mark.parametrize("line", wanted())
def test_every_requirement_is_locked_at_a_release_that_it_allows(line: str) -> None:
    requirement = Requirement(line)
    if requirement.marker is not None and not requirement.marker.evaluate(ON):
        pytest.skip("not for the Python that the lock is for")
    version = locked().get(canonicalize_name(requirement.name))
    assert version is not None, f"{requirement.name} is not in the lock: python .ci/lock.py"
    assert requirement.specifier.contains(version), f"{line}: the lock has {version}"


def test_the_lock_names_no_place_to_fetch_from() -> None:
    text = (ROOT / ".ci" / "lock.txt").read_text("utf-8")
    assert "://" not in text
    assert "index-url" not in text
    assert "find-links" not in text
