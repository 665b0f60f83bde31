//! What a person saw, read from one cell: a plain value, an interval or a sample.
//!
//! Comes in: the text of a cell and the name that it is of. Goes out: a value in base units, or what to write
//! instead. Knows no files.

use super::trouble::Trouble;
use crate::phrase::{Phrase, said};
use crate::plan::{Kind, Name, Origin, Plan, WordList};
use crate::problems::nearest;
use crate::units::{self, Dimension, spoken};
use chrono::{Datelike, NaiveDate, NaiveTime, Timelike};
use std::sync::Arc;

/// What somebody saw.
#[derive(Clone, PartialEq, Debug)]
pub enum SeenValue {
    /// A number in base units; of a date the days of the common era, of a time of day the hours.
    Number(f64),
    /// Any number between two ends, both counted, in base units.
    Between(f64, f64),
    /// Counted: so many found of so many looked at.
    Sample {
        /// How many were found.
        found: u32,
        /// How many were looked at; one at least.
        of: u32,
    },
    /// A word of a list by its place; of yes-no, `no` is 0 and `yes` is 1.
    Word(u16),
    /// Any word between two of an ordered list, both counted.
    Words(u16, u16),
    /// A text.
    Text(Arc<str>),
}

impl SeenValue {
    /// Returns the ends of a value that has an order.
    pub(super) fn ends(&self) -> Option<(f64, f64)> {
        match self {
            SeenValue::Number(number) => Some((*number, *number)),
            SeenValue::Between(low, high) => Some((*low, *high)),
            SeenValue::Sample { found, of } => {
                let share = f64::from(*found) / f64::from((*of).max(1));
                Some((share, share))
            }
            SeenValue::Word(at) => Some((f64::from(*at), f64::from(*at))),
            SeenValue::Words(low, high) => Some((f64::from(*low), f64::from(*high))),
            SeenValue::Text(_) => None,
        }
    }
}

/// Reads a cell; an empty one and `?` say that nothing was seen.
pub(super) fn read(text: &str, name: &Name, plan: &Plan) -> Result<Option<SeenValue>, Trouble> {
    let text = text.trim();
    if text.is_empty() || text == "?" || text.eq_ignore_ascii_case("unknown") {
        return Ok(None);
    }
    let cell = Cell { text, name };
    let value = match name.kind {
        Kind::Text => SeenValue::Text(text.into()),
        Kind::YesNo => SeenValue::Word(cell.yes_or_no()?),
        Kind::Words(list) => cell.words(&plan[list])?,
        Kind::Share
        | Kind::Number
        | Kind::Count
        | Kind::Temperature
        | Kind::Quantity(_)
        | Kind::Date
        | Kind::Clock => cell.numbers()?,
    };
    Ok(Some(value))
}

/// Reads a date, `2027-02-11`.
pub(super) fn date(text: &str) -> Result<NaiveDate, Trouble> {
    NaiveDate::parse_from_str(text.trim(), "%Y-%m-%d")
        .ok()
        .filter(|date| (1900..=2200).contains(&date.year()))
        .ok_or_else(|| {
            Trouble::new(said!("`{text}` is not a date", text = text.trim()))
                .help("write year, month and day: `2027-02-11`")
        })
}

struct Cell<'c> {
    text: &'c str,
    name: &'c Name,
}

