//! The sentences that all pages of a season have in common.

use super::SeasonPage;
use crate::plan::Kind;
use crate::replay::{Blank, DecisionGroup, PartDone, Parting, PartingKind, ReplayedDay, TankDone};
use crate::report::ranges_in;
use crate::trace::Verdict;
use crate::units::{Dimension, plain, show};
use chrono::NaiveDate;

/// The key of a verdict's name, and whether a verdict is it.
type VerdictName = (&'static str, fn(&Verdict) -> bool);

/// All verdicts in the order of the pages, each with the key of its name.
pub(super) const VERDICTS: [VerdictName; 6] = [
    ("season.verdict.spray", Verdict::is_spray),
    ("season.verdict.look", |it| *it == Verdict::Look),
    ("season.verdict.all-shut", |it| *it == Verdict::AllShut),
    ("season.verdict.undecided", |it| *it == Verdict::Undecided),
    ("season.verdict.uncovered", |it| *it == Verdict::Uncovered),
    ("season.verdict.hold", |it| *it == Verdict::Hold),
];

impl SeasonPage<'_> {
    pub(super) fn say(&self, key: &str, places: &[(&str, &str)]) -> String {
        self.words.say(key, places)
    }

    /// Returns the title.
    pub(super) fn title(&self) -> String {
        let ends = self.replay.days.first().zip(self.replay.days.last());
        let (from, to) = ends.map_or_else(Default::default, |(first, last)| {
            (self.words.day(first.date()), self.words.day(last.date()))
        });
        self.say("season.title", &[("grove", &self.open.grove.title), ("from", &from), ("to", &to)])
    }

    /// Returns what stands at the head, each under its label.
    pub(super) fn head(&self) -> Vec<(String, String)> {
        let mut head = Vec::new();
        let mut add = |label: &str, says: String| head.push((self.say(label, &[]), says));
        add("season.guide", self.guide());
        let trees = self.words.language.trees(self.trees.len());
        add("season.trees", trees);
        if let Some(title) = &self.open.grove.assumed_bloom {
            add("season.bloom", self.say("season.bloom.words", &[("title", title)]));
        }
        let clock = self.words.clock(self.at);
        add("season.asked", self.say("season.asked.words", &[("clock", &clock)]));
        let key = match &self.open.weather {
            Some(_) => "season.weather.ahead",
            None => "season.weather.none",
        };
        add("season.weather", self.say(key, &[]));
        if self.assumed {
            let first = self.replay.days.first().map(|day| self.words.day(day.date())).unwrap_or_default();
            add("season.assumed", self.say("season.assumed.words", &[("day", &first)]));
        } else if !self.open.grove.log.is_known() {
            add("season.no-log", self.say("season.no-log.words", &[]));
        }
        add("season.blank", self.blank_words());
        for (label, is, key) in [
            ("season.undecided", Verdict::Undecided, "season.undecided.words"),
            ("season.uncovered", Verdict::Uncovered, "season.uncovered.words"),
        ] {
            if let Some((days, trees)) = self.most(|group| group.verdict == is) {
                add(label, self.say(key, &[("days", &days), ("trees", &trees)]));
            }
        }
        if let Some((days, trees)) = self.most(|group| group.waits_for_weather) {
            add(
                "season.weather-waits",
                self.say("season.weather-waits.words", &[("days", &days), ("trees", &trees)]),
            );
        }
        head
    }

    /// Returns by which guide.
    pub(super) fn guide(&self) -> String {
        let book = &self.open.plan.head;
        let edition = book.edition.as_ref().map_or_else(String::new, |edition| format!(", {edition}"));
        format!("{}{edition} ({})", book.title, self.open.book)
    }

    /// Returns on how many answered mornings some trees are of a kind, and how many of them at most.
    fn most(&self, is: impl Fn(&DecisionGroup) -> bool) -> Option<(String, String)> {
        let counts: Vec<usize> =
            self.answered().map(|day| day.count(&is)).filter(|count| *count > 0).collect();
        let most = counts.iter().copied().max()?;
        Some((self.mornings(counts.len()), self.words.language.trees(most)))
    }

    fn mornings(&self, count: usize) -> String {
        self.words.language.counted("season.days", count as i64, &[])
    }

    /// Returns on how many mornings there is no answer, and why.
    fn blank_words(&self) -> String {
        let blanks: Vec<&Blank> = self.replay.days.iter().filter_map(|day| day.blank.as_ref()).collect();
        if blanks.is_empty() {
            return self.say("season.blank.none", &[]);
        }
        let mut why = Vec::new();
        let weather = blanks.iter().filter(|it| matches!(it, Blank::Weather)).count();
        if weather > 0 {
            why.push(self.say("season.blank.weather", &[("count", &weather.to_string())]));
        }
        let shares: Vec<String> = blanks.iter().filter_map(|it| self.shares_at(it)).collect();
        if let Some(first) = shares.first() {
            let places = [("count", &*shares.len().to_string()), ("where", first)];
            why.push(self.say("season.blank.shares", &places));
        }
        let always: Vec<String> = blanks.iter().filter_map(|it| self.always_at(it)).collect();
        if let Some(first) = always.first() {
            let places = [("count", &*always.len().to_string()), ("where", first)];
            why.push(self.say("season.blank.always", &places));
        }
        let (count, all) = (blanks.len().to_string(), self.replay.days.len().to_string());
        self.say("season.blank.words", &[("count", &count), ("all", &all), ("why", &why.join("; "))])
    }

    fn shares_at(&self, blank: &Blank) -> Option<String> {
        match blank {
            Blank::Shares(at) => Some(self.open.sources.locate(*at)),
            Blank::Weather | Blank::Always(_) => None,
        }
    }

    fn always_at(&self, blank: &Blank) -> Option<String> {
        match blank {
            Blank::Always(problem) => {
                Some(format!("{}: {}", self.open.sources.locate(problem.at), problem.message))
            }
            Blank::Weather | Blank::Shares(_) => None,
        }
    }

    /// Returns why there is no answer on a morning, in short.
    pub(super) fn blank_word(&self, blank: &Blank) -> String {
        let one = |key: &str, at: &str| self.say(key, &[("count", "1"), ("where", at)]);
        match blank {
            Blank::Weather => one("season.blank.weather", ""),
            Blank::Shares(_) => one("season.blank.shares", &self.shares_at(blank).unwrap_or_default()),
            Blank::Always(_) => one("season.blank.always", &self.always_at(blank).unwrap_or_default()),
        }
    }

    /// Returns what was in a tank.
    pub(super) fn tank(&self, tank: &TankDone) -> String {
        let part = |(word, product, strength): &PartDone| match (product, strength) {
            (Some(product), Some(strength)) => self.words.dose(*product, *strength),
            (Some(product), None) => self.words.product(*product),
            (None, _) => word.to_string(),
        };
        self.words.language.joined("with", &tank.parts.iter().map(part).collect::<Vec<_>>())
    }

    /// Returns the air of a day under its label, and how much of it is missing.
    pub(super) fn air_words(&self, day: &ReplayedDay) -> Vec<(String, String)> {
        let air = &day.air;
        let mut words = Vec::new();
        let label = || self.say("season.day.air", &[]);
        let unknown = || self.say("season.picture.not-known", &[]);
        if let Some((low, high)) = air.temperature {
            let degrees = |base: f64| self.measured("°C", Kind::Temperature, base);
            let humidity = air.humidity.map_or_else(unknown, |share| self.words.share(share));
            let rain = |base: f64| self.measured("mm", Kind::Quantity(Dimension::LENGTH), base);
            let rain = air.rain.map_or_else(unknown, rain);
            let places: [(&str, &str); 4] =
                [("low", &degrees(low)), ("high", &degrees(high)), ("humidity", &humidity), ("rain", &rain)];
            words.push((label(), self.say("season.day.air.words", &places)));
        }
        let (known, all) = air.hours;
        if known < all {
            let (count, all) = ((all - known).to_string(), all.to_string());
            let missing = self.say("season.day.air.missing", &[("count", &count), ("all", &all)]);
            words.push((label(), missing));
        }
        words
    }

    /// Returns a reading in the unit of the page.
    fn measured(&self, written: &str, kind: Kind, base: f64) -> String {
        let Some(unit) = plain(written) else { return String::new() };
        let (number, symbol) = self.words.speech.parts(kind, &unit, base);
        show(number, &symbol)
    }

    /// Returns a spray with its time and its trees.
    pub(super) fn tank_words(&self, tank: &TankDone) -> String {
        let key = if tank.assumed { "season.day.sprayed.assumed" } else { "season.day.sprayed.words" };
        let count = self.words.language.trees(tank.trees.len());
        let trees = ranges_in(self.words.language, &self.names(), &tank.trees);
        let at = self.words.moment_ahead(tank.start);
        self.say(key, &[("at", &at), ("done", &self.tank(tank)), ("count", &count), ("trees", &trees)])
    }

    /// Returns trees with their count.
    pub(super) fn trees_words(&self, trees: &[usize]) -> String {
        let count = self.words.language.trees(trees.len());
        let places = [("count", &*count), ("trees", &ranges_in(self.words.language, &self.names(), trees))];
        self.say("season.parting.trees", &places)
    }

    /// Returns days, `Feb 2` or `Feb 2 to Feb 5`.
    pub(super) fn days_words(&self, from: NaiveDate, to: NaiveDate) -> String {
        let (first, last) = (self.words.day_ahead(from), self.words.day_ahead(to));
        if from == to { first } else { self.say("season.span", &[("from", &first), ("to", &last)]) }
    }

    /// Returns what is said where advice and log nowhere part.
    pub(super) fn no_partings(&self) -> Option<String> {
        let key = match (self.counts.advised, self.counts.done) {
            (0, 0) => "season.partings.nothing",
            _ => "season.partings.none",
        };
        self.partings.is_empty().then(|| self.say(key, &[]))
    }

    /// Returns where advice and log part: the days, what differs, of which trees.
    pub(super) fn parting(&self, parting: &Parting) -> (String, String, String) {
        let date = |at: usize| self.replay.days.get(at).map(ReplayedDay::date).unwrap_or_default();
        let days = self.days_words(date(parting.days.0), date(parting.days.1));
        let spray = self.words.doses(&parting.advised);
        let tank = parting.done.and_then(|(day, at)| self.replay.days.get(day)?.done.get(at));
        let done = tank.map_or_else(String::new, |tank| self.tank(tank));
        let verdict = parting.trees.first().and_then(|tree| {
            Some(self.words.verdict(&self.replay.days.get(parting.days.1)?.decision(*tree)?.verdict))
        });
        let key = match parting.kind {
            PartingKind::NotSprayed => "season.parting.not-sprayed",
            PartingKind::StillOpen => "season.parting.still-open",
            PartingKind::OtherProduct => "season.parting.other-product",
            PartingKind::NotAdvised => "season.parting.not-advised",
        };
        let verdict = verdict.unwrap_or_default();
        let all: [(&str, &str); 3] = [("spray", &spray), ("done", &done), ("verdict", &verdict)];
        (days, self.say(key, &all), self.trees_words(&parting.trees))
    }

    /// Returns what was advised and done in all, each under its label.
    pub(super) fn sums(&self) -> Vec<(String, String)> {
        let (counts, share) = (self.counts, |part: usize, of: usize| self.share(part, of));
        let followed = share(counts.followed, counts.advised);
        let places = [
            ("count", &*counts.advised.to_string()),
            ("followed", &*counts.followed.to_string()),
            ("share", &*followed),
        ];
        let mut sums = vec![(self.say("season.advised", &[]), self.say("season.advised.words", &places))];
        let done = counts.done.to_string();
        sums.push((self.say("season.done", &[]), self.say("season.done.words", &[("count", &done)])));
        for (product, (advised, done)) in crate::replay::sprays_by_product(&self.replay.days, self.trees) {
            let places = [("advised", &*advised.to_string()), ("done", &*done.to_string())];
            sums.push((self.words.product(product), self.say("season.by-product.words", &places)));
        }
        sums
    }

    /// Returns how often each verdict was given, each under its name; those that never were are left out.
    pub(super) fn verdict_counts(&self) -> Vec<(String, String)> {
        let all = self.tree_mornings(|_| true);
        let counts = VERDICTS.iter().map(|(key, is)| (*key, self.tree_mornings(|group| is(&group.verdict))));
        let said = counts.filter(|(_, count)| *count > 0).map(|(key, count)| {
            let (share, count, all) = (self.share(count, all), count.to_string(), all.to_string());
            let places = [("count", &*count), ("all", &*all), ("share", &*share)];
            (self.say(key, &[]), self.say("season.verdicts.words", &places))
        });
        said.collect()
    }

    /// Returns a part of a whole in percent.
    fn share(&self, part: usize, of: usize) -> String {
        self.words.share(if of == 0 { 0.0 } else { part as f64 / of as f64 })
    }
}
