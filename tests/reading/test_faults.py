"""Planted faults come back all at once, each where it stands, in the words of the one who can mend it."""

from __future__ import annotations

import re
from pathlib import Path
from typing import NamedTuple

import pytest
from rindwright.engine.errors import Fault, FileProblem, KnowledgeError
from rindwright.engine.model import Knowledge
from rindwright.engine.reading.checked import load_checked
from rindwright.engine.reading.contents import LISTS
from rindwright.engine.reading.loader import load
from rindwright.engine.reading.review import FORBIDDEN

WET = "causes/washed/box_too_wet.yaml"
DRY = "causes/washed/box_too_dry.yaml"
AIR = "derive/air_box_and_shelf.yaml"


class Plant(NamedTuple):
    """A fault to plant: what is replaced by what, where the fault then stands, and the key words of its sentence."""

    file: str
    old: str
    new: str
    at: str
    words: str


def faults_of(folder: Path) -> tuple[Fault, ...]:
    with pytest.raises(KnowledgeError) as caught:
        load_checked(folder)
    return caught.value.faults


def plant(folder: Path, fault: Plant) -> None:
    path = folder / fault.file
    text = path.read_text(encoding="utf-8")
    assert fault.old in text, f"{fault.file} no longer holds: {fault.old}"
    path.write_text(text.replace(fault.old, fault.new, 1), encoding="utf-8")


def place_of(folder: Path, fault: Plant) -> tuple[int, int]:
    text = (folder / fault.file).read_text(encoding="utf-8")
    assert text.count(fault.new) == 1 or fault.at == fault.new, fault
    index = text.index(fault.new) + fault.new.index(fault.at)
    return text.count("\n", 0, index) + 1, index - text.rfind("\n", 0, index)


def assert_reported(folder: Path, fault: Plant, found: tuple[Fault, ...]) -> None:
    there = [f for f in found if fault.words in f.sentence]
    line, column = place_of(folder, fault)
    assert (fault.file, line, column) in [(f.file, f.line, f.column) for f in there], [
        str(f) for f in there or found[:20]
    ]


