//! Says what is wrong where an item could not be read, and what to write instead where that is sure.
//!
//! Comes in: the place at which reading stopped and the rules that were tried there. Goes out: a problem.

use super::found::{self, BrokenText};
use super::grammar::{self, Rule};
use super::hints;
use super::tree::ItemKind;
use super::words::{self, with_article};
use crate::problems::{Finding, Problem, nearest};
use crate::source::{SourceId, Span};
use pest::error::{Error, ErrorVariant, InputLocation};

/// An item, or what is left of it, that could not be read.
#[derive(Clone, Copy)]
pub(super) struct Unread<'t> {
    /// Its text.
    pub text: &'t str,
    /// Which item it is, if its first word says so.
    pub kind: Option<ItemKind>,
    /// The byte at which it begins in its source.
    pub base: usize,
    /// Its source.
    pub source: SourceId,
}

/// Where an item could not be read.
pub(super) struct Stop {
    /// The byte of the item.
    pub at: usize,
    /// What could have stood there, as far as rules of the grammar name it.
    pub tried: Vec<Rule>,
    /// Whether the parser gave up because parentheses stand too deep.
    pub too_deep: bool,
}

impl Stop {
    /// Takes from the parser's error what is of use.
    pub fn new(error: Error<Rule>) -> Self {
        let at = match error.location {
            InputLocation::Pos(at) | InputLocation::Span((at, _)) => at,
        };
        match error.variant {
            ErrorVariant::ParsingError { positives, .. } => Self { at, tried: positives, too_deep: false },
            ErrorVariant::CustomError { .. } => Self { at, tried: Vec::new(), too_deep: true },
        }
    }

    /// Returns whether this could have stood there.
    pub fn tried(&self, rule: Rule) -> bool {
        self.tried.contains(&rule)
    }
}

impl<'t> Unread<'t> {
    fn span(&self, start: usize, end: usize) -> Span {
        Span::new(self.source, self.base + start, self.base + end)
    }

    fn problem(&self, start: usize, end: usize, message: impl Into<crate::phrase::Phrase>) -> Problem {
        Problem::new(Finding::Syntax, self.span(start, end), message)
    }

    /// Says what is wrong with an item whose reading stopped at a place.
    pub fn explain(&self, stop: &Stop) -> Problem {
        if stop.too_deep {
            let help = "give the inner parts names of their own, each in a `measure` or an `hourly`";
            let at = found::end_before(self.text, stop.at);
            return self.problem(at, at, "parentheses stand too deep here").help(help);
        }
        self.broken_text(stop)
            .or_else(|| self.without_a_name(stop))
            .or_else(|| self.and_beside_or(stop))
            .or_else(|| self.ppm_of_nothing(stop))
            .or_else(|| self.reserved_name(stop))
            .or_else(|| self.clause_of_another(stop))
            .unwrap_or_else(|| self.unexpected(stop))
    }

    /// A text that no quote closes, or with an escape that is none.
    fn broken_text(&self, stop: &Stop) -> Option<Problem> {
        let clause_words = self.kind.map(words::clauses).unwrap_or_default();
        match found::broken_text(self.text, clause_words)? {
            BrokenText::Open(at) if at <= stop.at => {
                let line = self.text.get(at..)?.lines().next()?.trim_end();
                let help = "close it with `\"`; a quote within a text is written `\\\"`";
                Some(self.problem(at, at + line.len(), "this text has no closing quote").help(help))
            }
            BrokenText::Escape(at) if at >= stop.at => {
                let sign = self.text.get(at + 1..)?.chars().next().unwrap_or(' ');
                let message = format!("`\\{}` is no escape", if sign.is_control() { ' ' } else { sign });
                let help = "write `\\\\` for a backslash, `\\\"` for a quote and `\\n` for a new line";
                Some(self.problem(at, at + 1 + sign.len_utf8(), message).help(help))
            }
            _ => None,
        }
    }

    /// An item whose first clause stands where its name should.
    fn without_a_name(&self, stop: &Stop) -> Option<Problem> {
        let kind = self.kind?;
        let end = found::end_before(self.text, stop.at);
        let before = self.text.get(..end)?;
        let before =
            before.strip_prefix("replace").or(before.strip_prefix("omit")).unwrap_or(before).trim_start();
        let rest = self.text.get(stop.at..)?;
        let begins_a_line = self.text.get(end..stop.at)?.contains('\n');
        let begins_a_clause = words::clauses(kind).iter().any(|word| found::begins_with(rest, word));
        let ends = rest.trim().is_empty() || (begins_a_line && begins_a_clause);
        if before != kind.word() || !ends {
            return None;
        }
        let (missing, example) = match kind {
            ItemKind::Rulebook | ItemKind::Worked => ("title", "\"TITLE\""),
            ItemKind::Caution => ("text", "\"TEXT\""),
            _ => ("name", "NAME"),
        };
        let message = format!("this `{}` has no {missing}", kind.word());
        Some(self.problem(0, end, message).help(format!("write `{} {example}`", kind.word())))
    }

