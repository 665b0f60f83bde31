//! Makes rulebooks from the language itself, every clause and every form of a value, with blanks and comments between
//! any two words. They read, but they mean nothing.

/// Choices that somebody else made; when they run out, the first of each.
pub struct Dice<'c> {
    choices: &'c [u8],
    at: usize,
}

impl<'c> Dice<'c> {
    /// Makes dice that fall as listed.
    pub fn new(choices: &'c [u8]) -> Self {
        Self { choices, at: 0 }
    }

    fn below(&mut self, count: usize) -> usize {
        let choice = self.choices.get(self.at).copied().unwrap_or_default();
        self.at += 1;
        usize::from(choice) % count
    }

    fn one_of<'w>(&mut self, words: &[&'w str]) -> &'w str {
        words[self.below(words.len())]
    }
}

/// Makes a rulebook.
pub fn rulebook(dice: &mut Dice<'_>) -> String {
    let mut out = String::new();
    for _ in 0..1 + dice.below(5) {
        for _ in 0..dice.below(3) {
            out += dice.one_of(&["\n", "# between items\n", "  # indented\n", "\n\n# alone\n\n"]);
        }
        let words = item(dice);
        for (at, word) in words.iter().enumerate() {
            if at > 0 {
                out += blank(dice);
            }
            out += word;
        }
        out += dice.one_of(&["\n", "  # at the end\n", "\n  # of the item\n", "\r\n\n", "\n# of the next\n"]);
    }
    out
}

