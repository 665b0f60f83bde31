//! The set of all situations of one or two rulebooks: a variable for each root, cut into pieces in each of which every
//! comparison is settled; what each name is in each piece; and what cannot be together.

pub(crate) mod compute;
pub(super) mod rims;
pub(crate) mod roots;
mod order;
mod build;
mod variables;
pub(super) mod relations;
pub(super) mod always;
pub(super) mod ranges;
mod shares;
pub(crate) mod panicles;
pub(crate) mod taken;
mod numbers;
pub(super) mod witness;
pub mod places;
mod bands;
mod search;
pub mod across;
pub(super) mod free_sets;

use crate::decide::{Logic, Rules};
use crate::measure::{Extent, Truth, against, compare};
use crate::plan::{Compare, Condition, Meaning, NameId, Plan, Subject};
use crate::situation::{CellSet, Cells, Diagrams, Set};
use build::{Purpose, Related};
use roots::Rooted;
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

/// How many nodes a set of joined relations may have.
const LARGE: usize = 1_000;

/// A rulebook made ready to be proved.
#[derive(Clone, Copy, Debug)]
pub struct Book<'p> {
    /// The plan.
    pub plan: &'p Plan,
    /// Its rules.
    pub rules: &'p Rules,
}

/// A root, or a name that is computed from several, cut into pieces.
#[derive(Clone, Debug)]
pub struct Variable {
    /// A name that it is, with the number of its book; nothing where it is only part of names.
    pub name: Option<(usize, NameId)>,
    /// Its pieces: the values that each has, as the first book reads them.
    pub pieces: Vec<Extent>,
    /// Whether it is an observation of one group of panicles.
    pub of_group: bool,
    /// Whether only whole numbers occur.
    pub whole: bool,
    /// What its values come from, besides what a person sees: weather series, the spray log.
    pub from: BTreeSet<String>,
}

/// What a name is in each piece of its variable.
#[derive(Clone, Debug)]
pub(crate) struct Read {
    pub(crate) variable: u16,
    pub(crate) extents: Vec<Extent>,
    pub(crate) cells: Vec<CellSet>,
}

/// The situations of each level of bands.
pub(crate) type Bands = FxHashMap<NameId, Vec<Set>>;

/// All situations of one or two rulebooks.
#[derive(Clone, Debug)]
pub struct Space<'p> {
    /// The rulebooks.
    pub books: Vec<Book<'p>>,
    /// The sets of situations.
    pub diagrams: Diagrams,
    /// The variables, in the order of the diagrams.
    pub variables: Vec<Variable>,
    /// What must hold of a situation for it to be one; each is taken into account when it is needed.
    pub relations: Vec<Set>,
    pub(super) rooted: Vec<Rooted<'p>>,
    pub(crate) reads: Vec<FxHashMap<NameId, Read>>,
    pub(super) of_meaning: FxHashMap<Meaning, u16>,
    pub(crate) bands: Vec<Bands>,
    /// The relations joined into few sets, with how many they were.
    joined: (usize, Vec<Set>),
    usual: Vec<u16>,
    weights: Vec<Vec<u32>>,
}

