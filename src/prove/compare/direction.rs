//! Which way a verdict moved, and what two rulebooks say in words that both share: products with their strengths as figures.

use super::items::amount_meaning;
use super::pair::{Same, spray};
use crate::plan::{Amount, AmountOf, Plan};
use crate::trace::Verdict;
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// Which way a verdict moved.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Debug)]
pub enum Direction {
    /// Less is sprayed: nothing, or a part of a mix.
    Stricter,
    /// More is sprayed: something, or a part more.
    Looser,
    /// Another product.
    OtherProduct,
    /// The same products, stronger.
    Stronger,
    /// The same products, weaker.
    Weaker,
    /// The same products, one stronger and one weaker, or counted in another way.
    OtherStrength,
    /// The choices that lead do not agree.
    Contradicts,
    /// No choice holds.
    NotCovered,
    /// There was no decision, and now nothing is sprayed.
    Settled,
}

impl Direction {
    /// All of them, in the order in which a page names them.
    pub const ALL: [Direction; 9] = [
        Direction::Contradicts,
        Direction::NotCovered,
        Direction::Looser,
        Direction::Stronger,
        Direction::OtherProduct,
        Direction::OtherStrength,
        Direction::Weaker,
        Direction::Stricter,
        Direction::Settled,
    ];

    /// Returns the words for it.
    pub fn words(self) -> &'static str {
        match self {
            Direction::Stricter => "stricter",
            Direction::Looser => "looser",
            Direction::OtherProduct => "other product",
            Direction::Stronger => "stronger",
            Direction::Weaker => "weaker",
            Direction::OtherStrength => "other strength",
            Direction::Contradicts => "contradicts itself",
            Direction::NotCovered => "not covered",
            Direction::Settled => "settled",
        }
    }
}

/// What the strengths of both rulebooks amount to: a strength is its product with that amount.
#[derive(Clone, Debug)]
pub struct Figures {
    books: [BTreeMap<(String, u64), Amount>; 2],
}

/// What a rulebook says of a tree, as that of another can be held against it: strengths by what they amount to, whatever
/// they are called.
#[derive(Clone, Debug)]
pub struct InFigures {
    /// In words: `spray copper 600 ppm copper`.
    pub words: String,
    /// Nothing where the answer waits for a look.
    is: Option<Same>,
}

impl InFigures {
    /// Returns whether the other rulebook says the same.
    pub fn is_same(&self, other: &Self) -> bool {
        self.is == other.is
    }

    /// Returns whether the tree must be looked at first.
    pub fn must_look(&self) -> bool {
        self.is.is_none()
    }
}

impl Figures {
    /// Reads the strengths of two rulebooks.
    pub fn of(plans: [&Plan; 2]) -> Self {
        let amounts = |plan: &Plan| {
            let mut found = BTreeMap::new();
            for product in &plan.products {
                for (at, strength) in product.strengths.iter().enumerate() {
                    let meaning = amount_meaning(product, at as u8);
                    found.entry((product.name.to_string(), meaning)).or_insert(strength.amount.clone());
                }
            }
            found
        };
        Self { books: plans.map(amounts) }
    }

    fn amount(&self, book: usize, dose: &(String, u64)) -> Option<&Amount> {
        self.books.get(book).and_then(|amounts| amounts.get(dose))
    }

    /// Returns a verdict of a rulebook in words: `spray copper 600 ppm copper with sulfur 2 g/L`.
    pub(crate) fn words(&self, book: usize, verdict: &Same) -> String {
        match verdict {
            Same::Spray(_) => format!("spray {}", self.short(book, verdict)),
            other => self.short(book, other),
        }
    }

    /// Returns the products that a verdict of a rulebook sprays, each with its amount as written.
    pub(crate) fn doses(&self, book: usize, verdict: &Same) -> Vec<(String, String)> {
        let Same::Spray(doses) = verdict else { return Vec::new() };
        let amount =
            |dose: &(String, u64)| self.amount(book, dose).map_or(String::new(), |it| it.written.to_string());
        doses.iter().map(|dose| (dose.0.clone(), amount(dose))).collect()
    }

