"""Words by which a house rule would call a cheese fit to eat, send somebody to eat it, or wave a hold away.

A table of plain patterns over English sentences. Words that nearly always mean eating, serving or selling are
refused wherever they stand, unless they are plainly denied ("Do not eat it", "never sell it") or plainly about
something else ("yeasts eat the acid", "the lid serves as a drain"). When in doubt a sentence is refused: its
writer can say it otherwise, and a reader of a promise cannot.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator, Sequence

from ..reading.review import FORBIDDEN
from .promise_holds import DENIALS
from .promise_terms import BITE
from .promise_words import OFFERS

_TABLE = (*OFFERS, *DENIALS)
_NOT = (
    r"(?:do not|does not|did not|don't|doesn't|didn't|must not|mustn't|may not|might not"
    r"|should not|shouldn't|shall not"
    r"|will not|won't|would not|wouldn't|cannot|can not|can't|could not|couldn't|is not|isn't|are not|aren't|was not"
    r"|wasn't|were not|weren't|has not|hasn't|have not|haven't|had not|never|no longer|neither|nor|not|unfit|unsafe"
    r"|dangerous|nobody|no one|no-one"
    r"|(?:nothing|none|no (?:more )?(?:cheese|wheel|piece|part|crumb|slice|batch|paste"
    r"|rind)s?)(?: of (?:it|them|this|that|these|the batch))?)"
)
_SPAN = (
    r"(?: (?:ever|even|yet|again|still|also|be|been|being|to be|to|have|it|them|this|that|these"
    r"|those|the|a|an|any|some"
    r"|of|all|such|cheeses?|wheels?|rinds?|paste|pieces?|trimmings|batch|let|allow|allowed|meant"
    r"|made|intended|fit|good"
    r"|fine|suitable|ready|for|as|is|are|was|may|can|must|should|will|at all|at|home|now|meanwhile"
    r"|anyone|anybody|guests"
    r"|children|people|visitors|family|customers|taste|tasted|touch|washed|brushed|trimmed|touched"
    r"|opened|cut|moved|draw|plug|a plug|coat|wax|salt|oil|dry|ripen|taste|cut|trim|wash|brush"
    r"|sell|sold|serve|served|eat|eaten"
    r"|give|given|away|scrape|pierce|smell|sniff|open|press|grate|feed|cook|or|nor|use|rub|try"
    r"|use up|up|give out|out),?)"
)
_DENIED = re.compile(rf"(?<![\w'])({_NOT})(,?{_SPAN}{{0,14}}) ?$")
_DENIED_DOING = re.compile(
    r"(?<![\w'])(without|instead of|rather than|avoid|refrain from|stop|forbids?|against|too \w+ to|before anyone"
    r"|no|keeps? (?:it |them |(?:\w+ ){0,3}?(?:cheese|wheel|piece"
    r"|batch)s? )?(?:away )?from)(?: anyone| anybody| any| the| all| be| being)? ?$"
)
_TWICE = re.compile(
    r"(?:\b(?:no|not|never|nobody|nothing|none|why|without|hardly|neither|who says|wrong|myth"
    r"|nonsense|untrue|false|silly|whether|unless|if|until|stops?|need)\b|n't\b|cannot)"
    r"(?: (?:need|needs|reason|to|you|it|any|should|must|may|be|that|there|is|one|we|they|can|does"
    r"|do|point|in|says?|why"
    r"|rule|here|now|such|a|the|for|who|anyone))* ?$"
)
_SET_ASIDE = re.compile(r"^(?: only| just| merely| simply| least| before| because| hesitate| bad| harm| so)\b")
_UNTIL = re.compile(r"(?<!\w)(?:until|till|unless|before|once|after|when|by whom|who|whoever)(?: \w+){0,3} ?$")
_CLAUSE = re.compile(
    r"(?<!\b[ei]\.)[.;:!?()\"“”]+(?=\s|$|[\"”)])|\s[–—-]+\s|,? but (?!not\b|never\b|do not\b"
    r"|don't\b)|,? so (?=\w)"
)
_BARE = str.maketrans({"’": "'", "‘": "'", "´": "'", "`": "'", "_": " ", "‐": "-", "‑": "-", "\u00ad": ""})

_ID = re.compile(r"[a-z0-9_]+")
_JOINED = re.compile(r"(?<=\w)-(?=\w)")

REFERENCES = frozenset(
    {
        "cause", "sign", "when", "act", "circumstance", "normal", "ask", "holds", "unanswered", "one_of", "rind",
        "rinds", "replaces", "leads_to", "kind", "unit", "family", "question",
        "cautions", "organisms", "spared_by", "replaced_by", "about",
    }
)  # fmt: skip
"""Keys whose one-word values name something that is there already."""
SAID = {
    "eat": 'a house rule never calls a cheese fit to eat, nor offers it to anybody. "Do not eat it" may be said.',
    "taste": 'a house rule sends nobody to taste a cheese. "Do not taste it" may be said.',
    "sell": 'a house rule sends no cheese to sale. "Do not sell it" may be said.',
    "ignore": "a house rule cannot weaken a hold, a stop or a test.",
    "harm": "nothing here may promise that about a cheese.",
}
"""What is said of each kind."""


def plain_words(text: str) -> str:
    """A text as it is judged: one case, plain marks and letters, single spaces."""
    text = unicodedata.normalize("NFKC", text).translate(_BARE)
    text = "".join(c for c in text if unicodedata.category(c) != "Cf")
    return " ".join(_JOINED.sub(" ", text.casefold()).split())


def promises(text: str, tasting: bool = False) -> Iterator[tuple[str, str]]:
    """Words of a text that no house rule may say, with their kind. ``tasting``: it may speak of tasting."""
    whole = plain_words(text)
    found = FORBIDDEN.search(whole)
    if found:
        yield found.group(0), "harm"
    for clause in map(str.strip, _CLAUSE.split(whole)):
        for row in _TABLE:
            if tasting and row.kind == "taste":
                continue
            for match in row.pattern.finditer(clause):
                if row.spared is not None and _covered(row.spared, clause, match):
                    continue
                if row.denied and _denied(clause, match.start()):
                    continue
                if row.kind == "ignore" and _UNTIL.search(clause[: match.start()]):
                    continue  # "until the hold is lifted" is what a hold is for
                yield match.group(0).strip(), row.kind


def promised(text: str, tasting: bool = False) -> str:
    """One sentence on the first words that may not be said; empty when there are none."""
    if _disguised(text):
        return "A word here mixes the letters of two alphabets, so that nobody can tell what it says; type it again."
    for words, kind in promises(text, tasting):
        return f'"{words}": {SAID[kind]}'
    return ""


def refused_at(path: Sequence[str | int], text: str) -> str:
    """What is said of a text at a place of a rule: a name, a sentence, a maker's words. Empty when it may stand."""
    keys = [key for key in path if isinstance(key, str)]
    asks = keys[:1] == ["question"] and len(keys) == 2 and keys[1] in ("ask", "how")
    named = bool(keys) and keys[-1] in REFERENCES and _ID.fullmatch(text) is not None and not asks
    if named or keys[:1] == ["examples"]:  # what is there already, or answers, which are read as answers
        found = FORBIDDEN.search(text)
        return f'"{found.group(0)}": {SAID["harm"]}' if found else ""
    return promised(text, tasting=asks)


