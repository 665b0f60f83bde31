//! What was met on the way to a verdict. Data only: [`crate::decide`] records it, [`crate::explain`] reads it.

pub use crate::measure::Truth;
use crate::plan::{ChoiceId, GateId, NameId, Plan, ProductId, Way};
use crate::situation::CellSet;

/// What to do with a tree.
#[derive(Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Verdict {
    /// Spray these products, each at the strength at this place of its list.
    Spray(Vec<(ProductId, u8)>),
    /// Do not spray: a choice advises it.
    Hold,
    /// Do not spray: every alternative of every choice that holds is shut.
    AllShut,
    /// Look first: the answer depends on something unknown.
    Look,
    /// Choices that hold disagree.
    Undecided,
    /// No choice holds.
    Uncovered,
}

impl Verdict {
    /// Returns the verdict as far as two are equal: a hold is a hold, whether advised or left over.
    pub fn essence(&self) -> Self {
        match self {
            Verdict::AllShut => Verdict::Hold,
            Verdict::Spray(_) | Verdict::Hold | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => {
                self.clone()
            }
        }
    }

    /// Returns whether something is sprayed.
    pub fn is_spray(&self) -> bool {
        matches!(self, Verdict::Spray(_))
    }

    /// Returns its place on a page: what is to be done first.
    pub fn rank(&self) -> u8 {
        match self {
            Verdict::Spray(_) => 0,
            Verdict::Look => 1,
            Verdict::AllShut => 2,
            Verdict::Undecided => 3,
            Verdict::Uncovered => 4,
            Verdict::Hold => 5,
        }
    }

    /// Returns the word of the language for this verdict.
    pub fn word(&self) -> &'static str {
        match self {
            Verdict::Spray(_) => "spray",
            Verdict::Hold | Verdict::AllShut => "hold",
            Verdict::Look => "look",
            Verdict::Undecided => "undecided",
            Verdict::Uncovered => "uncovered",
        }
    }

    /// Returns the verdict in the words of the language: `spray copper at reduced with sulfur at low`, `hold`.
    pub fn words(&self, plan: &Plan) -> String {
        match self {
            Verdict::Spray(doses) => format!("spray {}", doses_in_words(plan, &in_author_order(plan, doses))),
            Verdict::Hold | Verdict::AllShut | Verdict::Look | Verdict::Undecided | Verdict::Uncovered => {
                self.word().to_string()
            }
        }
    }
}

/// Puts the parts of a mix in the order in which a choice names them; of several choices the first by name.
pub fn in_author_order(plan: &Plan, doses: &[(ProductId, u8)]) -> Vec<(ProductId, u8)> {
    let same = |way: &&Vec<(ProductId, u8)>| {
        way.len() == doses.len()
            && way.iter().all(|(product, _)| doses.iter().any(|(dose, _)| dose == product))
    };
    let ways = plan.choices.iter().flat_map(|choice| {
        let sprays = choice.ways.iter().filter_map(|way| match way {
            Way::Spray(way) => Some(way),
            Way::Hold => None,
        });
        sprays.filter(same).map(move |way| (&choice.name, way))
    });
    match ways.min_by_key(|(name, _)| *name) {
        Some((_, way)) => {
            let dose = |product: &ProductId| doses.iter().find(|(dose, _)| dose == product).copied();
            way.iter().filter_map(|(product, _)| dose(product)).collect()
        }
        None => doses.to_vec(),
    }
}

/// Returns doses in the words of the language: `copper at reduced with sulfur at low`.
pub fn doses_in_words(plan: &Plan, doses: &[(ProductId, u8)]) -> String {
    let dose = |(product, strength): &(ProductId, u8)| {
        let product = plan.products.get(product.index())?;
        let strength = product.strengths.get(usize::from(*strength))?;
        Some(format!("{} at {}", product.name, strength.name))
    };
    doses.iter().filter_map(dose).collect::<Vec<_>>().join(" with ")
}

/// A verdict, the choices that led to it, and all that was met.
#[derive(Clone, PartialEq, Debug)]
pub struct Decision {
    /// The verdict.
    pub verdict: Verdict,
    /// The choices that led to it, by name; of `undecided` those that disagree.
    pub choices: Vec<ChoiceId>,
    /// What was met.
    pub trace: Trace,
}

/// All that was met in one situation.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Trace {
    /// The cells of every name, bands among them, by the name's number.
    pub cells: Vec<CellSet>,
    /// The truth of each row of each band.
    pub bands: Vec<(NameId, Vec<Truth>)>,
    /// Whether each gate speaks, by the gate's number.
    pub gates: Vec<Truth>,
    /// What became of each choice, by the choice's number.
    pub choices: Vec<Met>,
    /// Whether each task is to be done.
    pub tasks: Vec<Truth>,
    /// Whether each warning is to be given.
    pub warnings: Vec<Truth>,
}

/// What became of a choice.
#[derive(Clone, PartialEq, Debug)]
pub struct Met {
    /// Whether its conditions hold.
    pub holds: Truth,
    /// Its first allowed alternative, by its place, where that is certain.
    pub way: Option<u8>,
    /// Whether it certainly has no allowed alternative.
    pub aside: bool,
    /// A choice that outranks it here.
    pub outranked_by: Option<ChoiceId>,
}

/// A gate that keeps a product from something.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Debug)]
pub enum Shutter {
    /// A gate of the rulebook, a label line among them.
    Gate(GateId),
    /// The grove is certified and the product is not of that class.
    Certified,
}

/// Whether a comparison is asked for as it stands, or its opposite.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Sense {
    /// As it stands.
    Asked,
    /// Its opposite.
    Refused,
}

impl Sense {
    /// Returns the other sense.
    pub fn turned(self) -> Self {
        match self {
            Sense::Asked => Sense::Refused,
            Sense::Refused => Sense::Asked,
        }
    }
}
