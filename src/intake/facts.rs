//! What was settled or noticed of a file without asking.

use chrono::NaiveDate;

/// Something that was settled or noticed without asking.
#[derive(Clone, PartialEq, Debug)]
pub enum FormFact {
    /// The order of day and month: `day-first` or `month-first`, and by what it is known.
    Dates(&'static str, &'static str),
    /// What a row tells of: `begin` or `end`, and by what it is known.
    Stamps(&'static str, &'static str),
    /// The clock of the file: `wall`, `standard` or its offset, and by what it is known.
    Clock(String, &'static str),
    /// Day numbers of a spreadsheet, and the first moment that they give.
    DayNumbers(NaiveDate),
    /// The month that reports without one are of.
    Month(i32, u32),
    /// So many values carry a mark that they are wrong, and count as missing.
    Flagged(usize),
    /// So many values carry a mark that they are doubtful, and count as missing.
    Questionable(usize),
    /// So many values cannot be, and count as missing.
    Impossible(usize),
    /// So many cells cannot be read; the first of them.
    Unreadable(usize, String),
    /// So many values contradict one another, and count as missing.
    Contradicted(usize),
    /// So many reports beside the hourly ones were not counted again.
    Specials(usize),
    /// Rows lie more than an hour apart: the hours between are not made.
    Coarse,
    /// The rain of the file is in tenths of what its title says.
    Tenths,
    /// Wind is rounded to 5 mph, and taken as give or take 2.5.
    RoundedWind,
    /// Amounts of rain are not given in this form; only the chance.
    NoAmounts,
    /// So many traces of rain.
    Traces(usize),
    /// A counter of rain fell so often: what fell before it is not known.
    CounterFell(usize),
    /// So many rows lie years from the others, and are left out; the date of the first.
    AnotherTime(usize, NaiveDate),
    /// The last row breaks off, and is left out.
    CutRow,
    /// The clock of the gauge's day begins anew at midnight.
    DayTotal,
}

impl FormFact {
    /// Returns the word for this fact and what it says, for catalogues and JSON.
    pub fn parts(&self) -> (&'static str, Vec<String>) {
        let count = |count: &usize| vec![count.to_string()];
        match self {
            FormFact::Dates(order, why) => ("dates", vec![(*order).to_string(), (*why).to_string()]),
            FormFact::Stamps(tells, why) => ("stamps", vec![(*tells).to_string(), (*why).to_string()]),
            FormFact::Clock(clock, why) => ("clock", vec![clock.clone(), (*why).to_string()]),
            FormFact::DayNumbers(date) => ("day-numbers", vec![date.to_string()]),
            FormFact::Month(year, month) => ("month", vec![format!("{year}-{month:02}")]),
            FormFact::Flagged(values) => ("flagged", count(values)),
            FormFact::Questionable(values) => ("questionable", count(values)),
            FormFact::Impossible(values) => ("impossible", count(values)),
            FormFact::Unreadable(cells, first) => ("unreadable", vec![cells.to_string(), first.clone()]),
            FormFact::Contradicted(values) => ("contradicted", count(values)),
            FormFact::Specials(reports) => ("specials", count(reports)),
            FormFact::Coarse => ("coarse", Vec::new()),
            FormFact::Tenths => ("tenths", Vec::new()),
            FormFact::RoundedWind => ("rounded-wind", Vec::new()),
            FormFact::NoAmounts => ("no-amounts", Vec::new()),
            FormFact::Traces(hours) => ("traces", count(hours)),
            FormFact::CounterFell(falls) => ("counter-fell", count(falls)),
            FormFact::AnotherTime(rows, date) => ("another-time", vec![rows.to_string(), date.to_string()]),
            FormFact::CutRow => ("cut-row", Vec::new()),
            FormFact::DayTotal => ("day-total", Vec::new()),
        }
    }
}
