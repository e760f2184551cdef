"""The edge of the sums: units a maker uses, questions for what is missing, and the two ways to print.

A command module takes its options from ``needs`` (asked for when missing) and ``may`` (left at a
default that the screen names), and ends with ``Shown.result``. Pint is opened only for a unit that
is not the plain one.
"""

from __future__ import annotations

import dataclasses
import functools
import json
import re
import sys
import textwrap
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import click

from ...engine.errors import nearest
from ...engine.rounding import six_places
from ...engine.sums.ground import NO_SAFETY, Formula, sources
from ...engine.sums.kitchen import grams as in_grams
from ...engine.sums.kitchen import plainly
from ..context import console, screen_width
from ..pen import Pen

if TYPE_CHECKING:
    AnyParam = click.ParamType[Any]
else:  # not generic before click 8.2
    AnyParam = click.ParamType

SCHEMA = "rindwright-sums/1"
_NUMBER = re.compile(r"\s*([-+−]?\d+(?:[.,]\d+)?)\s*(.*?)\s*$")
_THOUSANDS = re.compile(r"[-+−]?[1-9]\d{0,2},\d{3}")
_IN_WORDS = re.compile(r'"[^"]*"|(-?\d+(?:\.\d+)?)(?: to (-?\d+(?:\.\d+)?))? (°C|kg)(?![\w/]| \()')
# Plain unit: what it is in pint, and the other units a maker may write for it.
_PINT = {"°C": "degC", "%": "percent", "g/L": "g/L", "cm2": "cm**2"}
_WEIGHTS = {"g": "g", "gram": "g", "grams": "g", "kg": "kg", "kilo": "kg", "kilos": "kg", "oz": "oz", "ounce": "oz",
            "ounces": "oz", "lb": "lb", "lbs": "lb", "pound": "lb", "pounds": "lb"}  # fmt: skip
_VOLUMES = {"l": "L", "litre": "L", "litres": "L", "liter": "L", "liters": "L", "dl": "dL", "cl": "cL", "ml": "mL",
            "qt": "quart", "qts": "quart", "quart": "quart", "quarts": "quart", "gal": "gallon", "gallon": "gallon",
            "gallons": "gallon", "pt": "pint", "pint": "pint", "pints": "pint", "cup": "cup", "cups": "cup",
            "floz": "floz", "fl oz": "floz", "fl. oz": "floz"}  # fmt: skip
_SPELLED = {
    "°C": {"c": "degC", "°c": "degC", "deg c": "degC", "celsius": "degC", "f": "degF", "°f": "degF", "deg f": "degF",
           "fahrenheit": "degF", "k": "kelvin"},
    "g": _WEIGHTS | {"mg": "mg"},
    "kg": _WEIGHTS,
    "L": _VOLUMES | {"m3": "m**3", "m³": "m**3"},
    "mL": _VOLUMES | {"tsp": "teaspoon", "tbsp": "tablespoon"},
    "cm": {"cm": "cm", "mm": "mm", "m": "m", "in": "inch", "inch": "inch", "inches": "inch", '"': "inch"},
    "m": {"m": "m", "cm": "cm", "ft": "foot", "feet": "foot"},
    "days": {"d": "day", "day": "day", "days": "day", "h": "hour", "hours": "hour", "w": "week", "week": "week",
             "weeks": "week", "min": "minute"},
    "hours": {"h": "hour", "hour": "hour", "hours": "hour", "min": "minute", "minutes": "minute", "d": "day",
              "day": "day", "days": "day"},
    "%": {"%": "percent", "percent": "percent"},
    "cm2": {"cm2": "cm**2", "cm²": "cm**2", "m2": "m**2", "m²": "m**2", "in2": "inch**2", "sq in": "inch**2"},
    "g/L": {"g/l": "g/L", "oz/gal": "oz/gallon", "lb/gal": "lb/gallon", "oz/qt": "oz/quart"},
}  # fmt: skip


def to_plain(number: float, unit: str, plain: str) -> float:
    """A figure in the plain unit of an argument; ``unit`` is a spelling from the table above.

    Raises ``ValueError`` with one sentence for a unit that does not fit.
    """
    spelled = _SPELLED.get(plain, {plain.casefold(): plain})
    known = unit.casefold().rstrip(".")
    if known not in spelled:
        expected = plain or "a bare number"
        raise ValueError(f'does not know the unit "{unit}"{nearest(known, spelled)}; expected {expected}')
    there, here = spelled[known], _PINT.get(plain, {"days": "day", "hours": "hour"}.get(plain, plain))
    if there == here:
        return number
    return round(float(_registry().Quantity(number, there).to(here).magnitude), 9)


def from_plain(number: float, plain: str, unit: str) -> float:
    """A figure in the plain unit, in another unit of pint's spelling."""
    return float(_registry().Quantity(number, _PINT.get(plain, plain)).to(unit).magnitude)


@functools.cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()