impl Cell<'_> {
    fn yes_or_no(&self) -> Result<u16, Trouble> {
        match self.text.to_lowercase().as_str() {
            "yes" | "y" | "true" | "sí" | "si" => Ok(1),
            "no" | "n" | "false" => Ok(0),
            _ => Err(Trouble::new(said!("`{text}` is neither `yes` nor `no`", text = self.text))
                .help("write `yes` or `no`, or leave the cell empty where nobody looked")),
        }
    }

    fn words(&self, list: &WordList) -> Result<SeenValue, Trouble> {
        let Some((low, high)) = interval(self.text).filter(|_| word(self.text, list).is_err()) else {
            return word(self.text, list).map(SeenValue::Word);
        };
        let (low, high) = (word(low, list)?, word(high, list)?);
        if !list.ordered && low != high {
            return Err(Trouble::new(said!("`{text}`: these words have no order", text = self.text))
                .help("write one of them, or leave the cell empty"));
        }
        if low > high {
            return Err(Trouble::new(said!("`{text}` runs backwards", text = self.text)).help(said!(
                "write `{low} to {high}`",
                low = label(list, high),
                high = label(list, low)
            )));
        }
        Ok(if low == high { SeenValue::Word(low) } else { SeenValue::Words(low, high) })
    }

    fn numbers(&self) -> Result<SeenValue, Trouble> {
        if let Some((found, of)) = self.text.split_once(" of ") {
            return self.sample(found.trim(), of.trim());
        }
        if let Some((low, high)) = interval(self.text) {
            let high_value = self.number(high, None)?;
            let unit = spoken::parse(high).ok().map(|said| said.unit);
            let low_value = self.number(low, unit.as_ref())?;
            if low_value > high_value {
                let turned = match (spoken::parse(low), spoken::parse(high)) {
                    (Ok(low), Ok(high)) => format!("{} to {} {}", high.number, low.number, high.unit.symbol),
                    _ => format!("{high} to {low}"),
                };
                return Err(Trouble::new(said!("`{text}` runs backwards", text = self.text))
                    .help(said!("write the lower end first: `{turned}`", turned = turned.trim_end())));
            }
            self.in_range(low_value)?;
            self.in_range(high_value)?;
            let one = low_value == high_value;
            return Ok(if one {
                SeenValue::Number(low_value)
            } else {
                SeenValue::Between(low_value, high_value)
            });
        }
        let value = self.number(self.text, None)?;
        self.in_range(value)?;
        Ok(SeenValue::Number(value))
    }

    fn sample(&self, found: &str, of: &str) -> Result<SeenValue, Trouble> {
        if self.name.kind != Kind::Share {
            return Err(Trouble::new(said!(
                "`{text}` is a sample, but `{word}` is not a share",
                text = self.text,
                word = self.name.word
            ))
            .maybe_help(self.example()));
        }
        let (Ok(found), Ok(of)) = (found.parse::<u32>(), of.parse::<u32>()) else {
            return Err(Trouble::new(said!("`{text}` is not a sample", text = self.text))
                .help("write how many were found of how many were looked at: `2 of 20`"));
        };
        if of == 0 || found > of {
            return Err(Trouble::new(said!("{found} cannot be found of {of} looked at", found, of))
                .help("write how many were found of how many were looked at: `2 of 20`"));
        }
        self.in_range(f64::from(found) / f64::from(of))?;
        Ok(SeenValue::Sample { found, of })
    }

    /// Reads one end; an end without a unit takes that of the other.
    fn number(&self, text: &str, other: Option<&units::Unit>) -> Result<f64, Trouble> {
        match self.name.kind {
            Kind::Date => date(text).map(|date| f64::from(date.num_days_from_ce())),
            Kind::Clock => clock(text),
            Kind::Share
            | Kind::Number
            | Kind::Count
            | Kind::Temperature
            | Kind::Quantity(_)
            | Kind::YesNo
            | Kind::Text
            | Kind::Words(_) => self.quantity(text, other),
        }
    }

    fn quantity(&self, text: &str, other: Option<&units::Unit>) -> Result<f64, Trouble> {
        let mut said =
            spoken::parse(text).map_err(|error| Trouble::unspoken(text, &error, self.example()))?;
        if let (true, Some(unit)) = (said.is_bare(), other) {
            said.unit = unit.clone();
        }
        let word = &self.name.word;
        if said.per_tree || said.of.is_some() {
            return Err(Trouble::new(said!("`{text}` is not a value of `{word}`", text, word))
                .maybe_help(self.example()));
        }
        match self.name.kind {
            Kind::Share if &*said.unit.symbol == "%" || &*said.unit.symbol == "% v/v" => Ok(said.amount()),
            Kind::Share if said.is_bare() => Err(bare_share(text, said.number, word)),
            Kind::Count if said.is_bare() => {
                if said.number < 0.0 || said.number.fract() != 0.0 {
                    return Err(Trouble::new(said!(
                        "`{text}` is not a count, but `{word}` is one",
                        text,
                        word
                    ))
                    .help("write a whole number that is not negative"));
                }
                Ok(said.number)
            }
            Kind::Number if said.is_bare() => Ok(said.number),
            Kind::Temperature if said.unit.is_temperature() => Ok(said.point()),
            Kind::Quantity(dimension) if said.unit.dimension == dimension && !said.is_bare() => {
                Ok(said.amount())
            }
            Kind::Share | Kind::Number | Kind::Count | Kind::Temperature | Kind::Quantity(_) => {
                Err(self.wrong_unit(text, &said))
            }
            Kind::Date | Kind::Clock | Kind::YesNo | Kind::Text | Kind::Words(_) => {
                Err(Trouble::new(said!("`{text}` is not a value of `{word}`", text, word)))
            }
        }
    }

    fn wrong_unit(&self, text: &str, said: &spoken::Spoken) -> Trouble {
        let word = &self.name.word;
        let wanted = match self.name.kind {
            Kind::Temperature => "a temperature".into(),
            Kind::Share => "a share".into(),
            Kind::Count => "a count".into(),
            kind => kind.dimension().called(),
        };
        if said.is_bare() {
            let units = spoken::offered(self.name.kind.dimension());
            return Trouble::new(said!("`{text}` has no unit, but `{word}` is {wanted}", text, word, wanted))
                .help(said!(
                    "write the unit: {units}, as in `{text} {unit}`",
                    units,
                    text,
                    unit = first_unit(&units)
                ));
        }
        let found = if said.unit.is_temperature() {
            "a temperature".into()
        } else if &*said.unit.symbol == "%" {
            "a share".into()
        } else {
            said.unit.dimension.called()
        };
        Trouble::new(said!("`{text}` is {found}, but `{word}` is {wanted}", text, found, word, wanted))
            .maybe_help(self.example())
    }

    /// Returns words that would do.
    fn example(&self) -> Option<Phrase> {
        let example: Phrase = match self.name.kind {
            Kind::Share => "`80 %`, `40 to 60 %` or `2 of 20`".into(),
            Kind::Number => "a plain number: `4.5`".into(),
            Kind::Count => "a whole number: `3`, or `3 to 5` where you are not sure".into(),
            Kind::Temperature => "`61 °F` or `16 °C`".into(),
            Kind::Quantity(Dimension::NONE) => return None,
            Kind::Quantity(dimension) => {
                said!("a number with its unit: {units}", units = spoken::offered(dimension))
            }
            Kind::Date => String::from("`2027-02-11`").into(),
            Kind::Clock => String::from("`06:30`").into(),
            Kind::YesNo | Kind::Text | Kind::Words(_) => return None,
        };
        Some(said!("write {example}", example))
    }

    /// Refuses a value that the rulebook says cannot be.
    fn in_range(&self, value: f64) -> Result<(), Trouble> {
        let own = match &self.name.origin {
            Origin::Observed(observation) => observation.range,
            _ => None,
        };
        let range = own.or(match self.name.kind {
            Kind::Share => Some((0.0, 1.0)),
            _ => None,
        });
        let Some((low, high)) = range else { return Ok(()) };
        let (lowest, highest) = (self.name.threshold(low), self.name.threshold(high));
        if lowest.is_reached_by(value, true) && highest.is_kept_by(value, true) {
            return Ok(());
        }
        Err(Trouble::new(said!(
            "`{text}` lies outside of what `{word}` can be, {low} to {high}",
            text = self.text,
            word = self.name.word,
            low = self.shown(low),
            high = self.shown(high)
        ))
        .help("write the value that was seen"))
    }

    fn shown(&self, base: f64) -> String {
        if self.name.kind == Kind::Date {
            let date = NaiveDate::from_num_days_from_ce_opt(base as i32);
            return date.map_or_else(String::new, |date| date.to_string());
        }
        let unit = match self.name.kind {
            Kind::Share if self.name.unit.symbol.is_empty() => {
                units::plain("%").unwrap_or_else(units::Unit::none)
            }
            _ => self.name.unit.clone(),
        };
        let number = match self.name.kind {
            Kind::Temperature => unit.point_from_base(base),
            _ => unit.amount_from_base(base),
        };
        units::show(number, &unit.symbol)
    }
}