impl<'p> Space<'p> {
    /// Makes the space of rulebooks. The names in `cut`, of the first book, are taken: free of what they come from.
    /// `more` are comparisons of the first book by which ranges are cut besides those of its rules.
    pub fn new(
        books: &[Book<'p>],
        cut: &BTreeSet<NameId>,
        more: &[(NameId, Compare)],
        budget: usize,
    ) -> Self {
        let cut = std::slice::from_ref(cut);
        build::space(books, &Purpose { cut, more, fixed: &[], related: Related::Fully, budget })
    }

    /// Makes the space of a worked example: measures of weather, log and panicles are what it takes them for, and names are
    /// what is `fixed`.
    pub(super) fn of_example(
        book: Book<'p>,
        cut: &BTreeSet<NameId>,
        fixed: &[(NameId, Extent)],
        more: &[(NameId, Compare)],
        budget: usize,
    ) -> Self {
        let cut = std::slice::from_ref(cut);
        build::space(&[book], &Purpose { cut, more, fixed, related: Related::ByArithmetic, budget })
    }

    /// Makes the space of a rulebook and of the same with a change of a definition.
    pub(crate) fn beside(books: [Book<'p>; 2], budget: usize) -> Self {
        build::space(&books, &Purpose { cut: &[], more: &[], fixed: &[], related: Related::Beside, budget })
    }

    /// Makes the space of two rulebooks that are compared. A band that means the same in both is a variable of its own,
    /// so that situations are told by its levels.
    pub(super) fn of_two(books: [Book<'p>; 2], budget: usize) -> Self {
        let shared = |book: usize| -> BTreeSet<NameId> {
            let [one, other] = [book, 1 - book].map(|at| crate::plan::Definitions::of(books[at].plan));
            let bands = |at: usize| books[at].rules.bands.iter().map(|band| band.name);
            let there: BTreeSet<Meaning> = bands(1 - book).map(|band| other.name(band)).collect();
            bands(book).filter(|band| there.contains(&one.name(*band))).collect()
        };
        let cut = [shared(0), shared(1)];
        let purpose = Purpose { cut: &cut, more: &[], fixed: &[], related: Related::Fully, budget };
        let mut space = build::space(&books, &purpose);
        for name in &cut[0] {
            let Some(read) = space.read(0, *name).cloned() else { continue };
            let Some(band) = books[0].rules.bands.iter().find(|band| band.name == *name) else { continue };
            let levels = space.levels(0, band, None);
            for (level, set) in levels.into_iter().enumerate() {
                let here = space.diagrams.test(read.variable, |piece| usize::from(piece) == level);
                // It is at the level where its rows say so, and only there.
                let (one, other) = (space.diagrams.without(here, set), space.diagrams.without(set, here));
                let broken = space.diagrams.either(one, other);
                let kept = space.diagrams.not(broken);
                space.relations.push(kept);
            }
        }
        space
    }

    /// Makes a space of variables without relations.
    pub(super) fn of_parts(
        books: &[Book<'p>],
        rooted: Vec<Rooted<'p>>,
        variables: Vec<Variable>,
        reads: Vec<FxHashMap<NameId, Read>>,
        of_meaning: FxHashMap<Meaning, u16>,
        budget: usize,
    ) -> Self {
        let cells = variables.iter().map(|variable| variable.pieces.len() as u16).collect();
        let weights: Vec<Vec<u32>> = variables
            .iter()
            .map(|variable| variable.pieces.iter().map(|piece| weight(*piece, variable.whole)).collect())
            .collect();
        let lightest = |weights: &Vec<u32>| {
            weights
                .iter()
                .enumerate()
                .min_by_key(|(at, weight)| (**weight, *at))
                .map_or(0, |(at, _)| at as u16)
        };
        let usual = weights.iter().map(lightest).collect();
        Self {
            books: books.to_vec(),
            diagrams: Diagrams::new(cells, budget),
            variables,
            relations: Vec::new(),
            joined: (0, Vec::new()),
            bands: vec![FxHashMap::default(); books.len()],
            rooted,
            reads,
            of_meaning,
            usual,
            weights,
        }
    }

    /// Returns the text that a piece of a variable is, whichever rulebook knows it; nothing where it is no text, or any other.
    pub(crate) fn text(&self, variable: u16, piece: u16) -> Option<&str> {
        let of = self.variables.get(usize::from(variable))?;
        of.pieces.get(usize::from(piece))?.text()?;
        self.texts().get(usize::from(piece)).copied()
    }

    /// Returns all texts that the rulebooks know, in the order of the pieces of names of texts.
    fn texts(&self) -> Vec<&str> {
        let known = self.rooted.iter().flat_map(|rooted| rooted.plan.texts.iter().map(|text| &**text));
        known.collect::<BTreeSet<&str>>().into_iter().collect()
    }

    /// Returns the pieces of a root as a rulebook reads them: texts have other numbers in each.
    pub(super) fn pieces_in(&self, book: usize, root: Meaning, variable: u16) -> Vec<Extent> {
        let definitions = &self.rooted[book].definitions;
        let named = self.rooted[book].plan.named().map(|(id, _)| id);
        let read = named.filter(|id| definitions.name(*id) == root).find_map(|id| self.read(book, id));
        match read.filter(|read| read.variable == variable) {
            Some(read) => read.extents.clone(),
            None => self.variables.get(usize::from(variable)).map_or_else(Vec::new, |it| it.pieces.clone()),
        }
    }

    /// Returns the variable that a name is read from; nothing of a band that is opened up.
    pub fn variable(&self, book: usize, name: NameId) -> Option<u16> {
        self.read(book, name).map(|read| read.variable)
    }

    pub(crate) fn read(&self, book: usize, name: NameId) -> Option<&Read> {
        self.reads.get(book)?.get(&name)
    }

    /// Returns the situations in which a condition holds.
    pub fn holds(&mut self, book: usize, logic: &Logic) -> Set {
        match logic {
            Logic::Always => Set::ALL,
            Logic::Test(name, cells) => self.test(book, *name, cells),
            Logic::Not(inner) => {
                let inner = self.holds(book, inner);
                self.diagrams.not(inner)
            }
            Logic::All(parts) => {
                let parts: Vec<Set> = parts.iter().map(|part| self.holds(book, part)).collect();
                self.diagrams.all(parts)
            }
            Logic::Any(parts) => {
                let parts: Vec<Set> = parts.iter().map(|part| self.holds(book, part)).collect();
                self.diagrams.any(parts)
            }
        }
    }

    /// Returns the situations in which a name is in one of these cells.
    pub fn test(&mut self, book: usize, name: NameId, cells: &Cells) -> Set {
        if let Some(levels) = self.bands.get(book).and_then(|bands| bands.get(&name)) {
            let held: Vec<Set> = levels
                .iter()
                .enumerate()
                .filter(|(level, _)| cells.contains(*level as u16))
                .map(|(_, set)| *set)
                .collect();
            return self.diagrams.any(held);
        }
        let Some(read) = self.reads.get(book).and_then(|reads| reads.get(&name)) else { return Set::NONE };
        let within: Vec<bool> = read.cells.iter().map(|touched| touched.is_within(cells)).collect();
        let variable = read.variable;
        self.diagrams.test(variable, |piece| within.get(usize::from(piece)).copied().unwrap_or(false))
    }

    /// Returns the situations in which a condition of the text may hold, or those in which it may not: of names that are
    /// compared with one another there are both.
    pub(super) fn may_hold(&mut self, book: usize, condition: &Condition, holds: bool) -> Set {
        match condition {
            Condition::Test(test) => {
                let Subject::Name(name) = test.subject else { return Set::ALL };
                match &test.compare {
                    Compare::Name(order, other) => self.may_stand(book, name, *order, *other, holds),
                    with => {
                        let may = |extent: &Extent| match compare(*extent, with) {
                            Truth::Open => true,
                            Truth::Yes => holds,
                            Truth::No => !holds,
                        };
                        self.where_name(book, name, &may)
                    }
                }
            }
            Condition::Not(inner) => self.may_hold(book, inner, !holds),
            Condition::All(parts) | Condition::Any(parts) => {
                let sets: Vec<Set> = parts.iter().map(|part| self.may_hold(book, part, holds)).collect();
                if matches!(condition, Condition::All(_)) == holds {
                    self.diagrams.all(sets)
                } else {
                    self.diagrams.any(sets)
                }
            }
        }
    }

    fn may_stand(
        &mut self,
        book: usize,
        name: NameId,
        order: crate::plan::Order,
        other: NameId,
        holds: bool,
    ) -> Set {
        let (Some(a), Some(b)) = (self.read(book, name).cloned(), self.read(book, other).cloned()) else {
            return Set::ALL;
        };
        let plan = self.books[book].plan;
        let mut pairs = Vec::new();
        for (piece, extent) in a.extents.iter().enumerate() {
            let may = |other: &Extent| {
                let there = !extent.is_empty() && !other.is_empty();
                let truth = if there { against(order, &plan[name], *extent, *other) } else { Truth::No };
                truth == Truth::Open || (truth == Truth::Yes) == holds
            };
            let with: Vec<bool> = b.extents.iter().map(may).collect();
            let here = self.diagrams.test(a.variable, |it| usize::from(it) == piece);
            let there =
                self.diagrams.test(b.variable, |it| with.get(usize::from(it)).copied().unwrap_or(false));
            pairs.push(self.diagrams.both(here, there));
        }
        self.diagrams.any(pairs)
    }

    /// Returns the situations in which what a name can be answers a question with yes.
    pub(super) fn where_name(&mut self, book: usize, name: NameId, may: &dyn Fn(&Extent) -> bool) -> Set {
        if let Some(levels) = self.bands.get(book).and_then(|bands| bands.get(&name)) {
            let held: Vec<Set> = levels
                .iter()
                .enumerate()
                .filter(|(level, _)| may(&Extent::word(*level as u16)))
                .map(|(_, set)| *set)
                .collect();
            return self.diagrams.any(held);
        }
        let Some(read) = self.read(book, name) else { return Set::ALL };
        let within: Vec<bool> = read.extents.iter().map(may).collect();
        let variable = read.variable;
        self.diagrams.test(variable, |piece| within.get(usize::from(piece)).copied().unwrap_or(false))
    }

    /// Makes what all questions have in common, so that what is made for one of them can be forgotten.
    pub(crate) fn settle(&mut self) {
        self.join_relations();
    }

    /// Joins the relations into few sets, none of them large.
    fn join_relations(&mut self) {
        if self.joined.0 == self.relations.len() {
            return;
        }
        let mut groups: Vec<Set> = Vec::new();
        for relation in &self.relations {
            let last = groups.last().copied().unwrap_or(Set::ALL);
            let both = self.diagrams.both(last, *relation);
            match groups.last_mut() {
                Some(place) if self.diagrams.size(both) <= LARGE => *place = both,
                Some(_) | None => groups.push(*relation),
            }
        }
        self.joined = (self.relations.len(), groups);
    }

    /// Returns situations that cannot be, as far as that is a set of handy size.
    pub(super) fn impossible(&mut self) -> Set {
        self.join_relations();
        match self.joined.1[..] {
            [real] => self.diagrams.not(real),
            _ => Set::NONE,
        }
    }

    /// Returns situations that cannot be by what relates some variables alone, as far as that is a set of handy size.
    pub(super) fn impossible_of(&mut self, own: &BTreeSet<u16>) -> Set {
        let mut real = Set::ALL;
        for relation in self.relations.clone() {
            if self.diagrams.depends_on(relation).iter().all(|it| own.contains(it)) {
                let both = self.diagrams.both(real, relation);
                if self.diagrams.size(both) > LARGE {
                    break;
                }
                real = both;
            }
        }
        self.diagrams.not(real)
    }

    /// Returns the cells of a variable that are tried first where a person shall recognise a situation: never sprayed, and
    /// the likeliest.
    pub(super) fn usual_cells(&self, variable: usize) -> Vec<u16> {
        let never = |extent: &Extent| extent.ends().is_some_and(|(low, _)| low.is_infinite() && low > 0.0);
        let pieces = self.variables.get(variable).map_or(&[][..], |it| &it.pieces);
        let never = pieces.iter().position(never).map(|at| at as u16);
        never.into_iter().chain(self.usual.get(variable).copied()).collect()
    }

    /// Returns a set as far as all relations allow it.
    pub fn real(&mut self, set: Set) -> Set {
        let mut set = set;
        for relation in self.relations.clone() {
            set = self.diagrams.both(set, relation);
        }
        set
    }

    /// Returns a set as far as relations of its own variables allow it, while it stays of handy size.
    pub(super) fn nearly_real(&mut self, mut set: Set) -> Set {
        let own = self.diagrams.depends_on(set);
        for relation in self.relations.clone() {
            if self.diagrams.depends_on(relation).iter().any(|it| own.binary_search(it).is_ok()) {
                let both = self.diagrams.both(set, relation);
                if self.diagrams.size(both) > LARGE {
                    break;
                }
                set = both;
            }
        }
        set
    }

    /// Returns the cells of every name of a rulebook in a situation.
    pub fn cells(&self, book: usize, situation: &[u16]) -> Vec<CellSet> {
        let rules = self.books[book].rules;
        (0..rules.axes.len() as u32)
            .map(|name| {
                let name = NameId(name);
                match self.read(book, name) {
                    Some(read) => {
                        let piece = situation.get(usize::from(read.variable)).copied().unwrap_or(0);
                        read.cells.get(usize::from(piece)).cloned().unwrap_or_else(|| CellSet::one(0))
                    }
                    None => CellSet::one(0),
                }
            })
            .collect()
    }
}

/// Returns how unlikely a person is to think of a piece: ranges before single numbers, bounded before boundless, and
/// what does not exist last.
fn weight(piece: Extent, whole: bool) -> u32 {
    match piece.ends() {
        None if piece.is_empty() => 100,
        None => 0,
        Some((low, high)) if low == high && low.is_infinite() => 4,
        Some((low, high)) if low.is_infinite() && high.is_infinite() => 3,
        Some((low, high)) if low.is_infinite() || high.is_infinite() => 2,
        Some((low, high)) if low == high && !whole => 5,
        Some(_) => 1,
    }
}
