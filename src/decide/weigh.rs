//! From the truth of gates and choices to the verdict.

use super::{Allowed, BandRules, Rules, products};
use crate::plan::{ChoiceId, NameId, Plan, ProductId, Way};
use crate::situation::CellSet;
use crate::trace::{Met, Trace, Truth, Verdict};
use std::ops::Not;

/// What a choice can come to.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Outcome {
    /// It advises a spray.
    Spray(Vec<(ProductId, u8)>),
    /// It advises to hold.
    Hold,
    /// It has no allowed alternative and steps aside.
    Aside,
}

/// A situation with the truth of everything in it.
#[derive(Clone, Debug)]
pub struct Weighed {
    trace: Trace,
    allowed: Vec<Allowed>,
    outcomes: Vec<Vec<Outcome>>,
}

impl Weighed {
    /// Grades the bands, then weighs gates and choices.
    pub fn new(plan: &Plan, rules: &Rules, mut cells: Vec<CellSet>) -> Self {
        rules.grade(&mut cells);
        Self::graded(plan, rules, cells)
    }

    /// Weighs gates and choices where the bands are graded.
    pub fn graded(plan: &Plan, rules: &Rules, cells: Vec<CellSet>) -> Self {
        let truths = |logic: &[super::Logic]| logic.iter().map(|it| it.truth(&cells)).collect::<Vec<_>>();
        let (gates, holds) = (truths(&rules.gates), truths(&rules.choices));
        Self::of_truths(plan, rules, cells, (gates, holds))
    }

    /// Weighs anew where more is known of the truth of gates and of choices than their cells show.
    pub fn knowing(self, plan: &Plan, rules: &Rules, gates: Vec<Truth>, holds: Vec<Truth>) -> Self {
        Self::of_truths(plan, rules, self.trace.cells, (gates, holds))
    }

    fn of_truths(
        plan: &Plan,
        rules: &Rules,
        cells: Vec<CellSet>,
        (gates, holds): (Vec<Truth>, Vec<Truth>),
    ) -> Self {
        let allowed: Vec<Allowed> = (0..plan.products.len() as u32)
            .map(|product| Allowed::of(rules, ProductId(product), &gates, &cells))
            .collect();
        let mut weighed = Weighed {
            trace: Trace {
                cells,
                bands: Vec::new(),
                gates,
                choices: Vec::new(),
                tasks: Vec::new(),
                warnings: Vec::new(),
            },
            allowed,
            outcomes: Vec::new(),
        };
        for (choice, holds) in plan.choices.iter().zip(holds) {
            let (outcomes, way) =
                if holds == Truth::No { (Vec::new(), None) } else { weighed.outcomes(rules, &choice.ways) };
            let aside = outcomes == [Outcome::Aside];
            weighed.trace.choices.push(Met { holds, way, aside, outranked_by: None });
            weighed.outcomes.push(outcomes);
        }
        weighed
    }

    /// Returns all that a list of alternatives can come to, and the place of the one it certainly comes to.
    fn outcomes(&self, rules: &Rules, ways: &[Way]) -> (Vec<Outcome>, Option<u8>) {
        let mut outcomes = Vec::new();
        for (place, way) in ways.iter().enumerate() {
            let shut = self.way_shut(rules, way);
            if shut == Truth::Yes {
                continue;
            }
            match way {
                Way::Spray(doses) => {
                    self.come_outs(&mut Vec::with_capacity(doses.len()), doses, &mut outcomes)
                }
                Way::Hold => outcomes.push(Outcome::Hold),
            }
            if shut == Truth::No {
                outcomes.sort();
                outcomes.dedup();
                let certain = outcomes.len() == 1;
                return (outcomes, certain.then_some(place as u8));
            }
        }
        outcomes.push(Outcome::Aside);
        outcomes.sort();
        outcomes.dedup();
        (outcomes, None)
    }

    /// Returns whether an alternative is shut.
    pub fn way_shut(&self, rules: &Rules, way: &Way) -> Truth {
        let Way::Spray(doses) = way else { return Truth::No };
        let parts = doses.iter().map(|(product, _)| self.product(*product).shut);
        let together = rules.mixes.iter().filter(|(_, a, b)| {
            let has = |one: &ProductId| doses.iter().any(|(product, _)| product == one);
            has(a) && has(b)
        });
        let together = together.map(|(gate, _, _)| self.gate(gate.index()));
        parts.chain(together).max().unwrap_or(Truth::No)
    }

    /// Adds every strength at which the rest of an allowed alternative can come out, beside the doses that it begins with.
    fn come_outs(
        &self,
        begun: &mut Vec<(ProductId, u8)>,
        rest: &[(ProductId, u8)],
        outcomes: &mut Vec<Outcome>,
    ) {
        let Some(((product, wanted), rest)) = rest.split_first() else {
            outcomes.push(Outcome::Spray(in_order(begun.clone())));
            return;
        };
        for strength in self.product(*product).strengths(*wanted) {
            begun.push((*product, strength));
            self.come_outs(begun, rest, outcomes);
            begun.pop();
        }
    }

