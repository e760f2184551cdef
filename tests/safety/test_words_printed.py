"""No string that can reach a screen promises anything, and every result says what was and was not asked."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from rindwright import cli, engine
from rindwright.engine.answers import Answers
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.review import FORBIDDEN, strings_in

PROMISES = re.compile(
    r"\b(safe|safely|(?:fine|ok|okay|good|fit|all right) to (?:eat|sell|serve|give)|edible|eatable|harmless"
    r"|no risk|(?:there|it) is no danger|without (?:risk|danger)|risk-free|guarantee\w*|sterile|certif\w+|probably just"
    r"|nothing to worry|no need to worry|not dangerous|perfectly|never made anyone ill)\b",
    re.IGNORECASE,
)
"""Words that promise. They may be named only where a rule forbids them."""
DENIALS = (
    "never finds a cheese safe", "never calls a cheese safe", "finds a cheese safe", "never show that it is safe",
    "never says that a cheese may be eaten without danger", "Call a cheese fit to eat, or send anybody to taste one.",
    "a house rule never calls a cheese fit to eat",
)  # fmt: skip
"""What says of the tool, its sums and house rules that they do not promise: nowhere else may such a word stand."""
RULES_THEMSELVES = {
    "engine/reading/review/wording.py", "engine/house/promise_terms.py", "engine/house/promise_words.py",
    "engine/house/promise_holds.py",
}  # fmt: skip
HEAL = re.compile(
    r"(?<!no )(?<!or )\b(ag(?:e|ing|eing)|ripening|60 days|sixty days|trim\w*|cutting|cook\w*|salt|freez\w*|wash\w*"
    r"|cold|cooling) (?:kills|removes|destroys|cures|makes it safe|gets rid of)\b(?! no\b)",
    re.IGNORECASE,
)
"""Nothing that is done to a cheese may be said to take a germ or a toxin away."""


def printed(folder: Path) -> Iterator[tuple[str, int, str]]:
    """Every string literal of a room that is not a docstring, with its place."""
    for path in sorted(folder.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        told = {
            id(node.body[0].value)
            for node in ast.walk(tree)
            if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
            and node.body and isinstance(node.body[0], ast.Expr)
        }  # fmt: skip
        for node in ast.walk(tree):
            for child in ast.iter_child_nodes(node):  # a string as a statement of its own tells readers, not makers
                if isinstance(child, ast.Expr) and isinstance(child.value, ast.Constant):
                    told.add(id(child.value))
        for node in ast.walk(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in told:
                yield f"{folder.name}/{path.relative_to(folder).as_posix()}", node.lineno, node.value


def undenied(text: str) -> str:
    """A text without what it denies."""
    text = " ".join(text.split())
    for denial in DENIALS:
        text = text.replace(denial, "")
    return text


ROOMS = [Path(str(room.__path__[0])) for room in (cli, engine)]


@pytest.mark.parametrize("folder", ROOMS, ids=lambda f: f.name)
def test_no_literal_in_the_rooms_promises(folder: Path) -> None:
    seen = 0
    for place, line, text in printed(folder):
        seen += 1
        if place in RULES_THEMSELVES:
            continue
        assert not PROMISES.search(undenied(text)), (place, line, text)
        assert not HEAL.search(text), (place, line, text)
    assert seen > 100


def test_no_string_of_the_knowledge_promises(knowledge: Knowledge) -> None:
    seen = 0
    for kind in (
        "families",
        "questions",
        "signs",
        "circumstances",
        "causes",
        "normal",
        "acts",
        "cautions",
        "organisms",
    ):
        for entry in getattr(knowledge, kind):
            for text in strings_in(entry):
                seen += 1
                assert not PROMISES.search(text), (entry.id, text)
                assert not HEAL.search(text), (entry.id, text)
    assert seen > 3000


def test_no_page_promises(knowledge_folder: Path) -> None:
    """Every page that a maker may open: of the project, the catalogue, house rules, safety, the exchange of looks."""
    top = knowledge_folder.parent
    pages = [p for folder in ("knowledge", "engine") for p in (top / folder).rglob("*.md")]
    pages += [p for p in (top / "README.md", top / "CHANGELOG.md") if p.exists()]
    assert {"HOUSE.md", "SAFETY.md", "EXCHANGE.md", "signs.md"} <= {p.name for p in pages}
    assert len(pages) > 80
    for page in pages:
        text = undenied(page.read_text(encoding="utf-8"))
        for bad in (PROMISES, HEAL):
            found = bad.search(text)
            assert not found, (page.name, text[max(0, found.start() - 60) : found.end() + 60])


def test_the_words_are_caught() -> None:
    for bad in ("It is safe.", "fine to eat", "There is no danger", "Nothing to worry about", "quite harmless",
                "still edible", "guaranteed", "sterile", "not dangerous"):  # fmt: skip
        assert PROMISES.search(bad), bad
    for bad in (
        "Salt kills Listeria",
        "Ageing removes it",
        "trimming gets rid of the toxin",
        "Cooking destroys toxins",
    ):
        assert HEAL.search(bad), bad
    assert not PROMISES.search("That is no finding of safety. Follow your food-safety law.")
    assert not HEAL.search("Salt does not remove Listeria. No ageing, trimming or cooking removes it.")
    assert FORBIDDEN.search("safe to eat")


def test_each_grave_text_says_do_not_and_gives_a_reason(diagnoser: Diagnoser) -> None:
    for c in diagnoser.catalog.cautions.values():
        if c.level == "note":
            continue
        sentences = re.split(r"(?<=[.:])\s", c.text.strip())
        assert len(sentences) >= 2, c.id
        assert c.sources, c.id
        if c.level == "hold":
            assert re.search(r"laborator|count|test|ask|listeria|e\. coli|staphylococci|histamine|virus|phosphatase|"
                             r"ochratoxin|spores|lens|none", c.test, re.IGNORECASE), c.id  # fmt: skip
            assert not re.match(r"(Wash|Brush|Rub|Taste|Trim)\b", c.while_waiting), c.id


def test_a_negative_result_is_never_a_clearance(diagnoser: Diagnoser) -> None:
    """Where Listeria is tested for, the text says what a negative result speaks for."""
    told = [c for c in diagnoser.catalog.cautions.values() if "ISO 11290" in " ".join((c.test, *c.do))]
    assert len(told) >= 4
    said = [c.id for c in told if "negative result speaks for the pieces" in " ".join((c.test, c.sample, *c.do))]
    assert set(said) >= {"hold_shared_smear", "hold_warm", "hold_putrid_rind", "note_listeria_rind"}


def test_where_advice_differs_the_reason_is_given(diagnoser: Diagnoser, knowledge_folder: Path) -> None:
    """Each conflict is on the screen and in the written decisions."""
    page = (knowledge_folder / "SAFETY.md").read_text(encoding="utf-8")
    differing = [c for c in diagnoser.catalog.cautions.values() if c.differs]
    assert len(differing) >= 6
    for c in differing:
        assert f"`{c.id}`" in page, c.id
        assert len(c.differs.split()) > 20, c.id


def test_the_page_names_what_exists(diagnoser: Diagnoser, knowledge_folder: Path) -> None:
    page = (knowledge_folder / "SAFETY.md").read_text(encoding="utf-8")
    named = set(re.findall(r"`((?:stop|hold|note)_\w+)`", page))
    assert named
    assert named <= set(diagnoser.catalog.cautions)


def test_told_and_untold_make_up_the_whole_screen(diagnoser: Diagnoser) -> None:
    for given in ({}, {"someone_ill": "no"}, {"style": "hard_bare", "milk_heat": "raw", "souring": "on_time"}):
        d = diagnoser.diagnose(Answers.of(given))  # type: ignore[arg-type]
        assert d.screen_untold
        assert set(d.screen_told).isdisjoint(d.screen_untold)
        assert {k for k in given if k != "style"} == set(d.screen_told)
