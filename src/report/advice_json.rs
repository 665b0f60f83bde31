//! `advise --format json`, written as the trees come: what trees share is made once for a case.

use super::case_json::{
    DecisionEntry, HoursEntry, OpenEntry, OutcomeEntry, ShortWindow, need_name, short_windows, windows,
};
use super::job_json::{JobEntry, mixes};
use super::json::{Day, Late, List, Moment, Object, WindowEntry};
use super::morning::json::{
    ClosedEntry, MorningMixEntry, NowEntry, TomorrowEntry, closed_entries, mix_entries, now_entry, tomorrow,
};
use super::range_json::{TippingEntry, tipping_points};
use super::statement_json::{StatementEntry, chain};
use super::together::{TogetherEntry, together};
use super::value_json::ValueEntry;
use super::{Groups, GroveGround, TreeGroup, day_of_groups};
use crate::advice::{self, Case, Hours, Need, Spray, Turn};
use crate::explain::Values;
use crate::measure::Reading;
use crate::plan::{Kind, Name, NameId, Origin, Place};
use crate::sprayday::{self, Work};
use crate::words::Scene;
use chrono::DateTime;
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use serde::Serialize;
use std::cell::{OnceCell, RefCell};
use std::collections::BTreeMap;
use std::io;
use std::iter::once_with;
use std::rc::Rc;
use std::sync::Arc;

/// The trees of a grove, as far as they are named in a report.
pub trait Trees {
    /// Returns the name of a tree.
    fn name(&self, tree: usize) -> &str;

    /// Returns the name of its block, empty where it has none.
    fn block(&self, tree: usize) -> &str;

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

/// What to do with each tree of a grove at one moment, and why.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.advice/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct AdviceForm<'a> {
    rulebook: RulebookEntry<'a>,
    grove: &'a str,
    as_of: Moment,
    values: NamedValues<'a>,
    weather_measured_to: Option<Moment>,
    forecast_issued: Option<Moment>,
    notes: &'a [String],
    cautions: &'a [Arc<str>],
    trees: List<'a, TreeEntry<'a>>,
    // What follows is of the trees that were written before it.
    groups: List<'a, GroupEntry<'a>>,
    /// The sprays whose first hours open at the same moment: what all of them take of one sprayer's time.
    together: Late<'a, Option<TogetherEntry>>,
    now: Late<'a, NowEntry>,
    tomorrow: Late<'a, Vec<TomorrowEntry<'a>>>,
    closed: Late<'a, Vec<ClosedEntry<'a>>>,
    mixes: Late<'a, Vec<MorningMixEntry<'a>>>,
    situations: Object<'a, String, SituationEntry<'a>>,
}

/// Values by their names.
type NamedValues<'a> = Object<'a, &'a str, ValueEntry<'a>>;

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct RulebookEntry<'a> {
    title: &'a str,
    edition: Option<&'a str>,
    file: &'a str,
    in_force: bool,
}