# Faults of meaning: the record itself is sound, so several may stand in one record.
MEANING = [
    Plant(WET, "sign: slimy_wet", "sign: slimy_wett", "slimy_wett",
          '"slimy_wett" is not a known sign (did you mean "slimy_wet"?)'),
    Plant(WET, "when: box_full", "when: box_ful", "box_ful",
          '"box_ful" is not a known circumstance (did you mean "box_full"?)'),
    Plant(WET, "cause: stale_air", "cause: stale_airs", "stale_airs",
          '"stale_airs" is not a known cause (did you mean "stale_air"?)'),
    Plant(WET, "cause: wash_too_often", "cause: wash_to_often", "wash_to_often",
          '"wash_to_often" is not a known cause (did you mean "wash_too_often"?)'),
    Plant(WET, "question: never_dries", "question: never_drys", "never_drys",
          '"never_drys" is not a known question (did you mean "never_dries"?)'),
    Plant(WET, "act: dry", "act: dri", "dri", '"dri" is not a known act'),
    Plant(WET, "rinds: [small, medium, bloomy", "rinds: [small, medum, bloomy", "medum",
          '"medum" is not a known rind (did you mean "medium"?)'),
    Plant(WET, "sources: [judgement, barrios_1998]", "sources: [judgement, barios_1998]", "barios_1998",
          '"barios_1998" is not a listed source (did you mean "barrios_1998"?)'),
    Plant(WET, "base_rate_sources: [judgement]", "base_rate_sources: []", "[]",
          'A claim of "box_too_wet" has no source'),
    Plant(WET, "{sign: cracks, strength", "{sign: cracks, when: lid_tight, strength", "{",
          "Give a sign or a circumstance, one of the two."),
    Plant(WET, "expect: After two", "expect: Safe to eat. After two", "Safe",
          '"box_too_wet" says "Safe to eat": nothing here may promise that'),
    Plant(AIR, "}, {ask: humidity_pct, below: 85}", "}, {ask: humidity_pct, below: 850}", "850",
          'The limit 850 lies outside what "humidity_pct" takes'),
    Plant(AIR, "at_least: 80, at_most: 90", "at_least: 1, at_most: 90", "1,",
          'The limit 1 lies outside what "humidity_pct" takes'),
    Plant(AIR, "one_of: [dripping]", "one_of: [driping]", "[",
          '"air_feel" has no answer "driping" (did you mean "dripping"?)'),
    Plant(AIR, "{unanswered: humidity_pct}", "{unanswered: humidty_pct}", "humidty_pct",
          'asks for "humidty_pct", which is not a known question (did you mean "humidity_pct"?)'),
    Plant(AIR, "when: {ask: box_fill, one_of: [full]}", "when: {ask: box_fill, holds: cold, one_of: [full]}", "{",
          'A condition of "box_full" needs exactly one of ask, unanswered, dont_know, holds, sign, rind, may_be, '
          "paste, all, any, none; it has 2."),
    Plant(AIR, "{ask: airing_days, above: 2}", "{ask: airing_days}", "airing_days",
          'A condition on "airing_days" needs a limit'),
    Plant(AIR, "{ask: place_kind, one_of: [kitchen_fridge]}", "{ask: place_kind, below: 3}", "3",
          '"place_kind" is answered in words; use one_of.'),
    Plant("normal.yaml", "signs: [whey_drops]", "signs: [whey_drop]", "whey_drop",
          '"whey_drop" is not a known sign (did you mean "whey_drops"?)'),
    Plant("normal.yaml", "why: The curd still lets", "why: It is quite harmless. The curd still lets", "It",
          '"whey_drops_first_days" says "harmless": nothing here may promise that'),
    Plant("words.yaml", "sources: [judgement, jaeschke_1994]", "sources: [judgement, jaeschke_1949]", "jaeschke_1949",
          '"jaeschke_1949" is not a listed source (did you mean "jaeschke_1994"?)'),
    Plant("sources.yaml", "- id: acarus_cheddar_1983\n", "- id: acarus_cheddar_1893\n", "id",
          'The source "acarus_cheddar_1893" is not used by any claim'),
    Plant("signs.yaml", "- id: pale_late\n", "- id: twinkles\n  name: n\n  on_sound_rinds: []\n- id: pale_late\n", "id",
          'No question asks for the sign "twinkles"'),
    Plant("questions.yaml", "{id: small_soft, rinds: [washed]", "{id: small_soft, rinds: [washd]", "washd",
          '"washd" is not a known rind (did you mean "washed"?)'),
    Plant("questions.yaml", "- id: family\n", "- id: moon\n  ask: Which moon?\n  kind: yes_no\n  about: memory\n"
          "  effort: glance\n- id: family\n", "id", 'Nothing looks at the question "moon"'),
]  # fmt: skip

# Faults of shape: they keep a whole record from being read, so each stands in a record of its own.
SHAPE = [
    Plant(DRY, "kind: fault", "knid: fault", "knid", '"knid" is not a key here (did you mean "kind"?)'),
    Plant("causes/washed/too_warm.yaml", "kind: fault", "kind: falt", "falt",
          '"kind" cannot be "falt" (did you mean "fault"?); expected fault or takeover'),
    Plant("causes/washed/too_cold.yaml", "seen: usually", "seen: usualy", "usualy",
          '"seen" cannot be "usualy" (did you mean "usually"?)'),
    Plant("causes/washed/overripe.yaml", "base_rate: ", "base_rate: quite ", "quite", '"base_rate" cannot be "quite '),
    Plant("causes/washed/not_turned.yaml", "after_days: ", "after_days: soon # ", "soon",
          '"after_days" must be a number; "soon" is not one'),
    Plant("causes/washed/climate_swinging.yaml", "after_days: ", "after_days: 1.5 # ", "1.5",
          '"after_days" must be a whole number; "1.5" is not one'),
    Plant("causes/washed/cheese_mites.yaml", "name: ", "nom: ", "nom", '"nom" is not a key here'),
    Plant("signs.yaml", "- id: colour_lost\n  name: ", "- id: colour_lost\n  nam: ", "nam", '"nam" is not a key here'),
    Plant("signs.yaml", "- id: straw_dry\n", "- id: straw_dry\n  salient: perhaps\n", "perhaps",
          '"salient" must be true or false; "perhaps" is neither'),
    Plant("questions_signs.yaml", "about: smell\n", "about: smel\n", "smel\n",
          '"about" cannot be "smel" (did you mean "smell"?)'),
    Plant("remedies.yaml", "  hygiene:\n", "  hygiene: soap\n  rest:\n", "soap",
          '"hygiene" must be a list; "soap" stands'),
    Plant("cautions_hold.yaml", "level: hold", "level: holds", "holds",
          '"level" cannot be "holds" (did you mean "hold"?)'),
    Plant("families.yaml", "hardness: soft\n", "hardness: sofd\n", "sofd",
          '"hardness" cannot be "sofd" (did you mean "soft"?)'),
    Plant("organisms.yaml", "  see: ", "  sea: ", "sea", '"sea" is not a key here (did you mean "see"?)'),
]  # fmt: skip


