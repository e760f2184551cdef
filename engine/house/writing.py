"""A house rule as a clean, commented file that a person can read and change."""

from __future__ import annotations

import json
import re
import textwrap
from collections.abc import Mapping, Sequence

Plain = str | Sequence["Plain"] | Mapping[str, "Plain"]

HEAD = (
    "# A house rule. Change any line in an editor, then run:  rindwright rules check",
    "# A line that begins with # is a note; the tool does not read it.",
)
NOTES = {
    "owner": "Who says so, and since when.",
    "because": "Why you believe it.",
    "question": "What is asked. how: how to look, and what it does not prove.",
    "sign": "What is seen. on_sound_rinds: how often it shows when nothing is wrong.",
    "circumstance": "A fact of how the cheese is kept, and the answers that show it.",
    "cause": "Something that goes wrong, and on which rinds.",
    "link": "How often the sign shows with the cause: almost never, rarely, sometimes, often, usually, nearly always.",
    "likelier": "What makes the cause likelier, and how strongly: small, moderate, strong.",
    "against": "What speaks against the cause when it is so, and how strongly: small, moderate, strong.",
    "remedy": "What to do about it. at: today or next_make.",
    "change": "A packaged word, and the word of this house for it.",
    "off": "Something packaged that is switched off in this house.",
    "examples": "Answers where the rule must speak, and answers where it must stay silent. The check runs them.",
}
"""A line above each key, for whoever opens the file."""

_WORD = re.compile(r"[A-Za-z0-9°][A-Za-z0-9_.°%/-]*(?: [A-Za-z0-9_.°%/-]+)*")
_ODD = {"yes", "no", "none", "null", "true", "false", "on", "off", "y", "n"}


def rule_text(rule: Mapping[str, Plain]) -> str:
    """The text of a rule, keys in the order given, a note above each part."""
    lines = [*HEAD, ""]
    for key, value in rule.items():
        if key in NOTES:
            if key not in ("owner", "because") and lines[-1]:
                lines.append("")
            lines.extend(textwrap.wrap(NOTES[key], 96, initial_indent="# ", subsequent_indent="# "))
        lines.extend(_lines(key, value, 0))
    return "\n".join(lines) + "\n"


def _lines(key: str, value: Plain, indent: int) -> list[str]:
    pad = " " * indent
    if isinstance(value, str):
        if len(value) > 70 and "\n" not in value:
            folded = textwrap.wrap(value, 94 - indent, break_long_words=False, break_on_hyphens=False)
            return [f"{pad}{key}: >", *(f"{pad}  {line}" for line in folded)]
        return [f"{pad}{key}: {scalar(value)}"]
    if isinstance(value, Mapping):
        return [f"{pad}{key}:", *(line for k, v in value.items() for line in _lines(k, v, indent + 2))]
    if all(isinstance(part, str) for part in value):
        return [f"{pad}{key}: [{', '.join(scalar(str(part)) for part in value)}]"]
    lines = [f"{pad}{key}:"]
    for part in value:
        if isinstance(part, Mapping):
            inner = [line for k, v in part.items() for line in _lines(k, v, indent + 4)]
            lines.append(f"{pad}  - {inner[0].lstrip()}")
            lines.extend(inner[1:])
        else:
            lines.append(f"{pad}  - {scalar(str(part))}")
    return lines


def scalar(text: str) -> str:
    """A text as YAML holds it on one line, in quotes where it needs them."""
    if _WORD.fullmatch(text) and text.casefold() not in _ODD:
        return text
    return json.dumps(text, ensure_ascii=False)


_RESTING = re.compile(r"^resting:.*\n(?:[ \t]+.*\n)*", re.MULTILINE)


def put_to_rest(text: str, since: str, because: str) -> str:
    """The same file with a last line that puts the rule to rest."""
    return f"{awake(text).rstrip()}\nresting: {{since: {since}, because: {json.dumps(because, ensure_ascii=False)}}}\n"


def awake(text: str) -> str:
    """The same file without the line that puts it to rest."""
    whole = text if text.endswith("\n") else text + "\n"
    return _RESTING.sub("", whole)
