"""The file itself: made, opened, refused, backed up, and every change in it whole."""

from __future__ import annotations

import sqlite3
from pathlib import Path

import pytest
from rindwright.engine.archive import listing, looks, schema
from rindwright.engine.archive.looks import Given
from rindwright.engine.archive.mending import check
from rindwright.engine.archive.problems import ArchiveProblem, Damaged, ReadOnly
from rindwright.engine.archive.store import Archive, open_archive
from rindwright.engine.errors import FileProblem

from .faults import AT, given, weighed, write_look


def test_a_new_archive_has_what_was_promised(archive: Archive) -> None:
    def pragma(name: str) -> object:
        return archive.db.execute(f"PRAGMA {name}").fetchone()[0]

    assert pragma("journal_mode") == "wal"
    assert pragma("foreign_keys") == 1
    assert pragma("synchronous") == 2
    assert pragma("user_version") == schema.VERSION
    assert pragma("application_id") == schema.APPLICATION_ID


def test_a_look_comes_back_as_it_was_saved(archive: Archive) -> None:
    write_look(archive, "first", 7)
    record = looks.record_of(archive, looks.find(archive, "first"))
    assert record["answers"] == [["family", "washed", None], ["age_days", 7.0, None], ["q0", "answer 7 0", None]]
    assert record["weighed"] == weighed()
    assert record["follow_up"]["due_on"] == "2026-10-04"
    assert record["outcomes"][0]["causes"] == ["box_too_wet"]
    assert record["revision"] == 4
    assert not check(archive).faults


def test_names_are_found_numbered_and_guarded(archive: Archive) -> None:
    assert looks.begin(archive, None, "2026-10-01", AT)[1] == "2026-10-01-1"
    assert looks.begin(archive, None, "2026-10-01", AT)[1] == "2026-10-01-2"
    with pytest.raises(FileProblem, match="already"):
        looks.begin(archive, "2026-10-01-2", "2026-10-01", AT)
    with pytest.raises(FileProblem, match='did you mean "2026-10-01-2"'):
        looks.find(archive, "2026-10-01-3")
    assert looks.find(archive, "") == 2


def test_filters(archive: Archive) -> None:
    for k in range(4):
        write_look(archive, f"look {k}", k)
    looks.add_note(archive, 2, "2026-10-02", "The mat was 100% wet_", AT)
    assert [r.name for r in listing.listed(archive, text="100% wet_")] == ["look 1"]
    assert [r.name for r in listing.listed(archive, text="look 3")] == ["look 3"]
    assert len(listing.listed(archive, cause="box_too_wet")) == 4
    assert not listing.listed(archive, cause="other")
    assert not listing.listed(archive, family="bloomy")
    assert looks.close_follow_up(archive, 1, "2026-10-04", "better", AT)
    assert not looks.close_follow_up(archive, 1, "2026-10-04", "better", AT)
    assert len(listing.listed(archive, open_only=True)) == 3
    assert [row.name for row, _, _ in listing.due(archive, "2026-10-04")] == ["look 1", "look 2", "look 3"]
    assert not listing.due(archive, "2026-10-03")


def test_words_are_found_as_they_were_said(archive: Archive) -> None:
    look_id, _ = looks.begin(archive, "one", "2026-10-01", AT)
    looks.save(archive, look_id, Given((), words=('smells "sweet"', "ÄRGER \\ mit dem Käse")), AT)
    looks.begin(archive, "Große Straße", "2026-10-01", AT)
    looks.begin(archive, "two", "2026-10-01", AT)
    for text in ('"SWEET"', "ärger", "Ärger \\ MIT", "käse", "smells"):
        assert [r.name for r in listing.listed(archive, text=text)] == ["one"], text
    assert [r.name for r in listing.listed(archive, text="STRASSE")] == []
    assert [r.name for r in listing.listed(archive, text="straße")] == ["Große Straße"]
    assert not listing.listed(archive, text="%weet")


def test_a_failed_change_leaves_nothing(archive: Archive) -> None:
    write_look(archive, "first", 1)
    before = looks.record_of(archive, 1)
    size = archive.keep.size()

    def break_off() -> None:
        with archive.change() as db:
            db.execute("UPDATE look SET name = 'other'")
            archive.touch("look", 1)
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        break_off()
    assert looks.record_of(archive, 1) == before
    assert archive.keep.size() == size


