"""What was learnt and taken, as it is kept: each number beside the cited one it corrects, and withdrawn on a word."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

from ..answers import Answers
from ..catalog import Catalog
from ..chaining import Chained
from ..dating import onset_day
from ..local import NONE, LeakKey, LinkKey, Local, link_at
from ..network import Builder
from ..odds import moved
from .daybook import Record, as_json
from .store import Archive

if TYPE_CHECKING:
    from .learn import Learnt


@dataclass(frozen=True, slots=True)
class Correction:
    """One corrected number beside the cited one."""

    kind: str
    """base, link or leak."""
    cause: str
    sign: str
    cited_word: str
    cited: float
    local: float
    """The number that stands in its place; of a base rate, the corrected rate."""
    seen: float
    of: float


@dataclass(frozen=True, slots=True)
class Standing:
    """What is in force: corrections, from how many looks, and those the knowledge has outgrown."""

    local: Local
    corrections: tuple[Correction, ...]
    looks: int
    at: str
    outgrown: int
    """Corrections whose cause, link or cited word is not there any more: not applied."""


NOTHING = Standing(NONE, (), 0, "", 0)
"""The cited knowledge alone."""


@dataclass(frozen=True, slots=True)
class Beside:
    """The corrections that bear on one diagnosis, each by what it stands beside."""

    looks: int = 0
    base: Mapping[str, Correction] = field(default_factory=dict)
    links: Mapping[tuple[str, str], Correction] = field(default_factory=dict)
    """By cause and sign: of several links between them the one that counts for this cheese."""
    sound: Mapping[str, Correction] = field(default_factory=dict)
    """By sign: how often a sound rind of this kind shows it."""


def beside(found: Standing, catalog: Catalog, answers: Answers, chained: Chained) -> Beside:
    """Which of the corrections in force bear on these answers."""
    if not found.corrections:
        return Beside()
    builder, cheese = Builder(catalog), answers.cheese(catalog)
    index = {cause: k for k, cause in enumerate(catalog.causes)}
    by_key = {(c.kind, c.cause, c.sign): c for c in found.corrections}
    links, sound = dict[tuple[str, str], Correction](), dict[str, Correction]()
    for sign in {c.sign.rpartition(" ")[0] for c in found.corrections if c.sign}:
        known = catalog.signs[sign]
        onset = onset_day(answers, cheese) if chained.sign(sign) else None
        counting = {key[0]: key for _, key in builder.linked(known, index, cheese, onset)}
        for cause, (*_, place) in counting.items():
            if ("link", cause, f"{sign} {place}") in by_key:
                links[cause, sign] = by_key["link", cause, f"{sign} {place}"]
        leak = f"{sign} {builder.leak_key(known, cheese)[1]}"
        if ("leak", "", leak) in by_key:
            sound[sign] = by_key["leak", "", leak]
    return Beside(found.looks, {c.cause: c for c in found.corrections if c.kind == "base"}, links, sound)


def corrections(catalog: Catalog, learnt: Learnt) -> list[Correction]:
    """Every corrected number of a lesson, the largest moves first."""
    found = []
    word: str
    for cause, shift in learnt.local.base.items():
        word = catalog.causes[cause].base_rate
        cited = catalog.value("base_rate", word)
        count = learnt.counts[f"base {cause}"]
        found.append(Correction("base", cause, "", word, cited, moved(cited, shift), count.seen, count.of))
    for key, q in learnt.local.links.items():
        word = link_at(catalog, key).seen
        count = learnt.counts[f"link {key[0]} {key[1]} {key[2]}"]
        cited = catalog.value("frequency", word)
        found.append(Correction("link", key[0], f"{key[1]} {key[2]}", word, cited, q, count.seen, count.of))
    for leak, q in learnt.local.leaks.items():
        word = catalog.signs[leak[0]].on_sound_rinds[leak[1]].seen
        count = learnt.counts[f"leak {leak[0]} {leak[1]}"]
        cited = catalog.value("frequency", word)
        found.append(Correction("leak", "", f"{leak[0]} {leak[1]}", word, cited, q, count.seen, count.of))
    kinds = {"base": 0, "link": 1, "leak": 2}
    return sorted(found, key=lambda c: (kinds[c.kind], -round(abs(c.local - c.cited), 9), c.cause, c.sign))


def take(archive: Archive, catalog: Catalog, learnt: Learnt, at: str) -> None:
    """Put a lesson in force, in place of an earlier one."""
    body: Record = {
        "corrections": [
            {
                "kind": c.kind, "cause": c.cause, "sign": c.sign, "word": c.cited_word, "cited": round(c.cited, 6),
                "local": round(c.local, 6), "seen": round(c.seen, 3), "of": round(c.of, 3),
            }
            for c in corrections(catalog, learnt)
        ],
        "shifts": dict(sorted(learnt.local.base.items())),
        "before": round(learnt.before, 6),
        "after": round(learnt.after, 6),
    }  # fmt: skip
    with archive.change() as db:
        _withdraw(archive, at)
        new = db.execute(
            "INSERT INTO learnt (at, knowledge, looks, body) VALUES (?, ?, ?, ?)",
            (at, catalog.knowledge.version, learnt.looks, as_json(body)),
        ).lastrowid
        assert new is not None
        archive.touch("learnt", new)


def reset(archive: Archive, at: str) -> bool:
    """Withdraw what is in force; False when nothing is."""
    with archive.change():
        return _withdraw(archive, at)


def _withdraw(archive: Archive, at: str) -> bool:
    rows = archive.db.execute("SELECT id FROM learnt WHERE withdrawn_at IS NULL").fetchall()
    for (id,) in rows:
        archive.db.execute("UPDATE learnt SET withdrawn_at = ? WHERE id = ?", (at, id))
        archive.touch("learnt", id)
    return bool(rows)


def standing(archive: Archive, catalog: Catalog) -> Standing | None:
    """What is in force under today's knowledge, or None."""
    row = archive.db.execute(
        "SELECT body, looks, at FROM learnt WHERE withdrawn_at IS NULL ORDER BY id DESC LIMIT 1"
    ).fetchone()
    if row is None:
        return None
    body = json.loads(row[0])
    base, links, leaks = dict[str, float](), dict[LinkKey, float](), dict[LeakKey, float]()
    kept, outgrown = [], 0
    for raw in body["corrections"]:
        if not _fits(catalog, raw):
            outgrown += 1
            continue
        sign, _, place = raw["sign"].rpartition(" ")
        if raw["kind"] == "base":
            base[raw["cause"]] = float(body["shifts"][raw["cause"]])
        elif raw["kind"] == "link":
            links[(raw["cause"], sign, int(place))] = raw["local"]
        else:
            leaks[(sign, int(place))] = raw["local"]
        kept.append(
            Correction(
                raw["kind"], raw["cause"], raw["sign"], raw["word"], raw["cited"], raw["local"], raw["seen"], raw["of"]
            )
        )
    return Standing(Local(base, links, leaks), tuple(kept), row[1], row[2], outgrown)


def _fits(catalog: Catalog, raw: dict[str, Any]) -> bool:
    sign, _, place = raw["sign"].rpartition(" ")
    if raw["kind"] == "base":
        return raw["cause"] in catalog.causes and catalog.causes[raw["cause"]].base_rate == raw["word"]
    if raw["kind"] == "link":
        links = catalog.causes[raw["cause"]].signs if raw["cause"] in catalog.causes else ()
        return int(place) < len(links) and (links[int(place)].sign, links[int(place)].seen) == (sign, raw["word"])
    rates = catalog.signs[sign].on_sound_rinds if sign in catalog.signs else ()
    return int(place) < len(rates) and rates[int(place)].seen == raw["word"]
