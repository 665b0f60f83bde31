//! What a page says of a comparison: each cause with its place, who decides otherwise there, and what becomes of verdicts.

use super::direction::Direction;
use super::pair::{Pair, Same, VerdictChange};
use super::regions::variables;
use crate::plan::{GateId, NameId, Origin};
use crate::prove::space::Book;
use crate::prove::space::places::Where;
use crate::prove::space::roots::names_in;
use crate::prove::space::witness::{self, Witness};
use crate::situation::{Set, Stretch};
use crate::trace::Shutter;
use std::collections::BTreeSet;

/// How many of those who decide elsewhere are named.
const NAMED: usize = 3;

/// How many parts of a place are told.
const PLACES: usize = 3;

/// How many parts of a place are looked for.
const WAYS: usize = 24;

/// How many causes of one change of verdict are told apart; the rest is told together.
const CAUSES: usize = 6;

/// What one cause changes, in few words.
#[derive(Clone, Debug)]
pub struct Headline {
    /// The items that made the difference; none where they are too many to be told apart.
    pub because_of: Vec<String>,
    /// The figures behind them that changed.
    pub figures: Vec<String>,
    /// Where, as far as the changed items themselves speak of it: the widest parts of it, each cut to what can be.
    pub places: Vec<Vec<Where>>,
    /// How many parts there are besides.
    pub elsewhere: usize,
    /// Whether there are more parts than were looked for.
    pub is_cut: bool,
    /// Who decides as before, or otherwise, in some of those places.
    pub except: Except,
    /// What becomes of verdicts there.
    pub turns: Vec<VerdictTurn>,
    /// One of them.
    pub lead: VerdictTurn,
    /// A situation in which that one happens.
    pub situation: Witness,
}

/// Who decides in some situations: all empty where there are none.
#[derive(Clone, PartialEq, Eq, Default, Debug)]
pub struct Except {
    /// Choices that lead there, a few of them.
    pub choices: Vec<String>,
    /// Whether everything that holds is shut in some of them.
    pub all_shut: bool,
    /// Whether no choice holds in some of them.
    pub uncovered: bool,
    /// Whether other choices lead there too.
    pub others: bool,
}

impl Except {
    /// Returns whether there is nobody.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A verdict that becomes another.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct VerdictTurn {
    /// What was said.
    pub was: String,
    /// What is said.
    pub now: String,
    /// Both as a table says them: without the word for spraying.
    pub short: [String; 2],
    /// The products that were sprayed and are, each with its amount.
    pub doses: [Vec<(String, String)>; 2],
    /// Which way the verdict moved.
    pub direction: Direction,
    /// Whether something was sprayed, and whether something is.
    pub sprays: [bool; 2],
    /// Products that are sprayed now where the old rulebook shut them, each with the gates that did.
    pub was_shut: Vec<(String, Vec<String>)>,
    /// Products that were sprayed where the new rulebook shuts them, each with the gates that do.
    pub now_shut: Vec<(String, Vec<String>)>,
}

impl VerdictTurn {
    /// Returns the words for its direction: what gates have no part in is neither stricter nor looser.
    pub fn words(&self) -> &'static str {
        match self.direction {
            Direction::Stricter if self.now_shut.is_empty() => "sprays less",
            Direction::Looser if self.was_shut.is_empty() => "sprays more",
            other => other.words(),
        }
    }
}

/// A change of verdict as far as one cause makes it.
struct Draft {
    because_of: Vec<String>,
    turn: VerdictTurn,
    set: Set,
    situation: Vec<u16>,
}

