//! Advises a grove: tree by tree, each distinct situation worked out once.

use super::ahead::{self, Later};
use super::case::{self, Depth, Walked};
use super::cuts::{classes, cuts};
use super::facts::TreeFacts;
use super::hours::{HoursWanted, hour_gates, hours};
use super::others::Others;
use super::sharing::{self, SharedKey, Sharing};
use super::worlds::{Gauge, WorldNode, WorldWalk};
use super::{Advice, Case, CloseCall, Hours, Need, TreeAdvice, Turn, label_days, tipping};
use crate::decide::{Certified, Rules};
use crate::grove::Grove;
use crate::labels::passed;
use crate::measure::{
    Evaluator, Extent, Facts, Gauged, History, Inputs, Placed, Reading, WeatherMeasures, World, WorldInput,
};
use crate::plan::{Class, GateId, NameId, Place, Plan, TakenValue};
use crate::situation::Axis;
use crate::trace::Verdict;
use crate::units::Threshold;
use chrono::{DateTime, Days, NaiveDate};
use chrono_tz::Tz;
use rustc_hash::FxHashMap;
use std::cell::{Cell, RefCell};
use std::rc::Rc;
use std::sync::Arc;

/// How many worlds of one tree are looked at before the answer is that one must look.
const WORLDS: u32 = 1_000;

/// Advises a grove under a plan.
pub struct Advisor<'a> {
    plan: &'a Plan,
    grove: &'a Grove,
    weather_measures: &'a WeatherMeasures<'a>,
    as_of: DateTime<Tz>,
    ready: Rc<PlanReady>,
    depth: Depth,
    today: NaiveDate,
    others: Others,
    grove_values: Vec<Reading>,
    cases: RefCell<Vec<Rc<Case>>>,
    by_key: RefCell<FxHashMap<SharedKey, usize>>,
    walked: RefCell<FxHashMap<SharedKey, Rc<Walked>>>,
    hours: RefCell<FxHashMap<HoursKey, Arc<Hours>>>,
    no_hours: Arc<Hours>,
    close: RefCell<KnownCalls>,
    moments: Vec<Later<'a>>,
    turns: RefCell<FxHashMap<TurnKey, Option<Turn>>>,
}

/// A plan made ready to advise by, the same at every moment.
pub struct PlanReady {
    rules: Rules,
    inputs: Inputs,
    cuts: Vec<Axis>,
    classes: Vec<Vec<u64>>,
    sharing: Sharing,
}

impl PlanReady {
    /// Makes a plan ready for a grove, which may use only products of a class.
    pub fn new(plan: &Plan, certified: Option<Class>) -> Self {
        let certified = if certified == Some(Class::Organic) { Certified::Organic } else { Certified::No };
        let rules = Rules::new(plan, certified);
        let inputs = Inputs::new(plan);
        let cuts = cuts(plan, &inputs);
        let classes = classes(plan, &inputs, &cuts);
        let sharing = Sharing::new(plan, &inputs, &cuts, &rules);
        Self { rules, inputs, cuts, classes, sharing }
    }
}

/// What two trees must share to turn together: the case, the past, the harvest.
type TurnKey = (usize, usize, Option<NaiveDate>);

/// Close calls by the case of a tree and its readings near a threshold.
type KnownCalls = FxHashMap<(usize, Vec<u64>), Vec<CloseCall>>;

/// What two trees must share to share their hours.
#[derive(PartialEq, Eq, Hash, Debug)]
struct HoursKey {
    gates: Vec<GateId>,
    within: u64,
    last_day: Option<NaiveDate>,
}

impl<'a> Advisor<'a> {
    /// Makes ready to advise a grove at a moment. The plan is that of [`crate::labels::with_jugs`], the stricter of rulebook
    /// and jugs.
    pub fn new(
        plan: &'a Plan,
        grove: &'a Grove,
        weather_measures: &'a WeatherMeasures<'a>,
        as_of: DateTime<Tz>,
    ) -> Self {
        let ready = Rc::new(PlanReady::new(plan, grove.certified));
        Self::ready(ready, (plan, grove), weather_measures, as_of)
    }