def figure(text: str, plain: str) -> float:
    """A figure as typed, in the plain unit. Raises ``ValueError`` with one sentence."""
    found = _NUMBER.match(text)
    if not found:
        raise ValueError(f'does not take "{text}"; expected a number{f" in {plain}" if plain else ""}')
    if _THOUSANDS.fullmatch(found[1]):
        raise ValueError(f'does not take "{found[1]}": the comma may stand for thousands or for a decimal point')
    number = float(found[1].replace(",", ".").replace("−", "-"))
    if abs(number) > 1e15:
        raise ValueError(f'does not take "{text[:20]}…": no figure of a dairy is so long')
    return to_plain(number, found[2], plain) if found[2] else number


class Quantity(AnyParam):
    """A number with or without a unit, turned into one plain unit."""

    def __init__(self, unit: str = "") -> None:
        self.unit = unit
        self.name = unit or "number"

    def convert(self, value: Any, param: click.Parameter | None, ctx: click.Context | None) -> float:
        """The figure in the plain unit."""
        if isinstance(value, (int, float)):
            return float(value)
        try:
            return figure(str(value), self.unit)
        except ValueError as problem:
            self.fail(f"{problem}.", param, ctx)


class Asked(click.Option):
    """An option that is asked for in plain words when it is missing."""

    def __init__(self, names: Sequence[str], ask: str, give: str = "", **kept: Any) -> None:
        super().__init__(names, help=kept.pop("help", ask), prompt=ask, **kept)
        self._ask = ask
        self._give = give or self.opts[0]

    def prompt_for_value(self, ctx: click.Context) -> Any:
        """Ask on standard error, so that standard output carries the result alone."""
        unit = getattr(self.type, "unit", "")
        _say(self._ask + (f" ({unit})" if unit else ""))
        while True:
            typed = typed_line()
            if typed is None:
                raise click.UsageError(f"{self._ask} Give {self._give}.")
            try:
                return self.type_cast_value(ctx, typed)
            except click.BadParameter as problem:
                _say(f"That {problem.message}")


def _say(text: str, lead: str = "") -> None:
    """A line of a question on standard error, broken between words."""
    wide = screen_width()
    click.echo(textwrap.fill(lead + text, wide, subsequent_indent=" " * len(lead), break_on_hyphens=False), err=True)


def typed_line() -> str | None:
    """A line from standard input that is not empty, or None at its end."""
    while True:
        click.echo("> ", err=True, nl=False)
        line = sys.stdin.readline() if sys.stdin is not None and not sys.stdin.closed else ""
        if line.strip():
            if not sys.stdin.isatty():  # nobody sees what comes through a pipe
                click.echo(line.strip(), err=True)
            return line.strip()
        if not line:
            click.echo(err=True)
            return None


def choose(ask: str, offered: Sequence[tuple[str, str]], otherwise: str) -> str:
    """One of several meanings, by number. Raises ``UsageError`` with ``otherwise`` when nobody answers."""
    _say(ask)
    for k, (_, text) in enumerate(offered, 1):
        _say(text, f"  {k}. ")
    while True:
        typed = typed_line()
        if typed is None:
            raise click.UsageError(otherwise)
        if typed.isdigit() and 1 <= int(typed) <= len(offered):
            return offered[int(typed) - 1][0]
        _say(f"Type a number from 1 to {len(offered)}.")


def needs(name: str, unit: str, ask: str, **kept: Any) -> Callable[[Any], Any]:
    """An option that is asked for when missing."""
    return click.option(name, cls=Asked, ask=ask, type=kept.pop("type", None) or Quantity(unit), **kept)


def may(name: str, unit: str, help: str, default: float | None = None, **kept: Any) -> Callable[[Any], Any]:
    """An option with a default, which the help names."""
    return click.option(name, type=Quantity(unit), default=default, show_default=default is not None, help=help, **kept)


