"""The surface that something is to grow on, as the commands of growth ask for it."""

from __future__ import annotations

from collections.abc import Sequence

import click

from ...engine.sums import growth, growth_race
from ...engine.sums.ground import within
from ...engine.sums.kitchen import plainly
from ...engine.sums.salt_water import water_activity
from .edge import may, needs

TEMPERATURE = needs("--temperature", "°C", "How warm is the cheese?")
ACTIVITY = may("--activity", "", "Water activity of the rind; or give --salt.")
SALT = may("--salt", "%", "Salt in the water of the rind, grams per 100 g of water.")
HUMIDITY = may("--humidity", "%", "Humidity of the air; the rind lies between its salt and the air.")


def chosen(organisms: Sequence[str], usual: Sequence[str]) -> list[growth.Grower]:
    """The organisms named, each once, or the usual ones."""
    return [growth.grower(o) for o in dict.fromkeys(organisms or usual)]


def water(activity: float | None, salt: float | None, humidity: float | None) -> tuple[float, list[str]]:
    """Water activity of a rind from what was given, and what was taken for granted."""
    if activity is not None and salt is not None:
        raise click.UsageError("Give --activity or --salt, not both.")
    said = []
    if salt is not None:
        within("Salt in the rind's moisture", salt, 0, 36, "g to 100 g", "water holds no more")
        aw = water_activity(min(100 * salt / (100 + salt), 26.6))
        said.append(f"water activity {aw:.3f} from {plainly(salt)} g of salt per 100 g of water")
    elif activity is not None:
        aw = activity
    else:
        aw = 0.97
        said.append("water activity 0.97, as of a rind with 5 % salt in its water")
    if humidity is not None:
        low, aw, high = growth_race.rind_water_activity(aw, humidity)
        said.append(f"water activity {aw:.3f}, midway between salt and air ({low:.3f} to {high:.3f}): an estimate")
    return aw, said
