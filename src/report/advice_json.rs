//! `advise --format json`, written as the trees come: what trees share is written once for a case and copied.

use super::case_json::{Fragments, decision, fragments, hours, needs, short_windows, windows};
use super::range_json::tipping_points;
use super::together::{together, write_together};
use super::{Group, Groups, json, write_chain, write_reading};
use crate::advice::{Case, Hours, Need, Spray, TreeAdvice};
use crate::explain::Values;
use crate::measure::{Gauged, Reading};
use crate::plan::{Kind, NameId, Origin, Place, Plan};
use crate::sprayday::Work;
use crate::words::Scene;
use chrono::DateTime;
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use std::io;
use std::sync::Arc;

/// The trees of a grove, as far as they are named in a report.
pub trait Trees {
    /// Returns the name of a tree.
    fn name(&self, tree: usize) -> &str;

    /// Returns the name of its block, empty where it has none.
    fn block(&self, tree: usize) -> &str;

    /// Returns the text that it has for a name, its cultivar, also one that the rulebook does not know.
    fn text(&self, tree: usize, name: NameId) -> Option<String>;

    /// Returns the sample that was seen: how many were found among how many, for the tree or one group of panicles.
    fn sample(&self, tree: usize, name: NameId, group: usize) -> Option<(u32, u32)>;

    /// Returns how long a spray of these trees takes, where the sprayer and its pace are known.
    fn work(&self, spray: &Spray, trees: &[usize]) -> Option<Work>;
}

/// What stands above the trees.
#[derive(Clone, Debug)]
pub struct Heading<'a> {
    /// The rulebook's file as the grower named it.
    pub file: &'a str,
    /// Whether the rulebook is in force on the day of the advice.
    pub in_force: bool,
    /// The grove's name.
    pub grove: &'a str,
    /// The moment of the advice.
    pub as_of: DateTime<Tz>,
    /// Values that are the same for the whole grove.
    pub values: &'a [(NameId, Reading)],
    /// The end of the last measured hour.
    pub weather_measured_to: Option<DateTime<Tz>>,
    /// When the forecast was issued.
    pub forecast_issued: Option<DateTime<Tz>>,
    /// What was reported in the grower's files, a sentence each.
    pub notes: &'a [String],
}

/// How a group's mix is written; null where there is none.
pub type WriteMix<'a> = dyn Fn(&mut Vec<u8>, &Group, &Case) + 'a;

/// Writes an advice tree by tree.
pub struct Writer<'a, W: io::Write> {
    out: W,
    scene: &'a Scene<'a>,
    trees: &'a dyn Trees,
    grove_values: Values,
    own_names: Vec<Keyed>,
    panicle_names: Vec<Keyed>,
    buffer: Vec<u8>,
    written: bool,
    cases: FxHashMap<usize, Fragments>,
    order: Vec<usize>,
    hours: FxHashMap<*const Hours, (Arc<Hours>, Vec<u8>)>,
    values: FxHashMap<PlainValue, Vec<u8>>,
    groups: Groups,
}

/// A name with its key as it is written.
#[derive(Clone, Debug)]
struct Keyed {
    id: NameId,
    key: Vec<u8>,
    of_panicles: bool,
    observed: bool,
    is_text: bool,
}

/// A value without a reason beside it: its name, its bits, and the sample that it is.
type PlainValue = (NameId, u64, Option<(u32, u32)>);

/// So many different values are remembered in their written form.
const REMEMBERED: usize = 100_000;