    /// Makes ready to advise a grove at a moment, by a plan that is ready.
    pub fn ready(
        ready: Rc<PlanReady>,
        (plan, grove): (&'a Plan, &'a Grove),
        weather_measures: &'a WeatherMeasures<'a>,
        as_of: DateTime<Tz>,
    ) -> Self {
        let mut advisor = Self {
            ready,
            depth: Depth::Whole,
            plan,
            grove,
            weather_measures,
            as_of,
            today: as_of.date_naive(),
            others: Others::default(),
            grove_values: Vec::new(),
            cases: RefCell::default(),
            by_key: RefCell::default(),
            walked: RefCell::default(),
            hours: RefCell::default(),
            no_hours: Arc::default(),
            close: RefCell::default(),
            moments: Vec::new(),
            turns: RefCell::default(),
        };
        advisor.others = Others::count(&advisor.judge(), plan, &advisor.ready.inputs, grove);
        advisor.grove_values = advisor.gauge_tree(0).names;
        advisor
    }

    /// Makes ready to tell, too, when a verdict not to spray becomes another if the forecast holds.
    pub fn looking_ahead(mut self) -> Self {
        self.moments = ahead::moments(&self, self.weather_measures);
        self
    }

    /// Works out no more of each case than is wanted.
    pub fn as_deep_as(mut self, depth: Depth) -> Self {
        self.depth = depth;
        self
    }

    /// Advises all trees.
    pub fn advise(&self) -> Advice {
        self.advise_with(|_, _, _, _| {})
    }

    /// Advises all trees, and shows each with its case and its values while they are at hand.
    pub fn advise_with(&self, mut show: impl FnMut(usize, &TreeAdvice, &Case, &Gauged)) -> Advice {
        let one = |tree: usize| {
            let (advice, gauged) = self.tree_with_values(tree);
            if let Some(case) = self.case_of(&advice) {
                show(tree, &advice, &case, &gauged);
            }
            advice
        };
        let trees = (0..self.grove.trees.len()).map(one).collect();
        let grove_values = self.grove_values().map(|(name, reading)| (name, reading.clone())).collect();
        Advice {
            as_of: self.as_of,
            grove_values,
            cases: self.cases().iter().map(|case| (**case).clone()).collect(),
            trees,
        }
    }

    /// Returns the values that are the same for the whole grove.
    pub fn grove_values(&self) -> impl Iterator<Item = (NameId, &Reading)> {
        let grove = |id: &NameId| self.plan[*id].scope == Place::Grove;
        let ids = (0..self.plan.names.len() as u32).map(NameId).filter(grove);
        ids.filter_map(|id| self.grove_values.get(id.index()).map(|reading| (id, reading)))
    }

