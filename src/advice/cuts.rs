//! How finely each name is told apart where what is not known is split.

use crate::measure::Inputs;
use crate::plan::{Compare, Datum, Kind, NameId, Pattern, Plan, TextId};
use crate::situation::{Axis, Cells};

/// Returns for each name its range, cut by all constants that its value meets, also through copies.
pub(super) fn cuts(plan: &Plan, inputs: &Inputs) -> Vec<Axis> {
    let tabled = Compare::Texts(texts_of_tables(plan));
    let of_name = |(id, name): (NameId, &crate::plan::Name)| {
        // What a table names is told apart, too: a text that no condition names may have a row of its own.
        let keyed = name.kind == Kind::Text && inputs.is_a_key(id);
        let compares: Vec<&Compare> = inputs.cuts(id).chain(keyed.then_some(&tabled)).collect();
        Axis::new(plan, name.kind, &compares, matches!(name.kind, Kind::Count | Kind::Date))
    };
    plan.named().map(of_name).collect()
}

/// Returns the texts that rows of tables are looked up with.
fn texts_of_tables(plan: &Plan) -> Vec<TextId> {
    let patterns = plan.tables.iter().flat_map(|table| &table.rows).flat_map(|row| &row.patterns);
    let mut texts: Vec<TextId> = patterns
        .filter_map(|pattern| if let Pattern::Is(Datum::Text(text)) = pattern { Some(*text) } else { None })
        .collect();
    texts.sort();
    texts.dedup();
    texts
}

/// Returns for each name of words the classes of words that no comparison tells apart; none where a table looks the
/// word itself up.
pub(super) fn classes(plan: &Plan, inputs: &Inputs, cuts: &[Axis]) -> Vec<Vec<u64>> {
    let of_name = |(id, axis): (NameId, &Axis)| {
        let Axis::Words(count) = axis else { return Vec::new() };
        if inputs.is_a_key(id) || !matches!(plan[id].kind, Kind::Words(_)) {
            return Vec::new();
        }
        let tests: Vec<Cells> = inputs.cuts(id).map(|compare| axis.holds(compare)).collect();
        let mut classes: Vec<(Vec<bool>, u64)> = Vec::new();
        for word in 0..*count {
            let holds: Vec<bool> = tests.iter().map(|test| test.contains(word)).collect();
            match classes.iter_mut().find(|(known, _)| *known == holds) {
                Some((_, class)) => *class |= 1 << word,
                None => classes.push((holds, 1 << word)),
            }
        }
        classes.into_iter().map(|(_, class)| class).collect()
    };
    (0..).map(NameId).zip(cuts).map(of_name).collect()
}
