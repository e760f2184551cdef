"""The same readings written any way a logger writes them must give the same log; and nothing may crash it."""

from __future__ import annotations

import io
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st
from rindwright.engine.errors import FileProblem
from rindwright.engine.sums.logger_columns import Wanted
from rindwright.engine.sums.logger_facts import log_facts
from rindwright.engine.sums.logger_reading import Log, Reading, read_log
from rindwright.engine.sums.logger_record import Bands
from rindwright.engine.sums.logger_stamps import day_of

EXAMPLE = (Path(__file__).parent / "logger_example.csv").read_text()
ROWS = [line.split(",")[:3] for line in EXAMPLE.splitlines()[1:]]


def read(text: str | bytes, **how: object) -> Log:
    return read_log(io.BytesIO(text if isinstance(text, bytes) else text.encode()), "log.csv", Reading(**how))  # type: ignore[arg-type]


PLAIN = read(EXAMPLE)


def _date(stamp: str, form: str) -> str:
    year, month, day, hour, minute = stamp[:4], stamp[5:7], stamp[8:10], int(stamp[11:13]), stamp[14:16]
    names = ["Jan", "Feb", "Mar"]
    half = f"{hour % 12 or 12}:{minute} {'AM' if hour < 12 else 'PM'}"
    return {
        "iso": f"{year}-{month}-{day}T{hour:02d}:{minute}:00Z",
        "space": f"{year}-{month}-{day} {hour:02d}:{minute}",
        "slashes": f"{year}/{month}/{day} {hour:02d}:{minute}:00.000",
        "dots": f"{day}.{month}.{year} {hour:02d}:{minute}",
        "short": f"{day}.{month}.{year[2:]} {hour}:{minute}",
        "named": f"{day} {names[int(month) - 1]} {year} {hour:02d}:{minute}",
        "american": f"{names[int(month) - 1]} {int(day)}, {year} {half}",
        "half": f"{year}-{month}-{day} {half.replace(' ', '').lower()}",
        "offset": f"{year}-{month}-{day}T{hour:02d}:{minute}+00:00",
        "epoch": str(int(np.array(f"{year}-{month}-{day}T{hour:02d}:{minute}", "M8[s]").astype(int))),
    }[form]


HEADERS = [
    ("timestamp", "temperature", "humidity"),
    ("Date Time, GMT+00:00", "Temp, {u}", "RH, %"),
    ("Zeitstempel", "Temperatur [{u}]", "rel. Luftfeuchtigkeit [%]"),
    ("Datum/Zeit", "Temp. ({u})", "Feuchte %rF"),
    ("Horodatage", "Température ({u})", "Humidité relative (%)"),
    ("Date et heure", "Temp {u}", "HR %"),
    ("Data e ora", "Temperatura {u}", "Umidità %UR"),
    ("Fecha y hora", "Temperatura ({u})", "Humedad relativa"),
    ("Tijdstip", "Temperatuur {u}", "Luchtvochtigheid %"),
    ("Tidpunkt", "Temperatur {u}", "Luftfuktighet %"),
    ("Czas", "Temperatura {u}", "Wilgotność [%]"),
]


def written(
    form: str = "space",
    delimiter: str = ";",
    comma: bool = False,
    fahrenheit: bool = False,
    header: int = 0,
    preface: int = 0,
    end: str = "\n",
    extra: bool = False,
    suffix: bool = False,
    reverse: bool = False,
    swap: bool = False,
) -> str:
    unit = "°F" if fahrenheit else "°C"
    names = [n.replace("{u}", unit) for n in HEADERS[header]]
    if "°" not in names[1]:
        names[1] += f" {unit}"
    lines = [f"Logger {k}: kept in the cave" for k in range(preface)]
    rows = [names]
    for stamp, t, h in ROWS[::-1] if reverse else ROWS:
        value = f"{float(t) * 1.8 + 32:.2f}" if fahrenheit else t
        cells = [_date(stamp, form), value + (f" {unit}" if suffix else ""), h + (" %" if suffix else "")]
        rows.append([cells[0], *(c.replace(".", ",") if comma else c for c in cells[1:])])
    out = []
    for row in rows:
        if swap:
            row = [row[0], row[2], row[1]]
        if extra:
            row = ["7", *row, "Taupunkt °C" if row is rows[0] else "9.9"]
        out.append(delimiter.join(f'"{c}"' if delimiter in c else c for c in row))
    if extra:
        first = preface
        out[0] = out[0].replace("7", "Nr", 1) if out[0].startswith("7") else out[0]
        del first
    return end.join(lines + out) + end


