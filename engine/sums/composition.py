"""What a cheese is made of: salt in its moisture, firmness classes, water activity from composition.

All shares are percent of the cheese by weight unless a name says otherwise.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cache

from .ground import Formula, OutOfRange, table, within
from .salt_water import NACL_G_PER_MOL

INDICES = Formula(
    "composition_indices",
    "Composition of cheese",
    "S/M = 100·salt/moisture; MFFB = 100·moisture/(100 − fat); FDM = 100·fat/(100 − moisture); "
    "m = 1000·salt/(58.443·moisture)",
    "any cheese; some texts take salt/(salt + moisture) instead, given apart",
    "definition",
)
CLASSES = Formula(
    "firmness_classes",
    "Firmness by moisture on the fat-free basis",
    "Codex CXS 283 (bands overlap on purpose), its older text A-6, and EU 97/80",
    "cheese other than fresh or whey cheese",
    "codex_283",
    ("codex_a6", "eu_97_80"),
)
MARCOS = Formula(
    "aw_marcos", "Water activity by salt alone (Marcos)", "a_w = 1 − 0.033·m", "moisture above about 40 %",
    "marcos_1981",
)  # fmt: skip
UNRIPE = Formula(
    "aw_unripe", "Water activity of unripe cheese", "a_w = 0.9719 − 0.0044·S + 0.0041·pH, S g salt to 100 g moisture",
    "fresh curd and unripe cheese; within 0.005 for 87 % of samples", "aw_unripe_1990",
)  # fmt: skip
MOULD_RIPENED = Formula(
    "aw_mould_ripened", "Water activity of mould-ripened cheese",
    "a_w = 1.0058 − 0.0045·ash − 0.0107·NPN, g to 100 g moisture", "20 °C; within 0.005 for 73 % of samples",
    "aw_mould_ripened",
)  # fmt: skip
PROCESSED = Formula(
    "aw_processed", "Water activity of processed cheese", "a_w = 0.9951 − 0.0032·ash, g to 100 g moisture",
    "processed cheese", "aw_processed",
)  # fmt: skip
AFTER_LOSS = Formula(
    "after_loss", "Composition after weight loss", "M = 100 − (100 − M₀)·W₀/W; salt = salt₀·W₀/W",
    "dry matter kept; what breathes away is left out, so real loss of water is slightly more", "definition",
)  # fmt: skip
SODIUM = Formula(
    "salt_from_sodium", "Salt from the sodium on a label", "salt = 2.5421·sodium",
    "sodium that came with salt; melting salts and additives bring some of their own", "definition",
)  # fmt: skip
SALT_PER_SODIUM = 2.5421
_WHY_MOISTURE = "cheese holds from about 25 to 80 % water"


@dataclass(frozen=True, slots=True)
class Composition:
    """Figures that follow from moisture, fat and salt."""

    salt_in_moisture: float
    """Grams of salt to 100 g of water."""
    salt_pct_of_brine_phase: float
    """Grams of salt in 100 g of salt and water together."""
    nacl_molality: float
    moisture_fat_free_pct: float | None
    """MFFB, also called MNFS; None when the fat is not known."""
    fat_in_dry_matter_pct: float | None
    codex_classes: tuple[str, ...]
    codex_older_classes: tuple[str, ...]
    eu_class: str
    fat_class: str
    formula: Formula = INDICES
    classes_formula: Formula = CLASSES


@dataclass(frozen=True, slots=True)
class Activity:
    """A water activity worked out from composition, and how far it may be off."""

    water_activity: float
    plus_or_minus: float
    note: str
    formula: Formula


@dataclass(frozen=True, slots=True)
class Lost:
    """Moisture and salt after a loss of weight."""

    moisture_pct: float
    salt_pct: float
    loss_pct: float
    formula: Formula = AFTER_LOSS


@cache
def _bands() -> dict[str, tuple[tuple[str, float, float], ...]]:
    found: dict[str, list[tuple[str, float, float]]] = {}
    for r in table("firmness_classes"):
        low = float(r["lower_pct"]) if r["lower_pct"] else -math.inf
        high = float(r["upper_pct"]) if r["upper_pct"] else math.inf
        found.setdefault(r["scheme"], []).append((r["class"], low, high))
    return {scheme: tuple(rows) for scheme, rows in found.items()}


def firmness(mffb_pct: float, scheme: str = "codex") -> tuple[str, ...]:
    """Classes that a moisture on the fat-free basis (20 to 95 %) falls in, softest first.

    ``scheme``: ``codex`` (current, bands from memory), ``codex_older`` or ``eu``. Codex bands
    overlap on purpose, so there may be two; those of the EU do not. Raises ``OutOfRange``.
    """
    within("Moisture on the fat-free basis", mffb_pct, 20, 95, "%", "cheese lies between")
    if scheme not in _bands():
        raise OutOfRange(f'There is no scheme "{scheme}"; expected one of {", ".join(_bands())}.')
    overlap = scheme != "eu"

    def fits(low: float, high: float) -> bool:
        if not math.isfinite(high) and overlap:
            return mffb_pct > low
        if not math.isfinite(low) and overlap:
            return mffb_pct < high
        return low <= mffb_pct <= high if overlap else low <= mffb_pct < high

    return tuple(name for name, low, high in _bands()[scheme] if fits(low, high))


def fat_class(fdm_pct: float) -> str:
    """Codex class of fat in dry matter, 0 to 90 %. Raises ``OutOfRange``. Source: codex_a6."""
    within("Fat in dry matter", fdm_pct, 0, 90, "%", "cheese lies between")
    bands = ((60, "high fat"), (45, "full fat"), (25, "medium fat"), (10, "partially skimmed"), (0, "skim"))
    return next(name for low, name in bands if fdm_pct >= low)


def salt_in_moisture(salt_pct: float, moisture_pct: float) -> float:
    """Grams of salt to 100 g of water. Raises ``OutOfRange``. Definition."""
    within("The moisture", moisture_pct, 20, 90, "%", _WHY_MOISTURE)
    within("The salt", salt_pct, 0, 12, "% of the cheese", "even cheese kept in brine stays below it")
    return 100 * salt_pct / moisture_pct


def compose(moisture_pct: float, salt_pct: float, fat_pct: float | None = None) -> Composition:
    """All indices of a cheese. Raises ``OutOfRange``. Source: definition; classes as named."""
    ratio = salt_in_moisture(salt_pct, moisture_pct)
    mffb = fdm = None
    older: tuple[str, ...] = ()
    codex: tuple[str, ...] = ()
    eu = fat = ""
    if fat_pct is not None:
        within("The fat", fat_pct, 0, round(99 - moisture_pct, 1), "%", "with the moisture it must stay below 100 %")
        mffb = 100 * moisture_pct / (100 - fat_pct)
        fdm = 100 * fat_pct / (100 - moisture_pct)
        codex, older = firmness(mffb), firmness(mffb, "codex_older")
        eu, fat = firmness(mffb, "eu")[0], fat_class(min(90.0, fdm))
    return Composition(
        ratio, 100 * salt_pct / (salt_pct + moisture_pct), 10 * ratio / NACL_G_PER_MOL, mffb, fdm, codex, older, eu, fat
    )


def salt_from_sodium(sodium_mg_per_100g: float) -> float:
    """Grams of salt in 100 g from a label's sodium, 0 to 5000 mg. Definition."""
    within("The sodium", sodium_mg_per_100g, 0, 5000, "mg in 100 g", "pure brine holds no more")
    return sodium_mg_per_100g * SALT_PER_SODIUM / 1000