    /// Returns whether an alternative is allowed as written, at no weaker strength, in every state of the world.
    pub fn surely_allowed(&self, rules: &Rules, way: &Way) -> Truth {
        match (self.way_shut(rules, way), way) {
            (Truth::No, Way::Spray(doses)) => {
                let weaker = doses.iter().map(|(product, wanted)| {
                    let allowed = self.product(*product);
                    if allowed.surely_up_to >= *wanted {
                        Truth::Yes
                    } else if allowed.perhaps_up_to >= *wanted {
                        Truth::Open
                    } else {
                        Truth::No
                    }
                });
                weaker.min().unwrap_or(Truth::Yes)
            }
            (shut, _) => shut.not(),
        }
    }

    fn product(&self, product: ProductId) -> Allowed {
        let nothing = Allowed { shut: Truth::No, surely_up_to: u8::MAX, perhaps_up_to: u8::MAX };
        self.allowed.get(product.index()).copied().unwrap_or(nothing)
    }

    fn gate(&self, gate: usize) -> Truth {
        self.trace.gates.get(gate).copied().unwrap_or(Truth::No)
    }

    fn surely_acts(&self, choice: usize) -> bool {
        let holds = self.trace.choices.get(choice).is_some_and(|met| met.holds == Truth::Yes);
        holds && self.outcomes.get(choice).is_some_and(|it| !it.contains(&Outcome::Aside))
    }

    fn perhaps_acts(&self, choice: usize) -> bool {
        let holds = self.trace.choices.get(choice).is_some_and(|met| met.holds != Truth::No);
        holds && self.outcomes.get(choice).is_some_and(|it| it.iter().any(|one| *one != Outcome::Aside))
    }

    /// Returns a choice that outranks another and acts.
    fn rival(&self, rules: &Rules, choice: usize, acts: fn(&Self, usize) -> bool) -> Option<ChoiceId> {
        rules.outranked_by.get(choice)?.iter().copied().find(|rival| acts(self, rival.index()))
    }

    /// Returns the one verdict of all states of the world with the choices that led to it, if it is one.
    pub fn verdict(&self, rules: &Rules) -> Option<(Verdict, Vec<ChoiceId>)> {
        let choices = || rules.by_name.iter().copied();
        let perhaps: Vec<ChoiceId> = choices()
            .filter(|it| self.perhaps_acts(it.index()))
            .filter(|it| self.rival(rules, it.index(), Self::surely_acts).is_none())
            .collect();
        if perhaps.is_empty() {
            return self.nothing_acts(choices().collect());
        }
        let surely: Vec<ChoiceId> = perhaps
            .iter()
            .copied()
            .filter(|it| self.surely_acts(it.index()))
            .filter(|it| self.rival(rules, it.index(), Self::perhaps_acts).is_none())
            .collect();
        let of = |choice: &ChoiceId| self.outcomes.get(choice.index()).map_or(&[][..], |list| list);
        let apart = |a: &ChoiceId, b: &ChoiceId| of(a).iter().all(|one| !of(b).contains(one));
        if surely.iter().enumerate().any(|(at, a)| surely.iter().skip(at + 1).any(|b| apart(a, b))) {
            return Some((Verdict::Undecided, surely));
        }
        let mut all: Vec<&Outcome> =
            perhaps.iter().flat_map(of).filter(|one| **one != Outcome::Aside).collect();
        all.sort();
        all.dedup();
        match (&all[..], surely.is_empty()) {
            ([Outcome::Spray(doses)], false) => Some((Verdict::Spray(doses.clone()), surely)),
            ([Outcome::Hold], false) => Some((Verdict::Hold, surely)),
            _ => None,
        }
    }

    /// Returns the verdict where no choice has an allowed alternative.
    fn nothing_acts(&self, choices: Vec<ChoiceId>) -> Option<(Verdict, Vec<ChoiceId>)> {
        let holds = |it: &ChoiceId| self.trace.choices.get(it.index()).map_or(Truth::No, |met| met.holds);
        match choices.iter().map(holds).max().unwrap_or(Truth::No) {
            Truth::No => Some((Verdict::Uncovered, Vec::new())),
            Truth::Yes => {
                Some((Verdict::AllShut, choices.into_iter().filter(|it| holds(it) == Truth::Yes).collect()))
            }
            Truth::Open => None,
        }
    }

    /// Returns the names on which the verdict can still hang: those of gates and choices that are open.
    pub fn open_names(&self, rules: &Rules) -> Vec<NameId> {
        let truths = self.trace.gates.iter().copied().chain(self.trace.choices.iter().map(|met| met.holds));
        let names = rules.gate_names.iter().chain(&rules.choice_names);
        let open = truths.zip(names).filter(|(truth, _)| *truth == Truth::Open).flat_map(|(_, names)| names);
        let mut is_open = vec![false; self.trace.cells.len()];
        let mut mark = |name: NameId| is_open.get_mut(name.index()).into_iter().for_each(|it| *it = true);
        open.copied().for_each(&mut mark);
        let several =
            |name: &NameId| self.trace.cells.get(name.index()).is_some_and(|cells| cells.only().is_none());
        let fits = rules.products.iter().flat_map(|product| &product.fits).map(|(_, name)| *name);
        fits.filter(several).for_each(&mut mark);
        (0..).map(NameId).zip(is_open).filter(|(_, is_open)| *is_open).map(|(name, _)| name).collect()
    }

