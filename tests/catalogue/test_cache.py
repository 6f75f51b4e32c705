"""The cache of built catalogues: what is kept, what is never trusted, and what happens without one."""

from __future__ import annotations

import os
import shutil
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from woodref import paths
from woodref.catalogue.reader import Catalogue, open_catalogue
from woodref.errors import CatalogueUnreadable, WoodrefError

Edit = Callable[[str, str, str], None]
At = Callable[[str, str], int]

FICTA = "species/ligna-ficta.yaml"


@pytest.fixture
def cache(tmp_path: Path, spare: Path) -> Path:
    """An empty cache of the test's own, and a spare place of its own beside it."""
    return tmp_path / "cache"


def all_of(opened: Catalogue) -> int:
    """Read everything there is; how many materials."""
    with opened as catalogue:
        assert catalogue.law.rows and catalogue.sources and catalogue.countries
        return len(catalogue.materials())


def touch(folder: Path, number: int) -> None:
    """Change the data by a remark."""
    with (folder / "names.yaml").open("a", encoding="utf-8") as out:
        out.write(f"# {number}\n")


def test_one_byte_a_name_or_a_new_file_changes_the_digest(invented: Path) -> None:
    seen = {paths.digest(invented)}
    body = (invented / FICTA).read_bytes()
    (invented / FICTA).write_bytes(body.replace(b"value: 603", b"value: 604"))  # the size stays
    seen.add(paths.digest(invented))
    touch(invented, 1)
    seen.add(paths.digest(invented))
    (invented / FICTA).rename(invented / "species" / "ligna-facta.yaml")
    seen.add(paths.digest(invented))
    (invented / "demo").mkdir()
    (invented / "demo" / "item.yaml").write_text("a: 1\n", "utf-8")
    assert paths.digest(invented) in seen  # the invented workshop is no part of the catalogue
    (invented / "species" / "demo.yaml").write_text("a: 1\n", "utf-8")
    seen.add(paths.digest(invented))
    assert len(seen) == 5
    assert all(len(one) == 16 and int(one, 16) >= 0 for one in seen)


def test_a_copy_elsewhere_has_the_same_digest(invented: Path, tmp_path: Path) -> None:
    copy = Path(shutil.copytree(invented, tmp_path / "elsewhere"))
    (copy / "README.md").write_text("words", "utf-8")  # only YAML is data
    assert paths.digest(copy) == paths.digest(invented)


def test_a_wheel_brings_its_digest_ready_made(invented: Path) -> None:
    (invented / "DIGEST").write_text("0123456789abcdef\n", "ascii")
    assert paths.digest(invented) == "0123456789abcdef"
    assert paths.digest_of(invented) != "0123456789abcdef"


def test_what_was_built_is_opened_and_not_built_again(invented: Path, cache: Path) -> None:
    with open_catalogue(invented, cache) as first:
        path, made = first.path, first.path.stat().st_mtime_ns
    assert (cache / "current").read_text("ascii") == f"{path.name}\n"
    with open_catalogue(invented, cache) as again:
        assert (again.path, again.path.stat().st_mtime_ns) == (path, made)
        assert again.notices == []


def test_the_newest_by_age_are_kept_and_the_one_just_built_among_them(invented: Path, cache: Path) -> None:
    built = []
    for number in range(3):
        touch(invented, number)
        with open_catalogue(invented, cache) as opened:
            built.append(opened.path)
    # the clock of the machine ran ahead: two old files look newer than the next one will
    for path, when in zip(built, (4_000_000_000, 3_000_000_000, 3_500_000_000), strict=True):
        os.utime(path, (when, when))
    touch(invented, 3)
    with open_catalogue(invented, cache) as opened:
        newest = opened.path
    assert set(cache.glob("catalogue-*.sqlite")) == {built[0], built[2], newest}
    assert (cache / "current").read_text("ascii").strip() == newest.name


def test_nothing_but_catalogues_and_the_pointer_is_left_behind(invented: Path, cache: Path) -> None:
    open_catalogue(invented, cache).close()
    names = sorted(p.name for p in cache.iterdir())
    assert names == [f"catalogue-{paths.digest(invented)}.sqlite", "current"]


def test_an_unfinished_file_of_a_stopped_build_never_answers(invented: Path, cache: Path) -> None:
    cache.mkdir()
    (cache / ".building-abc.sqlite").write_bytes(b"SQLite format 3\x00 and no more")
    assert all_of(open_catalogue(invented, cache)) == 3


@pytest.mark.parametrize("keep", [0, 1, 16, 100, 4096, 0.25, 0.5, 0.9, -4096, -1])
def test_a_catalogue_cut_short_is_built_anew(keep: float, invented: Path, cache: Path) -> None:
    with open_catalogue(invented, cache) as opened:
        path = opened.path
    body = path.read_bytes()
    if isinstance(keep, float):
        keep = int(keep * len(body))
    path.write_bytes(body[: int(keep)])
    assert all_of(open_catalogue(invented, cache)) == 3