    /// Returns a verdict of a rulebook as a table says it: `copper 600 ppm copper with sulfur 2 g/L`.
    pub(crate) fn short(&self, book: usize, verdict: &Same) -> String {
        match verdict {
            Same::Spray(_) => {
                let doses = self.doses(book, verdict);
                let words = doses.iter().map(|(product, amount)| format!("{product} {amount}"));
                words.map(|it| it.trim_end().to_owned()).collect::<Vec<_>>().join(" with ")
            }
            Same::Hold => "hold".to_owned(),
            Same::Uncovered => "uncovered".to_owned(),
            Same::Undecided(between) => {
                let all: Vec<String> = between.iter().map(|it| self.words(book, it)).collect();
                if all.is_empty() {
                    "undecided".to_owned()
                } else {
                    format!("undecided: {}", all.join(", or "))
                }
            }
        }
    }

    /// Returns what a verdict of a tree is in figures; `plan` is the rulebook of that number.
    pub fn in_figures(&self, book: usize, plan: &Plan, verdict: &Verdict) -> InFigures {
        let is = match verdict {
            Verdict::Spray(doses) => Some(spray(plan, doses)),
            Verdict::Hold | Verdict::AllShut => Some(Same::Hold),
            Verdict::Uncovered => Some(Same::Uncovered),
            Verdict::Undecided => Some(Same::Undecided(Vec::new())),
            Verdict::Look => None,
        };
        let words = is.as_ref().map_or_else(|| verdict.word().to_owned(), |is| self.words(book, is));
        InFigures { words, is }
    }

    /// Returns which way a verdict moved.
    pub(crate) fn direction(&self, was: &Same, now: &Same) -> Direction {
        match (was, now) {
            (_, Same::Undecided(_)) => Direction::Contradicts,
            (_, Same::Uncovered) => Direction::NotCovered,
            (Same::Spray(before), Same::Spray(after)) => self.of_sprays(before, after),
            (Same::Spray(_), Same::Hold) => Direction::Stricter,
            (_, Same::Spray(_)) => Direction::Looser,
            (_, Same::Hold) => Direction::Settled,
        }
    }

    fn of_sprays(&self, before: &[(String, u64)], after: &[(String, u64)]) -> Direction {
        let mut orders = Vec::new();
        for dose in before {
            if let Some(other) = after.iter().find(|(product, _)| *product == dose.0) {
                orders.push(match (self.amount(0, dose), self.amount(1, other)) {
                    (Some(was), Some(now)) => order(was, now),
                    _ => None,
                });
            }
        }
        let is = |wanted: &[Ordering]| orders.iter().all(|it| it.is_some_and(|it| wanted.contains(&it)));
        let kept = orders.len();
        match (kept == before.len(), kept == after.len()) {
            (true, true) if is(&[Ordering::Less, Ordering::Equal]) => Direction::Weaker,
            (true, true) if is(&[Ordering::Greater, Ordering::Equal]) => Direction::Stronger,
            (true, true) => Direction::OtherStrength,
            (true, false) if is(&[Ordering::Greater, Ordering::Equal]) => Direction::Looser,
            (false, true) if is(&[Ordering::Less, Ordering::Equal]) => Direction::Stricter,
            _ => Direction::OtherProduct,
        }
    }
}

/// Returns how the amount that is now advised stands to the one that was; nothing where they count different things.
fn order(was: &Amount, now: &Amount) -> Option<Ordering> {
    let ingredient = |amount: &Amount| amount.of == AmountOf::Ingredient;
    let alike = was.unit.dimension == now.unit.dimension && ingredient(was) == ingredient(now);
    alike.then(|| crate::units::clean(now.quantity).total_cmp(&crate::units::clean(was.quantity)))
}
