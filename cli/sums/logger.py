"""``rindwright sums logger``: what a climate logger recorded, in words, lines and a picture."""

from __future__ import annotations

import sys
from collections.abc import Sequence
from io import BytesIO
from pathlib import Path
from typing import Any, BinaryIO

import click

from ...engine.errors import FileProblem
from ...engine.sums import growth, logger
from ...engine.sums.air_wheel import usual_time_constant_h
from ...engine.sums.kitchen import plainly
from ...engine.sums.logger_facts import equivalent_hours, log_facts, part_of
from ...engine.sums.logger_reading import Log, Reading, read_log
from ...engine.sums.logger_record import Bands, LogFacts, OutOfBand
from ...engine.sums.logger_stamps import day_of, stamp
from ..context import screen_width
from ..logger_options import how_to_read, reading_options
from .chart import span
from .edge import AnyParam, Asked, Quantity, Shown, may, shown
from .picture import check_free, draw

SIZE_CAP = 1_000_000_000
_ROWS = 28
_BUCKETS_H = (1 / 6, 0.5, 1, 2, 3, 6, 12, 24, 48, 168, 336, 720, 2160, 8760)


class Day(AnyParam):
    """A date, turned into days since 1970."""

    name = "date"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> int:
        """The day."""
        try:
            return value if isinstance(value, int) else day_of(str(value))
        except ValueError as problem:
            self.fail(f"{problem}.", param, ctx)


def opened_file(file: str, how: Reading) -> Log:
    """The log in a named file; standard input is for the answers. Raises ``FileProblem``."""
    if file == "-":
        raise FileProblem("A log cannot come through standard input here; expected the name of its file.")
    return opened(file, how)


def opened(file: str, how: Reading) -> Log:
    """The log in a file, or on standard input for ``-``. Raises ``FileProblem``."""
    if file == "-":
        if sys.stdin is None or sys.stdin.closed:
            raise FileProblem("Standard input is closed; expected a logger's CSV on it.")
        data = sys.stdin.buffer.read(SIZE_CAP + 1)
        return _capped(BytesIO(data), len(data), "standard input", how)
    path = Path(file)
    try:
        with path.open("rb") as stream:
            return _capped(stream, path.stat().st_size, file, how)
    except IsADirectoryError:
        raise FileProblem(f"{file} is a folder; expected a logger's CSV file.") from None
    except FileNotFoundError:
        raise FileProblem(f"{file} does not exist.") from None
    except OSError as problem:
        raise FileProblem(f"{file} cannot be read: {problem.strerror or 'unknown error'}.") from None


def _capped(stream: BinaryIO, size: int, name: str, how: Reading) -> Log:
    if size > SIZE_CAP:
        raise FileProblem(f"{name} is larger than {SIZE_CAP // 10**6} MB; export a shorter period.")
    return read_log(stream, name, how)