    /// `and` beside `or` without parentheses.
    fn and_beside_or(&self, stop: &Stop) -> Option<Problem> {
        let token = found::token(self.text, stop.at);
        let mixed = match token {
            "or" => stop.tried(Rule::kw_and) && !stop.tried(Rule::kw_or),
            "and" => stop.tried(Rule::kw_or) && !stop.tried(Rule::kw_and),
            _ => false,
        };
        let second = found::words_at(self.text, stop.at, 2);
        if !mixed || second == "or else" {
            return None;
        }
        let other = if token == "or" { "and" } else { "or" };
        let message = format!("`{token}` beside `{other}` needs parentheses");
        let help = "say which belong together: `(a and b) or c`, or `a and (b or c)`";
        Some(self.problem(stop.at, stop.at + token.len(), message).help(help))
    }

    /// `600 ppm` that does not say of what: what comes next was read as the ingredient.
    fn ppm_of_nothing(&self, stop: &Stop) -> Option<Problem> {
        let end = found::end_before(self.text, stop.at);
        let before = self.text.get(..end)?;
        let number = before.strip_suffix("ppm")?.trim_end().rsplit(char::is_whitespace).next()?;
        let is_number = number.ends_with(|sign: char| sign.is_ascii_digit());
        if !stop.tried(Rule::name) || !is_number {
            return None;
        }
        let start = before.rfind(number)?;
        let message = format!("`{number} ppm` does not say of what");
        let help = format!("write the ingredient behind it: `{number} ppm copper`");
        Some(self.problem(start, end, message).help(help))
    }

    /// A name that is a word of the language, or not spelled as names are.
    fn reserved_name(&self, stop: &Stop) -> Option<Problem> {
        let token = found::token(self.text, stop.at);
        if !stop.tried(Rule::name) || token.is_empty() {
            return None;
        }
        let only_a_name = stop.tried.len() <= 2 && !stop.tried(Rule::kw_yes);
        let end = stop.at + token.len();
        let word = token.trim_end_matches(['.', ':', '-']);
        if only_a_name && is_weather(word) && !stop.tried(Rule::weather) {
            let message = format!("`{word}` is a weather series, and cannot be a name here");
            return Some(
                self.problem(stop.at, end, message).help(format!("write a name such as `{word}-here`")),
            );
        }
        if only_a_name && is_reserved(word) {
            let message = format!("`{word}` is a word of the language, and cannot be a name");
            return Some(
                self.problem(stop.at, end, message).help(format!("write a name such as `my-{word}`")),
            );
        }
        let lower = as_a_name(word).filter(|_| word.contains('_') || stop.tried.len() <= 4)?;
        let message = format!("{} is not spelled as a name", found::quoted(word));
        let help = format!("names are lower-case words joined by hyphens: `{lower}`");
        Some(self.problem(stop.at, end, message).help(help))
    }