fn bare_share(text: &str, number: f64, word: &str) -> Trouble {
    let trouble = Trouble::new(said!("`{text}` has no unit, but `{word}` is a share", text, word));
    if number > 0.0 && number < 1.0 {
        let percent = units::clean(number * 100.0);
        return trouble.help(said!(
            "write `{percent} %` or `{number} %`, whichever is meant",
            percent,
            number
        ));
    }
    trouble.help(said!("write `{text} %`", text))
}

fn first_unit(units: &str) -> &str {
    units.split([',', ' ']).next().unwrap_or(units)
}

/// Reads a time of day in hours.
fn clock(text: &str) -> Result<f64, Trouble> {
    NaiveTime::parse_from_str(text.trim(), "%H:%M")
        .map(|time| f64::from(time.num_seconds_from_midnight()) / 3600.0)
        .map_err(|_| {
            Trouble::new(said!("`{text}` is not a time of day", text))
                .help("write hours and minutes: `06:30`")
        })
}

/// Splits `A to B`, `40–60 %` and `40-60 %`.
fn interval(text: &str) -> Option<(&str, &str)> {
    if let Some((low, high)) = text.split_once(" to ") {
        return Some((low.trim(), high.trim()));
    }
    if let Some((low, high)) = text.split_once(['–', '—']) {
        return Some((low.trim(), high.trim())).filter(|(low, _)| !low.is_empty());
    }
    let bytes = text.as_bytes();
    let dashes = bytes.iter().filter(|byte| **byte == b'-').count();
    let (low, high) = text.split_once('-').filter(|_| dashes == 1)?;
    let (low, high) = (low.trim(), high.trim());
    let number = |part: &str, last: bool| {
        let letter = if last { part.chars().next_back() } else { part.chars().next() };
        letter.is_some_and(|letter| letter.is_ascii_digit())
    };
    Some((low, high)).filter(|_| number(low, true) && number(high, false) && number(low, false))
}