impl<'a, W: io::Write> Writer<'a, W> {
    /// Writes what stands above the trees.
    pub fn new(
        mut out: W,
        scene: &'a Scene<'a>,
        trees: &'a dyn Trees,
        heading: &Heading<'_>,
    ) -> io::Result<Self> {
        let plan = scene.plan;
        let mut buffer = Vec::new();
        head(&mut buffer, plan, heading);
        buffer.extend_from_slice(b",\n\"trees\":[");
        out.write_all(&buffer)?;
        buffer.clear();
        let names = |wanted: &dyn Fn(&crate::plan::Name) -> bool| {
            let named = plan.named().filter(|(_, name)| !name.hidden && wanted(name));
            let keyed = named.map(|(id, name)| Keyed {
                id,
                key: keyed(&name.word),
                of_panicles: name.scope == Place::Panicles,
                observed: matches!(name.origin, Origin::Observed(_)),
                is_text: name.kind == Kind::Text,
            });
            keyed.collect::<Vec<_>>()
        };
        Ok(Self {
            out,
            scene,
            trees,
            grove_values: Values::of_grove(plan.names.len(), heading.values),
            own_names: names(&|name| {
                name.scope != Place::Grove && !matches!(name.origin, Origin::Block | Origin::Date)
            }),
            panicle_names: names(&|name| name.scope == Place::Panicles),
            buffer,
            written: false,
            cases: FxHashMap::default(),
            order: Vec::new(),
            hours: FxHashMap::default(),
            values: FxHashMap::default(),
            groups: Groups::default(),
        })
    }

    /// Writes one tree.
    pub fn tree(&mut self, tree: usize, advice: &TreeAdvice, case: &Case, gauged: &Gauged) -> io::Result<()> {
        let plan = self.scene.plan;
        if !self.cases.contains_key(&advice.case) {
            self.cases.insert(advice.case, fragments(plan, self.trees, case));
            self.order.push(advice.case);
        }
        self.groups.add(tree, advice, case);
        let mut out = std::mem::take(&mut self.buffer);
        out.clear();
        out.extend_from_slice(if self.written { b",\n{\"tree\":" } else { b"\n{\"tree\":" });
        self.written = true;
        json::text(&mut out, self.trees.name(tree));
        out.extend_from_slice(b",\"block\":");
        json::text(&mut out, self.trees.block(tree));
        out.push(b',');
        if let Some(fragments) = self.cases.get(&advice.case) {
            out.extend_from_slice(&fragments.first);
            out.push(b',');
            if *advice.hours == Hours::default() {
                hours(&mut out, plan, &advice.hours);
            } else {
                let (_, written) = self.hours.entry(Arc::as_ptr(&advice.hours)).or_insert_with(|| {
                    let mut written = Vec::new();
                    hours(&mut written, plan, &advice.hours);
                    // The hours are kept beside their written form, so that no others can come to lie there.
                    (Arc::clone(&advice.hours), written)
                });
                out.extend_from_slice(written);
            }
            out.push(b',');
            let itself = |need: &Need| matches!(need, Need::OfTree(_, other) if *other == tree);
            if case.needs.iter().any(itself) {
                needs(&mut out, plan, self.trees, &case.needs_of(&[tree]));
            } else {
                out.extend_from_slice(&fragments.needs);
            }
            out.extend_from_slice(&fragments.second);
        }
        self.dates(&mut out, advice);
        self.tree_values(&mut out, tree, gauged);
        out.extend_from_slice(b",\"situation\":");
        json::text(&mut out, &situation(advice.case));
        out.push(b'}');
        let done = self.out.write_all(&out);
        self.buffer = out;
        done
    }

