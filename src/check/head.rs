//! The head of a rulebook: its own clauses, and those that it inherits from its bases.
//!
//! Comes in: the heads of all layers. Goes out: the plan's head, and findings about heads.

use super::clauses::named;
use super::overlay::{Book, called_at};
use super::{Checker, Layer};
use crate::plan::{Head, Kind, Series};
use crate::problems::{Finding, Problem};
use crate::source::Span;
use crate::syntax::tree::{Clause, Item, Text};
use crate::units::{self, Dimension};
use std::sync::Arc;

impl<'a> Checker<'a> {
    /// Checks the heads of all layers, and makes the plan's of them.
    pub(super) fn heads(&mut self, layers: &[Layer<'a>], book: &Book<'a>) {
        let mut head = Head::default();
        let mut edition_below: Option<Arc<str>> = None;
        for (at, layer) in layers.iter().enumerate() {
            let broken = book.broken_heads.get(at).copied().unwrap_or_default();
            let Some(item) = book.heads.get(at).copied().flatten() else {
                if !broken {
                    let start = Span::new(layer.source, 0, 0);
                    self.problems.push(
                        Problem::new(Finding::Syntax, start, "this rulebook has no head").help(
                            "begin the file with `rulebook \"Title\"` and its clauses, `caution` among them",
                        ),
                    );
                }
                continue;
            };
            self.clauses(item);
            // These are every file's own; all else is inherited.
            head.edition = None;
            head.in_force = None;
            let cautions_below = std::mem::take(&mut head.cautions);
            head.builds_on = None;
            head.tightens = false;
            head.span = item.span;
            head.title = item.label.as_ref().map_or("".into(), |title| title.value.as_str().into());
            for clause in &item.clauses {
                self.head_clause(&clause.value, &mut head);
            }
            let own = std::mem::take(&mut head.cautions);
            head.cautions = self.cautions(item, at, cautions_below, own, book);
            if at == 0
                && let Some(clause) = item.clauses.iter().find(|it| matches!(it.value, Clause::Tightens))
            {
                self.problems.push(
                    Problem::new(
                        Finding::Syntax,
                        clause.span,
                        "this rulebook builds on nothing that it could tighten",
                    )
                    .help("leave `tightens` out, or name the base: `builds-on \"base.rulebook\"`"),
                );
            }
            self.base_edition(item, edition_below.as_ref(), at, book);
            edition_below = head.edition.clone();
        }
        self.plan.head = head;
    }

    /// Warns where the base bears another edition than the overlay names.
    fn base_edition(&mut self, item: &Item<'_>, bears: Option<&Arc<str>>, layer: usize, book: &Book<'a>) {
        let named_edition = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::BuildsOn(_, Some(edition)) => Some((edition, clause.span)),
            _ => None,
        });
        let Some((edition, span)) = named_edition.filter(|_| layer > 0) else { return };
        if bears.is_some_and(|bears| **bears == *edition.value) {
            return;
        }
        let now = match bears {
            Some(bears) => format!("now bears edition `{bears}`"),
            None => "bears no edition".to_string(),
        };
        let message = format!("this was written for edition `{}` of its base, which {now}", edition.value);
        let changes = book.changes.iter().filter(|change| change.layer == layer);
        let mut problem = Problem::new(Finding::BaseChanged, span, message);
        let mut names = Vec::new();
        for change in changes {
            let (verb, name) = (change.item.verb, named(change.item));
            let says = if verb == crate::syntax::tree::Verb::Omit { "left out" } else { "replaced" };
            names.push(format!("{name} ({says})"));
            problem = problem
                .related(called_at(change.item), format!("{says} here, and may have changed in the base"));
        }
        let help = if names.is_empty() {
            "see whether this file still fits its base, then name the new edition".to_string()
        } else {
            format!(
                "see whether these have changed in the base, then name its new edition: {}",
                names.join(", ")
            )
        };
        self.problems.push(problem.help(help));
    }

    fn head_clause(&mut self, clause: &Clause<'a>, head: &mut Head) {
        let shared = |text: &Text| -> Arc<str> { text.value.as_str().into() };
        match clause {
            Clause::Crop(name) => head.crop = Some(name.value.into()),
            Clause::Region(text) => head.region = Some(shared(text)),
            Clause::Edition(text) => head.edition = Some(shared(text)),
            Clause::InForce(from, to) => {
                let (first, last) = (self.date(*from), self.date(*to));
                if let (Some(first), Some(last)) = (first, last) {
                    if first > last {
                        let message = "this rulebook goes out of force before it comes into force";
                        self.problems.push(
                            Problem::new(Finding::OutOfRange, from.span.to(to.span), message)
                                .help(format!("write `in-force from {last} to {first}`")),
                        );
                    }
                    head.in_force = Some((first, last));
                }
            }
            Clause::Season(from, to) => {
                if let (Some(first), Some(last)) = (self.day_of_year(*from), self.day_of_year(*to)) {
                    head.season = (first, last);
                }
            }
            Clause::BuildsOn(path, edition) => {
                head.builds_on = Some((shared(path), edition.as_ref().map(shared)));
            }
            Clause::SprayWindow(length, within) => {
                if let (Some(hours), Some(ahead)) = (self.duration(length), self.duration(within)) {
                    if hours > ahead || hours <= 0.0 {
                        let message = "no spray window of this length lies within that time";
                        self.problems.push(
                            Problem::new(Finding::OutOfRange, length.span.to(within.span), message)
                                .help("write the length first: `window at least 2 h within 72 h`"),
                        );
                    }
                    head.window = (hours, ahead);
                }
            }
            Clause::Gaps(share) => {
                if let Some((value, _)) = self.quantity(share, Kind::Share) {
                    if !(0.0..=1.0).contains(&value) {
                        let message = "a share of hours lies between 0 % and 100 %";
                        self.problems.push(Problem::new(Finding::OutOfRange, share.span, message));
                    }
                    head.gaps = value;
                }
            }
            Clause::Accuracy(list) => self.accuracy(list, head),
            Clause::Contact(text) => head.contact = Some(shared(text)),
            Clause::Caution(text) => head.cautions.push(shared(text)),
            Clause::Tightens => head.tightens = true,
            _ => {}
        }
    }

    fn accuracy(
        &mut self,
        list: &[(crate::syntax::tree::Name<'a>, crate::syntax::tree::Quantity<'a>)],
        head: &mut Head,
    ) {
        for (name, quantity) in list {
            let Some((series, _)) = Series::ALL.iter().find(|(_, word)| *word == name.value) else {
                let near = problems_nearest(name.value);
                let message = format!("there is no weather series `{}`", name.value);
                self.problems.push(
                    Problem::new(Finding::UnknownName, name.span, message)
                        .maybe_help(near.map(|near| format!("did you mean `{near}`?"))),
                );
                continue;
            };
            let kind = match series.kind() {
                Kind::Temperature => Kind::Quantity(Dimension::TEMPERATURE),
                kind @ (Kind::Share | Kind::Quantity(_)) => kind,
                _ => {
                    let message =
                        format!("`{}` is not read from an instrument that could be off", name.value);
                    self.problems.push(Problem::new(Finding::KindMismatch, name.span, message));
                    continue;
                }
            };
            if let Some((amount, unit)) = self.quantity(quantity, kind) {
                if amount < 0.0 {
                    let message = format!("`{}` is off by no less than nothing", units::clean(amount));
                    self.problems.push(Problem::new(Finding::OutOfRange, quantity.span, message));
                }
                head.accuracy.retain(|(known, ..)| known != series);
                head.accuracy.push((*series, amount, unit));
            }
        }
    }
}

fn problems_nearest(word: &str) -> Option<&'static str> {
    crate::problems::nearest(word, Series::ALL.iter().map(|(_, word)| *word))
}
