"""Files are written as a whole: what fails leaves the old file, and nothing beside it."""

import os

import pytest

from slowphase.foundation.whole_file import write_whole_file


def test_a_disk_that_is_full_leaves_the_old_file_and_no_other(tmp_path, monkeypatch):
    file = tmp_path / "a.txt"
    file.write_bytes(b"old")

    def full(_number):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OSError, match="No space left"):
        write_whole_file(file, b"new")
    assert [(f.name, f.read_bytes()) for f in tmp_path.iterdir()] == [("a.txt", b"old")]


def test_keeps_the_rights_of_the_file_and_follows_a_link(tmp_path):
    file, link = tmp_path / "a.txt", tmp_path / "b.txt"
    file.write_bytes(b"old")
    file.chmod(0o640)
    link.symlink_to(file)
    write_whole_file(link, b"new")
    assert link.is_symlink()
    assert file.read_bytes() == b"new"
    assert file.stat().st_mode & 0o777 == 0o640


def test_a_device_is_written_to_and_stays_one():
    from pathlib import Path

    write_whole_file(Path(os.devnull), b"new")
    assert Path(os.devnull).is_char_device()
