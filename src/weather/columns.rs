//! The header of a weather file: which column holds what, and in which unit.

use super::Column;
use crate::phrase::{Phrase, said};
use crate::problems::{Finding, Problem, Problems, nearest};
use crate::source::Span;
use crate::units::{self, Dimension, Unit};
use std::collections::BTreeMap;

/// The title of the hours over which a row's rain is the total.
pub(super) const RAIN_OVER: &str = "rain over";

/// Which column holds what.
#[derive(Default, Debug)]
pub(super) struct Header {
    pub(super) time: Option<usize>,
    pub(super) found: Vec<FoundColumn>,
    /// The columns `rain from` and `rain to`, in pairs of which one may be missing.
    pub(super) ends: Vec<(Option<FoundColumn>, Option<FoundColumn>)>,
    /// The column `rain over`: over how many hours, from its row on, the rain of the row is the total.
    pub(super) rain_over: Option<usize>,
    pub(super) width: usize,
}

/// A column of values.
#[derive(Debug)]
pub(super) struct FoundColumn {
    pub(super) column: Column,
    pub(super) place: usize,
    pub(super) unit: Unit,
}

/// What a column tells of its series.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum WhichEnd {
    /// The value.
    Value,
    /// The least that it can be.
    From,
    /// The most that it can be.
    To,
}

impl Header {
    fn has(&self, column: Column, which: WhichEnd) -> bool {
        let is_of = |found: &Option<FoundColumn>| found.as_ref().is_some_and(|found| found.column == column);
        match which {
            WhichEnd::Value => self.found.iter().any(|found| found.column == column),
            WhichEnd::From => self.ends.iter().any(|(from, _)| is_of(from)),
            WhichEnd::To => self.ends.iter().any(|(_, to)| is_of(to)),
        }
    }

    pub(super) fn take(&mut self, found: FoundColumn, which: WhichEnd) {
        if which == WhichEnd::Value {
            self.found.push(found);
            return;
        }
        let is_of = |it: &Option<FoundColumn>| it.as_ref().is_some_and(|it| it.column == found.column);
        let known = self.ends.iter().position(|(from, to)| is_of(from) || is_of(to));
        let place = known.unwrap_or(self.ends.len());
        if known.is_none() {
            self.ends.push((None, None));
        }
        if let Some((from, to)) = self.ends.get_mut(place) {
            *(if which == WhichEnd::From { from } else { to }) = Some(found);
        }
    }
}

/// Parts `rain from` into the series and what the column tells of it.
pub(super) fn end_of(name: &str) -> (&str, WhichEnd) {
    match name.rsplit_once(' ') {
        Some((series, "from")) => (series.trim(), WhichEnd::From),
        Some((series, "to")) => (series.trim(), WhichEnd::To),
        _ => (name, WhichEnd::Value),
    }
}

/// Reads a header. `mapped` gives, for a word of ours, the file's own header. A unit that the header lacks may stand
/// behind either of the two.
pub(super) fn read_header(
    cells: &[(&str, Span)],
    mapped: &BTreeMap<String, String>,
    problems: &mut Problems,
) -> Header {
    let mut header = Header { width: cells.len(), ..Header::default() };
    let whole =
        cells.iter().map(|(_, span)| *span).reduce(|first, other| first.to(other)).unwrap_or_default();
    let mut unknown = Vec::new();
    for (place, (text, span)) in cells.iter().enumerate() {
        let (own_name, own_unit) = split(text);
        let mapping = mapped.iter().find(|(_, theirs)| is_meant(theirs, text));
        let (name, unit) = match mapping {
            Some((ours, theirs)) => {
                let (name, unit) = split(ours);
                (name, own_unit.or(split(theirs).1).or(unit))
            }
            None => (own_name, own_unit),
        };
        if same(name, "time") {
            if header.time.replace(place).is_some() {
                problems.push(twice(*span, "time"));
            }
            continue;
        }
        if same(name, RAIN_OVER) && unit.is_some_and(|unit| unit == "h") {
            if header.rain_over.replace(place).is_some() {
                problems.push(twice(*span, RAIN_OVER));
            }
            continue;
        }
        let (series, which) = end_of(name);
        let Some((column, word)) = Column::ALL.into_iter().find(|(_, word)| same(series, word)) else {
            unknown.push((*text, name, *span));
            continue;
        };
        if header.has(column, which) {
            problems.push(twice(*span, word));
            continue;
        }
        match read_unit(column, unit) {
            Ok(unit) => header.take(FoundColumn { column, place, unit }, which),
            Err(message) => problems.push(
                Problem::new(Finding::Input, *span, message)
                    .label("this header")
                    .help(said!("write the unit behind the name: {examples}", examples = examples(column))),
            ),
        }
    }
    for (text, name, span) in unknown {
        unknown_column(text, name, &header, span, problems);
    }
    missing_columns(&header, cells, mapped, whole, problems);
    header
}