/// A tree with its advice.
#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TreeEntry<'a> {
    tree: &'a str,
    /// Empty where it has none.
    block: &'a str,
    #[serde(flatten)]
    outcome: Rc<OutcomeEntry<'a>>,
    #[serde(flatten)]
    hours: Rc<HoursEntry<'a>>,
    needs: Rc<Vec<String>>,
    #[serde(flatten)]
    open: Rc<OpenEntry<'a>>,
    /// The day of the next look: the choice's own, or an earlier one on which a spray falls due or the verdict turns.
    recheck: Option<Day>,
    /// Of a hold: the first moment ahead at which the verdict is another if the forecast holds and nothing is sprayed.
    turn: Option<TurnEntry>,
    seen: Option<Day>,
    covered_until: Option<Day>,
    /// Until when people are kept out now, after sprays already done.
    closed_until: Option<Moment>,
    /// After sprays already done, and after the one advised, if this tree alone is sprayed as its first hours open; that of
    /// a group is later.
    keep_out_until: Option<Moment>,
    pick_not_before: Option<Day>,
    close_calls: Vec<&'a str>,
    values: NamedValues<'a>,
    /// Of a tree with several groups of panicles: each with its share and its own values.
    #[serde(skip_serializing_if = "Option::is_none")]
    panicles: Option<List<'a, PanicleEntry<'a>>>,
    /// A key of `situations`.
    situation: String,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct TurnEntry {
    at: Moment,
    then: String,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct PanicleEntry<'a> {
    share: ValueEntry<'a>,
    values: NamedValues<'a>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct GroupEntry<'a> {
    trees: Vec<&'a str>,
    decision: DecisionEntry<'a>,
    /// What goes into the tank, a job for each rate; null where no amounts are known.
    mix: Option<Vec<JobEntry<'a>>>,
    /// After the rounds of its trees as they are planned; where the pace of the sprayer is not known, at least until then.
    keep_out_until: Option<Moment>,
    hours: Vec<WindowEntry>,
    short_hours: Vec<ShortWindow>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct SituationEntry<'a> {
    chain: Vec<StatementEntry>,
    flips: Vec<TippingEntry<'a>>,
}

/// Writes the advice on some trees of an advised grove, each as it is made.
///
/// For a single tree its own values stand in the chain, of several only those of the grove.
pub fn write_advice(
    out: impl io::Write,
    (scene, ground): (&Scene<'_>, &GroveGround<'_>),
    heading: &Heading<'_>,
    trees: &[usize],
    single: Option<&Values>,
) -> io::Result<()> {
    let (plan, advisor) = (scene.plan, ground.advisor);
    let forms = Forms::new(scene, ground);
    let grouped: OnceCell<(Vec<TreeGroup>, Vec<Rc<Case>>)> = OnceCell::new();
    let met = || grouped.get_or_init(|| (forms.groups.take().in_order(), advisor.cases()));
    let case = |number: usize| met().1.get(number).map(|case| &**case);
    let planned: OnceCell<sprayday::Day<'_>> = OnceCell::new();
    let day = || planned.get_or_init(|| day_of_groups(ground, heading.as_of, &met().0, case));
    let of_grove = Values::of_grove(plan.names.len(), heading.values);
    let values = heading.values.iter().filter_map(|(id, reading)| {
        let name = plan.names.get(id.index()).filter(|name| !name.hidden)?;
        let value = || ValueEntry::of(plan, *id, reading, None, None);
        (!matches!(name.origin, Origin::Date)).then(|| (&*name.word, value()))
    });
    let form = AdviceForm {
        rulebook: RulebookEntry {
            title: &plan.head.title,
            edition: plan.head.edition.as_deref(),
            file: heading.file,
            in_force: heading.in_force,
        },
        grove: heading.grove,
        as_of: heading.as_of.into(),
        values: Object::of(values),
        weather_measured_to: heading.weather_measured_to.map(Moment::from),
        forecast_issued: heading.forecast_issued.map(Moment::from),
        notes: heading.notes,
        cautions: &plan.head.cautions,
        trees: List::of(trees.iter().filter_map(|tree| forms.tree(*tree))),
        groups: List::of(once_with(met).flat_map(|(groups, _)| groups).filter_map(|group| {
            let case = group.cases.first().and_then(|number| case(*number))?;
            Some(forms.group((day(), group), case))
        })),
        together: Late::of(|| together(day()).map(TogetherEntry::from)),
        now: Late::of(|| now_entry(day())),
        tomorrow: Late::of(|| tomorrow(plan, ground, &met().0, heading.as_of)),
        closed: Late::of(|| closed_entries(ground, &forms.closed.borrow())),
        mixes: Late::of(|| mix_entries(plan, ground, day(), scene.speech)),
        situations: Object::of(once_with(|| forms.shared.take()).flatten().filter_map(|(number, _)| {
            let case = case(number)?;
            let statements = scene.chain(single.unwrap_or(&of_grove), case);
            let entry = SituationEntry { chain: chain(scene, statements), flips: tipping_points(plan, case) };
            Some((situation(number), entry))
        })),
    };
    let mut out = out;
    serde_json::to_writer(&mut out, &form)?;
    out.write_all(b"\n")
}

/// What the entries of trees are made from, and what was made for the trees before.
struct Forms<'a> {
    scene: &'a Scene<'a>,
    ground: &'a GroveGround<'a>,
    own: Vec<(NameId, &'a Name)>,
    of_panicles: Vec<(NameId, &'a Name)>,
    shared: RefCell<BTreeMap<usize, Shared<'a>>>,
    hours: RefCell<FxHashMap<*const Hours, HoursKept<'a>>>,
    groups: RefCell<Groups>,
    closed: RefCell<BTreeMap<DateTime<Tz>, Vec<usize>>>,
}

/// The hours are kept beside their entry, so that no others can come to lie there.
type HoursKept<'a> = (Arc<Hours>, Rc<HoursEntry<'a>>);

/// What all trees of a case share.
#[derive(Clone)]
struct Shared<'a> {
    outcome: Rc<OutcomeEntry<'a>>,
    needs: Rc<Vec<String>>,
    open: Rc<OpenEntry<'a>>,
}

impl<'a> Forms<'a> {
    fn new(scene: &'a Scene<'a>, ground: &'a GroveGround<'a>) -> Self {
        let names = || scene.plan.named().filter(|(_, name)| !name.hidden);
        let is_own =
            |name: &Name| name.scope != Place::Grove && !matches!(name.origin, Origin::Block | Origin::Date);
        Self {
            scene,
            ground,
            own: names().filter(|(_, name)| is_own(name)).collect(),
            of_panicles: names().filter(|(_, name)| name.scope == Place::Panicles).collect(),
            shared: RefCell::default(),
            hours: RefCell::default(),
            groups: RefCell::default(),
            closed: RefCell::default(),
        }
    }

