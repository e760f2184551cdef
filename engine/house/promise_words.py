"""Words that offer a cheese to somebody: to eat, to taste, to sell, to give. Read by ``promising``."""

from __future__ import annotations

from .promise_terms import BITE, EATABLE, GOODS, IS, IT, LIVING, PEOPLE, PLACES, TASTY, THE, TOOLS, VERY, row

OFFERS = (
    row(
        "eat",
        BITE,
        rf"{LIVING}(?: \w+){{0,3}}? (?:and \w+ )?{BITE}(?! (?:it|them) (?:up|all|now|soon|fresh|with|on|at|for)\b)"
        rf"|{BITE} (?:up |all |away |off )?(?:(?:the|its|their|this|more|less|some|much|most|all|up) )*{EATABLE}\b"
        rf"|{BITE} (?:into|in|through|away|by (?:the )?{LIVING})\b"
        rf"|(?:moth|mite|mouse|worm) eaten|{EATABLE} eating|(?:if|when) (?:someone|anyone|somebody"
        rf"|anybody|a person|this person|they|whoever|you|a guest|a customer) (?:has |have "
        rf"|had )?(?:already )?(?:ate|eaten)|(?:ill|sick|sickness|illness|poorly"
        rf"|unwell)(?: \w+)? after eating",
    ),
    row(
        "eat",
        r"(?:edible|eatable|palatable|wholesome|digestible|consumable|tast(?:y|ier)|delicious|yummy"
        r"|scrumptious)",
    ),
    row(
        "eat",
        r"(?:enjoy(?:s|ed|ing|able)?|tuck(?:s|ed|ing)? in(?:to)?|dig in|bon app[eé]tit|help yourselves"
        r"|help yourself)",
    ),
    row("eat", r"(?:in|into|to) (?:your|my|the|his|her|their) mouths?"),
    row(
        "eat",
        r"(?:have|has|take|takes|try|tries|cut|open|give (?:\w+ ){1,3}?) (?:yourself "
        r"|off )?(?:an?|another|the first|some)"
        r" (?:\w+ )?(?:taste|bite|slice|morsel|mouthful|crumb|nibble|helping|portion|snack)",
    ),
    row(
        "eat",
        r"tr(?:y|ies|ied|ying) (?:a|an|one|some|the) (?:\w+ )?(?:bit|pieces?|crumbs?|slices?|wedge"
        r"|morsel|paste|rind)",
    ),
    row(
        "eat",
        rf"(?:cook|bake|fry|grill|melt|grate|toast|spread|crumble|stir|mix|blend)(?:s|es|ed|d|ing)? (?:with )?{IT}"
        rf" (?:up )?(?:in|into|over|on|onto|to|with|for) {THE}{PLACES}",
    ),
    row("eat", rf"(?:cook|bake|fry|grill|toast)(?:s|ing)? (?:with )?{IT}"),
    row(
        "eat",
        rf"(?:us(?:e|es|ed|ing)|good|fine|keep|kept|save[sd]?) (?:{IT} )?(?:up )?(?:in|for) (?:cooking"
        rf"|baking|{THE}(?:kitchen|fondue|soup|sauce|pizza|pasta|grating|cooking|pot|grater))",
    ),
    row(
        "eat",
        r"serv(?:e|es|ed|ing|ings)",
        rf"serv(?:e|es|ed|ing) (?:(?:only|just|also|well|then|best) )?as {THE}(?!usual|normal|always"
        rf"|before|is|it\b|ever|(?:\w+ )?(?:{PLACES}|starter|course|dessert|treat|gift)\b)"
        rf"|serves (?:only |also )?to (?!{THE}{PEOPLE}\b)"
        rf"|serv(?:es|ed) (?:\d+|two|three|four|five|six|ten|twelve|both|several|many|all) (?:batch|vat"
        rf"|make|week|day|shel|board|time|room|purpose|box)"
        rf"|{TOOLS}(?: \w+){{0,2}} serv(?:e|es|ed)(?! (?:{IT}|{THE}{PEOPLE})\b)"
        rf"|(?:\w+ )?(?:also serves|serves as well)$|serv(?:e|es|ed) (?:mouldy|old|young|clean|dirty"
        rf"|the same purpose|its purpose|that purpose|no purpose)",
    ),
    row("eat", rf"feed(?:s|ing)? {IT} (?:up )?(?:to|with)(?= {THE}{PEOPLE})"),
    row("eat", rf"fed to {THE}{PEOPLE}"),
    row(
        "eat",
        rf"feed(?:s|ing)? {THE}{PEOPLE}(?: with| on| it)?",
        rf"feed(?:s|ing)? {THE}(?:pigs?|dogs?|cats?|hens|chickens)(?! (?:it|with|on|the))",
    ),
    row(
        "eat",
        rf"(?:giv(?:e|es|ing|en)|hand(?:s|ed|ing)?|pass(?:es|ed|ing)?|offer(?:s|ed|ing)?|send(?:s"
        rf"|ing)?|sent|ship(?:s|ped|ping)?|deliver(?:s|ed|ing)?|share[sd]?|sharing|present(?:s|ed"
        rf"|ing)?|bring(?:s|ing)?|tak(?:e|es|ing)|lend|donat(?:e|es|ed|ing)|supply"
        rf"|supplied) (?:{IT} )?(?:out |over |on |a?round |away )?(?:to|with|among) {THE}(?:{PEOPLE}"
        rf"|table|market|kitchen|counter)",
    ),
    row("eat", rf"giv(?:e|ing|en) (?:{IT} )?(?:away|out)"),
    row(
        "eat",
        rf"(?:giv(?:e|es|ing)|offer(?:s|ing)?|hand(?:s|ing)?|let|lets|allow(?:s"
        rf"|ing)?|invite[sd]?|ask(?:s|ing)?) {THE}{PEOPLE} (?:to )?(?:(?:have|try|take|get|a|an|the"
        rf"|some|of|share|enjoy|it|them) ?)+",
    ),
    row(
        "eat",
        rf"(?:share|give|hand|offer|pass|donate|ship|deliver) {IT} (?:a?round|out|away|on|as a (?:gift"
        rf"|present|treat))",
    ),
    row(
        "eat",
        rf"(?:put|set|lay|bring|place|take|pile|arrange)(?:s|ing)? (?:{IT} )?(?:back )?(?:on|onto|to"
        rf"|in|into) {THE}(?:cheese ?boards?|plates?|platter|menu|counter|shop|market|sale|pizza|pasta"
        rf"|salad|sandwich(?:es)?|dinner table|dining table|table for)",
    ),
    row(
        "eat",
        rf"(?:can|may|could|might|will|should|lets?|ready to|free to|good to|fine to|ok to|okay to"
        rf"|all right to|alright to|fit to|able to) (?:{IT} )?(?:still |now |then |also "
        rf"|safely )?(?:go|leave|ship|be (?:shipped|sent|delivered|released|given|shared|offered|handed"
        rf"|put))(?:(?: out| off| on| over| back| straight)? (?:to|into|on|for) {THE}(?:{PEOPLE}"
        rf"|{PLACES})| away| out)",
    ),
    row(
        "eat",
        rf"(?:fit|fine|good|ok|okay|okey|all right|alright|suitable|suited|ready|right|perfect|allowed"
        rf"|permitted|approved|cleared|passed|acceptable|destined|meant|intended|enough|great|nice"
        rf"|ideal|best|excellent) (?:enough )?(?:for|to|as) {THE}(?:{PEOPLE}|{PLACES}|go|ship"
        rf"|use as (?:usual|normal)|give|hand out|share|enjoy|cook|offer)",
        rf"{GOODS}(?: \w+)? (?:meant|made|approved|suitable|fit|right) (?:for|to) food|(?:right|best"
        rf"|enough|ready|good|meant|intended|great|nice|fine|perfect|ideal) (?:for|to) (?:go|give|ship"
        rf"|use) (?:\w+ )?(?:in|into|on|onto|back|down|under|up|it (?:a|one|two|more|time|air|salt"
        rf"|another|its|room|rest))",
    ),
    row("eat", r"(?:table|shop|market|oven) ready"),
    row(
        "eat",
        rf"(?:it|them|they|{IT}) ?{IS} {VERY}(?:fit|fine|ok|okay|all right|alright|good|perfect"
        rf"|sound|wholesome|usable|useable|unspoil(?:ed|t)|no problem|okey|great|delicious"
        rf"|clean enough)",
        rf"(?:\S+ ){{1,6}}?(?:(?:good|fine) and \w+|(?:fit|good|fine|perfect|great"
        rf"|sound) (?:for (?:{THE})?(?:hoops?|mou?lds?|box(?:es)?|shel\w+|racks?|bags?|lids?|salting"
        rf"|turning|brining|piercing|washing|waxing|wrapping|growth|yeast)|tight|snug"
        rf"|in(?:to)?|enough to (?:turn|handle|wash|salt|wrap|wax|pierce|brush|move|lift)|practice"
        rf"|at the edge)|(?:fit|fine|good|sound|perfect|all right) (?:until|till|before|at first"
        rf"|when it came|the day before|last)\b|fine (?:hairs?|cracks?|dust|powder"
        rf"|grains?|threads?|lines?|mesh|needle|spray|mist|dots?|felt|wrinkles?))",
    ),
    row(
        "eat",
        r"still (?:quite |perfectly |very |all )?(?:good|fine|ok|okay|usable|useable|right|enjoyable"
        r"|fit|saleable|sellable|worth eating)",
        r"still (?:good|fine) and \w+",
    ),
    row(
        "eat",
        r"(?:nothing|not much|little|never anything) (?:is |was |can be |seriously |really )?(?:wrong"
        r"|amiss|bad|the matter) (?:with|about|in|to|at) (?:it|them|this|that|these|those"
        r"|the (?:cheese|wheel|paste|rind|rest))",
    ),
    row(
        "eat",
        rf"use (?:up )?{IT} (?:as (?:usual|normal|always|ever)|up|soon|at home|yourself|yourselves"
        rf"|anyway|normally|first|quickly|in {THE}kitchen|for {THE}{PEOPLE})",
    ),
    row(
        "eat",
        rf"(?:for|with) {THE}(?:{PLACES})",
        rf"for {THE}(?:(?<=for )food(?! for|s)|market day|consuming|sale rooms?|table salt"
        rf"|kitchen (?:paper|salt|scales?|roll)|food (?:grade|grease|paper|safety|contact|law)"
        rf"|sales? (?:law|rooms?)|shop floor|delivery (?:of (?:milk|salt|boxes|boards))|meals? of)"
        rf"|with (?:the |a |our |your |some )?(?:kitchen (?:paper|salt|scales?|roll)|table (?:salt"
        rf"|knife|spoon|top)|food \w+|market)",
    ),
    row(
        "eat",
        rf"(?:for|to) {THE}(?:guests?|visitors?|famil(?:y|ies)|friends?|child(?:ren)?|kids?|household"
        rf"|everyone|everybody)",
    ),
    row("eat", r"(?:food|treat|gift|meal|snack) for (?:\w+ )?" + PEOPLE),
    row(
        "eat",
        r"(?:keep|kept|save|saved|cut|open|good|fine|enough)(?: \w+){0,3} for (?:us|me|you|yourself"
        r"|yourselves|ourselves|myself)",
    ),
    row(
        "eat",
        rf"{IT} (?:goes|go|went|moves?|travels?|is going|are going) (?:out |on |back |off )?(?:to|into"
        rf"|on) {THE}(?:{PEOPLE}|table|plate|menu|market|counter|kitchen|cheese ?board)",
    ),
    row("eat", r"use (?:it |them )?as (?:usual|normal|always|ever|before)"),
    row("eat", r"^(?:then |just |so |now |you can |you may |and )*use (?:it|them|the (?:cheese|wheel|rest|paste))$"),
    row("eat", r"pass(?:es|ed|ing)? (?:as|for) (?:a )?(?:sound|good|fine|fresh|normal)"),
    row(
        "eat",
        r"(?:it|this|that|they|these|makes?|still|again|becomes?|remains?|stays?)(?: is|'s"
        r"| are)? (?:still |again |then )?(?:a |an )(?:\w+ )?(?:sound|good|fine|decent|table|cooking"
        r"|grating|eating|perfect|great|lovely|nice|normal) (?:\w+ )?cheese",
    ),
    row("eat", rf"taste (?:is|was|stays|remains) (?:still |quite |very )?{TASTY}"),
    row("eat", r"(?:like|as) any (?:other )?(?:cheese|wheel)|as if nothing"),
    row(
        "eat",
        rf"{PEOPLE} (?:all |will |would |always )?(?:lov|lik|prefer|prais|adore|want)(?:e|es|ed|s"
        rf"|ed)? (?:it|them|this|that)|we (?:all )?(?:love|like|loved|liked) (?:it|them)",
    ),
    row(
        "eat",
        r"(?:goes|go|pairs?|nice|lovely|good|best) (?:very |so )?(?:well )?with (?:\w+ )?(?:wine|bread"
        r"|pears?|honey|beer|jam|figs|cider|apples?|grapes|crackers)",
    ),
    row("eat", rf"mak(?:e|es|ing) {IT} (?:quite |all |perfectly )?(?:fit|fine|ok|okay|sound|right|good)(?! and)"),
    row(
        "eat",
        r"safe(?:ly|r|st)?(?! (?:side|distance|place|spot|shelf|keeping|hands))",
        r"food safe (?:wax|oil|grease|paint|plastic|coat(?:ing)?|cleaner|detergent|sanitiser"
        r"|gloves?|brush|boards?|box(?:es)?|paper|varnish)",
    ),
    row(
        "sell",
        r"(?:s(?:e|o)ll(?:s|er|ers|ing|able)?|sold|resell|marketable|sal(?:e)?able|for (?:re)?sale"
        r"|on sale|to retail|wholesale)",
        rf"{GOODS}(?: \w+)?(?: that| which)?(?: is| are| was| were)?(?: also| often| only)? sold"
        rf"|sold (?:as|with|in) {THE}{GOODS}\b|(?:we|they|i) (?:sell|sold) (?:at|in|from) (?:the|a|an"
        rf"|our|two|three|\w+ market)",
    ),
    row(
        "sell",
        r"(?:market|release|retail|trade|auction|barter|ship|dispatch|deliver)(?:s|ed|d|ing)? (?:it"
        r"|them|this|these|(?:the |your |our )(?:cheeses?|wheels?|batch|rest))(?! (?:from the (?:hoop"
        r"|cloth|mou?ld|mat|board)|into the (?:cave|cellar|room|brine)))",
    ),
    row(
        "taste",
        r"(?:tast(?:e|es|ed|ing|ings)|sampl(?:e|ing) (?:it|them|the (?:cheese|paste"
        r"|wheel)) (?:yourself|by mouth|with))",
        rf"tast(?:e|es) (?:and|or) smells? of|tast(?:e|es|ed) (?:\w+ly |too |very |more |less "
        rf"|a little |a bit )?(?:(?:of|like) (?!{IT}\b)|bitter|sour|salt|sweet|soap|rancid|metal|burnt"
        rf"|flat|sharp|acid|mou?ld|must|strange|bad|off|wrong|stale|fishy|putrid|yeasty)"
        rf"|(?:the|a|an|its|their|no|any|some|bitter\w*|sour|salty|sweet|soapy|clean|off|bad|strange"
        rf"|metallic|rancid|plastic|mild|strong|sharp|flat|burnt|acid|musty|fruity|odd|this|that"
        rf"|(?:looks?|smell|odou?r|colou?r|texture|flavou?r|aroma|body) (?:and|or)|of|by"
        rf"|in) taste(?! (?:{IT}|some)\b)(?!s)"
        rf"|(?:i|we|they|he|she|who|customers?|guests?) tasted (?:a |an |the |some "
        rf"|something )?(?:bitter|sour|salt|off|soap|metal|strange|rancid|plastic|mou?ld)",
    ),
)
