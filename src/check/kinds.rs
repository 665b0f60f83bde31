//! Kinds: what they are called, which units they take, how two of them meet.
//!
//! Comes in: kinds as written. Goes out: kinds of the plan. Knows no values.

use super::Checker;
use crate::plan::{ItemKind, Kind, Word, WordList, WordListId};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{KindWord, Literal, Name};
use crate::units::{self, Dimension, Unit};
use std::sync::Arc;

/// The kinds that have words of their own, with the word.
const BUILT_IN: &[(&str, Kind)] = &[
    ("share", Kind::Share),
    ("number", Kind::Number),
    ("count", Kind::Count),
    ("temperature", Kind::Temperature),
    ("difference", Kind::Quantity(Dimension::TEMPERATURE)),
    ("depth", Kind::Quantity(Dimension::LENGTH)),
    ("length", Kind::Quantity(Dimension::LENGTH)),
    ("speed", Kind::Quantity(Dimension::SPEED)),
    ("pressure", Kind::Quantity(Dimension::PRESSURE)),
    ("area", Kind::Quantity(Dimension::AREA)),
    ("volume", Kind::Quantity(Dimension::VOLUME)),
    ("mass", Kind::Quantity(Dimension::MASS)),
    ("duration", Kind::Quantity(Dimension::TIME)),
    ("concentration", Kind::Quantity(Dimension::CONCENTRATION)),
    ("rate", Kind::Quantity(Dimension::RATE)),
    ("date", Kind::Date),
    ("yes-no", Kind::YesNo),
    ("text", Kind::Text),
];

/// Returns the kind that has this word of its own.
pub(super) fn built_in(word: &str) -> Option<Kind> {
    BUILT_IN.iter().find(|(known, _)| *known == word).map(|(_, kind)| *kind)
}

/// Returns the kind of quantities of a dimension.
pub(super) fn of_dimension(dimension: Dimension) -> Kind {
    if dimension == Dimension::NONE { Kind::Number } else { Kind::Quantity(dimension) }
}

/// Returns whether values of a kind are numbers without a dimension.
pub(super) fn is_plain(kind: Kind) -> bool {
    matches!(kind, Kind::Share | Kind::Number | Kind::Count)
}

/// Returns the kind that values of both kinds have, nothing where they do not meet.
pub(super) fn meet(one: Kind, other: Kind) -> Option<Kind> {
    if one == other {
        return Some(one);
    }
    (is_plain(one) && is_plain(other)).then_some(Kind::Number)
}

/// Returns the metric unit in which a kind is printed where nothing says otherwise.
pub(crate) fn canonical_unit(kind: Kind) -> Unit {
    let plain = |symbol| units::plain(symbol).unwrap_or_else(Unit::none);
    let rate = |amount, base| Unit::rate(&plain(amount), 1.0, &plain(base));
    match kind {
        Kind::Share => plain("%"),
        Kind::Temperature => plain("°C"),
        Kind::Number | Kind::Count | Kind::Date | Kind::Clock | Kind::YesNo | Kind::Text | Kind::Words(_) => {
            Unit::none()
        }
        Kind::Quantity(dimension) => match dimension {
            Dimension::NONE => Unit::none(),
            Dimension::LENGTH => plain("mm"),
            Dimension::AREA => plain("ha"),
            Dimension::VOLUME => plain("L"),
            Dimension::MASS => plain("g"),
            Dimension::TIME => plain("h"),
            Dimension::TEMPERATURE => plain("°C"),
            Dimension::SPEED => plain("m/s"),
            Dimension::PRESSURE => plain("kPa"),
            Dimension::CONCENTRATION => rate("g", "L"),
            Dimension::RATE => rate("kg", "ha"),
            other => composed(other),
        },
    }
}

/// Returns the product of base units that has a dimension.
fn composed(dimension: Dimension) -> Unit {
    let parts = [
        ("mm", dimension.length),
        ("g", dimension.mass),
        ("h", dimension.time),
        ("°C", dimension.temperature),
    ];
    let powers: Vec<String> = parts
        .iter()
        .filter(|(_, exponent)| *exponent != 0)
        .map(
            |(unit, exponent)| {
                if *exponent == 1 { (*unit).to_string() } else { format!("{unit}^{exponent}") }
            },
        )
        .collect();
    Unit { symbol: powers.join("·").into(), dimension, factor: 1.0, offset: 0.0 }
}

/// Returns the symbols of the units that a numeric kind takes, for messages; none for plain numbers.
pub(super) fn unit_symbols(kind: Kind) -> Vec<&'static str> {
    const WRITTEN: &[&str] = &[
        "mm", "cm", "m", "km", "in", "ft", "mph", "km/h", "m/s", "kPa", "ac", "ha", "mL", "L", "gal", "qt",
        "pt", "fl oz", "lb", "oz", "kg", "g", "mg", "h", "d", "min", "°C", "°F",
    ];
    match kind {
        Kind::Share => vec!["%"],
        Kind::Quantity(Dimension::CONCENTRATION) => vec!["g/L", "lb / 100 gal", "ppm copper"],
        Kind::Quantity(Dimension::RATE) => vec!["kg/ha", "lb / ac"],
        Kind::Temperature | Kind::Quantity(_) => units::symbols(kind.dimension())
            .into_iter()
            .filter(|symbol| WRITTEN.contains(symbol) && kind.dimension() != Dimension::NONE)
            .collect(),
        Kind::Number | Kind::Count | Kind::Date | Kind::Clock | Kind::YesNo | Kind::Text | Kind::Words(_) => {
            Vec::new()
        }
    }
}

