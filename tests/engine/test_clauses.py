"""How far a denial reaches: never out of its clause, and over every member of a list. Sentences are invented."""

from __future__ import annotations

import itertools

import pytest
from rindwright.engine import noticing
from rindwright.engine.clauses import NOT, leading, parted, tokens, words_in
from rindwright.engine.diagnosis import Diagnoser
from rindwright.engine.noticing import readings, unclaimed

THINGS = {
    "slime": "slimy_wet",
    "blue spots": "blue_green_spot",
    "cracks": "cracks",
    "wrinkles": "toad_wrinkle",
    "long hairs": "long_hairs",
    "putrid": "putrid",
}
"""Words that are a phrase by themselves, and the question each answers."""


@pytest.fixture(autouse=True)
def _listed_once(diagnoser: Diagnoser, monkeypatch: pytest.MonkeyPatch) -> None:
    """The phrases are the same for every sentence; listing them anew takes most of the time."""
    phrases = list(noticing.phrases_of(diagnoser.catalog))
    monkeypatch.setattr(noticing, "phrases_of", lambda _: phrases)


def rows(many: int) -> list[tuple[str, ...]]:
    """Some things in a row, each once at every place."""
    names = [*THINGS, *THINGS]
    return [tuple(names[k : k + many]) for k in range(len(THINGS))]


def values(diagnoser: Diagnoser, said: str) -> dict[str, object]:
    return {r.question: r.value for r in readings(diagnoser.catalog, said)}


SAID = [
    ("It is not sticky. Blue spots on top", {"blue_green_spot": "clear"}),
    ("not dry, blue spots", {"blue_green_spot": "clear"}),
    ("never washed it, slimy", {"slimy_wet": "clear"}),
    ("not putrid but slimy", {"putrid": "no", "slimy_wet": "clear"}),
    ("slime, not cracks", {"slimy_wet": "clear", "cracks": "no"}),
    ("it isn’t putrid\ncracks", {"putrid": "no", "cracks": "clear"}),
    ("never slimy (cracks)", {"slimy_wet": "no", "cracks": "clear"}),
    ("cracks (not slimy) and wrinkles", {"cracks": "clear", "slimy_wet": "no", "toad_wrinkle": "clear"}),
    ("not slimy - cracks", {"slimy_wet": "no", "cracks": "clear"}),
    ("not slimy – cracks", {"slimy_wet": "no", "cracks": "clear"}),
    ("no slime, it has cracks or wrinkles", {"slimy_wet": "no", "cracks": "clear"}),
    ("no, slime or cracks", {"slimy_wet": "clear", "cracks": "clear"}),
    ("slightly dry, blue spots", {"blue_green_spot": "clear"}),
    ("no slime or cracks", {"slimy_wet": "no", "cracks": "no"}),
    ("neither slimy nor cracked", {"slimy_wet": "no", "cracks": "no"}),
    ("neither slimy, putrid nor cracked", {"slimy_wet": "no", "putrid": "no", "cracks": "no"}),
    ("not slimy, putrid nor cracked", {"slimy_wet": "no", "putrid": "no", "cracks": "no"}),
    ("no blue or green dots", {"blue_green_spot": "no"}),
    ("not with blue dots", {"blue_green_spot": "no"}),
    ("not just blue dots but cracks too", {"blue_green_spot": "clear", "cracks": "clear"}),
    ("not only slimy but putrid", {"slimy_wet": "clear", "putrid": "clear"}),
    ("nothing but blue dots", {"blue_green_spot": "clear"}),
    ("I don't see any blue dots", {"blue_green_spot": "no"}),
    ("I have not seen any sign of cracks", {"cracks": "no"}),
    ("can’t find any slime, but cracks", {"slimy_wet": "no", "cracks": "clear"}),
    ("cracks - none", {"cracks": "no"}),
    ("cracks: none, slime: no", {"cracks": "no", "slimy_wet": "no"}),
    ("cracks none; slimy", {"cracks": "no", "slimy_wet": "clear"}),
    ("slime, no cracks", {"slimy_wet": "clear", "cracks": "no"}),
    ("slime: no cracks", {"slimy_wet": "clear", "cracks": "no"}),
    ("cracks. None of it is slimy", {"cracks": "clear", "slimy_wet": "no"}),
    ("zero slime", {"slimy_wet": "no"}),
    ("it ain't slimy, it hasn't cracked", {"slimy_wet": "no", "cracks": "no"}),
    ("no sign of slime or of deep cracks", {"slimy_wet": "no", "cracks": "no"}),
    ("without slime, cracks, or wrinkles", {"slimy_wet": "no", "cracks": "no", "toad_wrinkle": "no"}),
    ("no slime, no cracks, wrinkles", {"slimy_wet": "no", "cracks": "no", "toad_wrinkle": "clear"}),
    ("it is neither slimy nor does it have cracks", {"slimy_wet": "no", "cracks": "no"}),
    ("spots aren't slimy", {"slimy_wet": "no"}),
]