    /// A clause that belongs to items of another kind.
    fn clause_of_another(&self, stop: &Stop) -> Option<Problem> {
        let kind = self.kind?;
        let own = words::clauses(kind);
        let at_a_clause = stop.tried(Rule::EOI) || stop.tried(Rule::kw_because);
        let rest = self.text.get(stop.at..)?;
        if kind == ItemKind::Rulebook && found::begins_with(rest, "omit") {
            let message = "`omit` is no clause of the head: it begins an item";
            let help = "write it in the first column, below the head: `omit caution \"TEXT\" because \"why it does not hold here\"`";
            return Some(self.problem(stop.at, stop.at + "omit".len(), message).help(help));
        }
        let begins = |list: &[&'static str]| list.iter().copied().find(|word| found::begins_with(rest, word));
        if !at_a_clause || begins(own).is_some() || hints::hint(self.text, stop).is_some() {
            return None;
        }
        let owners: Vec<(ItemKind, &str)> = ItemKind::ALL
            .iter()
            .filter_map(|other| Some((*other, begins(words::clauses(*other))?)))
            .collect();
        let (_, clause) = owners.first()?;
        let owners: Vec<String> =
            owners.iter().take(3).map(|(owner, _)| with_article(owner.word())).collect();
        let message = format!("{} has no clause `{clause}`", with_article(kind.word()));
        let help = match *clause {
            "because" | "cites" => has(kind),
            _ => format!("`{clause}` is a clause of {}; {}", words::joined(&owners, "or"), has(kind)),
        };
        Some(self.problem(stop.at, stop.at + clause.len(), message).help(help))
    }

    /// Anything else: what was expected and what was found.
    fn unexpected(&self, stop: &Stop) -> Problem {
        let token = found::token(self.text, stop.at);
        let expected = words::expected(&stop.tried, self.kind);
        let mut message = match expected.as_slice() {
            [] => "this cannot be read here".to_owned(),
            list => format!("expected {}", words::joined(list, "or")),
        };
        let (start, end) = if token.is_empty() {
            let end = found::end_before(self.text, stop.at);
            message += ", but the item ends";
            (end, end)
        } else {
            let odd_blank = token.chars().all(|sign| sign.is_whitespace() || sign.is_control());
            message += &match token.chars().next() {
                Some(sign) if odd_blank => format!(", found the sign U+{:04X}", sign as u32),
                _ => format!(", found {}", found::quoted(token)),
            };
            (stop.at, stop.at + token.len())
        };
        let help = hints::hint(self.text, stop).or_else(|| self.nearest_word(stop)).or_else(|| {
            let at_a_clause = stop.tried(Rule::EOI) && !token.is_empty();
            self.kind.filter(|_| at_a_clause).map(has)
        });
        self.problem(start, end, message).maybe_help(help)
    }

    /// The word or phrase that could have stood here and is nearest to what stands here.
    fn nearest_word(&self, stop: &Stop) -> Option<String> {
        let mut candidates: Vec<String> = stop.tried.iter().filter_map(|rule| words::phrase(*rule)).collect();
        let implied = |rule: Rule, phrases: &[&str], into: &mut Vec<String>| {
            if stop.tried(rule) {
                into.extend(phrases.iter().map(|phrase| (*phrase).to_owned()));
            }
        };
        implied(Rule::comparison, &["at least", "at most", "above", "below", "is", "from"], &mut candidates);
        implied(Rule::kind, KINDS, &mut candidates);
        implied(Rule::weather, WEATHER, &mut candidates);
        if stop.tried(Rule::EOI) {
            candidates.extend(
                self.kind.map(words::clauses).unwrap_or_default().iter().map(|word| (*word).to_owned()),
            );
        }
        candidates.retain(|candidate| candidate.len() > 1);
        candidates.sort_unstable();
        candidates.dedup();
        self.word_before(stop).or_else(|| {
            (1..=3).rev().find_map(|count| {
                let written = found::words_at(self.text, stop.at, count);
                let near =
                    candidates.iter().map(String::as_str).filter(|word| word.split(' ').count() == count);
                let found = nearest(&written, near).filter(|found| *found != written && written.len() > 1)?;
                Some(format!("did you mean `{found}`?"))
            })
        })
    }

    /// The word before, where it was read as a name and is nearly a word that begins an aggregate.
    fn word_before(&self, stop: &Stop) -> Option<String> {
        let before = self.text.get(..found::end_before(self.text, stop.at))?;
        let word = before.rsplit(char::is_whitespace).next()?;
        let begins_a_value =
            found::token(self.text, stop.at).starts_with(|sign: char| sign.is_ascii_lowercase());
        if !stop.tried(Rule::plus) || !begins_a_value || word.len() > 20 {
            return None;
        }
        let near = nearest(word, AGGREGATES.iter().copied()).filter(|near| *near != word)?;
        Some(format!("did you mean `{near}`?"))
    }
}

/// The words that begin what is computed of many values.
const AGGREGATES: &[&str] = &[
    "lowest",
    "highest",
    "mean",
    "total",
    "longest",
    "latest",
    "greater",
    "lesser",
    "hours",
    "spells",
    "sprays",
    "amount",
    "share",
    "likely",
    "square",
    "natural",
    "exponential",
];

/// The names of the weather series.
pub(super) const WEATHER: &[&str] = &[
    "temperature",
    "humidity",
    "dew-point",
    "wet-bulb",
    "delta-t",
    "vapour-deficit",
    "rain",
    "wind",
    "gust",
    "leaf-wet",
    "clock",
    "daylight",
    "after-sunrise",
    "after-sunset",
];

/// The words for kinds.
const KINDS: &[&str] = &[
    "share",
    "number",
    "count",
    "temperature",
    "difference",
    "depth",
    "length",
    "speed",
    "pressure",
    "area",
    "volume",
    "mass",
    "duration",
    "concentration",
    "rate",
    "date",
    "yes-no",
    "text",
    "one of",
];

/// Says which clauses an item of a kind has.
fn has(kind: ItemKind) -> String {
    let clauses: Vec<String> = words::clauses(kind).iter().map(|word| format!("`{word}`")).collect();
    if clauses.is_empty() {
        return format!("{} has no clauses", with_article(kind.word()));
    }
    format!("{} has the clauses {}", with_article(kind.word()), words::joined(&clauses, "and"))
}

/// Returns whether a word is the name of a weather series.
fn is_weather(word: &str) -> bool {
    WEATHER.contains(&word)
}

/// Returns whether a word is spelled as a name is and yet cannot be one.
pub(super) fn is_reserved(word: &str) -> bool {
    word.len() < 20 && grammar::read(Rule::reserved_word, word).is_ok()
}

/// Returns the name that a word with capitals or underscores must mean.
pub(super) fn as_a_name(word: &str) -> Option<String> {
    let lower = word.to_lowercase().replace('_', "-");
    let begins = word.starts_with(|sign: char| sign.is_ascii_alphabetic());
    (word.len() < 60 && begins && lower != word && is_name(&lower)).then_some(lower)
}

/// Returns whether a word can be a name.
pub(super) fn is_name(word: &str) -> bool {
    grammar::read(Rule::name, word)
        .is_ok_and(|mut pairs| pairs.next().is_some_and(|pair| pair.as_str() == word))
}