fn blank(dice: &mut Dice<'_>) -> &'static str {
    dice.one_of(&[
        " ",
        " ",
        " ",
        "\n  ",
        "  ",
        "\t",
        "\r\n ",
        " # a comment\n    ",
        "\n# first column\n  ",
        "\n\n  # own line\n ",
    ])
}

/// Fills a pattern: a word in capitals stands for something made, any other for itself.
fn fill(dice: &mut Dice<'_>, pattern: &str) -> Vec<String> {
    let mut words = Vec::new();
    for word in pattern.split(' ').filter(|word| !word.is_empty()) {
        match word {
            "NAME" => words.push(name(dice)),
            "NAMES" => list(dice, &mut words, "NAME"),
            "SERIES" => words.push(series(dice)),
            "TEXT" => words.push(text(dice)),
            "TEXT?" if dice.below(2) == 0 => words.push(text(dice)),
            "TEXT?" => {}
            "NUMBER" => words.push(dice.one_of(&["1", "12", "0.5", "1e6"]).to_owned()),
            "QUANTITY" => words.push(quantity(dice)),
            "VALUE" => words.push(value(dice)),
            "VALUES" => list(dice, &mut words, "VALUE"),
            "DATE" => words.push("2027-02-11".to_owned()),
            "DAY" => words.push(dice.one_of(&["1 Dec", "01 Jan", "31  Mar", "1\n Feb"]).to_owned()),
            "CLOCK" => words.push(dice.one_of(&["6:00", "17:30"]).to_owned()),
            "GROUP" => words.push(dice.one_of(&["M01", "11", "3", "U12"]).to_owned()),
            "UNIT" => words.push(unit(dice).to_owned()),
            "CONDITION" => words.extend(condition(dice, 3)),
            "COMPARISON" => words.extend(comparison(dice)),
            "EXPRESSION" => words.extend(expression(dice, 3)),
            "OPERAND" => words.extend(small_operand(dice, 1)),
            "WINDOW" => words.extend(window(dice)),
            "KIND" => words.extend(kind(dice)),
            "CELL" => words.extend(cell(dice)),
            "ROW" => words.extend(row(dice)),
            "CITES" => cites(dice, &mut words),
            "WHY" => words.extend(why(dice)),
            _ => words.push(word.to_owned()),
        }
    }
    words
}

/// Fills one of some patterns.
fn pick(dice: &mut Dice<'_>, patterns: &[&str]) -> Vec<String> {
    let pattern = dice.one_of(patterns);
    fill(dice, pattern)
}

fn list(dice: &mut Dice<'_>, words: &mut Vec<String>, what: &str) {
    words.extend(fill(dice, what));
    for _ in 0..dice.below(3) {
        words.push(",".to_owned());
        words.extend(fill(dice, what));
    }
}

fn item(dice: &mut Dice<'_>) -> Vec<String> {
    let (head, clauses): (&str, &[&str]) = ITEMS[dice.below(ITEMS.len())];
    let mut words = Vec::new();
    if head.starts_with("gate") && dice.below(4) == 3 {
        words.push("replace".to_owned());
    }
    words.extend(fill(dice, head));
    if !clauses.is_empty() {
        for _ in 0..dice.below(6) {
            words.extend(pick(dice, clauses));
        }
    }
    words
}

/// The items: how each begins, and its clauses.
#[rustfmt::skip]
const ITEMS: &[(&str, &[&str])] = &[
    ("gate NAME TEXT?", &[
        "shuts NAMES", "shuts spraying , group GROUP , NAME with NAME", "holds NAME to NAME",
        "in hours when CONDITION", "if CONDITION", "unless CONDITION", "WHY",
    ]),
    ("measure NAME TEXT? = EXPRESSION", &["valid if CONDITION", "WHY"]),
    ("rulebook TEXT", &[
        "crop NAME", "region TEXT", "edition TEXT", "in-force from DATE to DATE", "season from DAY to DAY",
        "builds-on TEXT", "builds-on TEXT edition TEXT", "window at least QUANTITY within QUANTITY",
        "gaps at most QUANTITY", "accuracy SERIES QUANTITY , SERIES QUANTITY", "contact TEXT",
        "caution TEXT", "tightens",
    ]),
    ("source NAME TEXT", &["recalled"]),
    ("disease NAME TEXT?", &[]),
    ("scale NAME TEXT?", &["NAME", "NAME 510", "NAME 511 to 512 TEXT", "NAME TEXT", "WHY"]),
    ("figure NAME = VALUE", &["WHY"]),
    ("observe NAME TEXT?", &[
        "kind KIND", "of panicles", "of grove", "range from VALUE to VALUE", "ask TEXT", "how TEXT",
        "lasts QUANTITY", "assume VALUE", "assume VALUE if CONDITION", "WHY",
    ]),
    ("hourly NAME = CONDITION", &["WHY"]),
    ("daily NAME = EXPRESSION", &["days begin CLOCK", "valid if CONDITION", "WHY"]),
    ("table NAME of KIND gives KIND", &["between linear", "beyond ends", "otherwise CELL", "ROW", "WHY"]),
    ("table NAME of text , KIND gives KIND", &[
        "cites NAME", "TEXT CELL", "TEXT , above QUANTITY CELL", "because TEXT because TEXT",
        "otherwise CELL",
    ]),
    ("tally NAME TEXT?", &[
        "over WINDOW", "over since DAY", "waits for CONDITION", "starts VALUE",
        "add QUANTITY if CONDITION", "add ( EXPRESSION )", "kept from VALUE to VALUE",
        "reset if CONDITION", "WHY",
    ]),
    ("band NAME levels NAMES WHY", &[
        "NAME if CONDITION", "at most NAME if CONDITION because TEXT cites CITES",
        "NAME if CONDITION cites CITES", "levels NAMES",
    ]),
    ("product NAME TEXT?", &[
        "active TEXT", "group GROUP , GROUP", "contains NAME", "against NAME good , NAME slight",
        "class organic", "strength NAME QUANTITY", "strength NAME 2 kg / ha NAME",
        "label interval at least QUANTITY", "label season at most 6 sprays",
        "label year at most QUANTITY NAME", "label single at most QUANTITY",
        "label before-harvest at least QUANTITY", "label apart from NAME at least QUANTITY",
        "label re-entry QUANTITY", "caution TEXT", "WHY",
    ]),
    ("prefer NAME", &["in hours when CONDITION", "WHY"]),
    ("choice NAME", &[
        "against NAMES", "advise NAME at NAME", "or else hold", "or else NAME at NAME with NAME at NAME",
        "if CONDITION", "unless CONDITION", "outranks NAMES", "within QUANTITY", "recheck in QUANTITY",
        "how TEXT", "WHY",
    ]),
    ("task NAME", &["do TEXT", "of tree", "if CONDITION", "unless CONDITION", "WHY"]),
    ("warning NAME", &["says TEXT", "of block", "if CONDITION", "WHY"]),
    ("always NAME", &["CONDITION because TEXT", "WHY"]),
    ("promise NAME", &[
        "whenever CONDITION", "never NAMES", "never NAME above NAME , spraying , group GROUP",
        "only NAMES", "only hold , look , NAME", "task NAME", "WHY",
    ]),
    ("worked TEXT", &[
        "take NAME VALUE , NAME unknown , NAME from VALUE to VALUE", "with NAME", "expect NAME at NAME",
        "expect hold", "expect NAME at NAME with NAME at NAME", "expect by NAME",
        "expect NAME shut by NAME", "expect NAME shut by NAME label apart from NAME",
        "expect NAME allowed", "expect NAME is VALUE within QUANTITY",
        "expect NAME at OPERAND , OPERAND is empty", "expect task NAME", "expect warning NAME",
        "hours from TEXT", "as-of 2027-02-11T05:30", "WHY",
    ]),
    ("setting NAME", &["take NAME VALUE", "WHY"]),
    ("omit gate NAME because TEXT", &[]),
    ("omit worked TEXT because TEXT", &[]),
    ("omit caution TEXT because TEXT", &[]),
];

fn name(dice: &mut Dice<'_>) -> String {
    let words = [
        "a",
        "rain-48h",
        "in-bloom",
        "low",
        "copper",
        "at-risk",
        "a-very-long-name-that-fills-much-of-its-line",
        "text",
    ];
    dice.one_of(&words).to_owned()
}

fn series(dice: &mut Dice<'_>) -> String {
    dice.one_of(&["temperature", "rain", "leaf-wet", "spore-wet", "after-sunrise"]).to_owned()
}

fn text(dice: &mut Dice<'_>) -> String {
    let texts = [
        "\"a\"",
        "\"\"",
        "\"two words\"",
        "\"a # sign, a \\\"quote\\\" and a \\\\\"",
        "\"over\n    two lines\"",
        "\" blanks  at\tboth ends \"",
        "\"a long text that does not fit in one line, so that it is broken at one of its blanks and goes on in the next line\"",
        "\"a new \\n line, and \\n  another one that is long enough to be broken, which must not change what stands here\"",
        "\"°é“😀\"",
        "\"onewordthatislongerthananylinecouldeverbeandthereforestandsinalineofitsownandmakesitmuchtoolongforthewidth\"",
    ];
    dice.one_of(&texts).to_owned()
}

fn unit(dice: &mut Dice<'_>) -> &'static str {
    dice.one_of(&[
        "mm",
        "%",
        "F",
        "°C",
        "in",
        "fl  oz",
        "km/h",
        "g/L",
        "lb / 100 gal",
        "ppm copper",
        "g / L",
        "kg/ha",
        "h",
        "m",
        "min",
    ])
}

fn quantity(dice: &mut Dice<'_>) -> String {
    let number = dice.one_of(&["5", "0.25", "-10", "1e6", "100"]);
    let between = dice.one_of(&[" ", "", "  "]);
    match dice.below(4) {
        0 => number.to_owned(),
        _ => format!("{number}{between}{}", unit(dice)),
    }
}

fn value(dice: &mut Dice<'_>) -> String {
    match dice.below(6) {
        0 => name(dice),
        1 => quantity(dice),
        2 => text(dice),
        3 => dice.one_of(&["yes", "no"]).to_owned(),
        4 => dice.one_of(&["2027-02-11", "1 Dec"]).to_owned(),
        _ => dice.one_of(&["06:30", "6:30"]).to_owned(),
    }
}

fn why(dice: &mut Dice<'_>) -> Vec<String> {
    pick(dice, &["because TEXT", "cites CITES"])
}

fn cites(dice: &mut Dice<'_>, words: &mut Vec<String>) {
    list(dice, words, "NAME TEXT?");
}

fn kind(dice: &mut Dice<'_>) -> Vec<String> {
    pick(dice, &["share", "temperature", "one of NAMES", "yes-no", "bloom"])
}

fn cell(dice: &mut Dice<'_>) -> Vec<String> {
    pick(dice, &["NUMBER", "QUANTITY to QUANTITY", "unknown", "empty", "NAME"])
}

fn row(dice: &mut Dice<'_>) -> Vec<String> {
    pick(
        dice,
        &[
            "QUANTITY CELL",
            "from QUANTITY to below QUANTITY , above QUANTITY CELL",
            "any , at most QUANTITY CELL",
            "NAME CELL",
            "from QUANTITY to QUANTITY CELL",
            "below QUANTITY CELL",
            "at least QUANTITY , any CELL",
        ],
    )
}

fn condition(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    let mut words = term(dice, depth);
    let joint = dice.one_of(&["and", "or"]);
    for _ in 0..dice.below(4) {
        words.push(joint.to_owned());
        words.extend(term(dice, depth));
    }
    words
}

fn term(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    let choice = dice.below(6);
    if choice > 3 && depth > 0 {
        let mut words = pick(dice, &["(", "not (", "some panicles with (", "all panicles with ("]);
        words.extend(condition(dice, depth - 1));
        words.push(")".to_owned());
        return words;
    }
    match choice {
        0 => fill(dice, "NAME"),
        1 => fill(dice, "not NAME"),
        2 => fill(dice, "some panicles with SERIES COMPARISON"),
        _ => fill(dice, "SERIES COMPARISON"),
    }
}

fn comparison(dice: &mut Dice<'_>) -> Vec<String> {
    pick(
        dice,
        &[
            "at least VALUE",
            "at most QUANTITY",
            "above VALUE",
            "below VALUE",
            "is VALUE",
            "is not VALUE",
            "is one of VALUES",
            "from VALUE to VALUE",
            "from VALUE to below VALUE",
        ],
    )
}

fn expression(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    let mut words = sum(dice, depth);
    for _ in 0..dice.below(3).saturating_sub(1) {
        words.extend(pick(dice, &["kept from QUANTITY + NAME to NAME", "rounded to QUANTITY"]));
    }
    if dice.below(4) == 3 {
        words.push("or else".to_owned());
        words.extend(sum(dice, depth));
    }
    words
}

fn sum(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    let mut words = operand(dice, depth);
    for _ in 0..dice.below(3) {
        words.push(dice.one_of(&["+", "-", "*", "/"]).to_owned());
        words.extend(operand(dice, depth));
    }
    words
}

fn operand(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    let choice = dice.below(24);
    if choice == 23 && depth > 0 {
        let mut words = vec!["(".to_owned()];
        words.extend(expression(dice, depth - 1));
        words.extend([")".to_owned(), "^".to_owned(), "2".to_owned()]);
        return words;
    }
    let patterns = [
        "SERIES",
        "QUANTITY",
        "NAME at OPERAND , OPERAND",
        "lowest SERIES over WINDOW",
        "mean SERIES while CONDITION over WINDOW",
        "total SERIES in longest spell with CONDITION over WINDOW",
        "hours with CONDITION over WINDOW",
        "latest spell with CONDITION across gaps below QUANTITY over WINDOW",
        "spells with CONDITION of at least QUANTITY over WINDOW",
        "days with NAME COMPARISON over WINDOW",
        "days with NAME over WINDOW",
        "total rain since last spray",
        "days since last group GROUP",
        "days since NAME",
        "days to harvest",
        "sprays in a row of NAME",
        "sprays of any this season",
        "amount of NAME over last NUMBER days",
        "some panicles with CONDITION",
        "share of trees in grove with CONDITION",
        "mean NAME of panicles",
        "likely range of NAME",
        "greater of OPERAND and OPERAND",
        "square root of OPERAND",
    ];
    let mut words = fill(dice, patterns[choice]);
    // A condition at its end would go on with what follows, and behind a bare number `in` is the inch.
    if !matches!(choice, 1 | 2 | 18 | 19 | 22 | 23) && dice.below(4) == 3 {
        words.extend(fill(dice, "in UNIT"));
    }
    words
}

fn small_operand(dice: &mut Dice<'_>, depth: usize) -> Vec<String> {
    match dice.below(4) {
        0 => fill(dice, "SERIES"),
        1 => fill(dice, "QUANTITY"),
        2 => fill(dice, "NAME"),
        _ => {
            let mut words = vec!["(".to_owned()];
            words.extend(expression(dice, depth));
            words.push(")".to_owned());
            words
        }
    }
}

fn window(dice: &mut Dice<'_>) -> Vec<String> {
    pick(
        dice,
        &[
            "last NUMBER h",
            "next NUMBER h",
            "last NUMBER days",
            "next NUMBER days",
            "today",
            "last NUMBER days and today",
            "today and next NUMBER days",
            "last NUMBER nights",
            "next NUMBER nights",
            "tonight",
            "this season",
            "that day",
            "that night",
            "NUMBER h to that hour",
            "NUMBER h after that hour",
            "NUMBER days to that day",
            "since last NAME",
            "since last group GROUP",
            "the NUMBER h after the last group GROUP",
            "the NUMBER h after the last spray",
            "since DATE",
            "since DAY to that day",
            "since NAME",
        ],
    )
}