def named(fault: Plant) -> str:
    return f"{fault.file}: {fault.words[:40]}"


def test_the_knowledge_as_it_stands_has_no_fault(folder: Path, knowledge: Knowledge) -> None:
    assert load_checked(folder) == knowledge


@pytest.mark.parametrize("fault", [*MEANING, *SHAPE], ids=named)
def test_each_fault_is_found_where_it_stands(folder: Path, fault: Plant) -> None:
    plant(folder, fault)
    assert_reported(folder, fault, faults_of(folder))


def test_all_faults_come_in_one_run(folder: Path) -> None:
    for fault in MEANING:
        plant(folder, fault)
    found = faults_of(folder)
    for fault in MEANING:
        assert_reported(folder, fault, found)
    assert list(found) == sorted(set(found))


def test_all_faults_of_shape_come_in_one_run(folder: Path) -> None:
    for fault in SHAPE:
        plant(folder, fault)
    found = faults_of(folder)
    for fault in SHAPE:
        assert_reported(folder, fault, found)


def test_several_faults_of_shape_in_one_record(folder: Path) -> None:
    (folder / DRY).write_text("id: box_too_dry\nkind: x\nnmae: y\nbase_rate: [common]\nfrom_day: z\n", encoding="utf-8")
    found = [(f.line, f.column, f.sentence.split(" ")[0]) for f in faults_of(folder) if f.file == DRY]
    assert {(2, 7, '"kind"'), (3, 1, '"nmae"'), (4, 12, '"base_rate"'), (5, 11, '"from_day"')} <= set(found)
    missing = {f.sentence for f in faults_of(folder) if f.file == DRY and "missing" in f.sentence}
    assert missing == {f'"{key}" is missing.' for key in ("name", "what", "sources", "rinds", "base_rate_sources")}


def test_a_record_of_the_wrong_kind(folder: Path) -> None:
    for file, text, words in (
        (WET, "- a\n", '"this" must be a map of keys; a list stands here'),
        (DRY, "just words\n", '"this" must be a map of keys; "just words" stands here'),
        ("normal.yaml", "id: a\n", "Expected a list: each entry starts with a dash"),
        ("families.yaml", "- just words\n", "must be a map of keys"),
        ("words.yaml", "[]\n", '"this" must be a map of keys; a list stands here'),
    ):
        (folder / file).write_text(text, encoding="utf-8")
        assert [(f.line, words in f.sentence) for f in faults_of(folder) if f.file == file] == [(1, True)]


def entry(text: str, id: str) -> str:
    """A record of a list file, as it is written."""
    found = re.search(rf"^- id: {id}\n(?:(?:[ ].*)?\n)*", text, re.MULTILINE)
    assert found is not None
    return found.group(0)


@pytest.mark.parametrize(
    ("file", "id"),
    [
        ("signs.yaml", "pale_late"),
        ("normal.yaml", "whey_drops_first_days"),
        ("sources.yaml", "acarus_cheddar_1983"),
        (AIR, "air_very_wet"),
    ],
)
def test_an_id_that_stands_twice_in_a_file_names_both_places(folder: Path, file: str, id: str) -> None:
    text = (folder / file).read_text(encoding="utf-8")
    first = text[: text.index(f"- id: {id}\n")].count("\n") + 1
    (folder / file).write_text(text + entry(text, id), encoding="utf-8")
    (fault,) = faults_of(folder)
    assert (fault.file, fault.line, fault.column) == (file, text.count("\n") + 1, 3)
    assert fault.sentence == f'The id "{id}" is taken: {file}, line {first}.'


