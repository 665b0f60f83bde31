//! What can be sprayed: products with their label lines, and how much goes into a tank.

use super::Bulletin;
use crate::plan::{AmountOf, Class, Goodness, LabelLine, Product, ProductId, Strength};
use crate::report::paper::Piece;
use crate::sprayday::{shown_mass, shown_volume};
use crate::units::{Dimension, clean, show};

/// The tanks for which amounts are printed: how many of a unit.
const TANKS: [(f64, &str); 6] =
    [(1.0, "L"), (15.0, "L"), (100.0, "L"), (1.0, "gal"), (4.0, "gal"), (100.0, "gal")];

impl Bulletin<'_> {
    /// Returns the products, each with all that is to be kept to.
    pub(super) fn products(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for (at, product) in self.plan().products.iter().enumerate() {
            pieces.push(self.item(&product.label, self.product(ProductId(at as u32), product)));
        }
        if !pieces.is_empty() {
            pieces.push(Piece::Text(self.say("guide.products.label", &[])));
        }
        pieces
    }

    fn product(&self, id: ProductId, product: &Product) -> Vec<String> {
        let mut says = Vec::new();
        let mut add = |key: &str, value: &str| says.push(self.say(key, &[("value", value)]));
        product.cautions.iter().for_each(|caution| add("guide.caution", caution));
        product.active.iter().for_each(|active| add("guide.active", active));
        if !product.groups.is_empty() {
            add(
                "guide.groups",
                &product.groups.iter().map(|it| it.to_string()).collect::<Vec<_>>().join(", "),
            );
        }
        let against: Vec<String> = product
            .against
            .iter()
            .map(|(disease, goodness)| {
                let key = match goodness {
                    Goodness::Good => "guide.good",
                    Goodness::Moderate => "guide.moderate",
                    Goodness::Slight => "guide.slight",
                };
                self.say(key, &[("disease", &self.plan()[*disease].label)])
            })
            .collect();
        if !against.is_empty() {
            add("guide.against", &against.join(", "));
        }
        match product.class {
            Some(Class::Organic) => add("guide.organic", ""),
            Some(Class::Restricted) => add("guide.restricted", ""),
            None => {}
        }
        let strengths: Vec<String> = (0..product.strengths.len())
            .filter_map(|at| Some((at, product.strengths.get(at)?)))
            .map(|(at, strength)| {
                let amount = self.in_both(strength);
                self.say(
                    "guide.strength",
                    &[("dose", &self.words.strength(id, at as u8)), ("amount", &amount)],
                )
            })
            .collect();
        add("guide.strengths", &strengths.join("; "));
        // A line that keeps two products apart is a gate for each of them and for both in one tank.
        let mut lines: Vec<&LabelLine> = Vec::new();
        for line in self.plan().gates.iter().filter_map(|gate| gate.line.as_ref()) {
            if line.product == id && !lines.contains(&line) {
                lines.push(line);
            }
        }
        for line in lines {
            let words = match line.other {
                Some(_) => self.words.label_asks(line).unwrap_or_default(),
                None => self.words.label_line(line.word, &line.limit),
            };
            add("guide.label", &words);
        }
        if let Some(hours) = product.re_entry {
            add("guide.re-entry", &clean(hours).to_string());
        }
        says.extend(self.why(&product.why));
        says
    }

    fn in_both(&self, strength: &Strength) -> String {
        let amount = &strength.amount;
        let kind = crate::plan::Kind::Quantity(amount.unit.dimension);
        if amount.of == AmountOf::Ingredient {
            return amount.written.to_string();
        }
        self.words.in_other_system(kind, &amount.unit, amount.quantity, amount.written.to_string())
    }

    /// Returns how much of each strength goes into the usual tanks.
    pub(super) fn tanks(&self) -> Vec<Piece> {
        let mut head = vec![self.say("guide.tank.strength", &[])];
        head.extend(TANKS.iter().map(|(count, unit)| format!("{count} {unit}")));
        let mut rows = Vec::new();
        let mut of_ingredient = false;
        for (at, product) in self.plan().products.iter().enumerate() {
            for (place, strength) in product.strengths.iter().enumerate() {
                let amounts: Option<Vec<String>> =
                    TANKS.iter().map(|(count, unit)| in_tank(strength, *count, unit)).collect();
                let Some(amounts) = amounts else { continue };
                let mut row = vec![self.words.dose(ProductId(at as u32), place as u8)];
                if let (AmountOf::Ingredient, Some(ingredient)) = (strength.amount.of, &product.contains) {
                    of_ingredient = true;
                    let ingredient = self.words.ingredient(ingredient);
                    row = vec![
                        self.say("guide.tank.of", &[("dose", &row.join("")), ("ingredient", &ingredient)]),
                    ];
                }
                row.extend(amounts);
                rows.push(row);
            }
        }
        if rows.is_empty() {
            return Vec::new();
        }
        let mut pieces = vec![Piece::Table(head, rows)];
        if of_ingredient {
            pieces.push(Piece::Text(self.say("guide.tank.ingredient", &[])));
        }
        pieces.push(Piece::Text(self.say("guide.tank.label", &[])));
        pieces
    }
}

/// Returns how much of a strength goes into a tank, in the system of the tank's unit and rounded down as a scale or cup shows
/// it; nothing of a strength by area.
fn in_tank(strength: &Strength, count: f64, unit: &str) -> Option<String> {
    let volume = count * crate::units::plain(unit)?.factor;
    let amount = strength.amount.quantity * volume;
    let (shown, least) = match strength.amount.unit.dimension {
        Dimension::CONCENTRATION => (shown_mass(amount), "g"),
        Dimension::NONE => (shown_volume(amount / 1e3), "mL"),
        _ => return None,
    };
    let own = if unit == "gal" { shown.last() } else { shown.first() }?;
    if own.number > 0.0 {
        return Some(own.figure());
    }
    // What no scale shows is said as it is.
    Some(show(amount / crate::units::plain(least)?.factor, least))
}
