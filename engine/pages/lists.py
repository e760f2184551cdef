"""The pages that are lists: families and styles, signs, organisms, sources."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Sequence

from ..catalog import GRADES, Catalog, asked
from ..conditions import leaves
from .causes import causes_on
from .claims import GRADE_MEANS, claims
from .investigations import Investigation
from .markdown import bullets, capital, counted, grade_name, ground, page, reference, rind_names, table, window


def families_page(catalog: Catalog) -> str:
    """Each family with its course, its styles and their days, and the causes it can have."""
    parts = [
        "# Families and styles",
        '[Catalogue](README.md). Days count from the end of salting. "Salting ends" counts from renneting to that day.',
    ]
    for f in catalog.families.values():
        rows = [
            [s.name, s.id, s.group, s.hardness, s.salting_ends_day, s.shows_by_day, s.closed_by_day, s.ready_day,
             ground(catalog, s.sources)]
            for s in f.styles
        ]  # fmt: skip
        found = sorted(causes_on(catalog, f.id), key=lambda id: catalog.causes[id].name)
        parts += [
            f"## {capital(f.name)}",
            f"Id `{f.id}`. {' '.join(f.course.split())} ({ground(catalog, f.sources)})",
            table(
                ["style", "id", "group", "hardness", "salting ends", "begins to show", "covers", "ready", "stands on"],
                rows,
            ),
            bullets(f"{capital(s.name)}: {s.course}" for s in f.styles),
            f"{counted(len(found), 'cause')}: "
            + ", ".join(f"[{catalog.causes[id].name}](causes/{id}.md)" for id in found)
            + "."
            if found
            else "",
        ]
    return page(*parts)


def signs_page(catalog: Catalog) -> str:
    """Each sign: where it counts, how it is asked, how often it shows on a sound rind, what it points to."""
    linked: dict[str, list[str]] = defaultdict(list)
    for c in catalog.causes.values():
        for id in dict.fromkeys(link.sign for link in c.signs):
            linked[id].append(c.id)
    parts = [
        "# Signs",
        "[Catalogue](README.md). How often each shows on a sound rind, and the causes it points to. The last rate "
        "that fits a cheese counts.",
    ]
    for sign in sorted(catalog.signs.values(), key=lambda s: s.name.casefold()):
        question = catalog.questions.get(
            sign.id if sign.when is None else next((leaf.ask for leaf in leaves(sign.when) if leaf.ask), "")
        )
        put = f' Asked as: "{asked(question)}"' if question else ""
        health = " It speaks for health." if sign.healthy else ""
        parts += [
            f"## {capital(sign.name)}",
            f"Id `{sign.id}`, on {rind_names(sign.rinds)}, {window(sign.from_day, sign.to_day)}.{health}{put}",
            bullets(
                f"sound rind{f' ({rind_names(r.rinds)})' if r.rinds else ''}, {window(r.from_day, r.to_day)}: "
                f"{r.seen}, {ground(catalog, r.sources)}"
                for r in sign.on_sound_rinds
            ),
            "Points to " + ", ".join(f"[{catalog.causes[id].name}](causes/{id}.md)" for id in linked[sign.id]) + "."
            if linked[sign.id]
            else "",
        ]
    return page(*parts)


def organisms_page(catalog: Catalog) -> str:
    """What lives or forms on rinds, by what may be claimed of it by eye."""
    groups: dict[str, list[str]] = defaultdict(list)
    for o in catalog.organisms.values():
        groups[o.group].append(o.name)
    parts = [
        "# Organisms and look-alikes",
        '[Catalogue](README.md). "By eye" is all that may be claimed by looking; records that share it cannot be told '
        "apart without a laboratory. Stops and holds decide what to do with a cheese, not this page.",
        table(["by eye", "what it may be"], ((group, "; ".join(names)) for group, names in groups.items())),
    ]
    for o in catalog.organisms.values():
        shared = ", shared with others" if len(groups[o.group]) > 1 else ""
        taken = ", ".join(catalog.organisms[m].name for m in o.mistaken_for)
        parts += [
            f"## {capital(o.name)}",
            f"By eye: {o.group}{shared}. {' '.join(o.see.split())} ({ground(catalog, o.sources)})",
            bullets(
                f"{label}: {text}"
                for label, text in (
                    ("Where it grows or forms", o.limits),
                    ("At the bench", o.test),
                    ("Known of it", o.harm),
                    ("Taken for", f"{taken}." if taken else ""),
                )
                if text
            ),
        ]
    return page(*parts)


def sources_page(catalog: Catalog, investigations: Sequence[Investigation]) -> str:
    """Each source by grade, with how far it was checked and how many claims lean on it."""
    first: Counter[str] = Counter()
    used: Counter[str] = Counter()
    for claim in claims(catalog):
        first[claim.sources[0]] += 1
        used.update(claim.sources)
    told = Counter(s for one in investigations for s in one.source)
    checked = Counter(s.checked for s in catalog.sources.values())
    parts = [
        "# Sources",
        '[Catalogue](README.md). "Seen" means that a passage which states the fact was read, mostly an abstract or a '
        'part, rarely the whole text. "Carries" counts the claims whose grade a source sets; "named" counts all that '
        "name it.",
        table(["how far it was checked", "sources"], sorted(checked.items())),
    ]
    for grade in GRADES:
        found = [s for s in catalog.sources.values() if catalog.grade((s.id,)) == grade]
        rows = [
            [s.id, reference(s), s.link, s.kind, s.checked, s.note, first[s.id],
             used[s.id], told[s.id]]
            for s in found
        ]  # fmt: skip
        if rows:
            parts += [
                f"## {capital(grade_name(grade))}",
                f"{capital(GRADE_MEANS[grade])}.",
                table(
                    ["id", "reference", "where", "kind", "checked", "limits", "carries", "named", "investigations"],
                    rows,
                ),
            ]
    return page(*parts)
