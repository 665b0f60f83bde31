//! Which clauses an item must have, and which it may have but once.
//!
//! Comes in: items. Goes out: findings. Which clauses an item can have at all is the grammar's to say.

use super::Checker;
use crate::problems::{Finding, Problem};
use crate::syntax::tree::{Clause, Item, ItemKind, Verb};

/// Returns the words by which a clause is known, and whether an item may have several of it.
fn word(clause: &Clause<'_>) -> (&'static str, bool) {
    match clause {
        Clause::Crop(_) => ("crop", false),
        Clause::Region(_) => ("region", false),
        Clause::Edition(_) => ("edition", false),
        Clause::InForce(..) => ("in-force", false),
        Clause::Season(..) => ("season", false),
        Clause::BuildsOn(..) => ("builds-on", false),
        Clause::SprayWindow(..) => ("window", false),
        Clause::Gaps(_) => ("gaps", false),
        Clause::Accuracy(_) => ("accuracy", true),
        Clause::Contact(_) => ("contact", false),
        Clause::Caution(_) => ("caution", true),
        Clause::Tightens => ("tightens", false),
        Clause::Because(_) => ("because", false),
        Clause::Cites(_) => ("cites", true),
        Clause::If(_) => ("if", false),
        Clause::Unless(_) => ("unless", false),
        Clause::Of(_) | Clause::Keys(_) => ("of", false),
        Clause::Recalled => ("recalled", false),
        Clause::Stage(_) => ("a stage", true),
        Clause::Value(_) | Clause::Holds(_) | Clause::Yields(_) => ("=", false),
        Clause::Kind(_) => ("kind", false),
        Clause::Range(..) => ("range", false),
        Clause::Ask(_) => ("ask", false),
        Clause::How(_) => ("how", false),
        Clause::Lasts(_) => ("lasts", false),
        Clause::Assume(..) => ("assume", false),
        Clause::DaysBegin(_) => ("days begin", false),
        Clause::ValidIf(_) => ("valid if", false),
        Clause::Gives(_) => ("gives", false),
        Clause::Between(_) => ("between", false),
        Clause::Beyond(_) => ("beyond", false),
        Clause::Otherwise(_) => ("otherwise", false),
        Clause::Row(..) => ("a row", true),
        Clause::Over(_) => ("over", false),
        Clause::WaitsFor(_) => ("waits for", false),
        Clause::Starts(_) => ("starts", false),
        Clause::Add(..) => ("add", true),
        Clause::Kept(..) => ("kept", false),
        Clause::Reset(_) => ("reset", false),
        Clause::Levels(_) => ("levels", false),
        Clause::BandRow(_) => ("a row", true),
        Clause::Active(_) => ("active", false),
        Clause::Group(_) => ("group", false),
        Clause::Contains(_) => ("contains", false),
        Clause::GoodAgainst(_) => ("against", true),
        Clause::Class(_) => ("class", false),
        Clause::Strength(..) => ("strength", true),
        Clause::Label(_) => ("label", true),
        Clause::Shuts(_) => ("shuts", true),
        Clause::HoldsTo(..) => ("holds", true),
        Clause::InHours(_) => ("in hours when", false),
        Clause::Aims(_) => ("against", true),
        Clause::Advise(_) => ("advise", false),
        Clause::OrElse(_) => ("or else", true),
        Clause::Outranks(_) => ("outranks", true),
        Clause::Within(_) => ("within", false),
        Clause::Recheck(_) => ("recheck", false),
        Clause::Do(_) => ("do", false),
        Clause::Says(_) => ("says", false),
        Clause::Statement(_) => ("a condition", false),
        Clause::Whenever(_) => ("whenever", false),
        Clause::Never(_) => ("never", true),
        Clause::Only(_) => ("only", false),
        Clause::PromisedTask(_) => ("task", true),
        Clause::With(_) => ("with", true),
        Clause::Take(_) => ("take", true),
        Clause::Expect(_) => ("expect", true),
        Clause::HoursFrom(_) => ("hours from", false),
        Clause::AsOf(_) => ("as-of", false),
    }
}