def test_an_id_that_stands_twice_in_two_files_names_both(folder: Path) -> None:
    air = (folder / AIR).read_text(encoding="utf-8")
    first = air[: air.index("- id: box_full\n")].count("\n") + 1
    other = folder / "derive/washing.yaml"
    lines = other.read_text(encoding="utf-8")
    other.write_text(lines + entry(air, "box_full"), encoding="utf-8")
    (fault,) = faults_of(folder)
    assert (fault.file, fault.line) == ("derive/washing.yaml", lines.count("\n") + 1)
    assert fault.sentence == f'The id "box_full" is taken: {AIR}, line {first}.'


def test_a_cause_in_two_families(folder: Path) -> None:
    (folder / "causes/other").mkdir()
    (folder / "causes/other/box_too_wet.yaml").write_text((folder / WET).read_text(encoding="utf-8"), encoding="utf-8")
    (fault,) = [f for f in faults_of(folder) if "is taken" in f.sentence]
    assert fault.sentence == 'The id "box_too_wet" is taken: causes/other/box_too_wet.yaml, line 1.'
    assert (fault.file, fault.line, fault.column) == (WET, 1, 1)


def test_an_id_that_differs_from_the_name_of_its_file(folder: Path) -> None:
    fault = Plant(WET, "id: box_too_wet", "id: box_too_damp", "box_too_damp",
                  'The id "box_too_damp" differs from the file\'s name "box_too_wet".')  # fmt: skip
    plant(folder, fault)
    found = faults_of(folder)
    assert_reported(folder, fault, found)
    assert any('"box_too_wet" is not a known cause' in f.sentence for f in found)


def test_circumstances_that_rest_on_themselves(folder: Path) -> None:
    plant(folder, Plant(AIR, "when: {ask: box_fill, one_of: [full]}", "when: {holds: box_full}", "", ""))
    plant(folder, Plant(AIR, "when: {ask: box_lid, one_of: [sealed]}", "when: {none: [{holds: open_shelf}]}", "", ""))
    plant(folder, Plant(AIR, "when: {ask: box_lid, one_of: [open]}",
                        "when: {any: [{all: [{holds: lid_tight}]}, {holds: lid_tight}]}", "", ""))  # fmt: skip
    found = [f for f in faults_of(folder) if "rests on itself" in f.sentence]
    assert [f.sentence for f in found] == [
        f'"box_full" rests on itself: box_full -> box_full ({AIR}).',
        f'"lid_tight" rests on itself: lid_tight -> open_shelf -> lid_tight ({AIR}).',
    ]
    text = (folder / AIR).read_text(encoding="utf-8")
    assert [f.line for f in found] == [
        text[: text.index(f"id: {id}\n")].count("\n") + 1 for id in ("box_full", "lid_tight")
    ]


def test_causes_that_lead_back_to_themselves(folder: Path) -> None:
    # box_too_wet leads to stale_air as it stands; the second link closes the ring, the third is a ring alone.
    for name, leads_to in (("stale_air", "box_too_wet"), ("cheese_mites", "cheese_mites")):
        path = folder / f"causes/washed/{name}.yaml"
        text = path.read_text(encoding="utf-8")
        link = f"leads_to:\n  - {{cause: {leads_to}, strength: small, sources: [judgement]}}\n"
        text = (
            text.replace("leads_to:\n", link)
            if "\nleads_to:\n" in text
            else text.replace("\nmistaken_for:", f"\n{link}mistaken_for:")
        )
        path.write_text(text, encoding="utf-8")
    found = {f.sentence: f.file for f in faults_of(folder) if "leads back to itself" in f.sentence}
    ring = '"box_too_wet" leads back to itself: box_too_wet -> stale_air -> box_too_wet '
    ring += f"({WET}, causes/washed/stale_air.yaml)."
    alone = '"cheese_mites" leads back to itself: cheese_mites -> cheese_mites (causes/washed/cheese_mites.yaml).'
    assert found == {ring: WET, alone: "causes/washed/cheese_mites.yaml"}


@pytest.mark.parametrize(
    ("key", "words"),
    [
        ("signs", 'No sign points to "box_too_wet": no answer can ever reach it.'),
        ("mistaken_for", '"box_too_wet" names no look-alike in mistaken_for.'),
        ("today", '"box_too_wet" needs today, next_make and look_again.'),
        ("next_make", '"box_too_wet" needs today, next_make and look_again.'),
        ("look_again", '"box_too_wet" needs today, next_make and look_again.'),
    ],
)
def test_a_cause_without_a_part_it_needs(folder: Path, key: str, words: str) -> None:
    text = (folder / WET).read_text(encoding="utf-8")
    without = re.sub(rf"^{key}:\n(?: +.*\n)+", "", text, flags=re.MULTILINE)
    assert without != text
    (folder / WET).write_text(without, encoding="utf-8")
    assert [(f.file, f.line) for f in faults_of(folder) if f.sentence == words] == [(WET, 1)]


