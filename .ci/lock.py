"""Write lock.txt anew: every package of the project and its tests, with version and hash.

For Python 3.11 on 64-bit Linux (x86_64), and run there: ``python .ci/lock.py``. It asks pip which
releases it would install today for ``pyproject.toml`` and writes them down. Nothing is installed.
"""

import json
import platform
import subprocess
import sys
import tomllib
from pathlib import Path
from typing import Any

_HERE = Path(__file__).resolve().parent
_LOCK = _HERE / "lock.txt"
_HEAD = """\
# Every package of the project, its tests and its build, for Python 3.11 on 64-bit Linux (x86_64).
# Written by: python .ci/lock.py
# Installed by: pip install --require-hashes -r .ci/lock.txt
"""


def main() -> None:
    """Ask pip, and write what it says."""
    if sys.version_info[:2] != (3, 11) or sys.platform != "linux" or platform.machine() != "x86_64":
        sys.exit("The lock is for Python 3.11 on 64-bit Linux (x86_64): run this there.")
    project = tomllib.loads((_HERE.parent / "pyproject.toml").read_text("utf-8"))
    wanted = [
        *project["project"]["dependencies"],
        *project["project"]["optional-dependencies"]["test"],
        *project["build-system"]["requires"],
        "editables",  # what an installation of the work tree itself is built with
    ]
    asked = ["install", "--dry-run", "--quiet", "--ignore-installed", "--only-binary", ":all:"]
    report = subprocess.run(
        [sys.executable, "-m", "pip", *asked, "--report", "-", *wanted],
        check=True,
        stdout=subprocess.PIPE,
    ).stdout
    lines = sorted((_line(one) for one in json.loads(report)["install"]), key=str.lower)
    _LOCK.write_text(_HEAD + "\n".join(lines) + "\n", "utf-8")
    print(f"{len(lines)} packages in {_LOCK.name}")


def _line(package: dict[str, Any]) -> str:
    named = package["metadata"]
    digest = package["download_info"]["archive_info"]["hashes"]["sha256"]
    return f"{named['name']}=={named['version']} --hash=sha256:{digest}"


if __name__ == "__main__":
    main()