def cheese_activity(salt_pct: float, moisture_pct: float) -> Activity:
    """Water activity from salt and moisture alone (moisture 30 to 80 %). Source: marcos_1981."""
    within("The moisture", moisture_pct, 30, 80, "%", "the formula was fitted to cheese above about 40 %")
    m = 10 * salt_in_moisture(salt_pct, moisture_pct) / NACL_G_PER_MOL
    note = "Ripening lowers it further: broken-down protein counts like salt."
    if moisture_pct < 40:
        note = "Below 40 % moisture salt alone makes it look wetter than it is. " + note
    return Activity(max(0.0, 1 - 0.033 * m), 0.01, note, MARCOS)


def unripe_activity(salt_per_100g_moisture: float, ph: float) -> Activity:
    """Water activity of unripe cheese; salt 0 to 10 g to 100 g of moisture, pH 4 to 7. Source: aw_unripe_1990."""
    within("The salt", salt_per_100g_moisture, 0, 10, "g to 100 g moisture", "fresh cheese stays below")
    within("The pH", ph, 4, 7, "", "unripe cheese lies between")
    return Activity(0.9719 - 0.0044 * salt_per_100g_moisture + 0.0041 * ph, 0.005, "", UNRIPE)


def mould_ripened_activity(ash_per_100g_moisture: float, npn_per_100g_moisture: float) -> Activity:
    """Water activity of mould-ripened cheese; ash 0 to 20 and non-protein nitrogen 0 to 4, g to 100 g moisture."""
    within("The ash", ash_per_100g_moisture, 0, 20, "g to 100 g moisture", "cheese stays below")
    within("The nitrogen", npn_per_100g_moisture, 0, 4, "g to 100 g moisture", "cheese stays below")
    value = 1.0058 - 0.0045 * ash_per_100g_moisture - 0.0107 * npn_per_100g_moisture
    return Activity(min(1.0, value), 0.005, "", MOULD_RIPENED)


def processed_activity(ash_per_100g_moisture: float) -> Activity:
    """Water activity of processed cheese from ash, 0 to 25 g to 100 g moisture. Source: aw_processed."""
    within("The ash", ash_per_100g_moisture, 0, 25, "g to 100 g moisture", "cheese stays below")
    return Activity(0.9951 - 0.0032 * ash_per_100g_moisture, 0.01, "", PROCESSED)


def after_loss(moisture_pct: float, weight_before_g: float, weight_now_g: float, salt_pct: float = 0.0) -> Lost:
    """Moisture and salt of a cheese that has lost weight as water. Raises ``OutOfRange``. Definition."""
    within("The moisture", moisture_pct, 20, 90, "%", _WHY_MOISTURE)
    within("The salt", salt_pct, 0, 12, "% of the cheese", "even cheese kept in brine stays below it")
    within("The weight before", weight_before_g, 1, 200_000, "g", "no cheese is heavier")
    least = weight_before_g * (100 - moisture_pct) / 100
    within("The weight now", weight_now_g, round(least + 0.05, 1), weight_before_g * 1.2, "g",
           "it cannot lose more than its water, nor take up a fifth")  # fmt: skip
    ratio = weight_before_g / weight_now_g
    return Lost(100 - (100 - moisture_pct) * ratio, salt_pct * ratio, 100 * (1 - 1 / ratio))


def weight_at_moisture(moisture_pct: float, weight_g: float, wanted_pct: float) -> float:
    """The weight at which a drying cheese has come down to a moisture. Raises ``OutOfRange``. Definition."""
    within("The moisture", moisture_pct, 20, 90, "%", _WHY_MOISTURE)
    within("The moisture wanted", wanted_pct, 10, moisture_pct, "%", "drying only lowers it")
    return weight_g * (100 - moisture_pct) / (100 - wanted_pct)
