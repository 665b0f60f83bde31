//! The items of a rulebook that statements are of.

use crate::plan::{ChoiceId, DailyId, FigureId, GateId, HourlyId, NameId, Origin, Plan, ProductId, TableId};

/// An item of the rulebook.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub enum Item {
    /// None that has a name: a comparison on the weather of an hour.
    None,
    /// A choice.
    Choice(ChoiceId),
    /// A gate or a label line.
    Gate(GateId),
    /// A product.
    Product(ProductId),
    /// The certificate of the grove.
    Certified,
    /// A task, by its place.
    Task(usize),
    /// A warning, by its place.
    Warning(usize),
    /// A name: an observation, a measure, a tally, a band, the cultivar.
    Name(NameId),
    /// A named constant.
    Figure(FigureId),
    /// A table.
    Table(TableId),
    /// An `hourly`.
    Hourly(HourlyId),
    /// A `daily`.
    Daily(DailyId),
    /// The range in which a measure is valid.
    ValidIf,
}

impl Item {
    /// Returns the item as the rulebook writes it: `choice sulfur-in-bloom`, `measure night-low`.
    pub fn written(self, plan: &Plan) -> String {
        let named =
            |kind: &str, name: Option<&str>| name.map_or_else(String::new, |it| format!("{kind} {it}"));
        match self {
            Item::None => String::new(),
            Item::Choice(id) => named("choice", plan.choices.get(id.index()).map(|it| &*it.name)),
            Item::Gate(id) => match plan.gates.get(id.index()) {
                Some(gate) if gate.line.is_some() => gate.name.to_string(),
                gate => named("gate", gate.map(|it| &*it.name)),
            },
            Item::Product(id) => named("product", plan.products.get(id.index()).map(|it| &*it.name)),
            Item::Certified => "certified organic".to_string(),
            Item::Task(at) => named("task", plan.tasks.get(at).map(|it| &*it.name)),
            Item::Warning(at) => named("warning", plan.warnings.get(at).map(|it| &*it.name)),
            Item::Name(id) => {
                let Some(item) = plan.names.get(id.index()) else { return String::new() };
                let kind = match &item.origin {
                    Origin::Observed(_) => "observe",
                    Origin::Measure(_) if !item.hidden => "measure",
                    Origin::Tally(_) => "tally",
                    Origin::Band(_) => "band",
                    Origin::Measure(_) | Origin::Cultivar | Origin::Block | Origin::Date => {
                        return item.word.to_string();
                    }
                };
                format!("{kind} {}", item.word)
            }
            Item::Figure(id) => named("figure", plan.figures.get(id.index()).map(|it| &*it.name)),
            Item::Table(id) => named("table", plan.tables.get(id.index()).map(|it| &*it.name)),
            Item::Hourly(id) => named("hourly", plan.hourlies.get(id.index()).map(|it| &*it.name)),
            Item::Daily(id) => named("daily", plan.dailies.get(id.index()).map(|it| &*it.name)),
            Item::ValidIf => "valid if".to_string(),
        }
    }
}