def same(found: Log) -> None:
    assert len(found) == len(PLAIN)
    np.testing.assert_array_equal(found.seconds, PLAIN.seconds)
    np.testing.assert_array_equal(found.wall_seconds, PLAIN.wall_seconds)
    np.testing.assert_allclose(found.temperature_c, PLAIN.temperature_c, rtol=0, atol=1e-9)
    np.testing.assert_array_equal(found.humidity_pct, PLAIN.humidity_pct)


FORMS = ["iso", "space", "slashes", "dots", "short", "named", "american", "half", "offset", "epoch"]


@settings(max_examples=150)
@given(
    st.sampled_from(FORMS),
    st.sampled_from([";", "\t", ",", "|"]),
    st.booleans(),
    st.booleans(),
    st.integers(0, len(HEADERS) - 1),
    st.integers(0, 3),
    st.sampled_from(["\n", "\r\n"]),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.booleans(),
    st.sampled_from(["utf-8", "utf-8-sig", "utf-16", "latin-1"]),
)
def test_the_same_readings_written_otherwise_are_the_same_log(
    form: str, delimiter: str, comma: bool, fahrenheit: bool, header: int, preface: int, end: str, extra: bool,
    suffix: bool, reverse: bool, swap: bool, encoding: str,
) -> None:  # fmt: skip
    text = written(form, delimiter, comma, fahrenheit, header, preface, end, extra, suffix, reverse, swap)
    same(read(text.encode(encoding, errors="replace")))


def test_facts_do_not_change_with_the_unit() -> None:
    bands = Bands(11, 13, 88, 95)
    celsius = log_facts(read(written()), bands)
    assert log_facts(read(written(fahrenheit=True, comma=True)), bands) == celsius


def test_date_and_time_in_columns_of_their_own() -> None:
    text = "Datum;Uhrzeit;Temperatur °C;Feuchte %\n" + "".join(
        f"{s[8:10]}.{s[5:7]}.{s[:4]};{s[11:16]};{t};{h}\n" for s, t, h in ROWS
    )
    same(read(text))
    same(read(text.replace("Datum;Uhrzeit", "Date;Heure")))


def test_units_may_stand_in_a_row_below_the_header() -> None:
    text = "time;temperature;humidity\n;°F;%\n" + "".join(
        f"{s[:16]};{float(t) * 1.8 + 32:.2f};{h}\n" for s, t, h in ROWS
    )
    same(read(text))


def test_slashed_dates_are_settled_by_the_file_or_refused() -> None:
    head = "time;temperature °C;humidity %\n"
    days = [
        head + "".join(f"{d:02d}/03/2025 {h:02d}:00;12;92\n" for d in range(1, n) for h in range(24)) for n in (4, 15)
    ]
    for text in days:
        found = read(text)
        assert found.wall_seconds[0] == day_of("2025-03-01") * 86_400
        assert found.wall_seconds[24] == day_of("2025-03-02") * 86_400
    assert any("day first" in s for s in read(days[0]).said)
    single = head + "03/04/2025 00:00;12;92\n03/04/2025 01:00;12;92\n"
    with pytest.raises(FileProblem, match="--date-order dmy or --date-order mdy"):
        read(single)
    with pytest.raises(FileProblem, match="another order than named, such as 13/3/2025"):
        read(days[1], date_order="mdy")
    with pytest.raises(FileProblem, match="the day first in some dates and the month in others"):
        read(head + "25/03/2025 00:00;12;92\n03/26/2025 00:00;12;92\n")
    assert read(single, date_order="dmy").wall_seconds[0] == day_of("2025-04-03") * 86_400
    assert read(single, date_order="mdy").wall_seconds[0] == day_of("2025-03-04") * 86_400


def test_holes_faults_repeats_and_disorder_are_told_and_nothing_is_dropped_in_silence() -> None:
    text = (
        "time;temperature °C;humidity %\n"
        "2025-03-01 00:00;12,0;91\n"
        "2025-03-01 01:00;---;92\n"
        "2025-03-01 02:00;85,0;120\n"
        "2025-03-01 02:00;85,0;120\n"
        "2025-03-01 03:00;12,0;broken\n"
        "yesterday;12,0;91\n"
        "2025-03-01 05:00;12,0;91\n"
        "2025-03-01 04:00;12,5;91\n"
        "2025-03-01 05:00;12,1;91\n"
        "2025-03-01 06:00\n"
        "\n"
        "end of record;;\n"
    )
    found = read(text)
    assert len(found) == 7
    assert (found.rows, found.duplicates, found.unreadable, found.faults) == (9, 2, 2, 4)
    assert np.isnan(found.temperature_c).tolist() == [False, True, True, False, False, False, True]
    told = " ".join(found.said)
    for words in (
        '2 rows without a time that can be read; line 7 has "yesterday"',
        '"broken" and the like',
        "4 values beyond -20 to 60 °C or 0 to 105 %",
        "out of order, first at 2025-03-01 04:00",
        "2 readings for a time that was there already; 1 of them differ",
    ):
        assert words in told