    /// Returns the rulebook.
    pub fn plan(&self) -> &'a Plan {
        self.plan
    }

    /// Returns the grove.
    pub fn grove(&self) -> &'a Grove {
        self.grove
    }

    /// Returns the plan made ready to decide.
    pub fn rules(&self) -> &Rules {
        &self.ready.rules
    }

    /// Returns what each name is computed from.
    pub fn inputs(&self) -> &Inputs {
        &self.ready.inputs
    }

    /// Returns the cases met so far.
    pub fn cases(&self) -> Vec<Rc<Case>> {
        self.cases.borrow().clone()
    }

    /// Returns a case by its number.
    pub fn case_of(&self, advice: &TreeAdvice) -> Option<Rc<Case>> {
        self.cases.borrow().get(advice.case).cloned()
    }

    /// Returns all values of a tree.
    pub fn gauge(&self, tree: usize) -> Gauged {
        self.gauge_tree(tree)
    }

    /// Returns all values of a tree, with what is taken for granted of some names in place of what was seen.
    pub fn gauge_taken<'t>(
        &self,
        tree: usize,
        takes: impl Iterator<Item = (NameId, &'t TakenValue)>,
    ) -> Gauged {
        let world = takes.fold(World::default(), |world, (name, value)| match Extent::taken(value) {
            Some(extent) => world.with(WorldInput::Name(name), extent),
            None => world,
        });
        self.judge().gauge(&self.facts(tree), &world)
    }

    /// Returns what is known of a tree itself.
    pub fn facts(&self, tree: usize) -> TreeFacts<'_> {
        TreeFacts {
            plan: self.plan,
            grove: self.grove,
            others: &self.others,
            tree,
            as_of: self.as_of,
            today: self.today,
        }
    }

    pub(super) fn judge(&self) -> Evaluator<'_> {
        let known = !self.grove_values.is_empty();
        Evaluator {
            plan: self.plan,
            weather_measures: self.weather_measures,
            today: self.today,
            grove: known.then_some(&self.grove_values[..]),
        }
    }

    fn gauge_tree(&self, tree: usize) -> Gauged {
        self.judge().gauge(&self.facts(tree), &World::default())
    }

    pub(super) fn walk(&self) -> WorldWalk<'_> {
        WorldWalk {
            plan: self.plan,
            rules: &self.ready.rules,
            inputs: &self.ready.inputs,
            cuts: &self.ready.cuts,
            classes: &self.ready.classes,
            budget: Cell::new(WORLDS),
            known: RefCell::default(),
            settled: RefCell::default(),
        }
    }

    /// Advises one tree.
    pub fn tree(&self, tree: usize) -> TreeAdvice {
        self.tree_with_values(tree).0
    }

    /// Advises one tree, and returns its values too.
    pub fn tree_with_values(&self, tree: usize) -> (TreeAdvice, Gauged) {
        let gauged = self.gauge_tree(tree);
        let walk = self.walk();
        let cells = walk.cells(&gauged);
        let root = WorldNode { world: World::default(), gauged, cells };
        let facts = self.facts(tree);
        let of_tree = sharing::Tree {
            root: &root,
            facts: &facts,
            block: self.grove.trees.block(tree),
            waits_in_blocks: self.others.waits_in_blocks(),
        };
        let key = match self.depth {
            Depth::Verdict => self.ready.sharing.of_verdict(&walk, &of_tree),
            Depth::Reasons | Depth::Whole => Some(self.ready.sharing.of_case(&walk, &of_tree)),
        };
        let known = key.as_ref().and_then(|key| self.by_key.borrow().get(key).copied());
        let case = known.unwrap_or_else(|| {
            let gauge = TreeGauge { advisor: self, tree };
            let walked = self.walked(&walk, &gauge, &of_tree);
            let case = Rc::new(case::work_out(&walk, &gauge, &root, &walked, self.depth));
            let mut cases = self.cases.borrow_mut();
            cases.push(case);
            if let Some(key) = key {
                self.by_key.borrow_mut().insert(key, cases.len() - 1);
            }
            cases.len() - 1
        });
        let advice =
            self.cases.borrow().get(case).cloned().map(|found| self.finish(tree, (case, &found), &root));
        (advice.unwrap_or_else(|| TreeAdvice::none(case)), root.gauged)
    }

    /// Returns what a tree's verdict can be, and what is asked; walked once for all trees that cannot differ in it.
    fn walked(&self, walk: &WorldWalk<'_>, gauge: &dyn Gauge, tree: &sharing::Tree<'_>) -> Rc<Walked> {
        let made = || Rc::new(case::walked(walk, gauge, tree.root, self.depth));
        match self.ready.sharing.of_walk(walk, tree) {
            Some(key) => Rc::clone(self.walked.borrow_mut().entry(key).or_insert_with(made)),
            None => made(),
        }
    }

    fn finish(&self, tree: usize, (case, found): (usize, &Case), root: &WorldNode) -> TreeAdvice {
        let hours = self.hours_of(tree, found);
        if self.depth < Depth::Whole {
            return TreeAdvice { hours, ..TreeAdvice::none(case) };
        }
        let seen = self.grove.last_seen(tree);
        let close_calls = self.close_calls(tree, (case, found), root);
        let choices = || found.decision.choices.iter().map(|choice| &self.plan[*choice]);
        let recheck = choices().filter_map(|choice| choice.recheck).reduce(f64::min);
        let day = |days: f64| self.today.checked_add_days(Days::new(days.max(0.0).ceil() as u64));
        let spray = found.spray.iter().map(|(product, _)| *product).collect::<Vec<_>>();
        let history = self.facts(tree);
        let closed = label_days::closed_until(self.plan, self.grove, &history);
        let of = (self.plan, &history, closed);
        let (keep_out_until, pick_not_before) = label_days::open_again(of, &spray, &hours);
        let covered_until = self.covered_until(found, &history);
        let turn = self.turn(tree, (case, found), &history);
        let turns_on = turn.as_ref().map(|turn| turn.at.date_naive());
        TreeAdvice {
            case,
            recheck: recheck.and_then(day).into_iter().chain(covered_until).chain(turns_on).min(),
            turn,
            seen,
            covered_until,
            closed_until: closed,
            keep_out_until,
            pick_not_before,
            close_calls,
            hours,
        }
    }

    /// Returns when a verdict not to spray becomes another if the forecast holds.
    fn turn(&self, tree: usize, (case, found): (usize, &Case), history: &TreeFacts<'_>) -> Option<Turn> {
        let today = &found.decision.verdict;
        if self.moments.is_empty() || !matches!(today, Verdict::Hold | Verdict::AllShut) {
            return None;
        }
        let key = (case, history.number(), history.harvest());
        if let Some(known) = self.turns.borrow().get(&key) {
            return known.clone();
        }
        let made = ahead::turn(self, &self.moments, tree, today);
        self.turns.borrow_mut().insert(key, made.clone());
        made
    }

    /// Returns the day on which a spray falls due that only the time since a spray stops; nothing where that day is too near to
    /// the harvest.
    fn covered_until(&self, case: &Case, history: &TreeFacts<'_>) -> Option<NaiveDate> {
        if matches!(case.decision.verdict, Verdict::Spray(_)) {
            return None;
        }
        let due = case.due(self.plan).filter_map(|(spray, (what, from))| {
            let day = passed(history.last_day(what)?, &Threshold::of_hours(from.at), from.closed);
            let last = label_days::last_day(self.plan, history, spray);
            Some(day).filter(|day| last.is_none_or(|last| *day <= last))
        });
        due.min()
    }

    fn hours_of(&self, tree: usize, found: &Case) -> Arc<Hours> {
        if !matches!(found.decision.verdict, Verdict::Spray(_)) {
            return Arc::clone(&self.no_hours);
        }
        let gates = hour_gates(self.plan, found);
        let (at_least, look) = self.plan.head.window;
        let choices = found.decision.choices.iter().map(|choice| &self.plan[*choice]);
        let within = choices.filter_map(|choice| choice.within).fold(look, f64::min);
        let last_day = label_days::last_day(self.plan, &self.facts(tree), &found.spray);
        let key = HoursKey { gates, within: within.to_bits(), last_day };
        if let Some(hours) = self.hours.borrow().get(&key) {
            return hours.clone();
        }
        let wanted = HoursWanted { as_of: self.as_of, gates: &key.gates, within, at_least };
        let allowed = |day: NaiveDate| last_day.is_none_or(|last| day <= last);
        let made = Arc::new(hours(self.plan, self.weather_measures, &wanted, &allowed));
        self.hours.borrow_mut().insert(key, made.clone());
        made
    }

    fn close_calls(&self, tree: usize, (case, of): (usize, &Case), root: &WorldNode) -> Vec<CloseCall> {
        if of.decision.verdict == Verdict::Look {
            return Vec::new();
        }
        let gauge = TreeGauge { advisor: self, tree };
        let walk = self.walk();
        let near = tipping::near(&walk, &gauge, root);
        if near.is_empty() {
            return Vec::new();
        }
        let key = (case, near.iter().flat_map(|it| it.bits()).collect::<Vec<u64>>());
        if let Some(known) = self.close.borrow().get(&key) {
            return known.clone();
        }
        let found = tipping::close_calls(&walk, &gauge, root, &of.decision.verdict, &near);
        self.close.borrow_mut().insert(key, found.clone());
        found
    }
}

/// One tree's values in any world.
struct TreeGauge<'a> {
    advisor: &'a Advisor<'a>,
    tree: usize,
}

impl Gauge for TreeGauge<'_> {
    fn gauge_from(
        &self,
        world: &World,
        gauged: &mut Gauged,
        leaf: WorldInput,
        dependents: &mut dyn Iterator<Item = NameId>,
        replaced: &mut dyn FnMut(Placed),
    ) {
        let facts = self.advisor.facts(self.tree);
        self.advisor.judge().gauge_from(&facts, world, gauged, (leaf, dependents), replaced);
    }

    fn unseen_elsewhere(&self, name: NameId) -> &[Need] {
        self.advisor.others.unseen(name, self.tree, self.advisor.grove)
    }

    fn others_open(&self, name: NameId) -> f64 {
        let beside = self.advisor.others.beside(name, self.tree, self.advisor.grove);
        beside.map_or(0.0, |(_, perhaps, _)| perhaps)
    }

    fn tree_name(&self, tree: usize) -> String {
        self.advisor.grove.trees.name(tree).to_string()
    }

    fn sample(&self, leaf: WorldInput) -> Option<(u32, u32)> {
        Facts::sample(&self.advisor.facts(self.tree), leaf)
    }
}
