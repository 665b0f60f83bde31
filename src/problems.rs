//! What is wrong, doubtful or unproved: findings with a place, a message and the words to write instead.
//!
//! Every phase returns what it could make together with its [`Problems`]. Knows no phase.

use crate::phrase::Phrase;
use crate::source::{Sources, Span};
use std::collections::{BTreeMap, BTreeSet};

/// How much a problem weighs.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Level {
    /// It must be mended.
    Error,
    /// It is doubtful, missing or not proved.
    Warning,
}

impl Level {
    /// Returns the word printed for this level.
    pub fn word(self) -> &'static str {
        match self {
            Level::Error => "error",
            Level::Warning => "warning",
        }
    }
}

macro_rules! findings {
    ($($(#[doc = $doc:literal])* $variant:ident $code:literal $level:ident,)*) => {
        /// The name of a kind of finding, as `proofread` prints it.
        #[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
        pub enum Finding { $($(#[doc = $doc])* $variant,)* }

        impl Finding {
            /// All kinds of finding.
            pub const ALL: &'static [Finding] = &[$(Finding::$variant,)*];

            /// Returns the printed name, `unknown-name`.
            pub fn code(self) -> &'static str {
                match self { $(Finding::$variant => $code,)* }
            }

            /// Returns how much a finding of this kind weighs.
            pub fn level(self) -> Level {
                match self { $(Finding::$variant => Level::$level,)* }
            }
        }
    };
}

findings! {
    /// The text cannot be read.
    Syntax "syntax" Error,
    /// A name that is not defined, or not of the kind that its place asks for.
    UnknownName "unknown-name" Error,
    /// A name defined twice.
    DefinedTwice "defined-twice" Error,
    /// A quantity in a unit that its place cannot take.
    UnitMismatch "unit-mismatch" Error,
    /// A value or a name of a kind that its place cannot take.
    KindMismatch "kind-mismatch" Error,
    /// Definitions that go round in a circle.
    Circular "circular" Error,
    /// A value outside its range, or one that does not exist.
    OutOfRange "out-of-range" Error,
    /// A rulebook without a caution.
    NoCaution "no-caution" Error,
    /// Two choices hold, none outranks the other, and their verdicts differ.
    Conflict "conflict" Error,
    /// A situation breaks a promise.
    PromiseBroken "promise-broken" Error,
    /// A worked example does not come out as written.
    WorkedFailed "worked-failed" Error,
    /// A strength lies above its label.
    LabelBroken "label-broken" Error,
    /// Two rows of a table match the same key and give different values.
    TableOverlap "table-overlap" Error,
    /// Choices that outrank one another in a circle.
    RankCircle "rank-circle" Error,
    /// An overlay that says it only tightens loosens its base.
    LoosensBase "loosens-base" Error,
    /// The base bears another edition than the overlay names.
    BaseChanged "base-changed" Warning,
    /// An overlay leaves out a caution of its base.
    CautionDropped "caution-dropped" Warning,
    /// An overlay that says it only tightens leaves out a promise of its base.
    PromiseDropped "promise-dropped" Warning,
    /// A situation in which no choice holds.
    Gap "gap" Warning,
    /// An item or row that no situation reaches.
    NeverHolds "never-holds" Warning,
    /// A gate or choice whose condition holds in every situation.
    AlwaysHolds "always-holds" Warning,
    /// A product that no choice advises.
    NeverAdvised "never-advised" Warning,
    /// A product without a label line.
    LabelMissing "label-missing" Warning,
    /// An observation that never grows too old.
    NoLasts "no-lasts" Warning,
    /// A rulebook that decides nothing.
    Empty "empty" Warning,
    /// Weather that cannot be.
    NoSuchWeather "no-such-weather" Warning,
    /// A gate, row or choice that changes no verdict anywhere.
    NoEffect "no-effect" Warning,
    /// An assumed value that could open a gate.
    RiskyAssumption "risky-assumption" Warning,
    /// A choice against a disease advises a product that is slight on it.
    WeakChoice "weak-choice" Warning,
    /// A gate that looks at the next days and leaves today out.
    TodayLeftOut "today-left-out" Warning,
    /// A name that nothing uses.
    Unused "unused" Warning,
    /// An item that owes its source.
    Uncited "uncited" Warning,
    /// A figure whose source is still to be found.
    ToBeSourced "to-be-sourced" Warning,
    /// Texts of a rulebook that the translation beside it leaves out.
    NotTranslated "not-translated" Warning,
    /// An item that no worked example reaches.
    Untested "untested" Warning,
    /// The situations are too many to be proved within the budget.
    NotDecided "not-decided" Warning,
    /// A grove, weather, scouting or log file that cannot be read as it stands.
    Input "input" Error,
    /// Something in the grower's files that was reported and left out.
    InputNote "input-note" Warning,
}

/// One finding.
#[derive(Clone, PartialEq, Debug)]
pub struct Problem {
    /// The kind of finding.
    pub finding: Finding,
    /// One clause, lower case, no full stop; user text in backticks.
    pub message: Phrase,
    /// Where it stands.
    pub at: Span,
    /// What stands there, in a few words; may be empty.
    pub label: Phrase,
    /// Other places that belong to it, each with what stands there.
    pub related: Vec<(Span, Phrase)>,
    /// What to write instead.
    pub help: Option<Phrase>,
    /// An item to write into the rulebook where the finding is what its author wants.
    pub edit: Option<String>,
    /// A situation that shows it, in the rulebook's own names.
    pub situation: BTreeMap<String, serde_json::Value>,
    /// The names of a long situation that are shown before all others; none where it is shown as a whole.
    pub foremost: BTreeSet<String>,
    /// Whether the situation can be seen; nothing where there is none.
    pub certainty: Option<Certainty>,
}

/// Whether a situation that shows a finding can come about.
#[derive(Clone, PartialEq, Eq, Debug)]
pub enum Certainty {
    /// Its names are observations, or of inputs of their own.
    Seen,
    /// Several of its names come from these inputs, which may never allow them together.
    OnPaper(Vec<String>),
}

impl Problem {
    /// Makes a finding at a place.
    pub fn new(finding: Finding, at: Span, message: impl Into<Phrase>) -> Self {
        Self {
            finding,
            message: message.into(),
            at,
            label: Phrase::default(),
            related: Vec::new(),
            help: None,
            edit: None,
            situation: BTreeMap::new(),
            foremost: BTreeSet::new(),
            certainty: None,
        }
    }

    /// Says what stands at the place.
    pub fn label(mut self, label: impl Into<Phrase>) -> Self {
        self.label = label.into();
        self
    }

    /// Says what to write instead.
    pub fn help(mut self, help: impl Into<Phrase>) -> Self {
        self.help = Some(help.into());
        self
    }

    /// Says what to write instead, where that is known.
    pub fn maybe_help<P: Into<Phrase>>(mut self, help: Option<P>) -> Self {
        self.help = help.map(Into::into).or(self.help);
        self
    }

    /// Names another place that belongs to it.
    pub fn related(mut self, at: Span, says: impl Into<Phrase>) -> Self {
        self.related.push((at, says.into()));
        self
    }
}

/// All findings of a run.
#[derive(Clone, Default, Debug)]
pub struct Problems {
    list: Vec<Problem>,
}

impl AsMut<Problems> for Problems {
    fn as_mut(&mut self) -> &mut Problems {
        self
    }
}

impl Problems {
    /// Returns a list of one finding.
    pub fn of(problem: Problem) -> Self {
        Self { list: vec![problem] }
    }

    /// Adds a finding.
    pub fn push(&mut self, problem: Problem) {
        self.list.push(problem);
    }

    /// Adds all findings of another list.
    pub fn extend(&mut self, other: Problems) {
        self.list.extend(other.list);
    }

    /// Returns whether any finding is an error.
    pub fn any_error(&self) -> bool {
        self.list.iter().any(|problem| problem.finding.level() == Level::Error)
    }

    /// Returns whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// Returns the number of findings.
    pub fn len(&self) -> usize {
        self.list.len()
    }

    /// Sorts by file and place, and drops findings said twice.
    pub fn sort(&mut self) {
        self.list.sort_by(|a, b| (a.at, a.finding, &a.message).cmp(&(b.at, b.finding, &b.message)));
        self.list.dedup();
    }

    /// Returns the findings in their present order.
    pub fn iter(&self) -> impl Iterator<Item = &Problem> {
        self.list.iter()
    }

    /// Keeps the findings for which the question is answered with yes.
    pub fn retain(&mut self, keep: impl FnMut(&Problem) -> bool) {
        self.list.retain(keep);
    }

    /// Returns the findings as `file:line:column: error[code]: message`, one below the other, with their help.
    pub fn plain(&self, sources: &Sources) -> String {
        let mut out = String::new();
        for problem in &self.list {
            let place = sources.locate(problem.at);
            let level = problem.finding.level().word();
            out += &format!("{place}: {level}[{}]: {}\n", problem.finding.code(), problem.message);
            if let Some(help) = &problem.help {
                out += &format!("  help: {help}\n");
            }
        }
        out
    }
}

/// Returns the candidate nearest to a mistyped word, if one is close enough to be meant; capitals do not matter.
pub fn nearest<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    within((word.chars().count() / 3).max(1), word, candidates)
}

/// Returns the candidate that is no more than one letter off a word.
pub fn one_letter_off<'a>(word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    within(1, word, candidates)
}

fn within<'a>(limit: usize, word: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    let small = word.to_lowercase();
    let mut best: Option<(usize, &'a str)> = None;
    for candidate in candidates {
        let distance = edit_distance(&small, &candidate.to_lowercase());
        if distance <= limit && best.is_none_or(|found| (distance, candidate) < found) {
            best = Some((distance, candidate));
        }
    }
    best.map(|(_, candidate)| candidate)
}

/// Returns the number of letters to change, add, drop or swap with a neighbour.
fn edit_distance(from: &str, to: &str) -> usize {
    let (from, to): (Vec<char>, Vec<char>) = (from.chars().collect(), to.chars().collect());
    let (mut before, mut previous) = (Vec::new(), (0..=to.len()).collect::<Vec<_>>());
    for (row, letter) in from.iter().enumerate() {
        let mut current = vec![row + 1];
        for (column, other) in to.iter().enumerate() {
            let mut cost = (previous[column] + usize::from(letter != other))
                .min(previous[column + 1] + 1)
                .min(current[column] + 1);
            if row > 0 && column > 0 && *letter == to[column - 1] && from[row - 1] == *other {
                let earlier: &Vec<usize> = &before;
                cost = cost.min(earlier[column - 1] + 1);
            }
            current.push(cost);
        }
        before = std::mem::replace(&mut previous, current);
    }
    previous[to.len()]
}

/// Why something that was asked for could not be done: one clause, and the words to write instead.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Refusal {
    /// What is wrong, one clause, lower case, no full stop.
    pub message: Phrase,
    /// What to write instead.
    pub help: Option<Phrase>,
    /// What else is wrong.
    pub also: Vec<Refusal>,
}

impl Refusal {
    /// Says what is wrong.
    pub fn new(message: impl Into<Phrase>) -> Self {
        Self { message: message.into(), help: None, also: Vec::new() }
    }

    /// Says what is wrong, and what to write instead where that is known.
    pub fn of<P: Into<Phrase>>(message: impl Into<Phrase>, help: Option<P>) -> Self {
        Self { help: help.map(Into::into), ..Self::new(message) }
    }

    /// Says all that is wrong in one run; nothing where nothing is.
    pub fn all(mut wrong: Vec<Refusal>) -> Option<Self> {
        let mut first = if wrong.is_empty() { return None } else { wrong.remove(0) };
        first.also.extend(wrong);
        Some(first)
    }

    /// Says what to write instead.
    pub fn help(mut self, help: impl Into<Phrase>) -> Self {
        self.help = Some(help.into());
        self
    }
}