def _hours(stamps: list[str]) -> str:
    return "time;temperature °C;humidity %\n" + "".join(f"{s};12;92\n" for s in stamps)


def test_the_end_of_summer_time_is_told_with_and_without_a_zone() -> None:
    stamps = [f"2025-10-26 {h}" for h in ("00:00", "01:00", "02:00", "02:00", "03:00", "04:00")]
    bare = read(_hours(stamps))
    placed = read(_hours(stamps), zone="Europe/Paris")
    for found in (bare, placed):
        assert len(found) == 6
        assert np.diff(found.seconds).tolist() == [3600] * 5
        assert any("clock went back an hour" in s for s in found.said)
    assert placed.seconds[0] == day_of("2025-10-25") * 86_400 + 22 * 3600


def test_the_start_of_summer_time_is_a_gap_only_without_a_zone() -> None:
    stamps = [f"2025-03-30 {h}" for h in ("00:00", "01:00", "03:00", "04:00")]
    bare = read(_hours(stamps))
    assert np.diff(bare.seconds).tolist() == [3600, 7200, 3600]
    assert any("An hour is missing before 2025-03-30 03:00" in s for s in bare.said)
    placed = read(_hours(stamps), zone="Europe/Paris")
    assert np.diff(placed.seconds).tolist() == [3600] * 3
    skipped = read(_hours(["2025-03-30 01:00", "2025-03-30 02:30"]), zone="Europe/Paris")
    assert any("zone skips" in s for s in skipped.said)


def test_a_clock_in_utc_is_moved_to_the_place() -> None:
    found = read(EXAMPLE, zone="America/New_York")
    np.testing.assert_array_equal(found.seconds, PLAIN.seconds)
    assert (found.wall_seconds - found.seconds == -5 * 3600).all()
    shifted = read("time (UTC+02:00);°C;%\n2025-03-01 02:00;12;91\n")
    assert shifted.seconds[0] == day_of("2025-03-01") * 86_400


def test_columns_are_chosen_and_can_be_named() -> None:
    text = "time;Alarm temp °C;Temp 1 °C;Temp 2 °C;Humidity %;Dew point °C\n2025-03-01 00:00;30;12;14;91;10\n"
    found = read(text)
    assert found.temperature_c.tolist() == [12]
    assert any('"Temp 1 °C" is read' in s for s in found.said)
    assert read(text, columns=Wanted(temperature="temp 2")).temperature_c.tolist() == [14]
    assert read(text, columns=Wanted(temperature="4")).temperature_c.tolist() == [14]
    wordy = read("Timestamp every 1 min;Temperature_Celsius(A);Relative_Humidity(A)\n2025-03-01 00:00;12;91\n")
    assert (wordy.temperature_c.tolist(), wordy.humidity_pct.tolist()) == ([12], [91])
    weak = read("when;Kanal A °C;Kanal B %;time\n1;12;91;2025-03-01 00:00\n")
    assert (weak.temperature_c.tolist(), weak.humidity_pct.tolist()) == ([12], [91])


@pytest.mark.parametrize(
    "name", ["hum", "Hum", "rh", "RH", "RH_pct", "rh%", "rhum", "RelHum", "humidity", "Humidité", "Moisture", "umidità"]
)
def test_humidity_is_known_by_its_usual_names(name: str) -> None:
    found = read(f"time,temp,{name}\n2025-03-01 00:00,12,91\n2025-03-01 01:00,12,90\n")
    assert found.humidity_pct.tolist() == [91, 90]
    assert not any("Not read" in s for s in found.said)