@pytest.mark.parametrize(("said", "meant"), SAID, ids=[said for said, _ in SAID])
def test_what_is_said_and_what_is_denied(diagnoser: Diagnoser, said: str, meant: dict[str, str]) -> None:
    assert meant.items() <= values(diagnoser, said).items()


PARTING = [". ", ", ", "; ", ": ", "! ", "? ", "\n", " but ", ", but ", " while ", " although ", " though ", " – ",
           " — ", " - ", " (", ", with ", ", the ", ". The "]  # fmt: skip
DENIALS = ["not", "no", "never", "isn't", "without", "it is not", "there is no sign of"]


@pytest.mark.parametrize("gap", PARTING)
def test_a_denial_stays_in_its_clause(diagnoser: Diagnoser, gap: str) -> None:
    alone = {words: values(diagnoser, words) for words in THINGS}
    for denial, (first, second) in itertools.product(DENIALS, rows(2)):
        found = values(diagnoser, f"{denial} {first}{gap}{second}")
        assert found[THINGS[first]] == "no", (denial, first, second)
        assert found[THINGS[second]] == alone[second][THINGS[second]], (denial, first, second)


@pytest.mark.parametrize(
    "form",
    ["no {} or {}", "no {}, {} or {}", "neither {} nor {}", "neither {}, {} nor {}", "not {} or {}", "not {} nor {}",
     "without {} or any {}", "there is no {}, {}, or {}", "never {}, {} nor {}", "no trace of {} or {}"],
)  # fmt: skip
def test_a_denied_list_is_denied_to_its_last_member(diagnoser: Diagnoser, form: str) -> None:
    for some in rows(form.count("{}")):
        found = values(diagnoser, form.format(*some))
        assert {THINGS[words]: "no" for words in some} == found, some
        behind = values(diagnoser, form.format(*some) + ". Smells of the barnyard")
        assert {THINGS[words]: "no" for words in some}.items() <= behind.items()
        assert list(behind.values()).count("no") == len(some) < len(behind)


@pytest.mark.parametrize("said", ["not dry, slime or cracks", "no slime and cracks", "no slime, wrinkles and cracks"])
def test_what_may_be_either_is_left_to_be_asked(diagnoser: Diagnoser, said: str) -> None:
    assert "cracks" not in values(diagnoser, said)
    assert any("cracks" in clause for clause in unclaimed(diagnoser.catalog, said))


@pytest.mark.parametrize("said", ["never tested or mastitis", "not washed, fever or mastitis", "no test and mastitis"])
def test_in_doubt_danger_is_heard(diagnoser: Diagnoser, said: str) -> None:
    assert values(diagnoser, said)["milk_animal_ill"] == "yes"


def test_what_is_left_of_a_denied_list_keeps_its_denial(diagnoser: Diagnoser) -> None:
    left = unclaimed(diagnoser.catalog, "neither slimy, sticky nor cracked")
    assert [clause for clause in left if "sticky" in clause] == [["neither", "sticky", "nor"]]


def test_one_reading_of_a_text() -> None:
    """What parts words changes nothing in the words themselves."""
    text = "It’s NOT sticky; the rind - dry, and pH 4.6 (blue\nspots), but un-washed"
    assert tokens(text) == [w.text for w in words_in(text)]
    assert tokens(text) == ["not", "sticky", "rind", "dry", "ph", "4", "6", "blue", "spots", "but", "un", "washed"]
    words = words_in(text)
    assert [[words[k].text for k in clause] for clause in parted(words, [True] * len(words))] == [
        ["not", "sticky"], ["rind"], ["dry"], ["ph", "4", "6"], ["blue"], ["spots"], ["un", "washed"],
    ]  # fmt: skip
    for k in range(len(words)):
        assert NOT.isdisjoint(leading(words, k, 3)) or k in (1, 11)


def test_no_phrase_goes_on_in_the_next_sentence(diagnoser: Diagnoser) -> None:
    assert "blue_green_spot" in values(diagnoser, "blue spots")
    for mark in ".;!?\n":
        assert "blue_green_spot" not in values(diagnoser, f"it turned blue{mark} Spots came later")
