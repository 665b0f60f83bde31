//! Made rulebooks as data, for the oracle of the proofs: what each says, apart from any text, and the text of it.

use std::fmt::Write;

/// Dice of a seed: the generator SplitMix64, with its published constants.
pub struct Dice(pub u64);

impl Dice {
    pub fn below(&mut self, count: usize) -> usize {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mixed = (self.0 ^ (self.0 >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        let mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        ((mixed ^ (mixed >> 31)) >> 33) as usize % count
    }

    pub fn one_of<T: Copy>(&mut self, things: &[T]) -> T {
        things[self.below(things.len())]
    }
}

/// What has a value of its own. A number stands for each value: percent, days, degrees, the place of a word.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Root {
    Stage,
    Mildew,
    Spots,
    Wet,
    CopperAge,
    Low,
    High,
}

impl Root {
    pub const ALL: [Root; 7] =
        [Root::Stage, Root::Mildew, Root::Spots, Root::Wet, Root::CopperAge, Root::Low, Root::High];

    /// Returns enough values to tell any two situations apart: each threshold, and one between any two and beyond.
    pub fn values(self) -> Vec<f64> {
        match self {
            Root::Stage => (0..4).map(f64::from).collect(),
            Root::Mildew => (0..=40).map(|it| f64::from(it) * 2.5).collect(),
            Root::Spots => (0..=4).map(f64::from).collect(),
            Root::Wet => vec![0.0, 1.0],
            // Days are whole; never sprayed is longer than any.
            Root::CopperAge => (0..=20).map(f64::from).chain([f64::INFINITY]).collect(),
            Root::Low | Root::High => (0..=10).map(|it| 5.0 + f64::from(it) * 2.5).collect(),
        }
    }
}

/// A name that conditions compare: a root, or what is computed from one alone.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Subject {
    Root(Root),
    /// Twice the mildew.
    Doubled,
    /// What of the panicles has no mildew.
    Clean,
    /// The mildew, at the most 20 %.
    Kept,
    /// A table of the stage.
    Risk,
    /// A table of the spots, the nearest row below.
    Points,
}

impl Subject {
    pub fn root(self) -> Root {
        match self {
            Subject::Root(root) => root,
            Subject::Doubled | Subject::Clean | Subject::Kept => Root::Mildew,
            Subject::Risk => Root::Stage,
            Subject::Points => Root::Spots,
        }
    }

    pub fn of(self, root: f64) -> f64 {
        match self {
            Subject::Root(_) => root,
            Subject::Doubled => root * 2.0,
            Subject::Clean => 100.0 - root,
            Subject::Kept => root.min(20.0),
            Subject::Risk => [0.0, 2.0, 2.0, 1.0][root as usize],
            Subject::Points => {
                if root < 2.0 {
                    1.0
                } else {
                    5.0
                }
            }
        }
    }

    fn name(self) -> &'static str {
        match self {
            Subject::Root(Root::Stage) => "stage",
            Subject::Root(Root::Mildew) => "mildew",
            Subject::Root(Root::Spots) => "spots",
            Subject::Root(Root::Wet) => "wet",
            Subject::Root(Root::CopperAge) => "copper-age",
            Subject::Root(Root::Low) => "coolest",
            Subject::Root(Root::High) => "warmest",
            Subject::Doubled => "doubled",
            Subject::Clean => "clean",
            Subject::Kept => "kept-mildew",
            Subject::Risk => "risk",
            Subject::Points => "points",
        }
    }

    /// Returns a value as an author writes it.
    fn written(self, value: f64) -> String {
        match self {
            Subject::Root(Root::Stage) => STAGES[value as usize].to_owned(),
            Subject::Risk => LEVELS[value as usize].to_owned(),
            Subject::Root(Root::Mildew) | Subject::Doubled | Subject::Clean | Subject::Kept => {
                format!("{value} %")
            }
            Subject::Root(Root::CopperAge) => format!("{value} d"),
            Subject::Root(Root::Low | Root::High) => format!("{value} °C"),
            Subject::Root(Root::Spots | Root::Wet) | Subject::Points => format!("{value}"),
        }
    }
}

const STAGES: [&str; 4] = ["closed", "opening", "open", "falling"];
const LEVELS: [&str; 3] = ["low", "middle", "great"];
const BANDS: [&str; 2] = ["danger", "worry"];

/// A comparison with a number.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Compare {
    AtLeast(f64),
    AtMost(f64),
    Above(f64),
    Below(f64),
    Is(f64),
    FromTo(f64, f64),
    FromToBelow(f64, f64),
}

impl Compare {
    pub fn holds(self, value: f64) -> bool {
        match self {
            Compare::AtLeast(at) => value >= at,
            Compare::AtMost(at) => value <= at,
            Compare::Above(at) => value > at,
            Compare::Below(at) => value < at,
            Compare::Is(at) => value == at,
            Compare::FromTo(low, high) => value >= low && value <= high,
            Compare::FromToBelow(low, high) => value >= low && value < high,
        }
    }