def speaks_of_tasting(text: str) -> bool:
    """Whether a text has to do with a cheese in somebody's mouth, other than to forbid it."""
    return any(
        not _denied(clause, m.start()) for clause in _CLAUSE.split(plain_words(text)) for m in _MOUTH.finditer(clause)
    )


_MOUTH = re.compile(rf"\b(?:tast(?:e|es|ed|ing)|{BITE}|try a (?:bit|piece|crumb))\b")


def _disguised(text: str) -> bool:
    """Whether a word mixes Latin letters with Greek or Cyrillic ones that look like them; a µ before a unit may."""
    return not text.isascii() and any(
        {"LATIN"} < {unicodedata.name(c, "?").split()[0] for c in word if c.isalpha() and c not in "µμ°ªº"}
        for word in re.findall(r"\w+", text)
    )


def _covered(spared: re.Pattern[str], clause: str, match: re.Match[str]) -> bool:
    """Whether words that mean something else reach over the start of a match."""
    return any(m.start() <= match.start() < m.end() for m in spared.finditer(clause))


def _denied(clause: str, at: int) -> bool:
    """Whether what stands at a place is plainly forbidden or denied, and not denied twice."""
    before = clause[:at].rstrip()
    doing = _DENIED_DOING.search(before)
    if doing:
        return not _TWICE.search(before[: doing.start()])
    for found in _denials(before):
        span = found.group(2)
        if _SET_ASIDE.match(span) or _TWICE.search(before[: found.start()]):
            continue
        if "," in span and not re.search(r"\b(?:or|nor)\b", clause[found.end(1) :]):
            continue  # "Do not wash it, eat it"
        return True
    return False


def _denials(before: str) -> Iterator[re.Match[str]]:
    """Each word of denial from which nothing but harmless words lead to the end."""
    start = 0
    while found := _DENIED.search(before, start):
        yield found
        start = found.start() + 1