/// Returns what a literal is called.
pub(super) fn literal_called(literal: &Literal<'_>) -> &'static str {
    match literal {
        Literal::Date(_) => "a date",
        Literal::DayOfYear(_) => "a day of every year",
        Literal::Clock(_) => "a time of day",
        Literal::Quantity(_) => "a quantity",
        Literal::Text(_) => "a text",
        Literal::YesNo(_) => "yes or no",
    }
}

impl<'a> Checker<'a> {
    /// Returns what a value of a kind is called, `a duration`.
    pub(super) fn called(&self, kind: Kind) -> String {
        match kind {
            Kind::Share => "a share".to_string(),
            Kind::Number => "a plain number".to_string(),
            Kind::Count => "a count".to_string(),
            Kind::Temperature => "a temperature".to_string(),
            Kind::Quantity(dimension) => dimension.called().into(),
            Kind::Date => "a date".to_string(),
            Kind::Clock => "a time of day".to_string(),
            Kind::YesNo => "yes or no".to_string(),
            Kind::Text => "a text".to_string(),
            Kind::Words(list) => {
                let list = &self.plan[list];
                if list.name.is_empty() {
                    let words = list.words.iter().map(|word| &*word.name);
                    format!("one of {}", super::wording::both(words))
                } else {
                    format!("a word of `{}`", list.name)
                }
            }
        }
    }

    /// Returns the kind that is written.
    pub(super) fn kind(&mut self, word: &KindWord<'a>, at: Span) -> Option<Kind> {
        match word {
            KindWord::OneOf(words) => self.one_of(words, at).map(Kind::Words),
            KindWord::Named(name) => {
                if let Some(kind) = built_in(name.value) {
                    return Some(kind);
                }
                if let Some(number) = self.catalogue.number(ItemKind::Scale, name.value) {
                    return Some(Kind::Words(WordListId(number)));
                }
                if self.catalogue.is_broken(name.value) {
                    return None;
                }
                let scales: Vec<&str> = self.catalogue.words_of(ItemKind::Scale).collect();
                let words = BUILT_IN.iter().map(|(word, _)| *word).chain(scales);
                let near = self.catalogue.near(name.value, words);
                let message = format!("there is no kind and no scale `{}`", name.value);
                let problem = Problem::new(Finding::UnknownName, name.span, message);
                self.fail(problem.help(match near {
                    Some(near) => format!("did you mean `{near}`?"),
                    None => "kinds are `share`, `number`, `count`, `temperature`, `difference`, `depth`, `speed`, \
                             `duration` and other measures, `date`, `yes-no`, `text`, `one of a, b`, and each `scale`"
                        .to_string(),
                }))
            }
        }
    }

    /// Returns the list of the words of a `one of`; two with the same words are one list.
    fn one_of(&mut self, words: &[Name<'a>], at: Span) -> Option<WordListId> {
        let key: Vec<&'a str> = words.iter().map(|word| word.value).collect();
        if let Some(list) = self.one_ofs.get(&key) {
            return Some(*list);
        }
        self.distinct(words, "word")?;
        let list = self.word_list("".into(), false, words.iter().map(|word| (word.value, None, None)), at)?;
        self.one_ofs.insert(key, list);
        Some(list)
    }

    /// Adds a list of words, each with its label and codes; more than 64 are refused.
    pub(super) fn word_list(
        &mut self,
        name: Arc<str>,
        ordered: bool,
        words: impl Iterator<Item = (&'a str, Option<Arc<str>>, Option<(u32, u32)>)>,
        span: Span,
    ) -> Option<WordListId> {
        let words = words
            .map(|(word, label, codes)| {
                let plain = Word::plain(word.into());
                Word { label: label.unwrap_or_else(|| plain.label.clone()), codes, ..plain }
            })
            .collect();
        let id = WordListId(self.plan.word_lists.len() as u32);
        let list = WordList { name, ordered, words, span };
        let length = list.words.len();
        self.plan.word_lists.push(list);
        if length <= 64 {
            return Some(id);
        }
        let message = format!("these are {length} words, and a list has at most 64");
        self.fail(
            Problem::new(Finding::OutOfRange, span, message).help("join stages that no rule tells apart"),
        )
    }

    /// Says where a word stands twice in a list.
    pub(super) fn distinct(&mut self, words: &[Name<'a>], what: &str) -> Option<()> {
        let mut seen = rustc_hash::FxHashMap::default();
        let mut sound = Some(());
        for word in words {
            if let Some(before) = seen.insert(word.value, word.span) {
                let message = format!("the {what} `{}` stands here twice", word.value);
                sound = self.fail(
                    Problem::new(Finding::DefinedTwice, word.span, message)
                        .related(before, "it already stands here")
                        .help("leave one of them out"),
                );
            }
        }
        sound
    }
}
