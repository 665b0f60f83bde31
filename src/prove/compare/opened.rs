//! What gates let through that they shut, though none of their own words changed.

use super::pair::Pair;
use crate::plan::{GateId, ProductId};
use crate::situation::Set;
use crate::trace::Shutter;

/// A gate that in some situations no longer shuts products, which no other gate shuts there either.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct Opened {
    /// The gate.
    pub gate: String,
    /// What may be sprayed there now, as far as gates go.
    pub products: Vec<String>,
}

impl Pair<'_> {
    /// Returns the gates of both rulebooks that let something through.
    pub(crate) fn opened(&mut self) -> Vec<Opened> {
        let books = self.space.books.clone();
        let (old, new) = (books[0].plan, books[1].plan);
        let mut found = Vec::new();
        for (at, gate) in old.gates.iter().enumerate().filter(|(_, it)| it.line.is_none()) {
            let Some(now) = new.gates.iter().position(|it| it.name == gate.name) else { continue };
            let [was, now] = [(0, at), (1, now)].map(|(book, at): (usize, usize)| {
                self.meanings[book].speaks.gates.get(at).copied().unwrap_or(Set::NONE)
            });
            let gone = self.space.diagrams.without(was, now);
            if gone.is_none() {
                continue;
            }
            let mut products = Vec::new();
            for (id, product) in old.products.iter().enumerate() {
                let Some(other) = new.product(&product.name) else { continue };
                let shut = |book: usize, id: ProductId| {
                    let shut_by =
                        books[book].rules.products.get(id.index()).map_or(&[][..], |it| &it.shut_by);
                    shut_by.iter().filter_map(|it| match it {
                        Shutter::Gate(gate) => Some(*gate),
                        Shutter::Certified => None,
                    })
                };
                if !shut(0, ProductId(id as u32)).any(|it: GateId| it.index() == at) {
                    continue;
                }
                let speaks = &self.meanings[1].speaks.gates;
                let still: Vec<Set> =
                    shut(1, other).filter_map(|it| speaks.get(it.index()).copied()).collect();
                let still = self.space.diagrams.any(still);
                let open = self.space.diagrams.without(gone, still);
                if !open.is_none() && self.space.witness(&[open]).is_some() {
                    products.push(product.name.to_string());
                }
            }
            if !products.is_empty() {
                found.push(Opened { gate: gate.name.to_string(), products });
            }
        }
        found
    }
}
