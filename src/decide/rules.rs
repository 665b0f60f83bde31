//! A plan made ready to decide: its conditions as cells, its ranks closed.

use super::{Logic, Ranks};
use crate::plan::{ChoiceId, Class, Gate, GateId, NameId, Origin, Plan, ProductId, Shut};
use crate::situation::Axes;
use crate::trace::Shutter;

/// A plan made ready to decide.
#[derive(Clone, Debug)]
pub struct Rules {
    /// The axes of all names.
    pub axes: Axes,
    /// The bands, each after those that it speaks of.
    pub bands: Vec<BandRules>,
    /// When each gate speaks.
    pub gates: Vec<Logic>,
    /// When each choice holds.
    pub choices: Vec<Logic>,
    /// For each choice those that outrank it, directly or through others.
    pub outranked_by: Vec<Vec<ChoiceId>>,
    /// For each choice, whether it outranks itself through others, which is an error.
    pub circular: Vec<bool>,
    /// When each task is to be done.
    pub tasks: Vec<Logic>,
    /// When each warning is to be given.
    pub warnings: Vec<Logic>,
    /// For each gate the names that it speaks of, through bands too.
    pub gate_names: Vec<Vec<NameId>>,
    /// For each choice the names that it speaks of, through bands too.
    pub choice_names: Vec<Vec<NameId>>,
    /// For each product the gates of today that can shut or hold it.
    pub products: Vec<ProductRules>,
    /// Gates of today that shut two products together.
    pub mixes: Vec<(GateId, ProductId, ProductId)>,
    /// The choices by name.
    pub by_name: Vec<ChoiceId>,
    /// Choices, each behind those that outrank it.
    pub by_rank: Vec<ChoiceId>,
    /// For each choice, whether it outranks all that stand behind it in [`Self::by_rank`].
    pub outranks_rest: Vec<bool>,
}

/// A band made ready.
#[derive(Clone, Debug)]
pub struct BandRules {
    /// The band.
    pub name: NameId,
    /// How many levels it has.
    pub levels: u16,
    /// Its rows: whether it caps, the level, when.
    pub rows: Vec<(bool, u16, Logic)>,
}

/// The gates of one product.
#[derive(Clone, Debug, Default)]
pub struct ProductRules {
    /// Those that shut it while they speak.
    pub shut_by: Vec<Shutter>,
    /// Those that hold it to a strength while they speak.
    pub held_by: Vec<(GateId, u8)>,
    /// Those that hold it to the strongest strength that fits, or shut it where none does.
    pub fits: Vec<(GateId, NameId)>,
}

impl Rules {
    /// Makes a plan ready. In a certified organic grove products of another class are shut.
    pub fn new(plan: &Plan, certified: Certified) -> Self {
        let axes = Axes::cut(plan);
        let bands: Vec<BandRules> = plan.order.iter().filter_map(|id| band(plan, *id, &axes)).collect();
        let gate =
            |gate: &crate::plan::Gate| Logic::when(gate.condition.as_ref(), gate.unless.as_ref(), &axes);
        let speaks =
            |it: &crate::plan::SpeaksOf| Logic::when(it.condition.as_ref(), it.unless.as_ref(), &axes);
        let gates: Vec<Logic> = plan.gates.iter().map(gate).collect();
        let choices: Vec<Logic> = plan
            .choices
            .iter()
            .map(|choice| Logic::when(choice.condition.as_ref(), choice.unless.as_ref(), &axes))
            .collect();
        let names = |logic: &Logic| names(logic, &bands);
        let (gate_names, choice_names) =
            (gates.iter().map(names).collect(), choices.iter().map(names).collect());
        let tasks = plan.tasks.iter().map(|task| speaks(&task.speaks)).collect();
        let warnings = plan.warnings.iter().map(|warning| speaks(&warning.speaks)).collect();
        let mut by_name: Vec<ChoiceId> = (0..plan.choices.len() as u32).map(ChoiceId).collect();
        by_name.sort_by(|a, b| plan[*a].name.cmp(&plan[*b].name));
        let (products, mixes) = shutters(plan, certified);
        let (outranked_by, circular) = ranks(plan);
        let mut by_rank: Vec<ChoiceId> = (0..plan.choices.len() as u32).map(ChoiceId).collect();
        // What outranks another is outranked by fewer.
        by_rank.sort_by_key(|choice| outranked_by.get(choice.index()).map_or(0, Vec::len));
        let outranks_rest = outranks_rest(&by_rank, &outranked_by, &circular);
        Self {
            axes,
            bands,
            gates,
            choices,
            gate_names,
            choice_names,
            outranked_by,
            circular,
            tasks,
            warnings,
            products,
            mixes,
            by_name,
            by_rank,
            outranks_rest,
        }
    }