MUST_HAVE = ("id", "kind", "name", "what", "sources", "rinds", "base_rate", "base_rate_sources")


def test_causes_without_a_key_they_must_have(folder: Path) -> None:
    wanted = []
    for key, path in zip(MUST_HAVE, sorted((folder / "causes/washed").glob("*.yaml")), strict=False):
        text = path.read_text(encoding="utf-8")
        without = re.sub(rf"^{key}:.*\n(?: +[^ -].*\n)*", "", text, count=1, flags=re.MULTILINE)
        assert without != text
        path.write_text(without, encoding="utf-8")
        wanted.append(Fault(path.relative_to(folder).as_posix(), 1, 1, f'"{key}" is missing.'))
    assert [f for f in faults_of(folder) if "is missing" in f.sentence] == sorted(wanted)


def test_a_window_that_ends_before_it_begins(folder: Path) -> None:
    plant(folder, Plant(WET, "base_rate: ", "from_day: 9\nto_day: 8\nbase_rate: ", "", ""))
    found = [f for f in faults_of(folder) if f.sentence == 'A window of "box_too_wet" ends before it begins.']
    assert [(f.file, f.column) for f in found] == [(WET, 9)]


def test_a_sign_listed_twice_by_a_cause(folder: Path) -> None:
    line = "  - {sign: pooled, seen: often, sources: [judgement]}\n"
    fault = Plant(WET, line, line + line.replace("often", "rarely"), line.replace("often", "rarely")[4:],
                  '"box_too_wet" lists the sign "pooled" twice.')  # fmt: skip
    plant(folder, fault)
    assert_reported(folder, fault, faults_of(folder))


@pytest.mark.parametrize("file", [pattern for pattern, _, _ in LISTS if "*" not in pattern] + ["words.yaml"])
def test_a_file_that_is_missing_is_noticed(folder: Path, file: str) -> None:
    (folder / file).unlink()
    found = faults_of(folder)
    if file == "words.yaml":
        assert [(f.file, f.line, f.column) for f in found if "is missing" in f.sentence] == [("words.yaml", 1, 1)]
    assert all(f.file and f.line for f in found)


@pytest.mark.parametrize(
    ("file", "words"),
    [
        ("signs.yaml", '"slimy_wet" is not a known sign'),
        ("questions.yaml", 'asks for "humidity_pct", which is not a known question'),
        (AIR, '"box_sealed_and_full" is not a known circumstance'),
        ("remedies.yaml", '"dry" is not a known act'),
        ("sources.yaml", '"judgement" is not a listed source'),
        ("families.yaml", '"medium" is not a known rind'),
        (WET, '"box_too_wet" is not a known cause'),
    ],
)
def test_what_stood_in_a_missing_file_is_missed(folder: Path, file: str, words: str) -> None:
    (folder / file).unlink()
    found = [f for f in faults_of(folder) if words in f.sentence]
    assert found
    assert all((folder / f.file).is_file() for f in found)


@pytest.mark.parametrize("text", ["", "\n\n", "# nothing yet\n", "---\n", "~\n"])
def test_an_empty_file_is_one_fault(folder: Path, text: str) -> None:
    files = ("normal.yaml", "words.yaml", "signs.yaml", "cautions.yaml", AIR, WET)
    for file in files:
        (folder / file).write_text(text, encoding="utf-8")
    assert sorted(load(folder).faults) == sorted(Fault(file, 1, 1, "The file is empty.") for file in files)


def test_files_that_are_no_text(folder: Path) -> None:
    (folder / WET).write_bytes(b"\x89PNG\r\n\x1a\n\x00")
    (folder / DRY).write_bytes(b"id: x\nname: \x00\n")
    (folder / "normal.yaml").write_bytes("- id: café\n".encode("latin-1"))
    (folder / "signs_of_mine.yaml").mkdir()
    (folder / "questions_lost.yaml").symlink_to(folder / "nowhere.yaml")
    found = {f.file: f.sentence for f in load(folder).faults}
    assert "is not text in UTF-8" in found[WET]
    assert "is a binary file" in found[DRY]
    assert "line 1, is not text in UTF-8" in found["normal.yaml"]
    assert "is a folder; expected a file" in found["signs_of_mine.yaml"]
    assert "does not exist" in found["questions_lost.yaml"]
    assert len(found) == 5


