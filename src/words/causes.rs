//! Why a value is not known, an interval, or none.

use super::Words;
use crate::advice::KeyWithoutRow;
use crate::measure::{Cause, InDoubt, LogGap, NoValue, Steps, TableKey, Unseen, WeatherGap};
use crate::plan::{Datum, Kind, NameId, Sprayed};
use crate::units::{Dimension, clean, show};

/// So many trees are named.
const NAMED: usize = 3;

impl Words<'_> {
    /// Returns why a value is not one that is known: `nobody looked`.
    pub fn cause(&self, cause: &Cause) -> String {
        match cause {
            Cause::Unseen(unseen) => self.unseen(unseen),
            Cause::SeenBetween => self.say("cause.seen-between", &[]),
            Cause::Weather(gap) => self.weather_gap(gap),
            Cause::Sprays(gap) => self.log_gap(gap),
            Cause::Harvest => self.say("cause.harvest", &[]),
            Cause::Sprayer => self.say("cause.sprayer", &[]),
            Cause::Empty(none) => self.no_value(none),
            Cause::NoRow(key) => self.of_key("cause.no-row", key),
            Cause::Doubt(doubt) => self.in_doubt(doubt),
        }
    }

    fn unseen(&self, unseen: &Unseen) -> String {
        match unseen {
            Unseen::Never => self.say("cause.unseen", &[]),
            Unseen::TooOld { on, days } => {
                let places = [("day", &*self.day(*on)), ("ago", &self.days_ago(*days))];
                self.say("cause.too-old", &places)
            }
            Unseen::Date(name) => self.say("cause.unseen.date", &[("name", self.label(*name))]),
            Unseen::Cultivar => self.say("cause.unseen.cultivar", &[]),
            Unseen::Shares => self.say("cause.unseen.shares", &[]),
            Unseen::Others => self.say("cause.unseen.others", &[]),
            Unseen::SomeOthers => self.say("cause.unseen.some-others", &[]),
        }
    }

    fn weather_gap(&self, gap: &WeatherGap) -> String {
        let counted = |key: &str, count: i64, of: i64, step: Steps| {
            self.say(key, &[("count", &count.to_string()), ("steps", &self.steps(of, step))])
        };
        match gap {
            WeatherGap::Beyond(beyond, of, step) => counted("cause.weather.beyond", *beyond, *of, *step),
            WeatherGap::None(of, step) => counted("cause.weather.none", 0, *of, *step),
            WeatherGap::Missing(missing, of, step) => counted("cause.weather.missing", *missing, *of, *step),
            WeatherGap::DaysLacking(days, of) => {
                counted("cause.weather.days-lacking", *days, *of, Steps::Days)
            }
            WeatherGap::DaysWithGaps(days, of) => counted("cause.weather.days-gaps", *days, *of, Steps::Days),
            WeatherGap::TooMany(missing, of, step, allowed) => {
                let (count, steps) = (missing.to_string(), self.steps(*of, *step));
                let places = [("count", &*count), ("steps", &steps), ("most", &self.share(*allowed))];
                self.say("cause.weather.too-many", &places)
            }
            WeatherGap::DayBeyond(day) => self.say("cause.weather.day-beyond", &[("day", &self.day(*day))]),
            WeatherGap::DayLacking(day) => self.say("cause.weather.day-lacking", &[("day", &self.day(*day))]),
            WeatherGap::Doubt(Steps::Hours) => self.say("cause.weather.doubt.hours", &[]),
            WeatherGap::Doubt(Steps::Days) => self.say("cause.weather.doubt.days", &[]),
            WeatherGap::Endless => self.say("cause.weather.endless", &[]),
        }
    }

    fn log_gap(&self, gap: &LogGap) -> String {
        match gap {
            LogGap::Unknown => self.say("cause.log", &[]),
            LogGap::Enough => self.say("cause.log.enough", &[]),
            LogGap::Content(product, day) => {
                self.say("cause.log.content", &[("product", product), ("day", &self.day(*day))])
            }
            LogGap::Amount(on, day) => self.say("cause.log.amount", &[("on", on), ("day", &self.day(*day))]),
        }
    }

    fn no_value(&self, none: &NoValue) -> String {
        match none {
            NoValue::In(of, step) => self.say("cause.none.in", &[("steps", &self.steps(*of, *step))]),
            NoValue::On(day) => self.say("cause.none.on", &[("day", &self.day(*day))]),
            NoValue::Waiting => self.say("cause.none.waiting", &[]),
            NoValue::NeverSprayed(what) => {
                self.say("cause.none.never-sprayed", &[("product", &self.sprayed(what))])
            }
            NoValue::Date(name) => self.say("cause.none.date", &[("name", self.label(*name))]),
            NoValue::Invalid => self.say("cause.none.invalid", &[]),
            NoValue::TableEnds(key) => self.of_key("cause.none.table-ends", key),
            NoValue::TableGives(table) => self.say("cause.none.table", &[("table", table)]),
            NoValue::ByZero => self.say("cause.none.by-zero", &[]),
            NoValue::Power => self.say("cause.none.power", &[]),
            NoValue::Root => self.say("cause.none.root", &[]),
            NoValue::Logarithm => self.say("cause.none.logarithm", &[]),
        }
    }

    fn in_doubt(&self, doubt: &InDoubt) -> String {
        match doubt {
            InDoubt::ManyRows(table) => self.say("cause.doubt.many-rows", &[("table", table)]),
            InDoubt::Beyond(key) => self.of_key("cause.doubt.beyond", key),
            InDoubt::Range(table) => self.say("cause.doubt.range", &[("table", table)]),
            InDoubt::Unknown(table) => self.say("cause.doubt.unknown", &[("table", table)]),
            InDoubt::NoDays => self.say("cause.doubt.no-days", &[]),
            InDoubt::Sample(found, of) => {
                self.say("cause.doubt.sample", &[("found", &found.to_string()), ("of", &of.to_string())])
            }
            InDoubt::TooGreat => self.say("cause.doubt.too-great", &[]),
        }
    }

    /// Returns which table has no row for which key, and what is not known for that, of which trees.
    pub fn without_row<'n>(&self, found: &KeyWithoutRow, tree: impl Fn(usize) -> &'n str) -> String {
        let labels: Vec<&str> = found.names.iter().map(|name| self.label(*name)).collect();
        let key = self.key(&found.key, Some(&found.written));
        let row = self.say("cause.no-row", &[("table", &found.key.table), ("key", &key)]);
        let names = labels.join(", ");
        let Some(trees) = &found.trees else {
            return self.say("cause.key", &[("row", &row), ("names", &names)]);
        };
        let named: Vec<&str> = trees.iter().take(NAMED).map(|at| tree(*at)).collect();
        let (named, more) = (named.join(", "), trees.len().saturating_sub(NAMED).to_string());
        let key = if trees.len() > NAMED { "cause.key.more" } else { "cause.key.trees" };
        self.say(key, &[("row", &row), ("names", &names), ("trees", &named), ("more", &more)])
    }

    fn of_key(&self, key: &str, of: &TableKey) -> String {
        self.say(key, &[("table", &of.table), ("key", &self.key(of, None))])
    }

    /// Returns a key; `other` is a text of it that the rulebook does not name.
    fn key(&self, key: &TableKey, other: Option<&str>) -> String {
        let one = |(kind, datum): &(Kind, Datum)| match (datum, kind) {
            (Datum::Number(number), Kind::Temperature) => show(*number, "°C"),
            (Datum::Number(number), Kind::Share) => self.share(*number),
            (Datum::Number(number), Kind::Quantity(dimension)) if *dimension == Dimension::TIME => {
                show(*number, "h")
            }
            (Datum::Number(number), _) => clean(*number).to_string(),
            (Datum::Word(place), kind) => self.word(*kind, *place),
            (Datum::Text(text), _) => match (self.plan.texts.get(text.0 as usize), other) {
                (Some(text), _) => format!("\"{text}\""),
                (None, Some(other)) => other.to_string(),
                (None, None) => self.say("value.text.other", &[]),
            },
        };
        key.keys.iter().map(one).collect::<Vec<_>>().join(", ")
    }

    /// Returns what was sprayed: a product, a group, anything.
    pub fn sprayed(&self, what: &Sprayed) -> String {
        match what {
            Sprayed::Any => self.say("sprayed.any", &[]),
            Sprayed::Group(group) => self.say("sprayed.group", &[("group", group)]),
            Sprayed::Product(product) => self.product(*product),
        }
    }

    fn steps(&self, count: i64, step: Steps) -> String {
        let key = match step {
            Steps::Hours => "steps.hours",
            Steps::Days => "steps.days",
        };
        self.language.counted(key, count, &[])
    }

    /// Returns the label of a name.
    pub fn label(&self, name: NameId) -> &str {
        self.plan.names.get(name.index()).map_or("", |name| &name.label)
    }
}