    fn text(self, written: &dyn Fn(f64) -> String) -> String {
        match self {
            Compare::AtLeast(at) => format!("at least {}", written(at)),
            Compare::AtMost(at) => format!("at most {}", written(at)),
            Compare::Above(at) => format!("above {}", written(at)),
            Compare::Below(at) => format!("below {}", written(at)),
            Compare::Is(at) => format!("is {}", written(at)),
            Compare::FromTo(low, high) => format!("from {} to {}", written(low), written(high)),
            Compare::FromToBelow(low, high) => format!("from {} to below {}", written(low), written(high)),
        }
    }
}

/// What a group of panicles must be: its age, and whether its share of open flowers reaches a threshold.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct OfGroup {
    pub age: usize,
    pub flowers: Compare,
    /// Whether both are asked for, or one is enough.
    pub both: bool,
}

/// A condition.
#[derive(Clone, PartialEq, Debug)]
pub enum Cond {
    Is(Subject, Compare),
    /// Some, or all, panicles are so.
    Panicles {
        all: bool,
        group: OfGroup,
    },
    /// The lowest share of open flowers of all panicles.
    Lowest(Compare),
    /// The grade of a band.
    Grade(usize, Compare),
    Not(Box<Cond>),
    All(Vec<Cond>),
    Any(Vec<Cond>),
}

impl Cond {
    pub fn text(&self) -> String {
        match self {
            Cond::Is(Subject::Root(Root::Wet), compare) => {
                if compare.holds(1.0) {
                    "wet".to_owned()
                } else {
                    "not wet".to_owned()
                }
            }
            Cond::Is(subject, compare) => {
                format!("{} {}", subject.name(), compare.text(&|it| subject.written(it)))
            }
            Cond::Panicles { all, group } => {
                let joint = if group.both { "and" } else { "or" };
                let flowers = group.flowers.text(&|it| format!("{it} %"));
                let quantity = if *all { "all" } else { "some" };
                format!("{quantity} panicles with (age is {} {joint} flowers {flowers})", STAGES[group.age])
            }
            Cond::Lowest(compare) => format!("lightest {}", compare.text(&|it| format!("{it} %"))),
            Cond::Grade(band, compare) => {
                format!("{} {}", BANDS[*band], compare.text(&|it| LEVELS[it as usize].to_owned()))
            }
            Cond::Not(inner) => format!("not ({})", inner.text()),
            Cond::All(parts) => joined(parts, " and "),
            Cond::Any(parts) => joined(parts, " or "),
        }
    }

    /// Calls a function with each part that has no parts.
    pub fn each(&self, f: &mut dyn FnMut(&Cond)) {
        match self {
            Cond::Not(inner) => inner.each(f),
            Cond::All(parts) | Cond::Any(parts) => parts.iter().for_each(|part| part.each(f)),
            one => f(one),
        }
    }
}

fn joined(parts: &[Cond], joint: &str) -> String {
    let parts = parts.iter().map(|part| match part {
        Cond::All(_) | Cond::Any(_) => format!("({})", part.text()),
        _ => part.text(),
    });
    parts.collect::<Vec<_>>().join(joint)
}

/// What a gate does. Products are 0, copper, 1, sulfur, and 2, of group 11; strengths 0 and 1, the weaker first.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Does {
    Shuts(usize),
    ShutsAll,
    ShutsTogether(usize, usize),
    ShutsGroup,
    Holds(usize),
}

pub const PRODUCTS: [&str; 3] = ["copper", "sulfur", "systemic"];
const STRENGTHS: [&str; 2] = ["weak", "strong"];

/// An alternative: doses in the order of their products; none is to hold.
pub type Way = Vec<(usize, usize)>;

pub struct Row {
    pub level: usize,
    pub caps: bool,
    pub when: Cond,
}

pub struct Gate {
    pub does: Does,
    pub when: Option<Cond>,
    pub unless: Option<Cond>,
}

pub struct Choice {
    pub ways: Vec<Way>,
    pub when: Option<Cond>,
    /// The choices that give way to it, as written.
    pub outranks: Vec<usize>,
}

/// What a promise rules out, or leaves.
#[derive(Clone, Copy, PartialEq, Debug)]
pub enum Rules {
    Never(usize),
    NeverSpraying,
    NeverStrong(usize),
    OnlyOr { product: usize, hold: bool, uncovered: bool, undecided: bool },
    Task(usize),
}

pub struct Promise {
    pub whenever: Cond,
    pub rules: Rules,
}

/// A whole rulebook.
pub struct Book {
    pub always: Vec<Cond>,
    /// Each with its rows; the second may speak of the first.
    pub bands: [Vec<Row>; 2],
    pub gates: Vec<Gate>,
    pub choices: Vec<Choice>,
    pub tasks: Vec<Cond>,
    pub promises: Vec<Promise>,
}