    /// Writes the groups and the situations of the trees that were written. `case` gives a case by its number.
    ///
    /// For a single tree its own values stand in the chain, of several only those of the grove.
    pub fn finish<'c>(
        mut self,
        case: impl Fn(usize) -> Option<&'c Case>,
        single: Option<&Values>,
        mix: &WriteMix<'_>,
    ) -> io::Result<W> {
        let plan = self.scene.plan;
        let mut out = std::mem::take(&mut self.buffer);
        out.clear();
        out.extend_from_slice(b"\n],\n\"groups\":");
        let groups = std::mem::take(&mut self.groups).in_order();
        json::list(&mut out, &groups, |out, group| {
            let Some(case) = group.cases.first().and_then(|number| case(*number)) else {
                return out.extend_from_slice(b"null");
            };
            out.extend_from_slice(b"\n{\"trees\":");
            json::texts(out, group.trees.iter().map(|tree| self.trees.name(*tree)));
            out.extend_from_slice(b",\"decision\":{");
            decision(out, plan, case);
            out.extend_from_slice(b"},\"mix\":");
            mix(out, group, case);
            out.extend_from_slice(b",\"hours\":");
            windows(out, &group.hours);
            out.extend_from_slice(b",\"short_hours\":");
            short_windows(out, &group.hours);
            out.push(b'}');
        });
        out.extend_from_slice(b",\n\"together\":");
        write_together(&mut out, together(self.trees, &groups, &case));
        out.extend_from_slice(b",\n\"situations\":{");
        self.out.write_all(&out)?;
        self.order.sort_unstable();
        let mut first = true;
        for number in &self.order {
            let Some(case) = case(*number) else { continue };
            out.clear();
            out.extend_from_slice(if first { b"\n" } else { b",\n" });
            first = false;
            json::key(&mut out, &situation(*number));
            out.extend_from_slice(b"{\"chain\":");
            let statements = self.scene.chain(single.unwrap_or(&self.grove_values), case);
            write_chain(&mut out, self.scene, &statements);
            tipping_points(&mut out, plan, case);
            out.push(b'}');
            self.out.write_all(&out)?;
        }
        self.out.write_all(b"\n}}\n")?;
        Ok(self.out)
    }

    fn dates(&self, out: &mut Vec<u8>, advice: &TreeAdvice) {
        out.extend_from_slice(b",\"recheck\":");
        json::day(out, advice.recheck);
        out.extend_from_slice(b",\"turn\":");
        match &advice.turn {
            Some(turn) => {
                out.extend_from_slice(b"{\"at\":");
                json::moment(out, Some(turn.at));
                out.extend_from_slice(b",\"then\":");
                json::text(out, &turn.verdict.words(self.scene.plan));
                out.push(b'}');
            }
            None => out.extend_from_slice(b"null"),
        }
        out.extend_from_slice(b",\"seen\":");
        json::day(out, advice.seen);
        out.extend_from_slice(b",\"covered_until\":");
        json::day(out, advice.covered_until);
        out.extend_from_slice(b",\"closed_until\":");
        json::moment(out, advice.closed_until);
        out.extend_from_slice(b",\"keep_out_until\":");
        json::moment(out, advice.keep_out_until);
        out.extend_from_slice(b",\"pick_not_before\":");
        json::day(out, advice.pick_not_before);
        out.extend_from_slice(b",\"close_calls\":");
        let names = advice.close_calls.iter().filter_map(|call| self.scene.plan.names.get(call.name.index()));
        let mut words: Vec<&str> = names.map(|name| &*name.word).collect();
        words.dedup();
        json::texts(out, words);
    }

    fn tree_values(&mut self, out: &mut Vec<u8>, tree: usize, gauged: &Gauged) {
        let several = gauged.groups.len() > 1;
        out.extend_from_slice(b",\"values\":{");
        let names = std::mem::take(&mut self.own_names);
        let mut first = true;
        for name in names.iter().filter(|name| !(several && name.of_panicles)) {
            if let Some(reading) = gauged.names.get(name.id.index()) {
                separate(out, &mut first);
                out.extend_from_slice(&name.key);
                self.value(out, tree, name, reading, 0);
            }
        }
        self.own_names = names;
        out.push(b'}');
        if !several {
            return;
        }
        out.extend_from_slice(b",\"panicles\":");
        let names = std::mem::take(&mut self.panicle_names);
        json::list(out, gauged.groups.iter().enumerate(), |out, (number, group)| {
            out.extend_from_slice(b"{\"share\":");
            match group.share {
                Some(share) => {
                    out.extend_from_slice(b"{\"value\":");
                    json::number(out, share * 100.0);
                    out.extend_from_slice(b",\"unit\":\"%\"}");
                }
                None => out.extend_from_slice(b"{\"unknown\":\"no share was given\"}"),
            }
            out.extend_from_slice(b",\"values\":{");
            let mut first = true;
            for name in &names {
                if let Some(reading) = group.names.get(name.id.index()) {
                    separate(out, &mut first);
                    out.extend_from_slice(&name.key);
                    self.value(out, tree, name, reading, number);
                }
            }
            out.extend_from_slice(b"}}");
        });
        self.panicle_names = names;
    }

    /// Writes a value; one that is a plain number or word is written once and copied.
    fn value(&mut self, out: &mut Vec<u8>, tree: usize, keyed: &Keyed, reading: &Reading, group: usize) {
        let (plan, name) = (self.scene.plan, keyed.id);
        let sample = if keyed.observed { self.trees.sample(tree, name, group) } else { None };
        let cause = reading.cause.as_ref().map(|_| ()).or(reading.assumed.then_some(()));
        let plain = match (reading.extent.one_number(), reading.extent.word_set(), cause) {
            (Some(number), _, None) => Some((name, number.to_bits(), sample)),
            (None, set, None) if set != 0 && !reading.extent.may_be_empty => Some((name, set, sample)),
            _ => None,
        };
        if let Some(known) = plain.and_then(|key| self.values.get(&key)) {
            return out.extend_from_slice(known);
        }
        let start = out.len();
        let own = if keyed.is_text { self.trees.text(tree, name) } else { None };
        write_reading(out, plan, name, reading, sample, own.as_deref());
        if let (Some(key), true) = (plain, self.values.len() < REMEMBERED) {
            self.values.insert(key, out.get(start..).unwrap_or_default().to_vec());
        }
    }
}