    fn tree(&self, tree: usize) -> Option<TreeEntry<'_>> {
        let (plan, advisor) = (self.scene.plan, self.ground.advisor);
        let (advice, gauged) = advisor.tree_with_values(tree);
        let case = advisor.case_of(&advice)?;
        self.groups.borrow_mut().add(tree, &advice, &case);
        if let Some(until) = advice.closed_until {
            self.closed.borrow_mut().entry(until).or_default().push(tree);
        }
        let Shared { outcome, mut needs, open } = self.shared(advice.case, &case);
        if case.needs.iter().any(|need| matches!(need, Need::OfTree(_, other) if *other == tree)) {
            needs = self.needs(&case.needs_of(&[tree]));
        }
        let mut close_calls: Vec<&str> = advice.close_calls.iter().map(|it| &*plan[it.name].word).collect();
        close_calls.dedup();
        let turn = |turn: &Turn| TurnEntry { at: turn.at.into(), then: turn.verdict.words(plan) };
        let (names, groups) = (gauged.names, gauged.groups);
        let several = groups.len() > 1;
        let own = self.own.iter().filter(move |(_, name)| !(several && name.scope == Place::Panicles));
        let panicles = (0..groups.len()).filter_map(move |at| {
            let group = groups.get(at)?;
            let (share, names) = (ValueEntry::of_share(group.share), group.names.clone());
            Some(PanicleEntry { share, values: self.values((tree, at), self.of_panicles.iter(), names) })
        });
        Some(TreeEntry {
            tree: self.ground.trees.grove.trees.name(tree),
            block: self.ground.trees.grove.block_of(tree).map_or("", |block| &block.name),
            outcome,
            hours: self.hours(&advice.hours),
            needs,
            open,
            recheck: advice.recheck.map(Day::from),
            turn: advice.turn.as_ref().map(turn),
            seen: advice.seen.map(Day::from),
            covered_until: advice.covered_until.map(Day::from),
            closed_until: advice.closed_until.map(Moment::from),
            keep_out_until: advice.keep_out_until.map(Moment::from),
            pick_not_before: advice.pick_not_before.map(Day::from),
            close_calls,
            values: self.values((tree, 0), own, names),
            panicles: several.then(|| List::of(panicles)),
            situation: situation(advice.case),
        })
    }

    /// Returns the values of some names of a tree, or of a group of its panicles.
    fn values<'f>(
        &'f self,
        (tree, group): (usize, usize),
        names: impl Iterator<Item = &'f (NameId, &'a Name)> + 'f,
        readings: Vec<Reading>,
    ) -> NamedValues<'f> {
        let (plan, trees) = (self.scene.plan, self.ground.trees);
        Object::of(names.filter_map(move |(id, name)| {
            let observed = matches!(name.origin, Origin::Observed(_));
            let sample = if observed { trees.sample(tree, *id, group) } else { None };
            let own = if name.kind == Kind::Text { trees.text(tree, *id) } else { None };
            let value = ValueEntry::of(plan, *id, readings.get(id.index())?, sample, own);
            Some((&*name.word, value))
        }))
    }

    fn shared(&self, number: usize, case: &Case) -> Shared<'a> {
        let plan = self.scene.plan;
        let made = || Shared {
            outcome: Rc::new(OutcomeEntry::of(plan, case)),
            needs: self.needs(&case.needs),
            open: Rc::new(OpenEntry::of(plan, self.ground, case)),
        };
        self.shared.borrow_mut().entry(number).or_insert_with(made).clone()
    }

    fn needs(&self, needs: &[Need]) -> Rc<Vec<String>> {
        Rc::new(needs.iter().map(|need| need_name(self.scene.plan, self.ground, need)).collect())
    }

    fn hours(&self, hours: &Arc<Hours>) -> Rc<HoursEntry<'a>> {
        let made = || (Arc::clone(hours), Rc::new(HoursEntry::of(self.scene.plan, hours)));
        Rc::clone(&self.hours.borrow_mut().entry(Arc::as_ptr(hours)).or_insert_with(made).1)
    }

    fn group(&self, (day, group): (&sprayday::Day<'_>, &TreeGroup), case: &Case) -> GroupEntry<'a> {
        let (plan, trees) = (self.scene.plan, &self.ground.trees);
        let spray = (&case.spray, &group.trees[..]);
        let products = case.spray.iter().map(|(product, _)| *product);
        let at_least = || advice::keep_out_after(plan, products, &group.hours, (None, day.as_of));
        let planned = day.rounds_of(&group.trees).filter_map(|round| round.keep_out_until).max();
        let out = planned.or_else(|| Some(at_least()?.until));
        GroupEntry {
            trees: group.trees.iter().map(|tree| self.ground.trees.grove.trees.name(*tree)).collect(),
            decision: DecisionEntry::of(plan, case),
            mix: mixes(plan, trees.grove, spray, self.scene.speech),
            keep_out_until: out.map(Moment::from),
            hours: windows(&group.hours),
            short_hours: short_windows(&group.hours),
        }
    }
}

fn situation(case: usize) -> String {
    format!("s{}", case + 1)
}