const BASIS: &str = "scale bloom\n  closed\n  opening\n  open\n  falling\n\
    scale level\n  low\n  middle\n  great\n\
    observe stage\n  kind bloom\n\
    observe mildew\n  kind share\n\
    observe spots\n  kind count\n  range from 0 to 4\n\
    observe wet\n  kind yes-no\n\
    observe flowers\n  kind share\n  of panicles\n\
    observe age\n  kind bloom\n  of panicles\n\
    table risk-of\n  of bloom\n  gives level\n  closed low\n  opening great\n  open great\n  falling middle\n  cites own\n\
    table points-of\n  of count\n  gives count\n  0 1\n  2 5\n  between step\n  beyond ends\n  cites own\n\
    measure risk = risk-of at stage\n\
    measure points = points-of at spots\n\
    measure doubled = mildew * 2\n\
    measure clean = 100 % - mildew\n\
    measure kept-mildew = lesser of mildew and 20 %\n\
    measure copper-age = days since last copper\n\
    measure coolest = lowest temperature over last 3 days\n\
    measure warmest = highest temperature over last 3 days\n\
    measure lightest = lowest flowers of panicles\n\
    product copper\n  strength weak 1 g/L\n  strength strong 2 g/L\n  label interval at least 7 d\n  cites own\n\
    product sulfur\n  strength weak 1 g/L\n  strength strong 2 g/L\n  cites own\n\
    product systemic\n  group 11\n  strength weak 1 g/L\n  strength strong 2 g/L\n  cites own\n";

/// How long copper keeps copper shut, by the label above.
pub const INTERVAL: f64 = 7.0;

fn way_text(way: &Way) -> String {
    if way.is_empty() {
        return "hold".to_owned();
    }
    let doses = way.iter().map(|(it, at)| format!("{} at {}", PRODUCTS[*it], STRENGTHS[*at]));
    doses.collect::<Vec<_>>().join(" with ")
}

impl Book {
    pub fn text(&self) -> String {
        let mut out = BASIS.to_owned();
        for (at, condition) in self.always.iter().enumerate() {
            let _ =
                writeln!(out, "always a{at}\n  {}\n  because \"so it is\"\n  cites own", condition.text());
        }
        for (name, rows) in BANDS.iter().zip(&self.bands) {
            let _ = writeln!(out, "band {name}\n  because \"x\"\n  cites own\n  levels low, middle, great");
            for row in rows {
                let caps = if row.caps { "at most " } else { "" };
                let _ = writeln!(out, "  {caps}{} if {} because \"x\"", LEVELS[row.level], row.when.text());
            }
        }
        let when = |out: &mut String, word: &str, condition: Option<&Cond>| {
            if let Some(condition) = condition {
                let _ = writeln!(out, "  {word} {}", condition.text());
            }
        };
        for (at, gate) in self.gates.iter().enumerate() {
            let does = match gate.does {
                Does::Shuts(product) => format!("shuts {}", PRODUCTS[product]),
                Does::ShutsAll => "shuts spraying".to_owned(),
                Does::ShutsTogether(a, b) => format!("shuts {} with {}", PRODUCTS[a], PRODUCTS[b]),
                Does::ShutsGroup => "shuts group 11".to_owned(),
                Does::Holds(product) => format!("holds {} to weak", PRODUCTS[product]),
            };
            let _ = writeln!(out, "gate g{at}\n  {does}\n  cites own");
            when(&mut out, "if", gate.when.as_ref());
            when(&mut out, "unless", gate.unless.as_ref());
        }
        for (at, choice) in self.choices.iter().enumerate() {
            let ways: Vec<String> = choice.ways.iter().map(way_text).collect();
            let _ = writeln!(out, "choice c{at}\n  advise {}\n  cites own", ways.join("\n  or else "));
            when(&mut out, "if", choice.when.as_ref());
            let lower: Vec<String> = choice.outranks.iter().map(|it| format!("c{it}")).collect();
            if !lower.is_empty() {
                let _ = writeln!(out, "  outranks {}", lower.join(", "));
            }
        }
        for (at, condition) in self.tasks.iter().enumerate() {
            let _ = writeln!(out, "task t{at}\n  do \"look\"\n  if {}\n  cites own", condition.text());
        }
        for (at, promise) in self.promises.iter().enumerate() {
            let rules = match promise.rules {
                Rules::Never(product) => format!("never {}", PRODUCTS[product]),
                Rules::NeverSpraying => "never spraying".to_owned(),
                Rules::NeverStrong(product) => format!("never {} above weak", PRODUCTS[product]),
                Rules::OnlyOr { product, hold, uncovered, undecided } => {
                    let more = [(hold, "hold"), (uncovered, "uncovered"), (undecided, "undecided")];
                    let words = more.iter().filter(|(said, _)| *said).map(|(_, word)| format!(", {word}"));
                    format!("only {}{}", PRODUCTS[product], words.collect::<String>())
                }
                Rules::Task(task) => format!("task t{task}"),
            };
            let _ = writeln!(
                out,
                "promise p{at}\n  whenever {}\n  {rules}\n  cites own",
                promise.whenever.text()
            );
        }
        out
    }
}