impl Pair<'_> {
    /// Returns a change of verdict in words.
    pub(crate) fn turn(&mut self, change: &VerdictChange) -> VerdictTurn {
        VerdictTurn {
            was_shut: self.shut(0, change),
            now_shut: self.shut(1, change),
            was: self.figures.words(0, &change.was),
            now: self.figures.words(1, &change.now),
            short: [self.figures.short(0, &change.was), self.figures.short(1, &change.now)],
            doses: [self.figures.doses(0, &change.was), self.figures.doses(1, &change.now)],
            direction: self.figures.direction(&change.was, &change.now),
            sprays: [&change.was, &change.now].map(|it| matches!(it, Same::Spray(_))),
        }
    }

    /// Returns what one rulebook sprays by a change of verdict where gates of the other, of that number, shut it.
    fn shut(&mut self, book: usize, change: &VerdictChange) -> Vec<(String, Vec<String>)> {
        let doses = |of: &Same| match of {
            Same::Spray(doses) => doses.iter().map(|(product, _)| product.clone()).collect(),
            Same::Hold | Same::Uncovered | Same::Undecided(_) => Vec::new(),
        };
        let mut sides = [doses(&change.was), doses(&change.now)];
        let before = std::mem::take(&mut sides[book]);
        let after = std::mem::take(&mut sides[1 - book]);
        let Book { plan, rules } = self.space.books[book];
        let mut found = Vec::new();
        for product in after.into_iter().filter(|it| !before.contains(it)) {
            let shut_by = plan.product(&product).and_then(|id| rules.products.get(id.index()));
            let gates = shut_by.into_iter().flat_map(|it| &it.shut_by).filter_map(|it| match it {
                Shutter::Gate(gate) => Some(*gate),
                Shutter::Certified => None,
            });
            let speaks = |gate: GateId| self.meanings[book].speaks.gates.get(gate.index()).copied();
            let gates: Vec<(GateId, Set)> = gates.filter_map(|it| Some((it, speaks(it)?))).collect();
            let mut names = Vec::new();
            for (gate, set) in gates {
                let here = self.space.diagrams.both(change.set, set);
                if self.space.witness(&[here]).is_some() {
                    names.push(plan[gate].name.to_string());
                }
            }
            if !names.is_empty() {
                found.push((product, names));
            }
        }
        found
    }

    /// Tells changes of verdict in few words: those of one cause together, those with the most changes first. Each change is in
    /// one at least.
    pub(crate) fn headlines(&mut self, changes: &[VerdictChange], turns: &[VerdictTurn]) -> Vec<Headline> {
        let mut groups: Vec<Vec<Draft>> = Vec::new();
        for (change, turn) in changes.iter().zip(turns) {
            for draft in self.drafts(change, turn) {
                let same = |group: &Vec<Draft>| group.iter().all(|it| it.because_of == draft.because_of);
                match groups.iter().position(same).and_then(|at| groups.get_mut(at)) {
                    Some(group) => group.push(draft),
                    None => groups.push(vec![draft]),
                }
            }
        }
        let mut headlines: Vec<Headline> =
            groups.into_iter().filter_map(|group| self.headline(group)).collect();
        headlines.sort_by_key(|it| (std::cmp::Reverse(it.turns.len()), it.because_of.clone()));
        headlines
    }

    /// Takes a change of verdict apart by what makes it.
    fn drafts(&mut self, change: &VerdictChange, turn: &VerdictTurn) -> Vec<Draft> {
        let mut drafts: Vec<Draft> = Vec::new();
        let mut rest = change.set;
        while let Some(situation) = self.space.witness(&[rest]) {
            if drafts.len() >= CAUSES {
                drafts.push(Draft { because_of: Vec::new(), turn: turn.clone(), set: rest, situation });
                break;
            }
            let (because_of, turned) = self.cause(&situation);
            let set = self.space.diagrams.both(rest, turned);
            rest = self.space.diagrams.without(rest, turned);
            drafts.push(Draft { because_of, turn: turn.clone(), set, situation });
        }
        drafts
    }

    fn headline(&mut self, mut drafts: Vec<Draft>) -> Option<Headline> {
        drafts.sort_by(|a, b| {
            let said = |it: &Draft| (it.turn.direction, it.turn.was.clone(), it.turn.now.clone());
            said(a).cmp(&said(b))
        });
        let because_of = drafts.first()?.because_of.clone();
        let changed = self.space.diagrams.any(drafts.iter().map(|it| it.set));
        let place = self.place_of_cause(changed, &because_of);
        let rest = self.space.diagrams.not(changed);
        let except = self.who_decides(vec![place, rest]);
        let (ways, is_cut) = self.ways_of(place, changed);
        let elsewhere = ways.len().saturating_sub(PLACES);
        // One of the place that is told first, where there is one.
        let first = ways.first().map(|way| self.set_of(way)).unwrap_or(Set::ALL);
        // What was shut there is shown before all else.
        let (shut, rest): (Vec<&Draft>, Vec<&Draft>) =
            drafts.iter().partition(|it| !it.turn.was_shut.is_empty());
        let order: Vec<&Draft> = shut.into_iter().chain(rest).collect();
        let there =
            order.iter().find_map(|it| Some((it.turn.clone(), self.space.witness(&[first, it.set])?)));
        let (lead, situation) =
            there.or_else(|| order.first().map(|it| (it.turn.clone(), it.situation.clone())))?;
        let own: BTreeSet<u16> = match ways.first() {
            Some(way) if !way.is_empty() => variables(way),
            _ => self.variables_of(&because_of),
        };
        let mut turns: Vec<VerdictTurn> = drafts.into_iter().map(|it| it.turn).collect();
        turns.dedup();
        let told =
            |way: &Vec<Stretch>| way.iter().map(|(variable, runs)| self.place(*variable, runs)).collect();
        Some(Headline {
            figures: self.moved_figures(&because_of),
            because_of,
            places: ways.iter().take(PLACES).map(told).collect(),
            elsewhere,
            is_cut,
            except,
            turns,
            lead,
            situation: self.recognized(&own, &situation),
        })
    }

    /// Returns a situation by some variables, and by what the choices that lead there ask: its bands and what is seen.
    fn recognized(&self, own: &BTreeSet<u16>, situation: &[u16]) -> Witness {
        let mut shown = self.example(own, situation);
        for book in [1, 0] {
            let plan = self.space.books[book].plan;
            let asks = |name: &NameId| matches!(plan[*name].origin, Origin::Band(_) | Origin::Observed(_));
            let leading = self.meanings[book].leading(&self.space, situation);
            let mut names = Vec::new();
            leading
                .iter()
                .filter_map(|it| plan[*it].condition.as_ref())
                .for_each(|it| names_in(it, &mut names));
            let names: BTreeSet<NameId> = names.into_iter().filter(asks).collect();
            for (word, value) in witness::witness(&self.space, book, situation, &names).values {
                shown.values.entry(word).or_insert(value);
            }
        }
        shown
    }

    /// Returns the parts of a place, the widest first, each cut to where something changes, and whether there are more.
    fn ways_of(&mut self, place: Set, changed: Set) -> (Vec<Vec<Stretch>>, bool) {
        let mut ways = Vec::new();
        let own: BTreeSet<u16> = self.space.diagrams.depends_on(place).into_iter().collect();
        let mut free = self.space.impossible_of(&own);
        let mut rest = place;
        let mut is_cut = false;
        while let Some(situation) = self.space.witness(&[rest, changed]) {
            if ways.len() >= WAYS {
                is_cut = true;
                break;
            }
            let way = self.space.diagrams.box_around(rest, free, &situation);
            let here = self.set_of(&way);
            rest = self.space.diagrams.without(rest, here);
            free = self.space.diagrams.without(free, here);
            ways.push((self.width(&way), self.narrowed(way, &[changed], situation)));
        }
        ways.sort_by(|a, b| b.0.total_cmp(&a.0));
        (ways.into_iter().map(|(_, way)| way).collect(), is_cut || self.space.diagrams.is_spent())
    }

    /// Returns who decides under the new rulebook in the situations that are in all of some sets.
    fn who_decides(&mut self, mut rest: Vec<Set>) -> Except {
        let mut found = Except::default();
        while let Some(situation) = self.space.witness(&rest) {
            let (plan, meaning) = (self.space.books[1].plan, &self.meanings[1]);
            let leading = meaning.leading(&self.space, &situation);
            let told = if !leading.is_empty() {
                if found.choices.len() >= NAMED {
                    found.others = true;
                    break;
                }
                found.choices.extend(leading.iter().map(|it| plan[*it].name.to_string()));
                let sets = leading.iter().filter_map(|it| meaning.leads.get(it.index()).copied());
                self.space.diagrams.any(sets)
            } else if self.space.diagrams.contains(meaning.covered, &situation) {
                found.all_shut = true;
                let meaning = meaning.clone();
                meaning.all_shut(&mut self.space, Set::ALL)
            } else {
                found.uncovered = true;
                self.space.diagrams.not(meaning.covered)
            };
            rest.push(self.space.diagrams.not(told));
        }
        found
    }

    /// Returns the share of all combinations that a way takes.
    fn width(&self, way: &[Stretch]) -> f64 {
        let share = |(variable, runs): &Stretch| {
            let cells: u16 = runs.iter().map(|(first, last)| last + 1 - first).sum();
            f64::from(cells) / f64::from(self.space.diagrams.cells(*variable).max(1))
        };
        way.iter().map(share).product()
    }

    /// Returns where a change happens as far as the items that caused it speak of it.
    fn place_of_cause(&mut self, set: Set, because_of: &[String]) -> Set {
        let (mut changed, mut limits) = (Vec::new(), BTreeSet::new());
        for item in because_of {
            let [was, now] = [0, 1].map(|book| self.speaks(book, item));
            let (gone, new) = (self.space.diagrams.without(was, now), self.space.diagrams.without(now, was));
            let either = self.space.diagrams.either(gone, new);
            // What comes to something else where it held before does so as far as gates let it.
            if either.is_none() {
                limits.extend(self.limits_of(item));
            }
            changed.push(if either.is_none() { was } else { either });
        }
        let changed = self.space.diagrams.any(changed);
        let mut here = self.space.diagrams.both(set, changed);
        let mut own: BTreeSet<u16> = self.space.diagrams.depends_on(changed).into_iter().collect();
        own.extend(limits);
        // Where they hold as before and come to something else, it is by what one of the rulebooks alone asks.
        if own.is_empty() {
            here = set;
            own = self.space.diagrams.depends_on(set).into_iter().collect();
            own.retain(|variable| self.is_of_one_book(*variable));
        }
        self.space.diagrams.exists(here, &|variable| !own.contains(&variable))
    }

    /// Returns whether one of the rulebooks alone has names that are a variable.
    fn is_of_one_book(&self, variable: u16) -> bool {
        let has = |book: usize| self.space.reads[book].values().any(|read| read.variable == variable);
        has(0) != has(1)
    }

    /// Returns the variables that some items speak of, in the new rulebook.
    fn variables_of(&self, because_of: &[String]) -> BTreeSet<u16> {
        let rules = self.space.books[1].rules;
        let mut names: BTreeSet<NameId> = BTreeSet::new();
        for item in because_of {
            let of = self.places(1, item);
            names.extend(of.gates.iter().filter_map(|at| rules.gate_names.get(*at)).flatten());
            names.extend(of.choices.iter().filter_map(|at| rules.choice_names.get(*at)).flatten());
        }
        names.into_iter().filter_map(|name| self.space.variable(1, name)).collect()
    }
}
