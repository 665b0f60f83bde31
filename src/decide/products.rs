//! Which products are allowed, and up to which strength.

use super::Rules;
use crate::plan::{NameId, ProductId};
use crate::situation::CellSet;
use crate::trace::{Shutter, Truth};

/// What the gates of today leave of a product.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct Allowed {
    /// Whether it is shut.
    pub shut: Truth,
    /// The strongest strength that is left in every state of the world, by its place; it may be shut besides.
    pub surely_up_to: u8,
    /// The strongest strength that is left in some state of the world.
    pub perhaps_up_to: u8,
}

impl Allowed {
    /// Weighs all gates of a product.
    pub fn of(rules: &Rules, product: ProductId, gates: &[Truth], cells: &[CellSet]) -> Self {
        let mut allowed = Allowed { shut: Truth::No, surely_up_to: u8::MAX, perhaps_up_to: u8::MAX };
        let Some(product) = rules.products.get(product.index()) else { return allowed };
        for shutter in &product.shut_by {
            allowed.shut = allowed.shut.max(speaks(*shutter, gates));
        }
        for (gate, strength) in &product.held_by {
            match gates.get(gate.index()) {
                Some(Truth::Yes) => {
                    allowed.surely_up_to = allowed.surely_up_to.min(*strength);
                    allowed.perhaps_up_to = allowed.perhaps_up_to.min(*strength);
                }
                Some(Truth::Open) => allowed.surely_up_to = allowed.surely_up_to.min(*strength),
                Some(Truth::No) | None => {}
            }
        }
        for (_, name) in &product.fits {
            allowed.fit(cells.get(name.index()));
        }
        allowed
    }

    /// Takes account of the strongest strength that fits a cap: cell 0 is none, cell 1 the weakest strength.
    fn fit(&mut self, fitting: Option<&CellSet>) {
        let Some(cells) = fitting else { return };
        let (Some(least), Some(most)) = (cells.iter().next(), cells.iter().last()) else { return };
        if most == 0 {
            self.shut = Truth::Yes;
            return;
        }
        if least == 0 {
            self.shut = self.shut.max(Truth::Open);
        }
        let place = |cell: u16| u8::try_from(cell.saturating_sub(1)).unwrap_or(u8::MAX);
        self.surely_up_to = self.surely_up_to.min(place(least));
        self.perhaps_up_to = self.perhaps_up_to.min(place(most));
    }

    /// Returns the strengths that a dose can come out at, weakest first.
    pub fn strengths(&self, wanted: u8) -> impl Iterator<Item = u8> {
        wanted.min(self.surely_up_to)..=wanted.min(self.perhaps_up_to)
    }
}

/// Returns whether a shutter speaks.
pub fn speaks(shutter: Shutter, gates: &[Truth]) -> Truth {
    match shutter {
        Shutter::Gate(gate) => gates.get(gate.index()).copied().unwrap_or(Truth::No),
        Shutter::Certified => Truth::Yes,
    }
}

/// Returns the first name because of which something about a product is open.
pub fn open_name(rules: &Rules, product: ProductId, gates: &[Truth], cells: &[CellSet]) -> Option<NameId> {
    let product = rules.products.get(product.index())?;
    let shut = product.shut_by.iter().filter_map(|shutter| match shutter {
        Shutter::Gate(gate) => Some(*gate),
        Shutter::Certified => None,
    });
    let held = product.held_by.iter().map(|(gate, _)| *gate);
    let open = shut.chain(held).find(|gate| gates.get(gate.index()) == Some(&Truth::Open));
    open.and_then(|gate| rules.gates.get(gate.index())?.open_name(cells)).or_else(|| {
        product
            .fits
            .iter()
            .map(|(_, name)| *name)
            .find(|name| cells.get(name.index()).is_some_and(|set| set.only().is_none()))
    })
}