fn missing_columns(
    header: &Header,
    cells: &[(&str, Span)],
    mapped: &BTreeMap<String, String>,
    whole: Span,
    problems: &mut Problems,
) {
    for (ours, theirs) in mapped {
        if cells.iter().any(|(text, _)| is_meant(theirs, text)) {
            continue;
        }
        let message = said!(
            "no column `{theirs}`, which the grove names as its `{ours}`",
            theirs,
            ours = split(ours).0
        );
        let close = nearest(theirs, cells.iter().map(|(text, _)| *text));
        let help = close.map(|close| said!("did you mean `{near}`?", near = close));
        problems.push(Problem::new(Finding::Input, whole, message).maybe_help(help));
    }
    if header.time.is_none() {
        let message = "the weather has no column `time`";
        let help = "write `time` over the column with the start of each hour, and part columns by commas";
        problems.push(Problem::new(Finding::Input, whole, message).label("the header").help(help));
    } else if header.found.is_empty() && header.ends.is_empty() && !problems.any_error() {
        let message = "the weather has no column of a weather series";
        let help = "name at least one, with its unit: `temperature [°C]`, `humidity [%]`, `rain [mm]`";
        problems.push(Problem::new(Finding::Input, whole, message).label("the header").help(help));
    }
}

/// Says that a column is left out, and what would take it as the series that its name looks like.
fn unknown_column(text: &str, name: &str, header: &Header, span: Span, problems: &mut Problems) {
    if name.is_empty() {
        return;
    }
    let plain = name.to_lowercase().replace([' ', '_'], "-");
    let words: Vec<&str> = Column::ALL.iter().map(|(_, word)| *word).chain(["time"]).collect();
    let close = nearest(&plain, words.iter().copied());
    let inside = || words.iter().copied().find(|word| plain.split('-').any(|part| part == *word));
    let taken = |word: &str| {
        let known = header.found.iter().any(|found| found.column.word() == word);
        known || (word == "time" && header.time.is_some())
    };
    let column = shortened(text);
    let like = close.or_else(inside).filter(|word| !taken(word));
    let message = match like {
        Some(like) => said!(
            "the column `{column}` is not read; `columns: {{ {like}: \"{column}\" }}` under `weather` in grove.yaml takes it as {like}",
            column,
            like
        ),
        None => said!(
            "the column `{column}` is not read; `columns: {{ NAME: \"{column}\" }}` under `weather` in grove.yaml takes it, where \
             it is a series that the file lacks",
            column
        ),
    };
    let problem = Problem::new(Finding::InputNote, span, message).label("left out");
    problems.push(problem.maybe_help(close.map(|close| said!("did you mean `{near}`?", near = close))));
}

fn twice(span: Span, word: &str) -> Problem {
    Problem::new(Finding::Input, span, said!("the weather has two columns `{word}`", word))
        .label("the second one")
        .help("keep one of them")
}

/// Parts `temperature [°C]` into its name and its unit.
fn split(text: &str) -> (&str, Option<&str>) {
    let text = text.trim();
    match text.strip_suffix(']').and_then(|text| text.rsplit_once('[')) {
        Some((name, unit)) => (name.trim(), Some(unit.trim())),
        None => (text, None),
    }
}

/// Returns whether a header of the file is the one that a mapping names, with its unit or without.
fn is_meant(theirs: &str, header: &str) -> bool {
    same(theirs, header) || same(split(theirs).0, split(header).0)
}

fn same(one: &str, other: &str) -> bool {
    one.trim().eq_ignore_ascii_case(other.trim())
}

fn read_unit(column: Column, written: Option<&str>) -> Result<Unit, Phrase> {
    let word = column.word();
    let symbol = written.filter(|symbol| !symbol.is_empty()).ok_or(said!("`{word}` has no unit", word))?;
    let unit =
        units::plain(symbol).ok_or(said!("`{shortened}` is not a unit", shortened = shortened(symbol)))?;
    let fits = match column {
        Column::Temperature | Column::DewPoint => unit.dimension == Dimension::TEMPERATURE,
        Column::Rain => unit.dimension == Dimension::LENGTH,
        Column::Wind | Column::Gust => unit.dimension == Dimension::SPEED,
        Column::Humidity => &*unit.symbol == "%",
        Column::LeafWet => &*unit.symbol == "%" || unit.dimension == Dimension::TIME,
    };
    if fits { Ok(unit) } else { Err(said!("`{word}` cannot be given in `{symbol}`", word, symbol)) }
}

fn examples(column: Column) -> Phrase {
    let symbols: &[&str] = match column {
        Column::Temperature | Column::DewPoint => &["°C", "°F"],
        Column::Rain => &["mm", "in"],
        Column::Wind | Column::Gust => &["mph", "km/h", "m/s", "knots"],
        Column::Humidity => &["%"],
        Column::LeafWet => &["%", "min"],
    };
    let forms: Vec<String> = symbols.iter().map(|symbol| format!("`{} [{symbol}]`", column.word())).collect();
    Phrase::any_of(forms)
}

/// Returns the beginning of a text that may be very long.
pub(super) fn shortened(text: &str) -> String {
    let start: String =
        text.chars().take(40).map(|letter| if letter.is_control() { '·' } else { letter }).collect();
    if text.chars().nth(40).is_some() { format!("{start}…") } else { start }
}
