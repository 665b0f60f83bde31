//! How values came about: what was seen and when, and from which hours, days and sprays they were computed.

use super::{Scene, Words};
use crate::explain::{Claim, Computed, Item, Sighting, SprayDone, Statement};
use crate::grove::SeenOf;
use crate::measure::Provenance;
use crate::plan::{NameId, Origin, Sprayed};
use chrono::DateTime;
use chrono_tz::Tz;

impl Scene<'_> {
    /// Returns the value that a statement claims, without its definition: `night low 61 °F`.
    pub fn value(&self, statement: &Statement) -> String {
        let (Claim::Value { readings, text, .. }, Item::Name(name)) = (&statement.claim, statement.item)
        else {
            return self.says(statement);
        };
        let words = self.words();
        let Some(item) = self.plan.names.get(name.index()) else { return String::new() };
        let label = if item.hidden { &item.word } else { &item.label };
        let shown = text.clone().unwrap_or_else(|| words.several(name, readings) + &words.marks(readings));
        if shown.is_empty() {
            return label.to_string();
        }
        words.say("met.value", &[("name", label), ("value", &shown)])
    }

    /// Returns how an observation was made.
    pub(super) fn seen(&self, statement: &Statement) -> String {
        let (Claim::Seen { group, sighting, known, assumed }, Item::Name(name)) =
            (&statement.claim, statement.item)
        else {
            return String::new();
        };
        let words = self.words();
        let says = match (sighting, known) {
            (Some(_), true) if *assumed => words.say("seen.assumed.old", &[]),
            (Some(sighting), true) => self.sighting(sighting),
            (Some(sighting), false) => {
                let places = [("seen", &*self.sighting(sighting)), ("lasts", &self.lasts(name))];
                words.say("seen.old", &places)
            }
            (None, true) => words.say("seen.assumed", &[]),
            (None, false) => words.say("seen.never", &[]),
        };
        let Some((readings, share)) = group else { return says };
        let values = words.several(name, readings);
        match share {
            Some(share) => {
                words.say("seen.on", &[("value", &values), ("share", &words.share(*share)), ("seen", &says)])
            }
            None => words.say("seen.on-some", &[("value", &values), ("seen", &says)]),
        }
    }

    fn sighting(&self, sighting: &Sighting) -> String {
        let words = self.words();
        let of = match sighting.of {
            SeenOf::Grove => words.say("seen.of.grove", &[]),
            SeenOf::Block => words.say("look.block", &[("block", &sighting.block)]),
            SeenOf::Cultivar => words.say("seen.of.cultivar", &[]),
            SeenOf::Range => words.say("seen.of.range", &[]),
            SeenOf::Tree => words.say("seen.of.tree", &[]),
            SeenOf::Group => words.say("seen.of.group", &[]),
        };
        let (day, ago) = (words.day(sighting.on), words.ago(sighting.on, self.today));
        let who = sighting.who.as_deref().unwrap_or_default();
        let key = if who.is_empty() { "seen.seen" } else { "seen.seen.by" };
        let says = words.say(key, &[("day", &day), ("ago", &ago), ("who", who), ("of", &of)]);
        match sighting.sample {
            Some((found, of)) => {
                let (found, of) = (found.to_string(), of.to_string());
                words.say("seen.sample", &[("seen", &says), ("found", &found), ("of", &of)])
            }
            None => says,
        }
    }

    fn lasts(&self, name: NameId) -> String {
        let lasts = match self.plan.names.get(name.index()).map(|name| &name.origin) {
            Some(Origin::Observed(seen)) => seen.lasts,
            _ => None,
        };
        match lasts {
            Some(hours) if hours >= 24.0 && hours % 24.0 == 0.0 => crate::units::show(hours / 24.0, "d"),
            Some(hours) => crate::units::show(hours, "h"),
            None => self.words().say("seen.lasts.ever", &[]),
        }
    }

    /// Returns from what a value was computed.
    pub(super) fn computed(&self, computed: &Computed) -> String {
        let words = self.words();
        match computed {
            Computed::Window(found, counted) => words.provenance(found, *counted),
            Computed::LastSpray(what, Some(done)) => words.say(
                "computed.last",
                &[("product", &words.sprayed(what)), ("spray", &words.spray_done(done))],
            ),
            Computed::LastSpray(what, None) => words.never_sprayed(what),
            Computed::NoLog => words.say("cause.log", &[]),
            Computed::LatestSprays(sprays) if sprays.is_empty() => words.say("computed.log.empty", &[]),
            Computed::LatestSprays(sprays) => {
                let sprays: Vec<String> = sprays.iter().map(|it| words.spray_done(it)).collect();
                words.say("computed.latest", &[("sprays", &sprays.join("; "))])
            }
            Computed::Harvest(Some(day)) => words.say("computed.harvest", &[("day", &words.day(*day))]),
            Computed::Harvest(None) => words.say("cause.harvest", &[]),
            Computed::Days(name, days) => {
                let Some(item) = self.plan.names.get(name.index()) else { return String::new() };
                let day = |(day, base): &(chrono::NaiveDate, f64)| {
                    format!("{} {}", words.day(*day), words.number(item, *base))
                };
                let days: Vec<String> = days.iter().map(day).collect();
                words.say("computed.days", &[("days", &days.join(", "))])
            }
        }
    }
}

impl Words<'_> {
    fn never_sprayed(&self, what: &Sprayed) -> String {
        self.say("cause.none.never-sprayed", &[("product", &self.sprayed(what))])
    }

    /// Returns a spray of the log: `Sat 20 Feb 2027, 18:55, oil (thin) (sheet 2)`.
    fn spray_done(&self, done: &SprayDone) -> String {
        let part = |(word, product, strength): &(_, _, _)| match (product, strength) {
            (Some(product), Some(strength)) => self.dose(*product, *strength),
            (Some(product), None) => self.product(*product),
            (None, _) => std::sync::Arc::<str>::to_string(word),
        };
        let parts: Vec<String> = done.parts.iter().map(part).collect();
        let (moment, tank) = (self.moment(done.end), self.language.joined("with", &parts));
        match &done.sheet {
            Some(sheet) => {
                self.say("computed.spray.sheet", &[("moment", &moment), ("tank", &tank), ("sheet", sheet)])
            }
            None => self.say("computed.spray", &[("moment", &moment), ("tank", &tank)]),
        }
    }

    /// Returns from which hours or days an aggregate was taken.
    fn provenance(&self, found: &Provenance, counted: bool) -> String {
        let at = |moment: DateTime<Tz>| {
            if found.of_days { self.day(moment.date_naive()) } else { self.moment(moment) }
        };
        let to = if found.of_days { found.to - chrono::Duration::minutes(1) } else { found.to };
        let steps = if found.of_days { "steps.days" } else { "steps.hours" };
        let steps = self.language.counted(steps, found.steps, &[]);
        let mut said = vec![
            self.say("computed.window", &[("steps", &steps), ("from", &at(found.from)), ("to", &at(to))]),
        ];
        let mut add = |key: &str, count: i64| said.push(self.say(key, &[("count", &count.to_string())]));
        if counted {
            add("computed.counted", found.counted);
        }
        if let Some((from, to)) = found.spell {
            said.push(self.say("computed.spell", &[("from", &at(from)), ("to", &at(to))]));
        }
        let mut add = |key: &str, count: i64| said.push(self.say(key, &[("count", &count.to_string())]));
        if found.missing > 0 {
            add("computed.missing", found.missing);
        }
        if found.forecast > 0 {
            add("computed.forecast", found.forecast);
        }
        said.join("; ")
    }
}
