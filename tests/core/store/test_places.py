"""Where libraries lie, and what network folders look like."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from core.language import Numbers
from core.store import Library
from core.store.places import (
    default_library_path,
    kind_of_windows_drive,
    network_kind,
    network_warning,
)
from core.store.sqlite import file

MOUNTS = """\
/dev/sda1 / ext4 rw 0 0
server:/share /mnt/bench nfs4 rw 0 0
//server/x /mnt/with\\040space cifs rw 0 0
/dev/sdb1 /mnt/bench/local ext4 rw 0 0
me@host:/ /home/me/far fuse.sshfs rw 0 0
none /mnt/covered nfs rw 0 0
/dev/sdc1 /mnt/covered ext4 rw 0 0
short line
"""


@pytest.mark.skipif(sys.platform == "win32", reason="mounts are told otherwise there")
@pytest.mark.parametrize(
    ("path", "kind"),
    [
        ("/home/me/x.library", None),
        ("/mnt/bench/x.library", "nfs4"),
        ("/mnt/bench/deep/er/x.library", "nfs4"),
        ("/mnt/benches/x.library", None),
        ("/mnt/bench/local/x.library", None),
        ("/mnt/with space/x.library", "cifs"),
        ("/home/me/far/x.library", "fuse.sshfs"),
        ("/mnt/covered/x.library", None),
        ("//server/share/x.library", "network share"),
    ],
)
def test_network_folders_are_recognised(path: str, kind: str | None) -> None:
    assert network_kind(Path(path), MOUNTS) == kind


@pytest.mark.skipif(sys.platform == "win32", reason="mounts are told otherwise there")
@pytest.mark.parametrize(
    "kind",
    ["nfs", "nfs4", "cifs", "smb3", "smbfs", "fuse.sshfs", "9p", "afs", "davfs", "fuse.rclone"],
)
def test_every_usual_network_file_system_is_warned_about_by_name(kind: str) -> None:
    mounts = f"/dev/sda1 / ext4 rw 0 0\nfar:/x /mnt/far {kind} rw,relatime 0 0\n"
    warning = network_warning(Path("/mnt/far/shop/x.library"), mounts)
    assert warning is not None
    assert f"({kind})" in Numbers().text(warning)
    assert "SQLite" in Numbers().text(warning)


@pytest.mark.parametrize("kind", ["ext4", "btrfs", "xfs", "tmpfs", "zfs", "overlay", "fuseblk"])
def test_disks_of_this_computer_are_not_warned_about(kind: str) -> None:
    mounts = f"/dev/sda1 / {kind} rw 0 0\n"
    assert network_warning(Path("/home/me/x.library"), mounts) is None


@pytest.mark.parametrize(
    ("drive", "answer", "kind"),
    [
        ("C:", 3, None),  # a fixed disk
        ("E:", 2, None),  # one that can be taken out
        ("Z:", 4, "mapped network drive"),
        (r"\\server\share", 1, "network share"),  # no root directory, says Windows of these
    ],
)
def test_windows_drives_are_told_apart(drive: str, answer: int, kind: str | None) -> None:
    asked: list[str] = []

    def drive_type(root: str) -> int:
        asked.append(root)
        return answer

    assert kind_of_windows_drive(drive, drive_type) == kind
    assert asked in ([], [f"{drive}\\"])


def test_a_windows_share_is_recognised() -> None:
    assert network_kind(Path(r"\\server\share\x.library"), "") == "network share"


def test_the_warning_speaks_of_locking_and_is_silent_on_an_own_disk() -> None:
    warning = network_warning(Path("/mnt/bench/x.library"), MOUNTS)
    if sys.platform != "win32":
        assert warning is not None
        assert "nfs4" in Numbers().text(warning)
        assert "locking" in Numbers().text(warning)
    assert network_warning(Path("/home/me/x.library"), MOUNTS) is None


@pytest.mark.parametrize(
    ("platform", "environment", "expected"),
    [
        ("linux", {"XDG_DATA_HOME": "/data"}, "/data/setdown/setdown.library"),
        ("linux", {"XDG_DATA_HOME": "not/absolute"}, "~/.local/share/setdown/setdown.library"),
        ("linux", {}, "~/.local/share/setdown/setdown.library"),
        ("darwin", {}, "~/Library/Application Support/setdown/setdown.library"),
        ("win32", {"LOCALAPPDATA": "/local"}, "/local/setdown/setdown.library"),
        ("win32", {}, "~/AppData/Local/setdown/setdown.library"),
    ],
)
def test_the_default_place_is_the_platforms_own(
    monkeypatch: pytest.MonkeyPatch, platform: str, environment: dict[str, str], expected: str
) -> None:
    monkeypatch.setattr(sys, "platform", platform)
    for name in ("XDG_DATA_HOME", "LOCALAPPDATA"):
        monkeypatch.delenv(name, raising=False)
    for name, value in environment.items():
        monkeypatch.setenv(name, value)
    assert default_library_path() == Path(expected).expanduser()


def test_over_a_network_the_library_does_without_the_log_that_needs_one_machine(
    place: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    Library.open(place).close()
    monkeypatch.setattr(file, "network_kind", lambda _: "nfs4")
    with Library.open(place) as library:
        assert library._backend.rows("PRAGMA journal_mode") == [("delete",)]
        assert library._backend.rows("PRAGMA synchronous") == [(3,)]
    monkeypatch.undo()
    with Library.open(place) as library:
        assert library._backend.rows("PRAGMA journal_mode") == [("wal",)]
        assert library._backend.rows("PRAGMA synchronous") == [(2,)]
        assert library._backend.rows("PRAGMA foreign_keys") == [(1,)]
        assert library.warning() is None