def test_strangers_are_refused_and_left_alone(tmp_path: Path) -> None:
    text = tmp_path / "text.db"
    text.write_text("my shopping list\n" * 20)
    with pytest.raises(ArchiveProblem, match="not an archive"):
        open_archive(text)
    assert text.read_text().startswith("my shopping list")
    other = tmp_path / "other.db"
    with sqlite3.connect(other) as db:
        db.execute("CREATE TABLE x (y)")
    db.close()
    with pytest.raises(ArchiveProblem, match="another program"):
        open_archive(other)
    with pytest.raises(ArchiveProblem, match="is a folder"):
        open_archive(tmp_path)
    with pytest.raises(ArchiveProblem, match="no archive"):
        open_archive(tmp_path / "gone.db", create=False)
    (tmp_path / "file").write_text("")
    with pytest.raises(ArchiveProblem, match=r"cannot be (opened|written)"):
        open_archive(tmp_path / "file" / "archive.db")


def test_a_later_version_is_refused(archive: Archive) -> None:
    archive.db.execute("PRAGMA user_version = 99")
    with pytest.raises(ArchiveProblem, match="newer Rindwright"):
        open_archive(archive.path)


def test_read_only_says_so(archive: Archive) -> None:
    write_look(archive, "first", 1)
    with open_archive(archive.path, writable=False) as again:
        assert listing.count(again) == 1
        with pytest.raises(ReadOnly, match="may only be read"):
            looks.add_note(again, 1, "2026-10-02", "no", AT)


def test_a_migration_backs_up_first_and_is_whole_or_not_at_all(
    archive: Archive, monkeypatch: pytest.MonkeyPatch
) -> None:
    write_look(archive, "first", 1)
    archive.close()
    good = "ALTER TABLE look ADD COLUMN room TEXT; CREATE TABLE room (id INTEGER PRIMARY KEY);"
    for script in (good + " CREATE TABLE look (x);", good):
        monkeypatch.setattr(schema, "MIGRATIONS", (*schema.MIGRATIONS[:1], script))
        monkeypatch.setattr(schema, "VERSION", 2)
        monkeypatch.setattr("rindwright.engine.archive.store.VERSION", 2)
        if script != good:
            with pytest.raises(ArchiveProblem):
                open_archive(archive.path)
            with sqlite3.connect(archive.path) as db:
                assert db.execute("PRAGMA user_version").fetchone()[0] == 1
                assert "room" not in [row[1] for row in db.execute("PRAGMA table_info(look)")]
            db.close()
    with open_archive(archive.path) as again:
        assert schema.version_of(again.db) == 2
        assert looks.record_of(again, 1)["name"] == "first"
        assert again.keep.backup(again.keep.numbers()[-1]).exists()


def test_backups_are_kept_three_deep(archive: Archive) -> None:
    for k in range(6):
        write_look(archive, f"look {k}", k)
        archive.back_up()
    assert len(list(archive.keep.folder.glob("*.db"))) == 3
    assert len(archive.keep.numbers()) == 3


def test_long_daybooks_are_closed(archive: Archive, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("rindwright.engine.archive.store.BACKUP_AT", 200_000)
    for k in range(100):
        write_look(archive, f"look {k}", k)
    assert archive.keep.numbers()[-1] >= 1
    assert archive.keep.size() < 300_000


def test_a_record_altered_behind_our_back_is_noticed(archive: Archive) -> None:
    write_look(archive, "first", 1)
    archive.db.execute("UPDATE said SET answers = replace(answers, 'washed', 'wasted')")
    with pytest.raises(Damaged, match="past mend"):
        looks.record_of(archive, 1)
    assert any("first" in fault for fault in check(archive).faults)


def test_sqlite_tool_can_read_it(archive: Archive) -> None:
    write_look(archive, "first", 1)
    plain = sqlite3.connect(archive.path)
    assert plain.execute("SELECT json_extract(answers, '$[0][1]') FROM said").fetchone()[0] == given(1).answers[0][1]
    plain.close()
