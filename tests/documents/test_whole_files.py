"""Files that are there in full or not at all, and the folders that hold them."""

from __future__ import annotations

import os
import stat
from pathlib import Path

import pytest

from signrules.documents.whole_files import NEW_FOLDER, made_folder, put_in_place, put_new
from signrules.errors import SignrulesError


def test_a_folder_is_made_and_one_that_is_there_is_taken(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    for _ in range(2):
        assert made_folder(folder, NEW_FOLDER) == folder
        assert folder.is_dir()
    deep = tmp_path / "some" / "folders" / "deep"
    assert made_folder(deep, "a folder", parents=True).is_dir()


def test_a_folder_that_cannot_be_made_is_told_with_the_reason(tmp_path: Path) -> None:
    file = tmp_path / "file"
    file.touch()
    for folder, found in (
        (tmp_path / "nowhere" / "new", "no such file or directory"),
        (file, "file exists"),
        (tmp_path / "a\0b", "embedded null"),
    ):
        with pytest.raises(SignrulesError) as caught:
            made_folder(folder, NEW_FOLDER)
        assert str(caught.value).startswith(f"{folder}: found {found}")
        assert str(caught.value).endswith(f", expected {NEW_FOLDER}")


def test_a_new_file_takes_no_name_that_is_taken(tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    put_new(path, b"first")
    with pytest.raises(FileExistsError):
        put_new(path, b"second")
    assert path.read_bytes() == b"first"
    assert os.listdir(tmp_path) == ["job.toml"]


def test_without_links_a_name_is_looked_at_first(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object) -> None:
        raise PermissionError(1, "Operation not permitted")

    monkeypatch.setattr(os, "link", fails)
    path = tmp_path / "job.toml"
    put_new(path, b"first")
    assert path.read_bytes() == b"first"
    with pytest.raises(FileExistsError):
        put_new(path, b"second")
    dangling = tmp_path / "dangling"
    dangling.symlink_to(tmp_path / "nowhere")
    with pytest.raises(FileExistsError):
        put_new(dangling, b"third")
    assert sorted(os.listdir(tmp_path)) == ["dangling", "job.toml"]


def test_in_the_place_of_a_file_its_permissions_stay_and_so_does_a_link_to_it(
    tmp_path: Path,
) -> None:
    path, link = tmp_path / "job.toml", tmp_path / "link"
    path.write_bytes(b"first")
    path.chmod(0o640)
    link.symlink_to(path)
    put_in_place(link, b"second")
    assert path.read_bytes() == b"second"
    assert link.is_symlink()
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