@click.command("logger")
@click.argument("file", required=False)
@may("--cold", "°C", "Lower limit of temperature.", logger.SMEAR_BANDS.low_c)
@may("--warm", "°C", "Upper limit of temperature.", logger.SMEAR_BANDS.high_c)
@may("--dry", "%", "Lower limit of humidity.", logger.SMEAR_BANDS.low_pct)
@may("--moist", "%", "Upper limit of humidity.", logger.SMEAR_BANDS.high_pct)
@may("--weight", "kg", "What a cheese weighs, for sweating.", 2.0)
@click.option("--salted", type=Day(), help="Day salting ended, 2025-03-01: shows the weeks of the cheese's age.")
@may("--last", "days", "Only the last days of the log.")
@click.option(
    "--salt-check",
    "checks",
    type=(Day(), str, Quantity("%")),
    multiple=True,
    metavar="DATE SALT READING",
    help="The logger held over a salt on a day: 2025-03-01 KCl 88.1. Puts humidity right; two days show drift.",
)
@click.option("--organism", default="debaryomyces_hansenii", show_default=True, help="For equivalent hours.")
@may("--reference", "°C", "Temperature of equivalent hours.", 12.0)
@click.option("--picture", metavar="FILE.svg", help="Also draw it into a new SVG file.")
@click.option("--no-plot", is_flag=True, help="No drawing in lines of text.")
@reading_options
@shown
def command(
    screen: Shown,
    file: str | None,
    cold: float,
    warm: float,
    dry: float,
    moist: float,
    weight: float,
    salted: int | None,
    last: float | None,
    checks: tuple[tuple[int, str, float], ...],
    organism: str,
    reference: float,
    picture: str | None,
    no_plot: bool,
    **told: Any,
) -> None:
    """Read a climate logger's CSV FILE (- for standard input): time out of band, swings, sweating, gaps."""
    if file is None:
        option = Asked(["--file"], ask="Which CSV file did the logger write?", give="it after the command", type=str)
        file = str(option.prompt_for_value(click.get_current_context()))
    if picture:
        check_free(Path(picture))
    bands = Bands(cold, warm, dry, moist).checked()
    one = growth.grower(organism)
    log = checked(opened(file, how_to_read(told)), checks)
    facts = log_facts(log, bands, usual_time_constant_h(weight), salted, last)
    kept, _ = part_of(log, salted, last)
    minimum, optimum, maximum = (one.figures[f"T_{end}"].value for end in ("min", "opt", "max"))
    equal = equivalent_hours(kept, reference, minimum, optimum, maximum) if kept.has_temperature else None
    lines = _summary(screen, facts) + _weeks(facts)
    if equal is not None:
        guessed = any(one.figures[f"T_{end}"].estimate for end in ("min", "opt", "max"))
        lines.append(
            f"For {one.name} it comes to {equal.hours:.0f} hours at {screen.degrees(reference)}"
            + (" (its figures are partly estimates)." if guessed else ".")
        )
    lines += [f"Note: {screen.prose(said)}" for said in (*log.said, *facts.said)]
    if not no_plot:
        lines += plot(kept, bands, screen.us)
    if picture:
        draw(Path(picture), kept, facts)
        lines.append(f"Picture: {picture}")
    result = {
        "file": log.name,
        "from": stamp(facts.from_wall_s),
        "to": stamp(facts.to_wall_s),
        "columns": {
            "time": log.layout.header[log.layout.date],
            "temperature": _column(log, log.layout.temperature),
            "humidity": _column(log, log.layout.humidity),
        },
        "said": [*log.said, *facts.said],
        "facts": facts,
        "equivalent": equal,
    }
    assumed = [
        f"in band is {screen.degrees(cold)} to {screen.degrees(warm)} and {plainly(dry, 4)} to {plainly(moist, 4)} %",
        f"a cheese of {screen.kg(weight)} follows the air with a time constant of {facts.wheel_hours:.1f} hours",
    ]
    screen.result("logger", lines, result, assumed, caution=True)


def checked(log: Log, checks: Sequence[tuple[int, str, float]]) -> Log:
    """The log put right by salt checks, each at the log's own mean temperature."""
    if not checks:
        return log
    import numpy as np

    jar_c = float(np.nanmean(log.temperature_c)) if log.has_temperature else 12.0
    return logger.corrected(log, [logger.salt_check(day, salt, reading, jar_c) for day, salt, reading in checks])


def _column(log: Log, k: int | None) -> str | None:
    return None if k is None else log.layout.header[k]


def _summary(screen: Shown, f: LogFacts) -> list[str]:
    lines = [
        f"{stamp(f.from_wall_s)} to {stamp(f.to_wall_s)}: {_several(f.readings, 'reading')}"
        + (f", one in {_hours(f.step_h)}." if f.step_h else "."),
    ]
    if f.before_salting:
        lines.append(f"- {f.before_salting} readings from before salting ended are left out")
    if f.gaps:
        missing = f"{_several(f.gaps, 'gap')}, {_hours(f.missing_h)} missing"
        lines.append(f"- {missing}; the longest step is {_hours(f.longest_gap_h)}")
    if f.temperature is not None and f.mean_c is not None and f.low_c is not None and f.high_c is not None:
        lines.append(
            f"Temperature: {screen.degrees(round(f.mean_c, 1))} on average, {screen.degrees(f.low_c)} to "
            f"{screen.degrees(f.high_c)}."
        )
        lines += _band(f.temperature, "too cold", "too warm", screen.span(f.bands.low_c, f.bands.high_c))
    if f.humidity is not None and f.mean_pct is not None and f.low_pct is not None and f.high_pct is not None:
        lines.append(f"Humidity: {f.mean_pct:.1f} % on average, {plainly(f.low_pct, 4)} to {plainly(f.high_pct, 4)} %.")
        between = f"{plainly(f.bands.low_pct, 4)} to {plainly(f.bands.high_pct, 4)} %"
        lines += _band(f.humidity, "too dry", "too moist", between)
    swings = [s for s in f.swings if (s.temperature_k or 0) >= 3 or (s.humidity_pct or 0) >= 8]
    swing = "3 °C (5.4 °F)" if screen.us else "3 °C"
    if f.swings:
        lines.append(
            f"Swings of {swing} or 8 % within a day: on {len(swings)} of {_several(len(f.swings), 'full day')}."
        )
    if f.humidity is not None and f.temperature is not None:
        if f.episodes:
            lines.append(
                f"Sweating: {_several(len(f.episodes), 'spell')}, {_hours(f.sweating_h)} with the cheese below the dew "
                f"point, {_hours(f.sweating_by_night_h)} of them at night."
            )
            worst = max(f.episodes, key=lambda e: (e.hours, -e.start_wall_s))
            lines.append(f"- The longest began {stamp(worst.start_wall_s)} and lasted {_hours(worst.hours)}")
        else:
            lines.append("Sweating: none.")
        if f.highest_dew_point_c is not None:
            lines.append(
                f"Highest dew point: {screen.degrees(round(f.highest_dew_point_c, 1))}. What was colder turned wet."
            )
    return lines