def test_a_folder_that_is_none_or_holds_nothing(tmp_path: Path) -> None:
    for place in (tmp_path / "none", tmp_path):
        with pytest.raises(FileProblem, match=r"^[^\n]+\.$"):
            load_checked(place)


def test_a_scale_without_a_word_and_words_without_scales(folder: Path) -> None:
    path = folder / "words.yaml"
    text = path.read_text(encoding="utf-8")
    path.write_text(text.replace("- {word: measure,", "- {word: gauge,"), encoding="utf-8")
    line = text[: text.index("- id: effort\n")].count("\n") + 1
    assert faults_of(folder) == (
        Fault("words.yaml", line, 5, 'words.yaml has no number for measure on the scale "effort".'),
    )
    path.write_text("scales: []\nanswer_noise: []\nanswer_noise_sources: [judgement]\n", encoding="utf-8")
    sentences = {f.sentence for f in faults_of(folder) if f.file == "words.yaml" and f.line == 1}
    for words in ('on the scale "base_rate"', 'lacks the scale "probability"', 'no answer noise for "smell"'):
        assert any(words in s for s in sentences), words


def test_base_rates_that_do_not_add_up(folder: Path) -> None:
    plant(folder, Plant("words.yaml", "{word: common, value: 0.028}", "{word: common, value: 0.28}", "", ""))
    found = faults_of(folder)
    assert {f.file for f in found} == {"families.yaml"}
    assert all("faults per cheese; expected 0.25 to 1.5" in f.sentence for f in found)


# Numbers and names that no shape can refuse.
NUMBERS = [
    Plant("words.yaml", "{word: often, value: 0.55, low: 0.26, high: 0.81}", "{word: often, value: 0.55, low: 0.81, "
          "high: 0.26}", "0.81", 'The band of "often" must hold its value: 0.81, 0.55, 0.26.'),
    Plant("words.yaml", "{word: rarely, value: 0.10, low: 0.03, high: 0.28}", "{word: rarely, value: 0.10, low: 0.03}",
          "{", '"rarely" needs both ends of its band, or none.'),
    Plant("words.yaml", "{word: some makers, value: 0.15}", "{word: some makers, value: 1.5}", "1.5",
          '"some makers" must be a share between 0 and 1; it is 1.5.'),
    Plant("words.yaml", "{word: strong, value: 8}", "{word: strong, value: 2}", "2",
          '"strong" must be more than "moderate" before it.'),
    Plant("words.yaml", "{word: small, value: 1.5}", "{word: small, value: 0.9}", "0.9", '"small" must be above 1'),
    Plant("words.yaml", "{word: glance, value: 1}", "{word: glance, value: 0}", "0", '"glance" must be above 0'),
    Plant("words.yaml", "about: feel, missed: 0.07", "about: feel, missed: 0.7", "0.7",
          '"missed" for "feel" must lie between 0 and 0.5.'),
    Plant("words.yaml", "about: smell, missed: 0.10", "about: smell, missed: 0.30", "0.30",
          '"missed" and "slight_if_there" for "smell" together must stay below 0.5.'),
    Plant("words.yaml", "means: what it costs", "means: what is harmless and costs", "what is",
          'words.yaml says "harmless": nothing here may promise that.'),
    Plant("signs.yaml", "  from_day: 21\n", "  from_day: 21\n  to_day: 3\n", "3\n",
          'A window of "patchy_colour" ends before it begins.'),
    Plant("signs.yaml", "from_day: 7, to_day: 21}", "from_day: 17, to_day: 2}", "2}",
          'A window of "blotchy_early" ends before it begins.'),
    Plant("signs.yaml", "- id: colour_lost\n  name: colour that was there has faded\n",
          '- id: colour_lost\n  name: ""\n', '""', '"colour_lost" has an empty name.'),
    Plant("signs.yaml", "- id: straw_dry\n  name: dry yellow rind\n  on_sound_rinds:\n    - {seen: rarely, sources: "
          "[judgement]}\n",
          "- id: straw_dry\n  name: dry yellow rind\n  on_sound_rinds:\n    - {seen: rarely, sources: "
          "[judgement], from_day: 4}\n", "- {seen: rarely, sources: [judgement], from_day: 4}",
          '"straw_dry" needs a first rate on sound rinds without rinds and days.'),
    Plant(WET, "{sign: pooled, seen: often", "{to_day: -1, sign: pooled, seen: often", "-1",
          'A window of "box_too_wet" ends before it begins.'),
    Plant(WET, "rinds: [small, medium, bloomy, lactic, mixed, natural, blue, hard, coated]", "rinds: []", "[]",
          '"box_too_wet" names no rinds: it would fit none.'),
    Plant("causes/washed/not_turned.yaml", "after_days: ", "after_days: 0 # ", "0 #", "Look again after 1 to 60 days"),
    Plant("causes/washed/acid_locked_surface.yaml", "low: 20, high: 30", "low: 30, high: 20", "low",
          "An amount runs from low to high"),
    Plant("families.yaml", "shows_by_day: 14\n", "shows_by_day: 140\n", "140",
          '"small_soft" needs its days in order: shows_by, closed_by, ready.'),
    Plant("questions.yaml", "  maximum: 1500\n", "  maximum: -1500\n", "-1500",
          '"age_days" needs a unit, a minimum, and a maximum above it.'),
    Plant("questions.yaml", "- id: family\n", "- id: family\n  unit: days\n", "unit", '"family" is no number'),
    Plant("questions.yaml", '{id: tilsit, rinds: [washed], text: "semi',
          '{id: alpine, rinds: [washed], text: "semi', "{id",
          '"style" has "alpine" twice.'),
    Plant("questions.yaml", "words: [raclette, tilsit,", "words: [raclette, trappist,", "[raclette",
          '"trappist" stands for "monastery" and for "tilsit"; keep one.'),
    Plant("normal.yaml", "  from_day: 1\n  to_day: 6\n", "  from_day: -2\n  to_day: 6\n", "-2",
          'A window of "bread_and_cider_smell" begins before day 0.'),
]  # fmt: skip