    /// Returns whether a choice outranks another, directly or through others.
    pub(crate) fn is_above(&self, choice: ChoiceId, other: ChoiceId) -> bool {
        self.outranked_by.get(other.index()).is_some_and(|above| above.binary_search(&choice).is_ok())
    }
}

/// Whether a grove is certified.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Certified {
    /// It is not.
    No,
    /// It is certified organic.
    Organic,
}

/// Returns the names that a condition speaks of, through bands too, each once.
fn names(logic: &Logic, bands: &[BandRules]) -> Vec<NameId> {
    let mut found = Vec::new();
    let mut todo = Vec::new();
    logic.each_name(&mut |name| todo.push(name));
    while let Some(name) = todo.pop() {
        if found.contains(&name) {
            continue;
        }
        found.push(name);
        let rows = bands.iter().filter(|band| band.name == name).flat_map(|band| &band.rows);
        rows.for_each(|(_, _, row)| row.each_name(&mut |name| todo.push(name)));
    }
    found.sort();
    found
}

fn band(plan: &Plan, name: NameId, axes: &Axes) -> Option<BandRules> {
    let Origin::Band(band) = &plan[name].origin else { return None };
    let rows = band.rows.iter().map(|row| (row.caps, row.level, Logic::new(&row.condition, axes))).collect();
    Some(BandRules { name, levels: plan[band.levels].words.len() as u16, rows })
}

fn shutters(plan: &Plan, certified: Certified) -> (Vec<ProductRules>, Vec<(GateId, ProductId, ProductId)>) {
    let mut products = vec![ProductRules::default(); plan.products.len()];
    let mut mixes = Vec::new();
    let mut gates: Vec<(usize, &Gate)> =
        plan.gates.iter().enumerate().filter(|(_, gate)| gate.hours.is_none()).collect();
    // By their names: the place of a gate in its rulebook says nothing, and the first open one is split first.
    gates.sort_by(|(_, a), (_, b)| a.name.cmp(&b.name));
    for (at, gate) in gates {
        let id = GateId(at as u32);
        for (rules, (number, product)) in products.iter_mut().zip(plan.products.iter().enumerate()) {
            let number = ProductId(number as u32);
            let shuts = gate.shuts.iter().any(|shut| match shut {
                Shut::Spraying => true,
                Shut::Group(group) => product.groups.contains(group),
                Shut::Product(shut) => *shut == number,
                Shut::Mix(..) => false,
            });
            if shuts {
                rules.shut_by.push(Shutter::Gate(id));
            }
            let holds = gate.holds.iter().filter(|(held, _)| *held == number);
            rules.held_by.extend(holds.map(|(_, strength)| (id, *strength)));
            rules.fits.extend(gate.fits.filter(|(held, _)| *held == number).map(|(_, name)| (id, name)));
        }
        mixes.extend(gate.shuts.iter().filter_map(|shut| match shut {
            Shut::Mix(a, b) => Some((id, *a, *b)),
            Shut::Spraying | Shut::Group(_) | Shut::Product(_) => None,
        }));
    }
    if certified == Certified::Organic {
        for (rules, product) in products.iter_mut().zip(&plan.products) {
            if product.class != Some(Class::Organic) {
                rules.shut_by.push(Shutter::Certified);
            }
        }
    }
    (products, mixes)
}

/// Returns for each choice all others that outrank it, directly or through others, and whether it does so itself.
fn ranks(plan: &Plan) -> (Vec<Vec<ChoiceId>>, Vec<bool>) {
    let mut above = vec![Vec::new(); plan.choices.len()];
    let ranks = Ranks::of(plan);
    for choice in 0..plan.choices.len() {
        for lower in ranks.below(choice) {
            above[lower.index()].push(ChoiceId(choice as u32));
        }
    }
    let itself = |(at, list): (usize, &mut Vec<ChoiceId>)| {
        let before = list.len();
        list.retain(|it| it.index() != at);
        list.len() < before
    };
    let circular = above.iter_mut().enumerate().map(itself).collect();
    (above, circular)
}

/// Returns for each choice whether it outranks all that stand behind it, of choices each behind those that outrank it.
fn outranks_rest(by_rank: &[ChoiceId], outranked_by: &[Vec<ChoiceId>], circular: &[bool]) -> Vec<bool> {
    let mut outranks = vec![0; by_rank.len()];
    outranked_by.iter().flatten().for_each(|above| outranks[above.index()] += 1);
    let mut all = vec![false; by_rank.len()];
    for (place, choice) in by_rank.iter().enumerate() {
        let behind = by_rank.len() - place - 1;
        all[choice.index()] = !circular[choice.index()] && outranks[choice.index()] == behind;
    }
    all
}
