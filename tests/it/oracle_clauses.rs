//! A made rulebook as clauses for a solver of propositional formulas, straight from what it was made of and from what the
//! language says a verdict is.

use super::oracle_book::{Book, Compare, Cond, Does, INTERVAL, OfGroup, PRODUCTS, Root, Rules, Subject, Way};
use batsat::{BasicSolver, Lit, SolverInterface, lbool};
use std::collections::{BTreeMap, BTreeSet};

/// Formulas as clauses: each joint is a new letter that is equal to what it joins (Tseitin 1968).
pub struct Circuit {
    solver: BasicSolver,
    yes: Lit,
}

impl Circuit {
    fn new() -> Self {
        let mut solver = BasicSolver::default();
        let yes = Lit::new(solver.new_var_default(), true);
        solver.add_clause_reuse(&mut vec![yes]);
        Self { solver, yes }
    }

    fn letter(&mut self) -> Lit {
        Lit::new(self.solver.new_var_default(), true)
    }

    fn clause(&mut self, mut parts: Vec<Lit>) {
        self.solver.add_clause_reuse(&mut parts);
    }

    pub fn any(&mut self, parts: &[Lit]) -> Lit {
        let joint = self.letter();
        for part in parts {
            self.clause(vec![!*part, joint]);
        }
        self.clause(parts.iter().copied().chain([!joint]).collect());
        joint
    }

    pub fn all(&mut self, parts: &[Lit]) -> Lit {
        let not: Vec<Lit> = parts.iter().map(|part| !*part).collect();
        !self.any(&not)
    }

    pub fn differ(&mut self, a: Lit, b: Lit) -> Lit {
        let (one, other) = (self.all(&[a, !b]), self.all(&[!a, b]));
        self.any(&[one, other])
    }

    /// Returns letters of which exactly one is so.
    fn one_of(&mut self, count: usize) -> Vec<Lit> {
        let letters: Vec<Lit> = (0..count).map(|_| self.letter()).collect();
        self.clause(letters.clone());
        for (at, one) in letters.iter().enumerate() {
            for other in &letters[at + 1..] {
                self.clause(vec![!*one, !*other]);
            }
        }
        letters
    }

    pub fn can_be(&mut self, parts: &[Lit]) -> bool {
        let answer = self.solver.solve_limited(parts);
        assert!(answer == lbool::TRUE || answer == lbool::FALSE);
        answer == lbool::TRUE
    }
}

/// A group of panicles: whether there is one, its age, and its share of open flowers.
struct Group {
    is_there: Lit,
    age: Vec<Lit>,
    flowers: Vec<Lit>,
}

/// Shares of open flowers: each threshold that a made rulebook has, one between any two, and beyond.
const FLOWERS: [f64; 5] = [0.0, 20.0, 30.0, 50.0, 80.0];

/// What varies between a rulebook and the same without one item.
#[derive(Clone, Copy, PartialEq)]
pub enum Without {
    Nothing,
    Gate(usize),
    Choice(usize),
    Row(usize, usize),
}

/// Where a rulebook comes to what.
pub struct Verdicts {
    pub sprays: BTreeMap<Way, Lit>,
    pub hold: Lit,
    pub undecided: Lit,
    pub uncovered: Lit,
    /// For each choice and each outcome, where the choice leads to it.
    pub leads: Vec<BTreeMap<Way, Lit>>,
    pub tasks: Vec<Lit>,
}

/// A rulebook as clauses.
pub struct Oracle<'b> {
    book: &'b Book,
    pub circuit: Circuit,
    roots: Vec<(Root, Vec<f64>, Vec<Lit>)>,
    groups: Vec<Group>,
}

impl<'b> Oracle<'b> {
    pub fn of(book: &'b Book) -> Self {
        let mut circuit = Circuit::new();
        let mut roots = Vec::new();
        for root in Root::ALL {
            let values = root.values();
            let letters = circuit.one_of(values.len());
            roots.push((root, values, letters));
        }
        // Each condition on panicles needs at the most one group that shows it, or that refutes it.
        let mut asked = 1;
        book.each_condition(&mut |condition| {
            condition.each(&mut |leaf| {
                asked += usize::from(matches!(leaf, Cond::Panicles { .. } | Cond::Lowest(_)))
            });
        });
        let mut groups = Vec::new();
        for at in 0..asked {
            let is_there = if at == 0 { circuit.yes } else { circuit.letter() };
            let (age, flowers) = (circuit.one_of(4), circuit.one_of(FLOWERS.len()));
            groups.push(Group { is_there, age, flowers });
        }
        let mut oracle = Self { book, circuit, roots, groups };
        // The lowest of a time is never above the highest of the same time.
        let (low, high) = (oracle.root(Root::Low), oracle.root(Root::High));
        for (low, low_letter) in &low {
            for (high, high_letter) in &high {
                if low > high {
                    oracle.circuit.clause(vec![!*low_letter, !*high_letter]);
                }
            }
        }
        for condition in &book.always {
            let holds = oracle.holds(condition, &[]);
            oracle.circuit.clause(vec![holds]);
        }
        oracle
    }