    /// Returns the first name because of which the verdict is open.
    pub fn open_name(&self, plan: &Plan, rules: &Rules) -> NameId {
        let cells = &self.trace.cells;
        let matters = |choice: &usize| self.rival(rules, *choice, Self::surely_acts).is_none();
        let choices = || rules.by_name.iter().map(|choice| choice.index()).filter(matters);
        let held = choices().find_map(|choice| rules.choices.get(choice)?.open_name(cells));
        let name = held.or_else(|| {
            let ways = choices().filter(|it| self.trace.choices[*it].holds != Truth::No);
            ways.flat_map(|it| &plan.choices[it].ways).find_map(|way| self.open_in_way(rules, way))
        });
        let name = name.unwrap_or(NameId(0));
        self.below_bands(rules, name)
    }

    /// Returns the first name because of which an alternative is open.
    pub fn open_in_way(&self, rules: &Rules, way: &Way) -> Option<NameId> {
        let Way::Spray(doses) = way else { return None };
        let (gates, cells) = (&self.trace.gates, &self.trace.cells);
        let mix = || {
            let open = rules.mixes.iter().filter(|(gate, _, _)| self.gate(gate.index()) == Truth::Open);
            open.filter_map(|(gate, _, _)| rules.gates.get(gate.index())?.open_name(cells)).next()
        };
        doses.iter().find_map(|(product, _)| products::open_name(rules, *product, gates, cells)).or_else(mix)
    }

    /// Follows an open band down to a name that is no band.
    fn below_bands(&self, rules: &Rules, name: NameId) -> NameId {
        rules.below_bands(name, &self.trace.cells)
    }

    /// Returns the trace.
    pub fn trace(&self) -> &Trace {
        &self.trace
    }

    /// Gives up everything but the trace, with the truth of tasks, of warnings and of the rows of bands: no verdict hangs on
    /// them themselves.
    pub fn into_trace(mut self, rules: &Rules) -> Trace {
        for choice in 0..self.trace.choices.len() {
            let rival = self.rival(rules, choice, Self::surely_acts);
            if let Some(met) = self.trace.choices.get_mut(choice) {
                met.outranked_by = rival;
            }
        }
        let cells = &self.trace.cells;
        let truths = |logic: &[super::Logic]| logic.iter().map(|it| it.truth(cells)).collect();
        let rows = |band: &BandRules| band.rows.iter().map(|row| row.2.truth(cells)).collect();
        (self.trace.tasks, self.trace.warnings) = (truths(&rules.tasks), truths(&rules.warnings));
        self.trace.bands = rules.bands.iter().map(|band| (band.name, rows(band))).collect();
        self.trace
    }

    /// Gives up everything but the cells.
    pub fn into_cells(self) -> Vec<CellSet> {
        self.trace.cells
    }
}

impl Rules {
    /// Grades the bands: writes their cells from those of the other names.
    pub fn grade(&self, cells: &mut [CellSet]) {
        for band in &self.bands {
            if let (Some(grades), Some(set)) = (band.grades(cells), cells.get_mut(band.name.index())) {
                *set = grades;
            }
        }
    }

    /// Returns the band of a name.
    pub fn band(&self, name: NameId) -> Option<&BandRules> {
        self.bands.iter().find(|band| band.name == name)
    }

    /// Follows an open band down to a name that is no band.
    pub fn below_bands(&self, mut name: NameId, cells: &[CellSet]) -> NameId {
        while let Some(band) = self.band(name) {
            match band.rows.iter().find_map(|(_, _, logic)| logic.open_name(cells)) {
                Some(below) => name = below,
                None => break,
            }
        }
        name
    }
}

impl BandRules {
    /// Returns the cells that it can be in, from those of the names that its rows speak of.
    pub fn grades(&self, cells: &[CellSet]) -> Option<CellSet> {
        let truths: Vec<Truth> = self.rows.iter().map(|(_, _, logic)| logic.truth(cells)).collect();
        let rows = self.rows.iter().zip(&truths).map(|((caps, level, _), truth)| (*caps, *level, *truth));
        let levels = crate::measure::grade(rows);
        CellSet::new((0..self.levels).filter(|level| levels >> level & 1 == 1).collect())
    }
}

/// Puts the parts of a mix in the order of the products, so that equal sprays compare equal.
fn in_order(mut doses: Vec<(ProductId, u8)>) -> Vec<(ProductId, u8)> {
    doses.sort();
    doses
}