@pytest.mark.parametrize("fault", NUMBERS, ids=named)
def test_a_number_or_name_out_of_reason_is_found_near_where_it_stands(folder: Path, fault: Plant) -> None:
    plant(folder, fault)
    line, _ = place_of(folder, fault) if fault.at else (0, 0)
    there = [f for f in faults_of(folder) if fault.words in f.sentence]
    assert [f.file for f in there] == [fault.file]
    assert abs(there[0].line - line) <= 8


@pytest.mark.parametrize(("key", "word"), [("salient", "yes"), ("salient", "on"), ("salient", "1"), ("from_day", "1_0"),
                                           ("from_day", "٣")])  # fmt: skip
def test_no_word_is_silently_turned(folder: Path, key: str, word: str) -> None:
    plant(folder, Plant("signs.yaml", "- id: straw_dry\n", f"- id: straw_dry\n  {key}: {word}\n", "", ""))
    (fault,) = faults_of(folder)
    assert fault.sentence.startswith(f'"{key}" must be ')
    assert f'"{word}"' in fault.sentence


def test_one_misshapen_entry_is_one_fault(folder: Path) -> None:
    """What names it elsewhere is no fault as well."""
    plant(folder, Plant("signs.yaml", "- id: slimy_wet\n  name: ", "- id: slimy_wet\n  nam: ", "", ""))
    assert {f.file for f in faults_of(folder)} == {"signs.yaml"}
    assert all('"nam"' in f.sentence or '"name"' in f.sentence for f in faults_of(folder))


def test_a_file_that_breaks_off_is_one_fault(folder: Path) -> None:
    for file in ("signs.yaml", "sources.yaml", "families.yaml", AIR, WET):
        path = folder / file
        whole = path.read_text(encoding="utf-8")
        path.write_text(whole + "\n- {broken", encoding="utf-8")
        assert [f.file for f in faults_of(folder)] == [file]
        path.write_text(whole, encoding="utf-8")


def test_a_file_that_nothing_reads_is_named(folder: Path) -> None:
    for name in ("sign.yaml", "causes/mine.yaml", "derive/deeper/air.yml"):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text("- id: x\n", encoding="utf-8")
    found = faults_of(folder)
    assert [f.file for f in found] == ["causes/mine.yaml", "derive/deeper/air.yml", "sign.yaml"]
    assert all("A file of this name is not read" in f.sentence for f in found)