def test_columns_that_are_left_out_are_named() -> None:
    found = read("time,temp,wert,battery V\n2025-03-01 00:00,12,91,3\n")
    assert 'Not read: "wert" and "battery V". If one of them is the humidity, name it: --humidity-column NAME.' in (
        found.said
    )
    found = read("time,rh,humidex\n2025-03-01 00:00,91,15\n")
    assert found.humidity_pct.tolist() == [91]
    assert 'Not read: "humidex". If one of them is the temperature, name it: --temperature-column NAME.' in found.said
    both = read("time;°C;%;dew point\n2025-03-01 00:00;12;91;10\n")
    assert 'Not read: "dew point".' in both.said
    many = read("time;°C;%;" + ";".join(f"s{k}" for k in range(30)) + "\n2025-03-01 00:00;12;91" + ";1" * 30 + "\n")
    assert 'Not read: "s0", "s1", "s2", "s3", "s4", "s5" and 24 more.' in many.said
    assert not any("Not read" in s for s in read("time;°C;%\n2025-03-01 00:00;12;91\n").said)


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        ("", "is empty"),
        ("\n\n", "is empty"),
        ("a,b\n1,2\n", 'The file begins: "a,b"'),
        ("time;temperature °C\n", "no row below the header has a time"),
        ("time;temperature °C\nsoon;12\n", 'line 2 has "soon", expected one such as 2025-03-01 14:30'),
        ("time;temperature °C\nsoon;12\nlater;12\n2025-03-01 00:00;12\n", "most rows have no time"),
        ("time,temp °C,humidity %\n2025-03-01 00:00,12,5,91,0\n", "the comma seems to part columns and decimals alike"),
        ("time;temp\n2025-03-01 00:00;54\n", "Say which: --unit C or --unit F"),
        ("time;rh\n2025-03-01 00:00;0.92\n", "seems to be a share"),
        ("time;temp °C\n2025-03-01T00:00Z;12\n2025-03-01T01:00;12\n", "some times name an offset"),
        (b"PK\x03\x04rest", "is a workbook or an archive"),
        (b"time\x00;", "is a binary file"),
        ("time;temp °C\n32/13/2025 00:00;12\n", "no row below the header"),
        ("time;temp °C\n1850-01-01 00:00;12\n", "no row below the header"),
    ],
)
def test_one_sentence_each(text: str | bytes, sentence: str) -> None:
    with pytest.raises(FileProblem) as problem:
        read(text)
    assert sentence in str(problem.value)
    assert "\n" not in str(problem.value)


def test_a_zone_that_is_none() -> None:
    for zone in ("Europe/Nowhere", "../x", "Europe"):
        with pytest.raises(FileProblem, match="There is no zone"):
            read(EXAMPLE, zone=zone)


def _survives(text: bytes) -> None:
    try:
        found = read(text)
        facts = log_facts(found, Bands(10, 16, 90, 95), salted_day=None)
    except FileProblem as problem:
        assert str(problem)  # noqa: PT017
    else:
        assert facts.readings == len(found) > 0


@settings(max_examples=150)
@given(st.binary(max_size=200))
@example(b'time;temp\n"2025-03-01 00:00;12')
@example("time;temp °C\n2025-03-01 00:00;1e999\n".encode())
@example("time;temp °C\n2025-02-30 00:00;12\n2025-03-01 24:00;12\n".encode())
def test_any_bytes_give_a_log_or_a_sentence(text: bytes) -> None:
    _survives(text)


cells = st.one_of(
    st.text(st.characters(exclude_categories=("Cs",)), max_size=6),
    st.sampled_from(["2025-03-01 00:00", "01.03.2025 02:00", "03/04/25 1:00 PM", "2025-03-01T00:00Z", "1740787200",
                     "12,5", "91", "-", "12 °C", "53 °F", "1e308", "99999999999999", "2025-10-26 02:00"]),
)  # fmt: skip


@settings(max_examples=200)
@given(st.lists(st.lists(cells, max_size=5), max_size=8), st.sampled_from(";,\t|"), st.integers(0, len(HEADERS) - 1))
def test_any_cells_below_a_header_give_a_log_or_a_sentence(rows: list[list[str]], delimiter: str, header: int) -> None:
    head = delimiter.join(n.replace("{u}", "°C").replace(delimiter, " ") for n in HEADERS[header])
    _survives("\n".join([head, *(delimiter.join(row) for row in rows)]).encode())


@settings(max_examples=60)
@given(st.data())
def test_a_log_with_bytes_knocked_about_gives_a_log_or_a_sentence(data: st.DataObject) -> None:
    text = bytearray(written(comma=True).encode())
    for _ in range(data.draw(st.integers(1, 6))):
        text[data.draw(st.integers(0, len(text) - 1))] = data.draw(st.integers(0, 255))
    _survives(bytes(text))


def test_reading_never_closes_the_stream_it_was_given() -> None:
    stream = io.BytesIO(EXAMPLE.encode())
    read_log(stream, "log.csv")
    assert not stream.closed


Check = Callable[[], None]
