"""Words that wave a hold away, or say that nothing can happen. Read by ``promising``."""

from __future__ import annotations

from .promise_terms import IT, TAMPER, THE, WARNING, row

DENIALS = (
    row(
        "ignore",
        rf"{TAMPER} (?:about |that |with |what )?(?:{THE}){WARNING}",
        rf"\S+ {THE}(?:hold|stop)s? (?:of|on|at) (?:the )?(?:lid|door|fan|pump|knife|needle|press)",
    ),
    row(
        "ignore",
        rf"{WARNING} (?:\w+ )?(?:does not|doesn't|do not|don't|need not|needn't|is not|isn't|are not"
        rf"|aren't|will not) (?:\w+ )?(?:apply|count|matter|needed|meant|serious|hold|stand|concern"
        rf"|kept|heeded|followed|necessary|real|right|true|for us)",
        denied=False,
    ),
    row(
        "ignore",
        rf"{WARNING} (?:can|may|could|might|should|must|is to|are to|is|are|was"
        rf"|were) (?:\w+ )?(?:be )?(?:ignored|skipped|disregarded|overruled|overridden|forgotten"
        rf"|bypassed|neglected|overlooked|lifted|cancelled|dropped|broken|ended|removed|waived"
        rf"|dismissed|cleared|left out|suspended|nonsense|wrong|over|overdone|exaggerated|pointless"
        rf"|useless|too strict|false alarms?|a false alarm|a formality)",
    ),
    row(
        "ignore",
        rf"(?:no|not|never|without) (?:any |a |the |need |needed |reason |waiting |wait |required "
        rf"|necessary |calls? |to |for |of |really |have |having |worth )*(?:{WARNING}"
        rf"|lab(?:oratory)?(?: tests?| results?)?|tests? (?:from|by|at|of) (?:a"
        rf"|the) lab(?:oratory)?)(?= (?:needed|is needed|necessary|required|is required|for|here)|$)",
        r"(?:gets?|finds?|takes?|with) no hold\b",
        denied=False,
    ),
    row(
        "ignore",
        rf"(?:no need|needless|not necessary|not needed|unnecessary|pointless|no point|no reason|no use"
        rf"|need not|needn't|do not need|don't need|don't have|do not have) (?:to |in |for |a |any "
        rf"|the )*(?:wait(?:ing)?|keep(?:ing)?|heed(?:ing)?|obey(?:ing)?|follow(?:ing)?"
        rf"|put(?:ting)?|test(?:ing)?|ask(?:ing)?|send(?:ing)?|call(?:ing)?)? ?(?:\w+ ){{0,3}}?(?:{WARNING}"
        rf"|lab(?:oratory)?|aside|apart)",
        denied=False,
    ),
    row(
        "ignore",
        r"(?:sell|use|ship|carry on|go on|go ahead|continue|keep on|wash on|ripen on) (?:it "
        r"|them )?(?:despite|in spite of|through|during|even under|while under|under) (?:the |a "
        r"|any )?(?:hold|stop|caution|warning)s?",
    ),
    row(
        "ignore",
        r"(?:no|not a|not any|without(?: waiting for| asking for)?) (?:the |a "
        r"|any )?(?:lab(?:oratory)? |outside )?(?:tests?|lab(?:oratory)?|samples?|results?|analysis"
        r"|authority|inspector)(?: is| are)?(?= (?:needed|required|necessary)| (?:go|sell|carry|move"
        r"|take)|$)",
        r"not any|without (?:a )?(?:tests?|lab(?:oratory)?)$",
        denied=False,
    ),
    row("ignore", rf"without waiting for {THE}(?:{WARNING}|tests?|lab(?:oratory)?|results?|analysis)", denied=False),
    row(
        "ignore",
        r"(?:tool|program|screen|card|rindwright|questionnaire|packaged knowledge|book) (?:is"
        r"|are) (?:\w+ )?(?:wrong|mistaken|strict|overcautious|over cautious|careful|nonsense)",
    ),
    row("ignore", rf"{WARNING} (?:is|are) (?:only|just|merely|meant)"),
    row("ignore", r"off (?:the )?hold"),
    row(
        "ignore",
        r"(?:ignore|forget|disregard|dismiss)(?:s|d)? (?:about )?(?:it|them|this|that|what|rindwright"
        r"|all that|(?:the |this |any )?(?:tool|screen|program|advice|safety|questions|red"
        r"|lines?|cards?))(?! (?:small|little|thin|fine))",
    ),
    row(
        "ignore",
        r"(?:skip|leave out|pass over|jump|omit)(?:s|ped|ping)? (?:\w+ )?(?:safety|grave|grim|hygiene"
        r"|screen\w*|questions)",
    ),
    row(
        "ignore",
        r"answer (?:\w+ )?(?:no|yes|nothing|healthy|heated) to (?:\w+ )?(?:all|safety|questions?|that"
        r"|every)",
    ),
    row(
        "ignore",
        r"(?:say|answer|write|enter|claim|pretend|tell it)(?: that)? (?:(?:the |your )?milk (?:was|is)"
        r"|nobody|no one|everyone|all) (?:heated|pasteuri[sz]ed|is ill|at risk|healthy|eats)",
    ),
    row(
        "harm",
        r"(?:clean|clear|rid|free) of (?:all |any |every )?(?:germs?|listeria|salmonella|bacteria"
        r"|pathogens?|toxins?|poisons?|danger)",
    ),
    row(
        "harm",
        r"(?:listeria|salmonella|e\. coli|toxins?|pathogens?|germs) (?:\w+ )?(?:does not|do not|cannot"
        r"|can not|can't|don't|doesn't|never|will not|won't) (?:grow|live|survive|occur|get in|come"
        r"|form|stand)",
        denied=False,
    ),
    row(
        "harm",
        rf"kill(?:s|ed|ing)? (?:everything|anything|all|every \w+|any \w+|all \w+) (?:\w+ )?(?:in"
        rf"|on) {IT}",
    ),
    row(
        "harm",
        r"(?:harmless(?:ly)?|non ?toxic|risk ?free|danger ?free|hazard ?free|germ ?free|toxin ?free"
        r"|innocuous|benign|unharmful|guarante\w+|certified)",
        r"non ?toxic (?:paint|oil|wax|grease|glue|ink|varnish|coat(?:ing)?)",
    ),
    row(
        "harm",
        r"(?:no|not any|not a|not the (?:least|slightest)|without(?: any| a)?|zero|little|hardly any"
        r"|never any|free of|free from|hardly a|no real|no great|no health) (?:real |great "
        r"|particular |health |serious |known )?(?:danger|risk|hazard|harm|threat|peril|worr(?:y|ies)"
        r"|health problem|problem|concern|cause for (?:alarm|concern)|germs|listeria|pathogens"
        r"|toxins?|poison)s?(?! (?:of (?:drying|cracking|sticking|sliding|tearing|splitting|frost)"
        r"|with (?:the )?(?:lid|fan|boards?|box(?:es)?|meter))|\w)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:not|never|nor|hardly|isn't|aren't|wasn't) (?:at all |really |in the least |in any way "
        r"|even |actually )?(?:dangerous|harmful|poisonous|toxic|unsafe|unhealthy|infectious|hazardous"
        r"|risky|a hazard|a danger|a risk|a threat|bad for (?:you|anyone|people|health)|unfit|inedible"
        r"|spoil(?:ed|t)|pathogenic)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:does|do|did|can|will|would|could|may|has|have|had|never|nobody|no one|nothing)(?: (?:not"
        r"|never|no one|nobody))? ?(?:cannot|can't|won't|doesn't|don't|didn't|ever|do|does|did|done"
        r"|not|any|no)* ?(?:hurt|harm|poison|kill|sicken)(?:s|ed|ing)? (?:you|anyone|anybody|people"
        r"|guests|a soul|nobody|no one|us|them|children)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:cannot|can't|won't|will not|doesn't|does not|never) (?:ever )?(?:hurt|harm)(?:s"
        r"|ed)?(?! (?:the |your |its )?(?:rind|boards?|cloth|coat|felt|bloom|skin|culture|smear|paste"
        r"|cheese|wheel|surface|wood|wax|box))",
        denied=False,
    ),
    row(
        "harm",
        r"(?:nobody|no one|not one|never anyone|none of us|no customer|no guest"
        r"|hardly anyone)(?: \w+)?(?: has| had| have)?(?: ever| yet)?(?: (?:got|gets|fell|falls|became"
        r"|becomes|was|been|had|felt|feels|come to|came to|is|will be|gotten|complained|complains"
        r"|minded|noticed|died|dies))+(?: \w+)?",
        denied=False,
    ),
    row(
        "harm",
        r"never (?:yet |once |ever )?(?:made|had|caused|gave|given|hurt|harmed|killed"
        r"|poisoned) (?:anyone|anybody|any|a|an|us|me|people|trouble|problems|illness|one|harm)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:do not|don't|no need to|never|needn't|need not|nothing to|no reason to"
        r"|not need to) (?:worry|fear|panic|be (?:afraid|worried|alarmed|scared)|fret)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:no worries|you(?: will|'ll) be (?:fine|ok|okay|all right|alright)|nothing (?:will |bad "
        r"|can |ever |could )*happens?|trust me|rest assured|on my word|never fails)",
        denied=False,
    ),
    row(
        "harm",
        r"(?:age|ageing|aging|ripening|(?:60|sixty) days|trimming|cutting|cooking|heating|salt|salting"
        r"|freezing|wash|washing|rinsing|cold|cooling|acid|vinegar|brine|alcohol|spirit|air|drying"
        r"|smoke|smoking|scraping|brushing)(?: \w+)? (?:kills?|removes?|destroys?|cures?|makes? (?:it"
        r"|them) (?:fit|good|fine|ok)|gets? rid of|takes? care of"
        r"|deals? with)(?! no\b)(?: \w+){0,2} (?:listeria|salmonella|germs?|bacteria"
        r"|pathogens?|toxins?|poisons?|e\. coli|staph\w*|hazards?|dangers?|it all|everything|fit|good"
        r"|fine|ok)",
    ),
)
