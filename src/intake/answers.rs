//! What only the grower can know of a file, and what was answered.

use std::collections::BTreeMap;

/// What is asked about.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Topic {
    /// Whether the day or the month comes first.
    Dates,
    /// Whether a row tells of what comes before its time or after it.
    Stamps,
    /// Whether the clock of the file goes forward in summer.
    Clock,
    /// In which unit the temperatures are.
    Temperature,
    /// In which unit the wind is.
    Wind,
    /// In which unit the rain is.
    Rain,
    /// Whether the rain is that of each row, of the day so far, or a counter that runs on.
    RainIs,
    /// Which column is meant, where two fit.
    Take,
    /// Which 24 hours a day is.
    Day,
    /// When a forecast was made.
    Issued,
    /// Which of two stations is meant.
    Station,
    /// Whether a typical year may stand for weather.
    TypicalYear,
    /// Whether it is dry where nothing was said.
    DryOtherwise,
    /// How windy it is where nothing was said.
    WindOtherwise,
}

impl Topic {
    /// All topics with the words that flags and `grove.yaml` have for them.
    pub const ALL: [(Topic, &'static str); 14] = [
        (Topic::Dates, "dates"),
        (Topic::Stamps, "stamps"),
        (Topic::Clock, "clock"),
        (Topic::Temperature, "temperature"),
        (Topic::Wind, "wind"),
        (Topic::Rain, "rain"),
        (Topic::RainIs, "rain-is"),
        (Topic::Take, "take"),
        (Topic::Day, "day"),
        (Topic::Issued, "issued"),
        (Topic::Station, "station"),
        (Topic::TypicalYear, "typical-year"),
        (Topic::DryOtherwise, "dry-otherwise"),
        (Topic::WindOtherwise, "wind-otherwise"),
    ];

    /// Returns the word for this topic.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(topic, _)| *topic == self).map_or("", |(_, word)| word)
    }

    /// Returns the topic of a word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.iter().find(|(_, known)| *known == word).map(|(topic, _)| *topic)
    }

    /// Returns what can be answered, where that is one of a few words.
    pub fn choices(self) -> &'static [&'static str] {
        match self {
            Topic::Dates => &["day-first", "month-first"],
            Topic::Stamps => &["begin", "end", "leave-out"],
            Topic::Clock => &["wall", "standard"],
            Topic::Temperature => &["C", "F"],
            Topic::Wind => &["mph", "km/h", "m/s", "knots", "leave-out"],
            Topic::Rain => {
                &["mm", "in", "tips-0.01in", "tips-0.1mm", "tips-0.2mm", "tips-0.5mm", "leave-out"]
            }
            Topic::RainIs => &["of-the-row", "day-total", "counter", "leave-out"],
            Topic::Day => &["midnight", "07:00", "08:00", "09:00"],
            Topic::TypicalYear | Topic::DryOtherwise => &["yes", "no"],
            Topic::Take | Topic::Issued | Topic::Station | Topic::WindOtherwise => &[],
        }
    }

    /// Returns whether the answer holds for the next file of the kind; a moment or a forecast is of its own file only.
    pub fn is_kept(self) -> bool {
        !matches!(self, Topic::Issued | Topic::TypicalYear | Topic::DryOtherwise | Topic::WindOtherwise)
    }
}

/// The answers of the grower, by topic.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct FormAnswers(BTreeMap<Topic, String>);

impl FormAnswers {
    /// Takes an answer; one that is none of the choices is not taken.
    pub fn give(&mut self, topic: Topic, answer: &str) -> bool {
        let answer = answer.trim();
        let choices = topic.choices();
        let fits = |choice: &&&str| choice.eq_ignore_ascii_case(answer);
        let taken = match choices.iter().find(fits) {
            Some(choice) => *choice,
            None if choices.is_empty() && !answer.is_empty() => answer,
            None => return false,
        };
        self.0.insert(topic, taken.to_string());
        true
    }

    /// Returns the answer to a topic.
    pub fn get(&self, topic: Topic) -> Option<&str> {
        self.0.get(&topic).map(String::as_str)
    }

    /// Returns all answers, by topic.
    pub fn iter(&self) -> impl Iterator<Item = (Topic, &str)> {
        self.0.iter().map(|(topic, answer)| (*topic, answer.as_str()))
    }

    /// Returns whether nothing was answered.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// A question that is still open.
#[derive(Clone, PartialEq, Debug)]
pub struct FormQuestion {
    /// What it is about.
    pub topic: Topic,
    /// Whether nothing is read until it is answered; else what it is about stays unknown.
    pub is_needed: bool,
    /// What the file itself suggests.
    pub proposed: Option<&'static str>,
    /// What of the file it is about: titles, values, dates.
    pub about: Vec<String>,
}
