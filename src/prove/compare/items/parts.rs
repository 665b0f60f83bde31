//! What the parts of items mean: a value, what a gate shuts, a dose, an alternative, what an example expects.

use super::meanings::{Reader, Reading, amount_meaning, hash, sorted};
use crate::plan::{Datum, Expected, Meaning, ProductId, Shut, TakenValue, Way};

impl Reader<'_, '_> {
    pub(crate) fn datum(&self, datum: Datum) -> Meaning {
        match datum {
            Datum::Number(number) => hash((0u8, number.to_bits())),
            Datum::Word(place) => hash((1u8, place)),
            Datum::Text(text) => hash((2u8, self.plan.texts.get(text.0 as usize))),
        }
    }

    pub(crate) fn taken(&self, value: &TakenValue) -> Meaning {
        match value {
            TakenValue::One(datum) => hash((0u8, self.datum(*datum))),
            TakenValue::FromTo(low, high) => hash((1u8, self.datum(*low), self.datum(*high))),
            TakenValue::Unknown => 2,
            TakenValue::Empty => 3,
        }
    }

    pub(crate) fn shut(&self, shut: &Shut) -> Meaning {
        let plan = self.plan;
        match shut {
            Shut::Spraying => 7,
            Shut::Group(group) => hash((1u8, group)),
            Shut::Product(product) => hash((2u8, &plan[*product].name)),
            Shut::Mix(a, b) => {
                let mut names = [&plan[*a].name, &plan[*b].name];
                names.sort();
                hash((3u8, names))
            }
        }
    }

    pub(crate) fn dose(&self, product: ProductId, at: u8) -> Meaning {
        let of = &self.plan[product];
        match self.reading {
            Reading::Meant => hash((&of.name, amount_meaning(of, at))),
            Reading::Written => {
                hash((&of.name, of.strengths.get(usize::from(at)).map(|strength| &strength.name)))
            }
        }
    }

    pub(crate) fn way(&self, way: &Way) -> Meaning {
        match way {
            Way::Hold => 5,
            Way::Spray(doses) => sorted(doses.iter().map(|(it, at)| self.dose(*it, *at)).collect())
                .into_iter()
                .fold(11, |all, it| hash((all, it))),
        }
    }

    pub(crate) fn expected(&self, expected: &Expected) -> Meaning {
        let plan = self.plan;
        match expected {
            Expected::Spray(doses) => self.way(&Way::Spray(doses.clone())),
            Expected::By(choice) => hash((1u8, &plan[*choice].name)),
            Expected::ShutBy(product, gates) => {
                let gates: Vec<_> = gates.iter().map(|it| &plan[*it].name).collect();
                hash((2u8, &plan[*product].name, gates))
            }
            Expected::Allowed(product) => hash((3u8, &plan[*product].name)),
            Expected::Task(at) => hash((4u8, plan.tasks.get(*at).map(|it| &it.name))),
            Expected::Warning(at) => hash((5u8, plan.warnings.get(*at).map(|it| &it.name))),
            Expected::Verdict(word) => hash((6u8, format!("{word:?}"))),
            Expected::Is(name, value, within) => {
                hash((7u8, &plan[*name].word, self.taken(value), within.map(f64::to_bits)))
            }
            Expected::TableIs(table, keys, value, within) => {
                let keys: Vec<Meaning> = keys.iter().map(|key| self.datum(*key)).collect();
                hash((8u8, &plan[*table].name, keys, self.taken(value), within.map(f64::to_bits)))
            }
        }
    }
}