@dataclasses.dataclass(frozen=True, slots=True)
class Shown:
    """How a result is to be printed."""

    as_json: bool
    formula: bool
    us: bool
    no_color: bool

    def result(
        self,
        name: str,
        lines: Sequence[str],
        result: object,
        assumed: Sequence[str] = (),
        caution: bool = False,
    ) -> None:
        """Print a result: ``lines`` for people, or the record itself for machines."""
        plain = _plain(result)
        if self.as_json:
            shape: dict[str, Any] = {"schema": SCHEMA, "sum": name, "result": plain, "assumed": list(assumed)}
            shape["formulas"] = [dataclasses.asdict(f) | {"reference": _reference(f)} for f in formulas_of(result)]
            if caution:
                shape["caution"] = NO_SAFETY
            click.echo(json.dumps(shape, ensure_ascii=False, indent=2))
            return
        pen = Pen(console(self.no_color), screen_width())
        for line in lines:
            pen.item(*_lead(line))
        for line in assumed:
            pen.item("Assumed: ", line)
        if self.formula:
            for f in formulas_of(result):
                pen.item("Formula: ", f"{f.name}: {f.expression}. Holds for {f.valid}. Source: {_reference(f)}")
        if caution:
            pen.item("Caution: ", NO_SAFETY)

    def grams(self, g: float, text: str = "") -> str:
        """A weight as a scale shows it, with ounces when asked for, or pounds from one on."""
        said = text or f"{plainly(g)} g"
        oz = from_plain(g, "g", "oz") if self.us else 0.0
        return f"{said} ({f'{oz / 16:.2f} lb' if oz >= 16 else f'{oz:.2f} oz'})" if self.us else said

    def weight(self, g: float) -> str:
        """A weight rounded as a kitchen can weigh it, with ounces when asked for."""
        return self.grams(g, in_grams(g))

    def litres(self, litres: float, text: str = "") -> str:
        """A volume, with US quarts when asked for, or fluid ounces below a cup."""
        said = text or f"{plainly(litres)} L"
        small = litres < 0.236
        us = from_plain(litres, "L", "floz" if small else "quart") if self.us else 0.0
        return f"{said} ({us:.2f} US {'fl oz' if small else 'qt'})" if self.us else said

    def apart(self, kelvin: float) -> str:
        """How far two temperatures lie apart, with Fahrenheit when asked for."""
        return f"{kelvin:z.1f} °C" + (f" ({kelvin * 1.8:z.1f} °F)" if self.us else "")

    def degrees(self, c: float) -> str:
        """A temperature, with Fahrenheit when asked for."""
        return f"{plainly(c, 4)} °C" + (f" ({from_plain(c, '°C', 'degF'):z.1f} °F)" if self.us else "")

    def span(self, low_c: float, high_c: float) -> str:
        """A span of temperatures, with Fahrenheit when asked for."""
        return self.prose(f"{plainly(low_c, 4)} to {plainly(high_c, 4)} °C")

    def kg(self, kg: float) -> str:
        """A weight in kilograms, with pounds when asked for."""
        return self.grams(1000 * kg, f"{plainly(kg, 4)} kg")

    def prose(self, text: str) -> str:
        """Words with temperatures and kilograms in them, each with °F or pounds behind it when asked for."""

        def both(found: re.Match[str]) -> str:
            if not found[1]:  # a name in quotes stays as it is
                return found[0]
            plain, unit, sign, digits = ("°C", "degF", "°F", 3) if found[3] == "°C" else ("kg", "lb", "lb", 2)
            ends = [plainly(from_plain(float(n), plain, unit), digits) for n in (found[1], found[2]) if n]
            return f"{found[0]} ({' to '.join(ends)} {sign})"

        return _IN_WORDS.sub(both, text) if self.us else text


def shown(command: Callable[..., None]) -> Callable[..., None]:
    """The four options every sum has, handed on as one ``Shown``."""

    @click.option("--json", "as_json", is_flag=True, help="Print the result as JSON.")
    @click.option("--formula", is_flag=True, help="Print the formula, where it holds, and its source.")
    @click.option("--us", is_flag=True, help="Add °F, ounces and US quarts.")
    @click.option("--no-color", is_flag=True, help="No colour and no bold.")
    @functools.wraps(command)
    def run(*, as_json: bool, formula: bool, us: bool, no_color: bool, **given: Any) -> None:
        command(Shown(as_json, formula, us, no_color), **given)

    return run


def formulas_of(result: object) -> list[Formula]:
    """Every formula a record stands on, once, in the order of its fields."""
    found: dict[str, Formula] = {}

    def look(thing: object) -> None:
        if isinstance(thing, Formula):
            found.setdefault(thing.id, thing)
        elif dataclasses.is_dataclass(thing) and not isinstance(thing, type):
            for f in dataclasses.fields(thing):
                look(getattr(thing, f.name))
        elif isinstance(thing, (tuple, list)):
            for one in thing:
                look(one)
        elif isinstance(thing, Mapping):
            for one in thing.values():
                look(one)

    look(result)
    return list(found.values())


def _plain(thing: object) -> Any:
    """A record for JSON: formulas by id, figures to six places."""
    if isinstance(thing, Formula):
        return thing.id
    if dataclasses.is_dataclass(thing) and not isinstance(thing, type):
        return {f.name: _plain(getattr(thing, f.name)) for f in dataclasses.fields(thing)}
    if isinstance(thing, (tuple, list)):
        return [_plain(one) for one in thing]
    if isinstance(thing, Mapping):
        return {str(key): _plain(one) for key, one in thing.items()}
    return six_places(thing) if isinstance(thing, float) else thing


def _reference(formula: Formula) -> str:
    known = sources()
    named = [known[id] for id in (formula.source, *formula.also)]
    return "; ".join(f"{s.reference} ({s.checked})" for s in named)


def _lead(line: str) -> tuple[str, str]:
    return ("- ", line[2:]) if line.startswith("- ") else ("", line)