    fn root(&self, root: Root) -> Vec<(f64, Lit)> {
        let (_, values, letters) = self.roots.iter().find(|(it, _, _)| *it == root).unwrap();
        values.iter().copied().zip(letters.iter().copied()).collect()
    }

    fn is(&mut self, subject: Subject, compare: Compare) -> Lit {
        let values = self.root(subject.root());
        let fits = values.into_iter().filter(|(value, _)| compare.holds(subject.of(*value)));
        let fits: Vec<Lit> = fits.map(|(_, letter)| letter).collect();
        self.circuit.any(&fits)
    }

    fn flowers(&mut self, group: usize, compare: Compare) -> Lit {
        let letters = self.groups[group].flowers.iter().zip(FLOWERS);
        let fits: Vec<Lit> = letters.filter(|(_, at)| compare.holds(*at)).map(|(it, _)| *it).collect();
        self.circuit.any(&fits)
    }

    fn group_is(&mut self, group: usize, of: OfGroup) -> Lit {
        let parts = [self.groups[group].age[of.age], self.flowers(group, of.flowers)];
        if of.both { self.circuit.all(&parts) } else { self.circuit.any(&parts) }
    }

    /// Returns whether each group that is there is so.
    fn each_group(&mut self, is: &mut dyn FnMut(&mut Self, usize) -> Lit) -> Lit {
        let mut parts = Vec::new();
        for group in 0..self.groups.len() {
            let (is_there, so) = (self.groups[group].is_there, is(self, group));
            parts.push(self.circuit.any(&[!is_there, so]));
        }
        self.circuit.all(&parts)
    }

    /// Returns whether the lowest share of all groups is so.
    fn lowest_is(&mut self, compare: Compare) -> Lit {
        let mut fits = Vec::new();
        for at in FLOWERS.into_iter().filter(|at| compare.holds(*at)) {
            let none_below = self.each_group(&mut |it, group| it.flowers(group, Compare::AtLeast(at)));
            let all_above = self.each_group(&mut |it, group| it.flowers(group, Compare::Above(at)));
            fits.push(self.circuit.all(&[none_below, !all_above]));
        }
        self.circuit.any(&fits)
    }

    /// Returns whether a condition holds. Of each band it is given whether the grade is at least each level.
    pub fn holds(&mut self, condition: &Cond, grades: &[[Lit; 3]]) -> Lit {
        let of = |it: &mut Self, parts: &[Cond]| -> Vec<Lit> {
            parts.iter().map(|part| it.holds(part, grades)).collect()
        };
        match condition {
            Cond::Is(subject, compare) => self.is(*subject, *compare),
            Cond::Panicles { all: true, group } => self.each_group(&mut |it, at| it.group_is(at, *group)),
            Cond::Panicles { all: false, group } => !self.each_group(&mut |it, at| !it.group_is(at, *group)),
            Cond::Lowest(compare) => self.lowest_is(*compare),
            Cond::Grade(band, compare) => {
                let at_least = grades[*band];
                let mut fits = Vec::new();
                for level in (0..3).filter(|level| compare.holds(*level as f64)) {
                    let above = at_least.get(level + 1).map_or(!self.circuit.yes, |it| *it);
                    fits.push(self.circuit.all(&[at_least[level], !above]));
                }
                self.circuit.any(&fits)
            }
            Cond::Not(inner) => !self.holds(inner, grades),
            Cond::All(parts) => {
                let parts = of(self, parts);
                self.circuit.all(&parts)
            }
            Cond::Any(parts) => {
                let parts = of(self, parts);
                self.circuit.any(&parts)
            }
        }
    }

