"""Logger files that are foreign, torn or damaged: what can be read is read, and the rest is told or refused."""

from __future__ import annotations

import io

import numpy as np
import pytest
from rindwright.engine.errors import FileProblem
from rindwright.engine.sums import logger_rows
from rindwright.engine.sums.logger_columns import Wanted
from rindwright.engine.sums.logger_reading import Log, Reading, read_log
from rindwright.engine.sums.logger_stamps import day_of

START = day_of("2025-03-01") * 86_400
HEAD = "Time,Temp °C,RH %\n"


def read(text: str | bytes, **how: object) -> Log:
    return read_log(io.BytesIO(text if isinstance(text, bytes) else text.encode()), "log.csv", Reading(**how))  # type: ignore[arg-type]


def stamps(form: str, hours: int = 48) -> list[str]:
    moments = (np.array(START, "M8[s]") + np.arange(hours) * np.timedelta64(3600, "s")).tolist()
    return [m.strftime(form) for m in moments]


def rows(form: str = "%Y-%m-%d %H:%M", hours: int = 48, part: str = ",") -> list[str]:
    return [f"{s}{part}{12 + k % 5 * 0.5}{part}{90 + k % 7}\n" for k, s in enumerate(stamps(form, hours))]


TEXT = HEAD + "".join(rows())
WHOLE = read(TEXT)


def same(found: Log, hours: int = 48) -> None:
    assert found.wall_seconds.tolist() == [START + 3600 * k for k in range(hours)]
    np.testing.assert_array_equal(found.temperature_c[:48], WHOLE.temperature_c)
    np.testing.assert_array_equal(found.humidity_pct[:48], WHOLE.humidity_pct)


# --- foreign -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "header",
    [
        "Dato;Klokkeslæt;Temperatur °C;Luftfugtighed %",
        "Dato;Klokkeslett;Temperatur °C;Luftfuktighet %",
        "Datum;Klockslag;Temperatur °C;Luftfuktighet %",
        "Päiväys;Kello;Lämpötila °C;Kosteus %",
        "Data;Godzina;Temperatura °C;Wilgotność %",
        "Datum;Čas;Teplota °C;Vlhkost %",
        "Datum;Vrijeme;Temperatura °C;Vlaga %",
        "Dátum;Idő;Hőmérséklet °C;Páratartalom %",
        "Data;Ora;Temperatură °C;Umiditate %",
        "Data;Hora;Temperatura °C;Umidade %",
        "Tarih;Saat;Sıcaklık °C;Nem %",
        "Дата;Время;Температура, °C;Влажность, %",
        "Ημερομηνία;Ώρα;Θερμοκρασία °C;Υγρασία %",
        "日付;時刻;温度 ℃;湿度 %",
        "Datum;Wann;Temperatur °C;Feuchte %",  # a clock told by what stands in its column
    ],
)
def test_headers_in_many_languages(header: str) -> None:
    found = read(header + "\n" + "".join(rows("%d.%m.%Y;%H:%M", part=";")))
    same(found)
    assert found.layout.clock == 1
    assert found.duplicates == 0


def test_a_date_without_a_time_of_day_is_refused_and_not_read_as_midnight() -> None:
    with pytest.raises(FileProblem, match='"Date" holds a date without a time of day'):
        read("Date;Note;Temp °C\n2025-03-01;breakfast;12\n2025-03-01;lunch;13\n2025-03-01;tea;12\n")
    daily = read("Date;Temp °C\n2025-03-01;12\n2025-03-02;13\n")  # one reading a day is no fault
    assert len(daily) == 2


@pytest.mark.parametrize("form", ["%y/%m/%d %H:%M", "%y-%m-%d %H:%M", "%d/%m/%y %H:%M", "%m/%d/%y %H:%M"])
@pytest.mark.parametrize("days", [2, 16])
def test_two_figures_may_be_the_year_at_either_end(form: str, days: int) -> None:
    found = read(HEAD + "".join(rows(form, 24 * days)))
    same(found, 24 * days)


