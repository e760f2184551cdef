"""What the tables of refused words are made of: who eats, where, what else the same words are about."""

from __future__ import annotations

import re
from dataclasses import dataclass

PEOPLE = (
    r"(?:guests?|visitors?|famil(?:y|ies)"
    r"|friends?|neighbou?rs?|customers?|buyers?|clients?|child(?:ren)?|kids?|bab(?:y|ies)"
    r"|people|persons?|everyone|everybody|anyone|anybody|someone|somebody|us|me|yourself|yourselves|humans?|household"
    r"|staff|crew|workers|wife|husband|mother|father|grandparents|parents|grandmother|grandfather|pupils|patients"
    r"|restaurants?|chefs?|cooks?|shops?|caf[eé]s?|caterers?|food bank|school|canteen"
    r"|pigs?|dogs?|cats?|hens|chickens|poor)"
)
PLACES = (
    r"(?:table|plate|platter|menu|market|counter|shop|kitchen|sale|sales|pizza|pasta|soup|sauce|salad|sandwich(?:es)?"
    r"|fondue|lunch|dinner|supper|breakfast|picnic|snacks?|meals?|party|parties|wedding|feast|buffet|cheese ?boards?"
    r"|consumption|consuming|eating|tasting|serving|selling|retail|wholesale|delivery|dispatch|food|human use)"
)
THE = r"(?:(?:the|this|that|these|those|your|our|my|its|their|any|every|each|all|a|an|some|safety|red) )*"
IT = (
    r"(?:it|them|this|that|these|those|(?:the |this |that |these |those |your |our |a |an |any "
    r"|every )?(?:whole )?(?:cheeses?|wheels?|paste|rinds?|rest|remainder|inside|middle|heart|core"
    r"|centre|batch|piece|slice|wedge|trimmings?))"
)
VERY = (
    r"(?:(?:still|quite|perfectly|absolutely|completely|entirely|otherwise|then|again|all|just|now"
    r"|also|really|very|always|probably|usually|certainly|surely|mostly|as) )*"
)
IS = (
    r"(?:(?:can|may|could|might|will|would|shall|should|must) (?:still |then |always |also "
    r"|now )?be|is|are|was|were|'s|'re|seems?|stays?|remains?|turns out|will be|has been|looks)"
)
WARNING = (
    r"(?:hold|stop|caution|warning|alarm|quarantine|recall|safety (?:card|note|screen|advice"
    r"|results?)|stop card|hold card|red card|red (?:line|text|box)|notes? of (?:safety|caution)"
    r"|(?:lab|laboratory) (?:test|result|report)s?)s?"
)
TAMPER = (
    r"(?:ignor(?:e|es|ed|ing)|skip(?:s|ped|ping)?|disregard(?:s|ed|ing)?|overrul(?:e|es|ed|ing)"
    r"|overrid(?:e|es|den|ing)"
    r"|overrode|forget(?:s|ting)?|forgot(?:ten)?|bypass(?:es|ed|ing)?|neglect(?:s|ed|ing)?|overlook(?:s|ed|ing)?"
    r"|(?:get|go|work|pass|talk|look|step|see)(?:s|ing)? (?:a?round|past|over|by)|lift(?:s|ed"
    r"|ing)?|cancel(?:s|led|ling)?"
    r"|drop(?:s|ped|ping)?|break(?:s|ing)?|end(?:s|ed|ing)?|remov(?:e|es|ed|ing)|waiv(?:e|es|ed|ing)"
    r"|dismiss(?:es|ed|ing)?|never mind|do not mind|don't mind|pay no (?:heed|attention|mind) to|take no notice of"
    r"|clear(?:s|ed|ing)?|leave out|omit(?:s|ted|ting)?|suspend(?:s|ed|ing)?|discount(?:s|ed"
    r"|ing)?|tak(?:e|es|ing) back"
    r"|do not (?:bother|worry|trouble)(?: yourself)? (?:with|about|over)|don't (?:bother"
    r"|worry)(?: yourself)? (?:with|about|over)"
    r"|(?:do not|don't|no need to|need not|needn't) (?:heed|obey|follow|keep to|wait for|mind|respect|observe)"
    r"|despite|in spite of|regardless of|whatever|notwithstanding|no matter|switch(?:ed|es)? off"
    r"|turn(?:ed|s)? off|silence[sd]?)"
)
BITE = (
    r"(?:eat(?:s|en|ing|er)?|ate|swallow(?:s|ed|ing)?|nibbl(?:e|es|ed|ing)|lick(?:s|ed"
    r"|ing)?|devour(?:s|ed|ing)?|munch(?:es|ed|ing)?|chew(?:s|ed|ing)?|consum(?:e|es|ed|ing)"
    r"|ingest(?:s|ed|ing)?|gobbl(?:e|es|ed|ing)|dine[sd]?|relish(?:es|ed|ing)?|savou?r(?:s|ed"
    r"|ing)?)"
)
LIVING = (
    r"(?:mites?|mou?lds?|yeasts?|bacteri\w+|geotrichum|penicillium|debaryomyces|mucor|larvae"
    r"|grubs?|maggots?|flies|fly|mice|mouse"
    r"|rats?|insects?|beetles?|moths?|microbes?|germs?|fung\w+|cultures?|smear|flora|felt"
    r"|something|cats?|dogs?|birds?|cows?|goats?|sheep|ewes?|animals|herd|livestock"
    r"|buffalo(?:es)?)"
)
EATABLE = (
    r"(?:lactic acid|acid|lactate|lactose|milk sugar|sugar|fats?|proteins?|oxygen|ammonia|salt"
    r"|coat(?:ing)?|wax|paper|cloths?|boards?|wood|sorbate|film|smear|mou?ld|mites?|bacteria"
    r"|moisture|water|power|electricity|gas)"
)
TASTY = (
    r"(?:good|nice|fine|great|delicious|better|best|clean|sound|right|well|normal|lovely|wonderful"
    r"|ok|okay|all right|excellent|perfect|pleasant|mild)"
)
TOOLS = (
    r"(?:brush(?:es)?|pots?|cloths?|boards?|box(?:es)?|shel(?:f|ves)|bowls?|mats?|fans?|kni(?:fe"
    r"|ves)|rooms?|caves?|cellars?|bath|brine|steam|water|drains?|trays?|racks?|lids?|holes?"
    r"|needles?|paper|bucket|hoops?|vents?|it also|sieve|crate)"
)
GOODS = (
    r"(?:coats?|wax|ash|salts?|boards?|shelves|box(?:es)?|paper|cloths?|rennet|cultures?|starters?"
    r"|powders?|sprays?|cleaners?|brine|spores|annatto|milk|cream|farm|hoops?|tools?|sponges?|kits?"
    r"|lamps?|meters?)"
)


@dataclass(frozen=True, slots=True)
class Row:
    """One kind of words that are refused."""

    pattern: re.Pattern[str]
    kind: str
    """What it amounts to: ``eat``, ``taste``, ``sell``, ``ignore`` or ``harm``."""
    spared: re.Pattern[str] | None = None
    """Words that mean something else; they must reach over the start of the match."""
    denied: bool = True
    """Whether words that deny it make it good."""


def row(kind: str, pattern: str, spared: str = "", denied: bool = True) -> Row:
    """A row of a table, its patterns made ready."""
    return Row(
        re.compile(rf"(?<![\w'-]){pattern}(?![\w-])"),
        kind,
        re.compile(rf"(?<![\w'])(?:{spared})") if spared else None,
        denied,
    )