    /// Returns of each band whether its grade is at least each level: the highest raise, cut by the lowest cap.
    pub fn grades(&mut self, without: Without) -> Vec<[Lit; 3]> {
        let mut grades: Vec<[Lit; 3]> = Vec::new();
        for (band, rows) in self.book.bands.iter().enumerate() {
            let mut holding = Vec::new();
            for (at, row) in rows.iter().enumerate() {
                if without != Without::Row(band, at) {
                    holding.push((row.level, row.caps, self.holds(&row.when, &grades)));
                }
            }
            let mut at_least = [self.circuit.yes; 3];
            for (level, letter) in at_least.iter_mut().enumerate().skip(1) {
                let raises = holding.iter().filter(|(to, caps, _)| !caps && *to >= level).map(|(.., it)| *it);
                let raised = self.circuit.any(&raises.collect::<Vec<_>>());
                let caps = holding.iter().filter(|(to, caps, _)| *caps && *to < level).map(|(.., it)| *it);
                let capped = self.circuit.any(&caps.collect::<Vec<_>>());
                *letter = self.circuit.all(&[raised, !capped]);
            }
            grades.push(at_least);
        }
        grades
    }

    pub fn speaks(&mut self, when: Option<&Cond>, unless: Option<&Cond>, grades: &[[Lit; 3]]) -> Lit {
        let when = when.map_or(self.circuit.yes, |it| self.holds(it, grades));
        let unless = unless.map_or(!self.circuit.yes, |it| self.holds(it, grades));
        self.circuit.all(&[when, !unless])
    }

    /// Returns where the rulebook comes to what, from the steps by which the language defines a verdict.
    pub fn verdicts(&mut self, without: Without) -> Verdicts {
        let book = self.book;
        let grades = self.grades(without);
        let mut gates = Vec::new();
        for (at, gate) in book.gates.iter().enumerate() {
            let speaks = self.speaks(gate.when.as_ref(), gate.unless.as_ref(), &grades);
            gates.push((gate.does, if without == Without::Gate(at) { !self.circuit.yes } else { speaks }));
        }
        let speaking = |does: &dyn Fn(Does) -> bool| -> Vec<Lit> {
            gates.iter().filter(|(it, _)| does(*it)).map(|(_, speaks)| *speaks).collect()
        };
        let (mut shut, mut held) = (Vec::new(), Vec::new());
        for product in 0..PRODUCTS.len() {
            let mut by = speaking(&|does| {
                does == Does::Shuts(product)
                    || does == Does::ShutsAll
                    || (does == Does::ShutsGroup && product == 2)
            });
            if product == 0 {
                by.push(self.is(Subject::Root(Root::CopperAge), Compare::Below(INTERVAL)));
            }
            shut.push(self.circuit.any(&by));
            held.push(self.circuit.any(&speaking(&|does| does == Does::Holds(product))));
        }
        let mut comes: Vec<BTreeMap<Way, Lit>> = Vec::new();
        let mut holds = Vec::new();
        for (at, choice) in book.choices.iter().enumerate() {
            let speaks = self.speaks(choice.when.as_ref(), None, &grades);
            holds.push(if without == Without::Choice(at) { !self.circuit.yes } else { speaks });
            let mut rest = holds[at];
            let mut outcomes: BTreeMap<Way, Vec<Lit>> = BTreeMap::new();
            for way in &choice.ways {
                let mut closed: Vec<Lit> = way.iter().map(|(product, _)| shut[*product]).collect();
                if let [(a, _), (b, _)] = way[..] {
                    closed.extend(speaking(&|does| does == Does::ShutsTogether(a, b)));
                }
                let closed = self.circuit.any(&closed);
                let taken = self.circuit.all(&[rest, !closed]);
                rest = self.circuit.all(&[rest, closed]);
                // Each part is taken at its strength, or at the weaker one to which it is held.
                let mut doses = vec![(Way::new(), taken)];
                for (product, strength) in way {
                    let mut more = Vec::new();
                    for (so_far, letter) in doses {
                        for at in 0..=*strength {
                            let weaker = if at < *strength { held[*product] } else { !held[*product] };
                            let fits = if *strength == 0 { self.circuit.yes } else { weaker };
                            let dose = so_far.iter().copied().chain([(*product, at)]).collect();
                            more.push((dose, self.circuit.all(&[letter, fits])));
                        }
                    }
                    doses = more;
                }
                doses.into_iter().for_each(|(dose, letter)| outcomes.entry(dose).or_default().push(letter));
            }
            comes
                .push(outcomes.into_iter().map(|(way, letters)| (way, self.circuit.any(&letters))).collect());
        }
        // Of those that hold and have an allowed alternative, the outranked drop out.
        let acts: Vec<Lit> = comes
            .iter()
            .map(|outcomes| self.circuit.any(&outcomes.values().copied().collect::<Vec<_>>()))
            .collect();
        let ranks = book.ranks();
        let mut leads: Vec<BTreeMap<Way, Lit>> = Vec::new();
        for (at, outcomes) in comes.iter().enumerate() {
            let above: Vec<Lit> = acts
                .iter()
                .enumerate()
                .filter(|(higher, _)| ranks.contains(&(*higher, at)))
                .map(|(_, it)| *it)
                .collect();
            let above = self.circuit.any(&above);
            let led = outcomes.iter().map(|(way, it)| (way.clone(), self.circuit.all(&[*it, !above])));
            leads.push(led.collect());
        }
        let mut by_way: BTreeMap<Way, Vec<Lit>> = BTreeMap::new();
        for (way, letter) in leads.iter().flatten() {
            by_way.entry(way.clone()).or_default().push(*letter);
        }
        let led: Vec<(Way, Lit)> =
            by_way.into_iter().map(|(way, letters)| (way, self.circuit.any(&letters))).collect();
        let mut twice = Vec::new();
        for (at, (_, one)) in led.iter().enumerate() {
            for (_, other) in &led[at + 1..] {
                twice.push(self.circuit.all(&[*one, *other]));
            }
        }
        let undecided = self.circuit.any(&twice);
        let covered = self.circuit.any(&holds);
        let some_act = self.circuit.any(&acts);
        let all_shut = self.circuit.all(&[covered, !some_act]);
        let mut sprays: BTreeMap<Way, Lit> =
            led.into_iter().map(|(way, it)| (way, self.circuit.all(&[it, !undecided]))).collect();
        let advised = sprays.remove(&Way::new()).unwrap_or(!self.circuit.yes);
        let hold = self.circuit.any(&[advised, all_shut]);
        let tasks = book.tasks.iter().map(|it| self.holds(it, &grades)).collect();
        Verdicts { sprays, hold, undecided, uncovered: !covered, leads, tasks }
    }