def test_a_single_day_in_two_figures_is_read_as_recent_or_refused() -> None:
    """13/03/25 is March 2025, not 2013, and 25/03/01 is 2025 too; 25/03/26 may be either."""
    assert read(HEAD + "13/03/25 10:00,12,91\n").wall_seconds[0] // 86_400 == day_of("2025-03-13")
    assert read(HEAD + "25/03/01 10:00,12,91\n").wall_seconds[0] // 86_400 == day_of("2025-03-01")
    doubtful = HEAD + "25/03/26 10:00,12,91\n"
    with pytest.raises(FileProblem, match=r"day or year first.*--date-order dmy or --date-order ymd"):
        read(doubtful)
    assert read(doubtful, date_order="ymd").wall_seconds[0] // 86_400 == day_of("2025-03-26")
    assert read(doubtful, date_order="dmy").wall_seconds[0] // 86_400 == day_of("2026-03-25")


def test_a_file_without_a_header_is_read_by_counting_its_columns() -> None:
    with pytest.raises(FileProblem, match="--time-column 1 --temperature-column 2"):
        read("".join(rows()))
    same(read("".join(rows()), columns=Wanted("1", "2", "3")))


# --- wide text -----------------------------------------------------------------------------------


@pytest.mark.parametrize("encoding", ["utf-16", "utf-16-le", "utf-16-be", "utf-8-sig", "utf-8", "cp1252"])
def test_every_usual_encoding_with_and_without_its_mark(encoding: str) -> None:
    same(read(TEXT.encode(encoding)))


# --- damaged -------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "tail",
    [
        b"\x00" * 5_000,
        b"\x00" * 300_000,
        b"\xff\xfe\x81\x99" * 2_000 + b"\n;;;;;\n\x1a",
        b"x" * 400_000 + b"\n",
        b'"never closed,,,\n' * 3,
        b"2025-03-03 00",
        "Messung beendet – über 48 Stunden\n".encode("cp1252"),
    ],
    ids=["zeros", "many zeros", "noise", "a line without end", "quotes", "cut off", "a word of goodbye"],
)
@pytest.mark.parametrize("long", [False, True])
def test_garbage_at_the_end_costs_no_reading(tail: bytes, long: bool) -> None:
    hours = 48 * 300 if long else 48
    found = read((HEAD + "".join(rows(hours=hours))).encode() + tail)
    same(found, hours)
    assert found.unreadable
    assert any("without a time that can be read" in s for s in found.said)
    assert all(s.isprintable() for s in found.said)


def test_a_stray_quote_costs_its_own_cell_at_most() -> None:
    lines = rows()
    lines[9] = lines[9].replace(",9", ',"9', 1)
    found = read(HEAD + "".join(lines))
    assert found.wall_seconds.tolist() == WHOLE.wall_seconds.tolist()
    others = np.arange(48) != 9
    np.testing.assert_array_equal(found.humidity_pct[others], WHOLE.humidity_pct[others])


def test_a_quoted_header_may_take_two_lines() -> None:
    same(read('Time,"Temp\n°C","RH\n%"\n' + "".join(rows())))


def test_one_bad_row_among_many_is_counted_where_it_stands() -> None:
    lines = rows(hours=2_000)
    lines[1_499] = "sensor unplugged,,\n"
    lines[1_500] = "\n"
    lines[1_501] = f"{stamps('%Y-%m-%d %H:%M', 2_000)[1_501]},12\n"
    found = read(HEAD + "".join(lines))
    assert (found.rows, found.unreadable) == (1_998, 1)
    assert 'line 1501 has "sensor unplugged"' in " ".join(found.said)
    assert np.isnan(found.humidity_pct).sum() == 1


@pytest.mark.parametrize("form", ["%Y-%m-%d %H:%M", "%m/%d/%Y %I:%M %p", "%d %b %Y %H:%M:%S"])
def test_blocks_and_single_rows_read_alike(form: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """What is looked up a block at a time is what row after row would have given."""
    text = HEAD + "".join(rows(form, 24 * 60))
    blocks = read(text)
    monkeypatch.setattr(logger_rows.Rows, "_at_once", lambda self, rows: False)
    single = read(text)
    for name in ("seconds", "wall_seconds", "temperature_c", "humidity_pct"):
        np.testing.assert_array_equal(getattr(blocks, name), getattr(single, name))
    assert blocks.said == single.said