/// Finds a word of a list by its name, its label or its standard code.
pub(super) fn word(text: &str, list: &WordList) -> Result<u16, Trouble> {
    let small = text.trim().to_lowercase();
    let hyphened = small.replace(' ', "-");
    let found =
        list.words.iter().position(|word| *word.name == *hyphened || word.label.to_lowercase() == small);
    if let Some(at) = found.and_then(|at| u16::try_from(at).ok()) {
        return Ok(at);
    }
    let called = if list.name.is_empty() { "words" } else { &list.name };
    if let Ok(code) = small.parse::<u32>() {
        let of_code =
            |word: &crate::plan::Word| word.codes.is_some_and(|(first, last)| (first..=last).contains(&code));
        if let Some(at) = list.words.iter().position(of_code).and_then(|at| u16::try_from(at).ok()) {
            return Ok(at);
        }
        let near = list.words.iter().filter_map(|word| word.codes.map(|codes| (word, codes)));
        let near = near.min_by_key(|(_, (first, last))| first.abs_diff(code).min(last.abs_diff(code)));
        let help = near.map(|(word, (first, last))| {
            let codes = if first == last { first.to_string() } else { format!("{first} to {last}") };
            said!("the nearest is `{word}`, with the code {codes}", codes, word = word.name)
        });
        return Err(
            Trouble::new(said!("`{code}` is not a code of `{called}`", code, called)).maybe_help(help)
        );
    }
    let names = || list.words.iter().map(|word| &*word.name);
    let help = match nearest(&hyphened, names()) {
        Some(near) => said!("did you mean `{near}`?", near),
        None => {
            said!(
                "write one of {names}",
                names = names().map(|name| format!("`{name}`")).collect::<Vec<_>>().join(", ")
            )
        }
    };
    let what = if list.name.is_empty() {
        said!("`{text}` is none of the words that would do", text)
    } else {
        said!("`{text}` is not a word of the scale `{called}`", text, called)
    };
    Err(Trouble::new(what).help(help))
}

fn label(list: &WordList, place: u16) -> &str {
    list.words.get(usize::from(place)).map_or("", |word| &word.name)
}