fn situation(case: usize) -> String {
    format!("s{}", case + 1)
}

fn separate(out: &mut Vec<u8>, first: &mut bool) {
    if !std::mem::take(first) {
        out.push(b',');
    }
}

fn keyed(word: &str) -> Vec<u8> {
    let mut key = Vec::new();
    json::key(&mut key, word);
    key
}

fn head(out: &mut Vec<u8>, plan: &Plan, heading: &Heading<'_>) {
    out.extend_from_slice(b"{\"format\":\"bloomward.advice/1\",\n\"rulebook\":{\"title\":");
    json::text(out, &plan.head.title);
    out.extend_from_slice(b",\"edition\":");
    match &plan.head.edition {
        Some(edition) => json::text(out, edition),
        None => out.extend_from_slice(b"null"),
    }
    out.extend_from_slice(b",\"file\":");
    json::text(out, heading.file);
    out.extend_from_slice(if heading.in_force { b",\"in_force\":true}" } else { b",\"in_force\":false}" });
    out.extend_from_slice(b",\n\"grove\":");
    json::text(out, heading.grove);
    out.extend_from_slice(b",\"as_of\":");
    json::moment(out, Some(heading.as_of));
    out.extend_from_slice(b",\n\"values\":{");
    let mut first = true;
    for (name, reading) in heading.values {
        let Some(item) = plan.names.get(name.index()).filter(|item| !item.hidden) else { continue };
        if matches!(item.origin, Origin::Date) {
            continue;
        }
        separate(out, &mut first);
        json::key(out, &item.word);
        write_reading(out, plan, *name, reading, None, None);
    }
    out.extend_from_slice(b"},\n\"weather_measured_to\":");
    json::moment(out, heading.weather_measured_to);
    out.extend_from_slice(b",\"forecast_issued\":");
    json::moment(out, heading.forecast_issued);
    out.extend_from_slice(b",\n\"notes\":");
    json::texts(out, heading.notes.iter().map(String::as_str));
    out.extend_from_slice(b",\n\"cautions\":");
    json::texts(out, plan.head.cautions.iter().map(|caution| &**caution));
}