    /// Returns where two readings of the rulebook come to different verdicts.
    pub fn apart(&mut self, one: &Verdicts, other: &Verdicts) -> Lit {
        let no = !self.circuit.yes;
        let mut pairs =
            vec![(one.hold, other.hold), (one.undecided, other.undecided), (one.uncovered, other.uncovered)];
        let ways: BTreeSet<&Way> = one.sprays.keys().chain(other.sprays.keys()).collect();
        let at = |all: &Verdicts, way: &Way| all.sprays.get(way).copied().unwrap_or(no);
        pairs.extend(ways.into_iter().map(|way| (at(one, way), at(other, way))));
        let differ: Vec<Lit> = pairs.into_iter().map(|(a, b)| self.circuit.differ(a, b)).collect();
        self.circuit.any(&differ)
    }

    pub fn breaks(&mut self, rules: Rules, is: &Verdicts) -> Lit {
        let sprays = |keep: &dyn Fn(&Way) -> bool| -> Vec<Lit> {
            is.sprays.iter().filter(|(way, _)| keep(way)).map(|(_, it)| *it).collect()
        };
        let broken = match rules {
            Rules::Never(product) => sprays(&|way| way.iter().any(|(it, _)| *it == product)),
            Rules::NeverSpraying => sprays(&|_| true),
            Rules::NeverStrong(product) => sprays(&|way| way.contains(&(product, 1))),
            Rules::OnlyOr { product, hold, uncovered, undecided } => {
                let mut broken = sprays(&|way| way.iter().any(|(it, _)| *it != product));
                let words = [(hold, is.hold), (uncovered, is.uncovered), (undecided, is.undecided)];
                broken.extend(words.iter().filter(|(said, _)| !said).map(|(_, it)| *it));
                broken
            }
            Rules::Task(task) => vec![!is.tasks[task]],
        };
        self.circuit.any(&broken)
    }
}

impl Book {
    fn each_condition(&self, f: &mut dyn FnMut(&Cond)) {
        self.always.iter().for_each(&mut *f);
        self.bands.iter().flatten().for_each(|row| f(&row.when));
        self.gates.iter().for_each(|gate| gate.when.iter().chain(&gate.unless).for_each(&mut *f));
        self.choices.iter().for_each(|choice| choice.when.iter().for_each(&mut *f));
        self.tasks.iter().for_each(&mut *f);
        self.promises.iter().for_each(|promise| f(&promise.whenever));
    }

    /// Returns which choice outranks which, also by way of others.
    fn ranks(&self) -> BTreeSet<(usize, usize)> {
        let mut ranks: BTreeSet<(usize, usize)> = BTreeSet::new();
        for (at, choice) in self.choices.iter().enumerate() {
            ranks.extend(choice.outranks.iter().map(|lower| (at, *lower)));
        }
        for _ in &self.choices {
            let more: Vec<(usize, usize)> = ranks
                .iter()
                .flat_map(|(a, b)| ranks.iter().filter(move |(c, _)| b == c).map(move |(_, d)| (*a, *d)))
                .collect();
            ranks.extend(more);
        }
        ranks
    }
}