@pytest.mark.parametrize("share", [0.0, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9])
def test_a_catalogue_spoilt_in_one_place_is_built_anew_or_said_to_be_spoilt(
    share: float, invented: Path, cache: Path
) -> None:
    with open_catalogue(invented, cache) as opened:
        path = opened.path
    body = bytearray(path.read_bytes())
    start = int(share * len(body)) // 4096 * 4096
    body[start : start + 4096] = b"\xaa" * 4096
    path.write_bytes(bytes(body))
    try:
        assert all_of(open_catalogue(invented, cache)) == 3
    except WoodrefError as fault:
        assert str(path) in str(fault)


def test_a_catalogue_of_other_tables_is_built_anew(invented: Path, cache: Path) -> None:
    with open_catalogue(invented, cache) as opened:
        path = opened.path
    with sqlite3.connect(path) as connection:
        connection.execute("UPDATE meta SET value = '0' WHERE key = 'tables'")
    connection.close()
    with open_catalogue(invented, cache) as opened:
        assert opened.meta["tables"] == str(paths.TABLES_VERSION)


def test_errors_are_counted_and_the_last_good_catalogue_named(
    invented: Path, cache: Path, edit: Edit
) -> None:
    open_catalogue(invented, cache).close()
    good = paths.digest(invented)
    edit(FICTA, "pores: diffuse", "pores: tiny")
    edit(FICTA, "tannin: low", "tannin: lots")
    with open_catalogue(invented, cache) as opened:
        (notice,) = opened.notices
        assert notice.message == (
            f"The data have 2 errors; I answer from the last good catalogue ({good}). "
            "Run `woodref data check` to see them all."
        )
        assert notice.as_dict() == {"code": "data-have-errors", "message": notice.message}
        assert opened.stamp["digest"] == good


def test_a_warning_alone_does_not_stop_a_build(invented: Path, cache: Path, edit: Edit) -> None:
    edit(FICTA, "text: bench pearl", "text: plain ficta")  # twice in one file
    with open_catalogue(invented, cache) as opened:
        assert opened.stamp["digest"] == paths.digest(invented)
        assert opened.notices == []


def test_errors_and_nothing_to_answer_from_is_told_with_file_and_line(
    invented: Path, cache: Path, edit: Edit, at: At
) -> None:
    edit(FICTA, "pores: diffuse", "pores: tiny")
    with pytest.raises(CatalogueUnreadable) as fault:
        open_catalogue(invented, cache)
    assert fault.value.exit_code == 1
    assert "the data have 1 error and no earlier catalogue" in str(fault.value)
    assert f"data/{FICTA}:{at(FICTA, 'pores: tiny')}: look.pores" in str(fault.value)
    assert str(fault.value).endswith("Run `woodref data check` to see them all.")


@pytest.mark.parametrize(
    "pointer", [b"", b"\n", b"catalogue-0.sqlite\n", b"\xff\xfe", b"a\x00b", b"..", b"current", b"x" * 5000]
)
def test_a_pointer_that_names_no_catalogue_is_as_good_as_none(
    pointer: bytes, invented: Path, cache: Path, edit: Edit
) -> None:
    cache.mkdir()
    (cache / "current").write_bytes(pointer)
    edit(FICTA, "pores: diffuse", "pores: tiny")
    with pytest.raises(CatalogueUnreadable):
        open_catalogue(invented, cache)


def test_without_a_cache_the_temporary_folder_serves_and_says_so(
    invented: Path, tmp_path: Path, spare: Path
) -> None:
    # root ignores permissions, so the cache is put below a plain file
    (tmp_path / "file").write_text("", "utf-8")
    wanted = tmp_path / "file" / "cache"
    with open_catalogue(invented, wanted) as opened:
        (notice,) = opened.notices
        assert notice.code == "cache-unwritable"
        assert str(wanted) in notice.message
        assert opened.path.is_relative_to(spare)
        assert str(opened.path.parent) in notice.message
    assert all_of(open_catalogue(invented, wanted)) == 3


def test_without_any_place_to_write_a_sentence_says_so(
    invented: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "file").write_text("", "utf-8")
    monkeypatch.setattr("tempfile.tempdir", str(tmp_path / "file"))
    with pytest.raises(WoodrefError):
        open_catalogue(invented, tmp_path / "file" / "cache")


def test_a_disc_that_fills_up_is_told_in_a_sentence(invented: Path, tmp_path: Path) -> None:
    # the same to SQLite as a full disc: no file of this process may grow beyond 64 kB
    code = (
        "import resource, signal, sys, tempfile; from pathlib import Path\n"
        "from woodref.catalogue.reader import open_catalogue; from woodref.errors import WoodrefError\n"
        "signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (65536, 65536)); tempfile.tempdir = sys.argv[2]\n"
        "try: open_catalogue(Path(sys.argv[1]), Path(sys.argv[2]) / 'cache')\n"
        "except WoodrefError as fault: print('told:', fault)\n"
    )
    command = [sys.executable, "-c", code, str(invented), str(tmp_path)]
    done = subprocess.run(command, capture_output=True, text=True, timeout=60, check=False)
    assert done.stdout.startswith("told:"), done.stderr[-300:]