def test_bytes_that_are_no_text_are_found_where_they_stand(folder: Path) -> None:
    (folder / "normal.yaml").write_bytes(b"- id: a\n  name: caf\xe9\n")
    assert [(f.line, f.column) for f in load(folder).faults if f.file == "normal.yaml"] == [(2, 12)]


def test_circumstances_that_rest_on_themselves_through_a_sign(folder: Path) -> None:
    plant(folder, Plant(AIR, "when: {ask: box_fill, one_of: [full]}", "when: {sign: pale_late}", "", ""))
    plant(folder, Plant("signs.yaml", 'when: {ask: tint, one_of: ["none"]}', "when: {holds: box_full}", "", ""))
    found = [f for f in faults_of(folder) if "rests on itself" in f.sentence]
    assert [f.sentence for f in found] == [
        f'"box_full" rests on itself: box_full -> sign pale_late -> box_full ({AIR}, signs.yaml).'
    ]


PROMISES = [
    "safe to eat", "fine to eat", "OK to eat", "Edible", "harmless", "no risk", "guaranteed", "guarantee", "sterile",
    "certified", "probably just", "is safe", "are safe", "perfectly safe", "Quite safe",
]  # fmt: skip


@pytest.mark.parametrize("promise", PROMISES)
def test_no_promise_passes(promise: str) -> None:
    found = FORBIDDEN.search(f"This rind, {promise}, is odd.")
    assert found is not None
    assert found.group(0) == promise


PROMISING = [
    Plant(WET, "what: >\n  Free", "what: >\n  No risk. Free", ">", '"box_too_wet" says "No risk"'),
    Plant(WET, "limits: >\n  The", "limits: >\n  Guaranteed. The", ">", 'says "Guaranteed"'),
    Plant(WET, "    do: Open the lid", "    do: It is safe. Open the lid", "It", 'says "is safe"'),
    Plant("signs.yaml", "  name: still pale", "  name: edible, still pale", "edible", '"pale_late" says "edible"'),
    Plant("signs.yaml", "words: [still white,", "words: [no risk, still white,", "no", '"pale_late" says "no risk"'),
    Plant(AIR, "means: the lid", "means: certified, the lid", "certified", '"lid_tight" says "certified"'),
    Plant("questions.yaml", "how: What the recipe", "how: Sterile. What the recipe", "Sterile", 'says "Sterile"'),
    Plant("questions.yaml", "text: in brine}", "text: in harmless brine}", "in", 'says "harmless"'),
    Plant("families.yaml", "name: washed rind", "name: edible rind", "edible", '"washed" says "edible"'),
]


def test_no_kind_of_text_may_promise(folder: Path) -> None:
    for fault in PROMISING:
        plant(folder, fault)
    found = faults_of(folder)
    for fault in PROMISING:
        assert_reported(folder, fault, found)


def test_no_list_of_records_may_promise(folder: Path) -> None:
    wanted = []
    for file, key in (("cautions.yaml", "title"), ("organisms.yaml", "name"), ("remedies.yaml", "name")):
        text = (folder / file).read_text(encoding="utf-8")
        line = text[: text.index(f"\n  {key}: ") + 1].count("\n") + 1
        (folder / file).write_text(text.replace(f"\n  {key}: ", f"\n  {key}: harmless # ", 1), encoding="utf-8")
        wanted.append((file, line, len(key) + 5))
    assert [(f.file, f.line, f.column) for f in faults_of(folder) if "may promise that" in f.sentence] == wanted


@pytest.mark.parametrize("text", ["food safety", "safety first", "incredible", "risk", "unsafe", "just in case"])
def test_words_that_promise_nothing_pass(text: str) -> None:
    assert FORBIDDEN.search(text) is None


@pytest.mark.parametrize("word", ["nan", "inf", "-inf", "1e400"])
def test_numbers_are_finite(folder: Path, word: str) -> None:
    file = "derive/air_box_and_shelf.yaml"
    plant(folder, Plant(file, "below: 85", f"below: {word}", word, "must be a number"))
    found = [f for f in faults_of(folder) if "must be a number" in f.sentence]
    assert [f.file for f in found] == [file]