/// Returns the clauses that an item must have: of each list one at least. The second word is an example.
fn required(kind: ItemKind) -> &'static [(&'static [&'static str], &'static str)] {
    match kind {
        ItemKind::Scale => {
            &[(&["a stage"], "full-bloom  615 to 616  \"more than half of the flowers open\"")]
        }
        ItemKind::Observe => &[(&["kind"], "kind  share")],
        ItemKind::Table => {
            &[(&["of"], "of  temperature"), (&["gives"], "gives  duration"), (&["a row"], "15 °C  26 h")]
        }
        ItemKind::Tally => {
            &[(&["over"], "over  since 1 Jan"), (&["add"], "add  20 if warm-run at least 6 h")]
        }
        ItemKind::Band => &[(&["levels"], "levels  quiet, building, severe")],
        ItemKind::Product => &[(&["strength"], "strength  full  1200 ppm copper")],
        ItemKind::Gate => &[(&["shuts", "holds"], "shuts  copper")],
        ItemKind::Prefer => &[(&["in hours when"], "in hours when  delta-t from 2 °C to 8 °C")],
        ItemKind::Choice => &[(&["advise"], "advise  hold")],
        ItemKind::Task => &[(&["do"], "do  \"Cut out and burn blighted panicles\"")],
        ItemKind::Warning => &[(&["says"], "says  \"Rain is forecast\"")],
        ItemKind::Always => &[(&["a condition"], "night-low at most day-high")],
        ItemKind::Promise => &[
            (&["whenever"], "whenever  flowers-open at least 50 %"),
            (&["never", "only", "task"], "never  copper"),
        ],
        ItemKind::Worked => &[(&["expect"], "expect  copper at reduced")],
        ItemKind::Setting => &[(&["take"], "take  heat-ahead 27 °C")],
        ItemKind::Rulebook
        | ItemKind::Source
        | ItemKind::Disease
        | ItemKind::Figure
        | ItemKind::Hourly
        | ItemKind::Daily
        | ItemKind::Measure
        | ItemKind::Caution => &[],
    }
}

impl<'a> Checker<'a> {
    /// Reports clauses that stand twice and clauses that are missing.
    pub(super) fn clauses(&mut self, item: &'a Item<'a>) {
        if item.verb == Verb::Omit {
            return;
        }
        let mut seen: Vec<(&'static str, crate::source::Span)> =
            Vec::with_capacity(item.clauses.len().min(16));
        for clause in &item.clauses {
            let (word, several) = word(&clause.value);
            match seen.iter().find(|(before, _)| *before == word) {
                None => seen.push((word, clause.span)),
                Some(_) if several => {}
                Some((_, before)) => {
                    let help = match word {
                        "if" | "unless" => "join the two conditions with `and` or `or`",
                        "because" => "say it all in one `because`",
                        _ => "leave one of them out",
                    };
                    self.problems.push(
                        Problem::new(
                            Finding::DefinedTwice,
                            clause.span,
                            format!("`{word}` stands twice in {}", named(item)),
                        )
                        .related(*before, "it already stands here")
                        .help(help),
                    );
                }
            }
        }
        for (words, example) in required(item.kind) {
            if !seen.iter().any(|(word, _)| words.contains(word)) {
                let missing: Vec<String> = words
                    .iter()
                    .map(
                        |word| if word.starts_with("a ") { (*word).to_string() } else { format!("`{word}`") },
                    )
                    .collect();
                let at = item.name.map_or(item.word, |name| item.word.to(name.span));
                let message =
                    format!("{} has no {}", named(item), missing.join(" and no ").replace("no a ", "no "));
                let message = message.replace("has no a ", "has no ");
                self.problems.push(
                    Problem::new(Finding::Syntax, at, message).help(format!("add a line: `{example}`")),
                );
            }
        }
    }
}

/// Returns an item as messages name it, `gate copper-on-open-bloom`.
pub(super) fn named(item: &Item<'_>) -> String {
    match (&item.name, &item.label) {
        (Some(name), _) => format!("{} `{}`", item.kind.word(), name.value),
        (None, Some(title)) => format!("{} `{}`", item.kind.word(), title.value),
        (None, None) => item.kind.word().to_string(),
    }
}
