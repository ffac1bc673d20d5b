"""Rule files with one mistake each: the bytes, the line of the fault, and how its sentence begins."""

from tests.law_samples import US_DAYS, recipient, rule, text_of

HOLD = 'length = 10\nunit = "days"\nforbids = ["sell"]\n'
REPORT = 'to = "sheriff"\nper = "purchase"\ntitle = "Form"\n'
RETAIN = 'classes = ["item"]\n[retain.at_least]\n'
TASK = 'what = "Do it."\nbefore_end = { of = "h", length = 1, unit = "days" }\n'
QUESTION = '\n[[question]]\nid = "q"\nabout = "item"\ntype = "flag"\nasks = "Which?"\nwho = "clerk"\n'
QUARTERLY = REPORT.replace('"purchase"', '"quarter"')
AGE = 'when = [{ fact = "seller.age", below = 18 }]\nmay_record = ["reason"]\n'


def hold(body: str) -> bytes:
    return text_of(rule("hold", "h", body))


def when(condition: str) -> bytes:
    return hold(HOLD + f"when = [{condition}]\n")


# Each file has one mistake. The head of every sample is nine lines; a rule begins on line 11 with [[kind]], its id
# on 12, says 13, from 14, source 15, basis 16, and what the test writes from 17 on; one line less where the body
# brings its own from.
BROKEN: dict[str, tuple[bytes, int, str]] = {
    "a misspelt key": (hold(HOLD.replace("length", "lenght")), 17, "'lenght' is not a key of [[hold]]; write 'length'"),
    "a hold that runs from its own end": (
        hold(HOLD + 'start = "end:h"\n'),
        12,
        "the time of 'h' runs from its own end, straight or by way of others; write another start.",
    ),
    "a key nobody knows": (
        hold(HOLD + "xyz = 1\n"),
        20,
        "'xyz' is not a key of [[hold]]; remove it, or write one of id",
    ),
    "a missing key": (
        hold('unit = "days"\nforbids = ["sell"]\n'),
        11,
        "[[hold]] needs one of 'length', 'until_released', 'ends_with'.",
    ),
    "a number in quotes": (hold(HOLD.replace("10", '"10"')), 17, "'length' is '10'; write a whole number, 1 to 40,000"),
    "a number with decimals": (hold(HOLD.replace("10", "10.0")), 17, "'length' is 10.0; write a whole number"),
    "a yes that is a number": (hold(HOLD.replace("10", "true")), 17, "'length' is true; write a whole number"),
    "an unknown unit": (
        hold(HOLD.replace('"days"', '"weeks"')),
        18,
        "'unit' is 'weeks'; write one of \"hours\", \"days\"",
    ),
    "an unknown act": (
        hold(HOLD.replace('"sell"', '"pawn"')),
        19,
        "'forbids' is 'pawn'; write one of \"offer\", \"sell\"",
    ),
    "a text where a list belongs": (
        hold(HOLD.replace('["sell"]', '"sell"')),
        19,
        "'forbids' is 'sell'; write a list in",
    ),
    "an empty list": (hold(HOLD.replace('["sell"]', "[]")), 19, "'forbids' is a list; write a list in square brackets"),
    "a day in quotes": (hold('from = "2020-01-01"\n' + HOLD), 16, "'from' is '2020-01-01'; write a day without quotes"),
    "a day with an hour": (
        hold("from = 2020-01-01T10:00:00\n" + HOLD),
        16,
        "'from' is 2020-01-01T10:00:00; write a day",
    ),
    "an end before the beginning": (
        hold("from = 2026-01-01\nuntil = 2025-01-01\n" + HOLD),
        17,
        "'until' 2025-01-01 lies before 'from' 2026-01-01; write a later day.",
    ),
    "an id with a space": (
        text_of(rule("hold", "my hold", HOLD)),
        12,
        "'id' is 'my hold'; write a short name in small",
    ),
    "two versions at once": (
        text_of(rule("hold", "h", "from = 2020-01-01\n" + HOLD), rule("hold", "h", "from = 2020-01-01\n" + HOLD)),
        27,
        "two versions of 'h' apply on 2020-01-01; end the earlier with 'until'",
    ),
    "versions that overlap": (
        text_of(
            rule("hold", "h", "from = 2020-01-01\nuntil = 2026-01-01\n" + HOLD),
            rule("hold", "h", "from = 2026-01-01\n" + HOLD),
        ),
        28,
        "two versions of 'h' apply on 2026-01-01",
    ),
    "one id for two kinds": (
        text_of(rule("hold", "h", HOLD), rule("refuse", "h", "from = 2026-01-01\n" + AGE)),
        12,
        "'h' is used by [[hold]] and [[refuse]]; give each its own id.",
    ),
    "a move without a place": (
        hold(HOLD.replace('"sell"', '"move"')),
        19,
        "a hold that forbids to move needs 'keep_in'",
    ),
    "an unknown fact": (
        hold(HOLD + 'when = [{ fact = "item.metall", is = "gold" }]\n'),
        20,
        "'item.metall' is not a fact; write 'item.metal'.",
    ),
    "a fact like no other": (
        hold(HOLD + 'when = [{ fact = "zzz.qqq", is = "gold" }]\n'),
        20,
        "'zzz.qqq' is not a fact; write one of the names that the reference lists.",
    ),
    "two comparisons": (
        hold(HOLD + 'when = [{ fact = "seller.age", below = 18, above = 3 }]\n'),
        20,
        "a condition compares its fact once; write exactly one of is, is_not",
    ),
    "a comparison that does not fit": (
        hold(HOLD + 'when = [{ fact = "item.metal", below = 18 }]\n'),
        20,
        "'below' does not fit item.metal; write one of is, is_not, in, not_in, same_as, differs_from, known.",
    ),
    "a word that never comes": (
        hold(HOLD + 'when = [{ fact = "item.goods", is = "jewellery" }]\n'),
        20,
        "item.goods is never 'jewellery'; write jewelry.",
    ),
    "a word like no other": (
        hold(HOLD + 'when = [{ fact = "item.kind", is = "zzz" }]\n'),
        20,
        "item.kind is never 'zzz'; write single, set, lot.",
    ),
    "one word for a list": (
        hold(HOLD + 'when = [{ fact = "item.goods", in = "coin" }]\n'),
        20,
        "'in' is 'coin'; write a list of texts in square brackets.",
    ),
    "an age in quotes": (
        hold(HOLD + 'when = [{ fact = "seller.age", below = "18" }]\n'),
        20,
        "'below' is '18'; write a whole number.",
    ),
    "an amount without quotes": (
        hold(HOLD + 'when = [{ fact = "item.price", below = 5 }]\n'),
        20,
        "'below' is 5; write an amount in quotes, such as \"500.00\".",
    ),
    "an amount with half cents": (
        hold(HOLD + 'when = [{ fact = "item.price", below = "5.005" }]\n'),
        20,
        "'below' is '5.005'; write at most 2 decimals for USD.",
    ),
    "an amount without currency": (
        text_of(rule("hold", "h", HOLD + 'when = [{ fact = "item.price", below = "5.00" }]\n'), currency=""),
        19,
        "an amount needs the file's 'currency'",
    ),
    "a fineness in words": (
        hold(HOLD + 'when = [{ fact = "item.fineness", below = "sterling" }]\n'),
        20,
        "'below' is 'sterling'; write thousandths or karat in quotes",
    ),
    "a karat above twenty-four": (
        hold(HOLD + 'when = [{ fact = "item.fineness", below = "25 karat" }]\n'),
        20,
        "'below' is '25 karat'; write thousandths or karat",
    ),
    "a weight without unit": (
        hold(HOLD + 'when = [{ fact = "item.net_weight", below = "5" }]\n'),
        20,
        "'below' is '5'; write a weight with its unit in quotes",
    ),
    "a condition without a fact": (
        hold(HOLD + "when = [{ below = 18 }]\n"),
        20,
        "a condition needs one of 'fact', 'all'",
    ),
    "a condition of two kinds": (
        hold(HOLD + 'when = [{ fact = "seller.age", below = 18, any = [{ fact = "seller.age", below = 3 }] }]\n'),
        20,
        "a condition has 'fact' and 'any'; keep exactly one of",
    ),
    "an empty reading": (
        hold(HOLD + 'readings = [{ reason = "One may ask." }]\n'),
        20,
        "a reading changes nothing; write the key that it reads otherwise",
    ),
    "days off without a list": (
        hold('length = 5\nunit = "working-days"\nforbids = ["sell"]\n'),
        11,
        "it counts working days, so the file needs a [calendar] with its days off; write one.",
    ),
    "hours that roll": (
        text_of(
            rule("hold", "h", 'length = 5\nunit = "hours"\nroll = "next-working-day"\nforbids = ["sell"]\n'), US_DAYS
        ),
        19,
        "'roll' means nothing where hours are counted; remove it.",
    ),
    "a length beyond all law": (
        hold('length = 400\nunit = "years"\nforbids = ["sell"]\n'),
        17,
        "'length' is 400 years; write at most 100.",
    ),
    "an event that never comes": (
        hold(HOLD + 'start = "report-read:sheriff"\n'),
        20,
        "'start' is 'report-read:sheriff'; write an event: \"purchase\", \"receipt\"",
    ),
    "a start of both": (
        hold(HOLD + 'start = { later_of = ["purchase"] }\n'),
        20,
        "'later_of' is a list; write a list in square brackets",
    ),
    "a refusal without a reason": (
        text_of(rule("refuse", "r", 'may_record = ["reason"]\n')),
        11,
        "[[refuse]] needs 'when': the conditions under which nothing may be bought.",
    ),
    "an exemption of everything": (
        text_of(rule("exempt", "e", "")),
        11,
        "[[exempt]] needs 'when': the conditions under which the rules do not apply.",
    ),
    "an exemption from nothing": (
        text_of(rule("exempt", "e", 'rules = ["hold-it"]\nwhen = [{ fact = "seller.age", below = 3 }]\n')),
        17,
        "'hold-it' is not the id of a rule of this file; correct it or remove it.",
    ),
    "a payment rule without a limit": (
        text_of(rule("pay", "p", "")),
        11,
        "[[pay]] limits nothing; write 'instruments', 'ceilings', 'payee', 'delivery', 'not_before' or 'not_after'.",
    ),
    "a retention without a bound": (
        text_of(rule("retain", "r", 'classes = ["item"]\n')),
        11,
        "[[retain]] bounds nothing; write 'at_least', 'at_most' or both.",
    ),
    "a recipient that nobody declared": (
        text_of(rule("report", "r", REPORT + 'due = { within = 48, unit = "hours" }\n')),
        17,
        "'sheriff' is not declared; write a [[recipient]] with this id and its name.",
    ),
    "a recipient declared twice": (
        text_of(recipient("sheriff"), recipient("sheriff")),
        16,
        "'sheriff' is declared twice",
    ),
    "a report of fields that nobody asks": (
        text_of(
            recipient("sheriff"),
            rule("report", "r", REPORT + 'due = { within = 48, unit = "hours" }\nasks = ["seller"]\n'),
        ),
        25,
        "'seller' is not the id of an [[ask]] of this file; correct it or remove it.",
    ),
    "a deadline without a shape": (
        text_of(recipient("sheriff"), rule("report", "r", REPORT + 'due = { by = "12:00" }\n')),
        24,
        "due needs one of 'within', 'next', 'same_day', 'weekly', 'quarterly', 'yearly', 'at_once', 'no_day'.",
    ),
    "a deadline without a unit": (
        text_of(recipient("sheriff"), rule("report", "r", REPORT + "due = { within = 48 }\n")),
        24,
        "'within' needs 'unit', such as \"hours\".",
    ),
    "a weekly deadline for each purchase": (
        text_of(recipient("sheriff"), rule("report", "r", REPORT + 'due = { weekly = "monday" }\n')),
        24,
        "a report per purchase cannot be due 'weekly'; write 'within', 'next', 'same_day', 'at_once', 'no_day'.",
    ),
    "a clock with within": (
        text_of(
            recipient("sheriff"), rule("report", "r", REPORT + 'due = { within = 2, unit = "days", by = "12:00" }\n')
        ),
        24,
        "'by' does not go with 'within'; remove it.",
    ),
    "a same day that is not": (
        text_of(recipient("sheriff"), rule("report", "r", REPORT + "due = { same_day = false }\n")),
        24,
        "'same_day' is false; write true, or another kind of deadline.",
    ),
    "a clock with twelve hours": (
        text_of(recipient("sheriff"), rule("report", "r", REPORT + 'due = { next = "day", by = "5 pm" }\n')),
        24,
        "'by' is '5 pm'; write a clock time in quotes, such as \"12:00\", or \"close\".",
    ),
    "fields about two subjects": (
        text_of(
            rule(
                "ask",
                "a",
                'fields = [\n  { fact = "seller.name", label = "N" },\n  { fact = "item.marks", label = "M" },\n]\n',
            )
        ),
        19,
        "'item.marks' is about another subject than the fields before it; ask it in an [[ask]] of its own.",
    ),
    "a seller asked by an item": (
        text_of(
            rule(
                "ask",
                "a",
                'fields = [{ fact = "seller.name", label = "N" }]\nwhen = [{ fact = "item.metal", is = "gold" }]\n',
            )
        ),
        18,
        "this rule is about the seller, so its conditions cannot ask about an item",
    ),
    "a limit about two subjects": (
        text_of(rule("limit", "l", 'must_not = "ask"\nfacts = ["seller.race", "item.marks"]\n')),
        18,
        "facts about the seller and about an item stand together; write two [[limit]].",
    ),
    "a way that asks for nothing": (
        text_of(rule("documents", "d", 'any_of = [{ says = "Nothing." }]\n')),
        17,
        "this way asks for nothing; write 'documents', 'fields' or 'personally_known = true'.",
    ),
    "an unknown zone": (
        text_of(zone='"America/Pellwick"'),
        8,
        "'zone' is 'America/Pellwick'; write a zone of the IANA",
    ),
    "an unknown layer": (text_of(layer='"village"'), 4, "'layer' is 'village'; write one of \"nation\", \"state\""),
    "another format": (text_of(format='"rules/9"'), 1, "'format' is 'rules/9'; write one of \"rules/0\"."),
    "read after it was checked": (
        text_of(checked_until="2025-01-01"),
        7,
        "'checked_until' 2025-01-01 lies before 'read_on' 2026-01-01; write a later day.",
    ),
    "known only later": (
        text_of(known_from="2031-01-01"),
        5,
        "'known_from' 2031-01-01 lies after 'checked_until'; write an earlier day.",
    ),
    "a week without working days": (
        text_of(
            US_DAYS.replace(
                '"saturday", "sunday"',
                '"monday", "tuesday", "wednesday", "thursday", "friday", "saturday", "sunday"',
            )
        ),
        12,
        "no day of the week is left to work; remove some.",
    ),
    "a day off twice": (
        text_of(US_DAYS.replace("2026-11-26", "2026-11-11")),
        18,
        "2026-11-11 stands twice in the list",
    ),
    "a day off beyond the list": (
        text_of(US_DAYS.replace("2026-11-26", "2029-11-26")),
        18,
        "2029-11-26 lies outside 2026-01-01 to 2027-12-31",
    ),
    "a list that ends before it begins": (
        text_of(US_DAYS.replace("until = 2027-12-31", "until = 2025-12-31").split("closed")[0]),
        14,
        "'until' 2025-12-31 lies before 'from' 2026-01-01; write a later day.",
    ),
    "a rule that is no table": (
        text_of("\nhold = 3\n"),
        11,
        "'hold' is 3; write a list in square brackets, each a table",
    ),
    "a table where words belong": (hold(HOLD + "quote = {}\n"), 20, "'quote' is a table; write the deciding words in"),
    "a text too long": (hold(HOLD + f'quote = "{"x" * 2_001}"\n'), 20, "'quote' is 'xxx"),
    "a key of a rule after a table inside": (
        text_of(rule("retain", "r", RETAIN + 'length = 3\nunit = "years"\nplace = "premises"\n')),
        21,
        "'place' is a key of [[retain]], but it stands inside 'at_least' and belongs to that; move it above",
    ),
    "a key of the file after a rule": (
        text_of(rule("hold", "h", HOLD + 'zone = "America/Chicago"\n'), zone=""),
        19,
        "'zone' is a key of the file, but it stands inside [[hold]] and belongs to that; move it above [[hold]].",
    ),
    "a start that joined the time above it": (
        text_of(rule("retain", "r", RETAIN + 'length = 3\nunit = "years"\nstart = "last-entry"\n')),
        21,
        "'start' stands below 'at_least' and belongs to that, but [[retain]] may have a 'start' too; move it above",
    ),
    "a needed key that joined the table above it": (
        text_of(
            rule("report", "r", 'to = "s"\nper = "day"\n[report.due]\nat_once = true\ntitle = "T"\n'), recipient("s")
        ),
        21,
        "'title' is a key of [[report]], but it stands inside 'due' and belongs to that; move it above 'due'.",
    ),
    "a needed key of the calendar after a table inside": (
        text_of(
            '\n[calendar]\nuntil = 2027-12-31\nsource = "A"\nweekend = []\n[calendar.closing_hour]\nat = "17:00"\n'
            "from = 2026-01-01\n",
        ),
        17,
        "'from' is a key of [calendar], but it stands inside 'closing_hour' and belongs to that; move it above",
    ),
    "a needed key that is at home in the table above it too": (
        text_of(rule("documents", "d", '[[documents.any_of]]\nsays = "Known."\npersonally_known = true\n')).replace(
            b'says = "A sample rule."\n', b""
        ),
        11,
        "[[documents]] needs 'says'; a 'says' stands inside 'any_of', and if it is meant it belongs above that.",
    ),
    "a permission that nobody declared": (
        hold(HOLD + 'allows = [{ act = "sell", permission = "waiver" }]\n'),
        20,
        "'waiver' is not declared; write a [[permission]] with this id and what it means.",
    ),
    "an event that nobody declared": (
        hold(HOLD + 'start = "event:show-ended"\n'),
        20,
        "'show-ended' is not the id of an [[event]] of this file; correct it, or declare it.",
    ),
    "a due date of no report": (
        hold(HOLD + 'start = "due:weekly"\n'),
        20,
        "'weekly' is not the id of a report or a task of this file; correct it, or declare it.",
    ),
    "an end of no hold": (
        hold(HOLD + 'start = "end:other"\n'),
        20,
        "'other' is not the id of a hold or an order of this file; correct it, or declare it.",
    ),
    "a rule that displaces nothing": (
        hold(HOLD + 'displaces = ["other"]\n'),
        20,
        "'other' is not the id of a rule of this file; correct it or remove it.",
    ),
    "a displacement without the higher law": (
        hold(HOLD + 'displaces = [{ rule = "xx-state/hold" }]\n'),
        20,
        "a rule of another file needs 'by': the citation in quotes.",
    ),
    "an order without an end": (
        text_of(rule("order", "o", 'forms = ["written"]\n')),
        11,
        "[[order]] needs one of 'length', 'open_ended'.",
    ),
    "a lapse without a time": (
        text_of(rule("order", "o", 'open_ended = true\nlapse = { unless = "written" }\n')),
        18,
        "a lapse needs 'within': a table in braces, such as { length = ..., unit = ... }.",
    ),
    "a task with two times": (
        text_of(rule("hold", "h", HOLD), rule("task", "t", TASK + 'due = { next = "day" }\n')),
        22,
        "[[task]] has 'due' and 'before_end'; keep exactly one of 'due', 'before_end'.",
    ),
    "a task before the end of nothing": (
        text_of(rule("task", "t", TASK)),
        18,
        "'h' is not the id of a hold or an order of this file; correct it, or declare it.",
    ),
    "a question without its answers": (
        text_of(QUESTION.replace("flag", "word")),
        11,
        "a question of type word needs 'words': the answers that it may have.",
    ),
    "two questions with one id": (
        text_of(QUESTION, QUESTION),
        19,
        "'q' is declared twice; remove one, or give it another id.",
    ),
    "a tally of something that cannot be counted": (
        text_of('\n[[tally]]\nid = "t"\nof = "gold"\nby = "seller"\nperiod = "day"\n'),
        13,
        '\'of\' is \'gold\'; write one of "total", "cash", "slips", "items", "articles".',
    ),
    "a share without percent": (
        when('{ fact = "item.price", share_of = "item.melt_value", below = "50" }'),
        20,
        "'below' is '50'; write a percentage in quotes, such as \"50 %\".",
    ),
    "a clock with a dot": (
        when('{ fact = "slip.clock", at_least = "8.00" }'),
        20,
        "'at_least' is '8.00'; write a clock time in quotes, such as \"08:00\".",
    ),
    "what is about to be done asked at the purchase": (
        when('{ fact = "act.to", is = "vault" }'),
        20,
        "what is about to be done is not known at the purchase; ask about it in a hold's 'allows'.",
    ),
    "a day of a quarter the other way round": (
        text_of(recipient("sheriff"), rule("report", "r", QUARTERLY + 'due = { quarterly = ["31-01"] }\n')),
        24,
        "'quarterly' is '31-01'; write month and day in quotes, such as \"01-31\".",
    ),
    "a record on wax": (
        text_of(rule("form", "f", 'title = "T"\nmedium = ["wax"]\n')),
        18,
        '\'medium\' is \'wax\'; write one of "bound-book", "cards", "electronic".',
    ),
    "a hold without a length": (
        hold('forbids = ["sell"]\n'),
        11,
        "[[hold]] needs one of 'length', 'until_released', 'ends_with'.",
    ),
    "a length without a unit": (
        hold(HOLD.replace('unit = "days"\n', "")),
        11,
        "'length' needs 'unit', such as \"days\".",
    ),
    "a country in small letters": (
        text_of(US_DAYS.replace("closed = [", 'list = { country = "usa" }\nclosed = [')),
        16,
        "'country' is 'usa'; write two capital letters, such as \"US\".",
    ),
    "a country without a list": (
        text_of(US_DAYS.replace("closed = [", 'list = { country = "ZZ" }\nclosed = [')),
        16,
        "the holidays library has no list 'ZZ'; write another, or the days under 'closed'.",
    ),
    "text without quotes": (
        hold(HOLD.replace('"days"', "days")),
        18,
        '`unit = days` cannot be read: text stands in quotes, a number in figures; write "days".',
    ),
    "a quote that is not closed": (
        hold(HOLD.replace('"days"', '"days')),
        18,
        'the text that opens in `unit = "days` is not closed; write a second " at its end.',
    ),
    "a list that is not closed": (
        hold(HOLD.replace('["sell"]', '["sell"')),
        19,
        'the list that opens in `forbids = ["sell"` is not closed; write ] at its end.',
    ),
    "a brace that is not closed": (
        hold(HOLD + 'start = { later_of = ["purchase", "receipt"]\n'),
        20,
        'the table in braces that opens in `start = { later_of = ["purchase", "receipt"]` is not closed; write } at',
    ),
    "the quotes of a word processor": (
        hold(HOLD.replace('"days"', "“days”")),
        18,
        '`unit = “days”` cannot be read: these are not straight quotes; write " before and behind the text.',
    ),
    "a comma before the brace": (
        hold(HOLD + 'start = { later_of = ["purchase", "receipt"], }\n'),
        20,
        '`start = { later_of = ["purchase", "receipt"], }` cannot be read: a comma stands before the closing brace;',
    ),
    "a table in braces on two lines": (
        hold(HOLD + 'start = { later_of =\n["purchase", "receipt"] }\n'),
        20,
        "`start = { later_of =` cannot be read: nothing stands after the sign =; write a value.",
    ),
    "a colon for the sign =": (
        hold(HOLD.replace("unit =", "unit:")),
        18,
        '`unit: "days"` cannot be read: a key and its value are joined by =; write = instead of :.',
    ),
    "a day the other way round": (
        hold("from = 01/02/2026\n" + HOLD),
        16,
        "`from = 01/02/2026` cannot be read: a day has four figures, two and two; write it like 2026-07-01.",
    ),
    "a day that is not": (
        hold("from = 2026-02-30\n" + HOLD),
        16,
        "`from = 2026-02-30` cannot be read: there is no such day or hour; write it like 2026-07-01.",
    ),
    "a yes in words": (
        hold(HOLD + "first_day_counts = yes\n"),
        20,
        "`first_day_counts = yes` cannot be read: write true, in small letters and without quotes.",
    ),
    "a header with one bracket too few": (
        text_of(rule("hold", "h", HOLD).replace("[[hold]]", "[[hold]")),
        11,
        "`[[hold]` cannot be read: the name of a table stands in brackets that close on the line; write such as",
    ),
    "a rule in one pair of brackets": (
        text_of(rule("hold", "h", HOLD).replace("[[hold]]", "[hold]")),
        11,
        "[hold] stands in one pair of brackets, and there may be several; write [[hold]].",
    ),
    "a kind nobody knows": (
        text_of(rule("holds", "h", HOLD)),
        11,
        "'holds' is not a key of the file; write 'hold' or remove it.",
    ),
    "an amount with a sign": (
        when('{ fact = "item.price", below = $5 }'),
        20,
        '`when = [{ fact = "item.price", below = $5 }]` cannot be read: an amount stands in quotes and without the',
    ),
    "two units in one line": (
        hold(HOLD.replace("length = 10", "length = 10 days")),
        17,
        "`length = 10 days` cannot be read: a number stands alone, and anything else in quotes;",
    ),
}