def _band(found: OutOfBand, below: str, above: str, between: str) -> list[str]:
    total = found.below_h + found.within_h + found.above_h
    lines = [f"- {between}: {_hours(found.within_h)} of {_hours(total)}"]
    for what, hours, by_day in (
        (below, found.below_h, found.below_by_day_h),
        (above, found.above_h, found.above_by_day_h),
    ):
        if hours:
            lines.append(f"- {what}: {_hours(hours)}, {_hours(by_day)} of them by day (7 to 19 h)")
    return lines


def _weeks(f: LogFacts) -> list[str]:
    lines = ["By age of the cheese:"] if f.weeks else []
    for w in f.weeks:
        out = [
            f"{what} {_hours(hours)}"
            for what, hours in (
                ("too cold", w.cold_h), ("too warm", w.warm_h), ("too dry", w.dry_h), ("too moist", w.moist_h),
                ("sweating", w.sweating_h),
            )
            if hours
        ]  # fmt: skip
        lines.append(f"- Day {w.from_day} to {w.to_day}, {_hours(w.hours)}: {', '.join(out) or 'always in band'}")
    return lines


def plot(log: Log, bands: Bands, us: bool = False) -> list[str]:
    """Lowest to highest of temperature (in °F for US units) and humidity, a line to each stretch of time."""
    import numpy as np

    span_h = max(float(log.seconds[-1] - log.seconds[0]) / 3600, 1e-9)
    each = next((b for b in _BUCKETS_H if span_h / b <= _ROWS), span_h / _ROWS)
    place = (log.wall_seconds / 3600 // each).astype(int)
    single = len(np.unique(place)) == len(place)
    width = screen_width()
    lines = []
    for what, values, low, high, unit in (
        ("Temperature", log.temperature_c, bands.low_c, bands.high_c, "°C"),
        ("Humidity", log.humidity_pct, bands.low_pct, bands.high_pct, "%"),
    ):
        if us and unit == "°C":
            values, low, high, unit = values * 1.8 + 32, low * 1.8 + 32, high * 1.8 + 32, "°F"
        known = values[np.isfinite(values)]
        if not len(known):
            continue
        left, right = min(low, float(known.min())), max(high, float(known.max()))
        lines.append(
            f"{what}, {_hours(each)} a line, from {plainly(left, 4)} to {plainly(right, 4)} {unit}; colons at "
            f"{plainly(low, 4)} and {plainly(high, 4)}:"
        )
        for k in range(int(place[0]), int(place[-1]) + 1):
            here = values[place == k]
            here = here[np.isfinite(here)]
            when = stamp(int(k * each * 3600))
            when = when[5:] if each < 24 else when[:10]
            if not len(here):
                lines.append(f"{when} no reading")
                continue
            a, b = float(here.min()), float(here.max())
            head = f"{when} {a:z04.1f} " + ("" if single else f"to {b:z04.1f} ")
            lines.append(head + "|" + span(a, b, left, right, (low, high), max(8, width - len(head) - 2)) + "|")
    return lines


def _hours(hours: float) -> str:
    if hours < 1:
        return _several(round(hours * 60), "minute")
    return f"{plainly(hours, 4)} hour{'' if hours == 1 else 's'}" if hours < 1000 else f"{hours:.0f} hours"


def _several(number: int, what: str) -> str:
    return f"{number} {what}{'' if number == 1 else 's'}"
