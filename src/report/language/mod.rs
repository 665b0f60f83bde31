//! The message catalogue: what is printed for a crew, in each language that the program speaks.
//!
//! A catalogue is a text beside this file, one `key = words` a line, `{place}` where something is filled in. Another
//! language is another text and a line in [`Language::ALL`]; the tests hold all catalogues to the same keys and places.
//! The rulebook's own words are translated beside it, not here.

use chrono::{DateTime, Datelike, NaiveDate};
use chrono_tz::Tz;

/// A language.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Language {
    /// English.
    English,
    /// Spanish.
    Spanish,
}

impl Language {
    /// All languages with their codes (ISO 639-1) and their catalogues.
    pub const ALL: [(Language, &'static str, &'static str); 2] = [
        (Language::English, "en", include_str!("en.txt")),
        (Language::Spanish, "es", include_str!("es.txt")),
    ];

    /// Returns the language of a code.
    pub fn of_code(code: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known, _)| *known == code).map(|(language, _, _)| *language)
    }

    /// Returns its code.
    pub fn code(self) -> &'static str {
        Self::ALL.iter().find(|(language, _, _)| *language == self).map_or("en", |(_, code, _)| code)
    }

    /// Returns the words of a key, if the catalogue has them.
    fn words(self, key: &str) -> Option<&'static str> {
        let catalogue = Self::ALL.iter().find(|(language, _, _)| *language == self)?.2;
        entries(catalogue).find(|(known, _)| *known == key).map(|(_, words)| words)
    }

    /// Returns the words of a key, with its places filled in.
    pub fn say(self, key: &str, places: &[(&str, &str)]) -> String {
        let words = self.words(key).or_else(|| Language::English.words(key)).unwrap_or(key);
        let fill = |words: String, (place, with): &(&str, &str)| words.replace(&format!("{{{place}}}"), with);
        places.iter().fold(words.to_string(), fill)
    }

    /// Returns `Tue 9 Feb 2027`.
    pub fn day(self, day: NaiveDate) -> String {
        let weekday = self.say(&format!("weekday.{}", day.weekday().num_days_from_monday() + 1), &[]);
        let month = self.say(&format!("month.{}", day.month()), &[]);
        let (number, year) = (day.day().to_string(), day.year().to_string());
        self.say("day", &[("weekday", &weekday), ("day", &number), ("month", &month), ("year", &year)])
    }

    /// Returns `Tue 9 Feb 2027, 19:00`.
    pub fn moment(self, moment: DateTime<Tz>) -> String {
        format!("{}, {}", self.day(moment.date_naive()), moment.format("%H:%M"))
    }

    /// Returns `Tue 9 Feb 2027, 19:00–20:05`, or both days where the span runs over midnight.
    pub fn span(self, from: DateTime<Tz>, to: DateTime<Tz>) -> String {
        if from.date_naive() == to.date_naive() {
            return format!("{}–{}", self.moment(from), to.format("%H:%M"));
        }
        self.say("span", &[("from", &self.moment(from)), ("to", &self.moment(to))])
    }

    /// Returns from which day fruit may be picked; that on that day people are kept out for a time, is said with it.
    pub fn pick(self, day: NaiveDate, re_entry: Option<DateTime<Tz>>) -> String {
        let barred = re_entry.is_some_and(|until| until.date_naive() >= day);
        let key = if barred { "sheet.pick.words.entry" } else { "sheet.pick.words" };
        self.say(key, &[("day", &self.day(day))])
    }

    /// Returns `1 tree`, `6 trees`.
    pub fn trees(self, count: usize) -> String {
        if count == 1 { self.say("tree", &[]) } else { self.say("trees", &[("count", &count.to_string())]) }
    }

    /// Returns what a kind of sprayer is called; one that the catalogue does not know as it was written.
    pub fn sprayer(self, kind: &str) -> String {
        self.words(&format!("sprayer.{kind}")).unwrap_or(kind).to_string()
    }
}

/// Returns the entries of a catalogue.
pub fn entries(catalogue: &'static str) -> impl Iterator<Item = (&'static str, &'static str)> {
    let lines = catalogue.lines().filter(|line| !line.starts_with('#'));
    lines.filter_map(|line| line.split_once(" = ")).map(|(key, words)| (key.trim(), words.trim()))
}
