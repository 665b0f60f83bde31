//! The rules of `grammar/rulebook.pest` as types, and which of them reads which item.
//!
//! Knows no tree.

use super::tree::ItemKind;
use pest::Parser;
use pest::error::Error;
use pest::iterators::Pairs;

/// The reader that the grammar describes.
#[derive(pest_derive::Parser)]
#[grammar = "grammar/rulebook.pest"]
struct GrammarReader;

/// Reads a text by a rule.
pub(super) fn read(rule: Rule, text: &str) -> Result<Pairs<'_, Rule>, Error<Rule>> {
    GrammarReader::parse(rule, text)
}

/// Returns the rule that reads an item of a kind from its first word on.
pub(super) fn item_rule(kind: ItemKind) -> Rule {
    match kind {
        ItemKind::Rulebook => Rule::rulebook,
        ItemKind::Source => Rule::source,
        ItemKind::Disease => Rule::disease,
        ItemKind::Scale => Rule::scale,
        ItemKind::Figure => Rule::figure,
        ItemKind::Observe => Rule::observe,
        ItemKind::Hourly => Rule::hourly,
        ItemKind::Daily => Rule::daily,
        ItemKind::Measure => Rule::measure,
        ItemKind::Table => Rule::table,
        ItemKind::Tally => Rule::tally,
        ItemKind::Band => Rule::band,
        ItemKind::Product => Rule::product,
        ItemKind::Gate => Rule::gate,
        ItemKind::Prefer => Rule::prefer,
        ItemKind::Choice => Rule::choice,
        ItemKind::Task => Rule::task,
        ItemKind::Warning => Rule::warning,
        ItemKind::Always => Rule::always,
        ItemKind::Promise => Rule::promise,
        ItemKind::Worked => Rule::worked,
        ItemKind::Setting => Rule::setting,
        ItemKind::Caution => Rule::omit,
    }
}

/// Returns the rule that reads the clauses of an item of a kind without its head, if it has clauses.
pub(super) fn rest_rule(kind: ItemKind, item: &str) -> Option<Rule> {
    Some(match kind {
        ItemKind::Rulebook => Rule::rulebook_rest,
        ItemKind::Source => Rule::source_rest,
        ItemKind::Disease | ItemKind::Caution => return None,
        ItemKind::Scale => Rule::scale_rest,
        ItemKind::Figure => Rule::figure_rest,
        ItemKind::Observe => Rule::observe_rest,
        ItemKind::Hourly => Rule::hourly_rest,
        ItemKind::Daily => Rule::daily_rest,
        ItemKind::Measure => Rule::measure_rest,
        ItemKind::Table if read(Rule::of_text_ahead, item).is_ok() => Rule::text_table_rest,
        ItemKind::Table => Rule::table_rest,
        ItemKind::Tally => Rule::tally_rest,
        ItemKind::Band => Rule::band_rest,
        ItemKind::Product => Rule::product_rest,
        ItemKind::Gate => Rule::gate_rest,
        ItemKind::Prefer => Rule::prefer_rest,
        ItemKind::Choice => Rule::choice_rest,
        ItemKind::Task => Rule::task_rest,
        ItemKind::Warning => Rule::warning_rest,
        ItemKind::Always => Rule::always_rest,
        ItemKind::Promise => Rule::promise_rest,
        ItemKind::Worked => Rule::worked_rest,
        ItemKind::Setting => Rule::setting_rest,
    })
}
