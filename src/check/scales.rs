//! Lists of words: scales, the kinds of observations, the levels of bands.
//!
//! Comes in: such items. Goes out: word lists of the plan. Every scale makes a list, so that the lists of scales bear
//! the scales' numbers.

use super::units_of::Hint;
use super::{Checker, Made};
use crate::plan::{Kind, NameId, Place, Subject};
use crate::problems::{Finding, Problem};
use crate::syntax::tree::{Clause, Item, Name, Stage};

impl<'a> Checker<'a> {
    /// Lists the stages of a scale.
    pub(super) fn scale(&mut self, item: &'a Item<'a>) {
        let stages: Vec<&Stage<'a>> = item
            .clauses
            .iter()
            .filter_map(|clause| match &clause.value {
                Clause::Stage(stage) => Some(stage),
                _ => None,
            })
            .collect();
        let names: Vec<Name<'a>> = stages.iter().map(|stage| stage.name).collect();
        self.distinct(&names, "stage");
        self.codes(&stages);
        let words = stages.iter().map(|stage| {
            let label = stage.label.as_ref().map(|text| text.value.as_str().into());
            let codes = stage.codes.map(|(first, last)| (first.value, last.value));
            (stage.name.value, label, codes)
        });
        let name = item.name.map_or("", |name| name.value).into();
        self.word_list(name, true, words, item.span);
    }

    /// Says where the codes of a scale leave open which stage is meant.
    fn codes(&mut self, stages: &[&Stage<'a>]) {
        let mut coded = Vec::new();
        for stage in stages {
            let Some((first, last)) = stage.codes else { continue };
            if first.value > last.value {
                let message = format!("no code lies between `{}` and `{}`", first.value, last.value);
                self.problems.push(
                    Problem::new(Finding::OutOfRange, first.span.to(last.span), message)
                        .help("write the lower code first"),
                );
                continue;
            }
            coded.push((first.value, last.value, *stage, first.span.to(last.span)));
        }
        coded.sort_by_key(|(first, last, _, span)| (*first, *last, *span));
        let mut open: Option<(u32, &Stage<'a>, crate::source::Span)> = None;
        for (first, last, stage, span) in coded {
            if let Some((end, other, before)) = open.filter(|(end, _, _)| *end >= first) {
                let code = first.min(end);
                let message = format!(
                    "the code `{code}` is that of `{}` and of `{}`",
                    other.name.value, stage.name.value
                );
                self.problems.push(
                    Problem::new(Finding::DefinedTwice, span, message)
                        .related(before, format!("`{}` has it here", other.name.value))
                        .help("give each code to one stage"),
                );
            }
            if open.is_none_or(|(end, _, _)| last > end) {
                open = Some((last, stage, span));
            }
        }
    }

    /// Notes the kind and the place of an observation.
    pub(super) fn observed_kind(&mut self, id: NameId, item: &'a Item<'a>) {
        let (mut kind, mut place) = (None, Place::Tree);
        for clause in &item.clauses {
            match &clause.value {
                Clause::Kind(word) => kind = self.kind(word, clause.span),
                Clause::Of(of) => place = *of,
                _ => {}
            }
        }
        self.made.insert(Subject::Name(id), Made { kind, hint: Hint::Open });
        if let Some(name) = self.plan.names.get_mut(id.index()) {
            name.scope = place;
            name.kind = kind.unwrap_or(Kind::Number);
        }
    }

    /// Lists the levels of a band.
    pub(super) fn levels(&mut self, id: NameId, item: &'a Item<'a>) {
        let levels = item.clauses.iter().find_map(|clause| match &clause.value {
            Clause::Levels(levels) => Some((levels, clause.span)),
            _ => None,
        });
        let Some((levels, span)) = levels else { return };
        if self.distinct(levels, "level").is_none() {
            return;
        }
        if levels.len() < 2 {
            let message = "a band grades nothing with one level";
            self.problems.push(
                Problem::new(Finding::OutOfRange, span, message)
                    .help("name two at least: `levels quiet, building`"),
            );
        }
        let name = item.name.map_or("", |name| name.value).into();
        let Some(list) = self.word_list(name, true, levels.iter().map(|it| (it.value, None, None)), span)
        else {
            return;
        };
        self.made.insert(Subject::Name(id), Made { kind: Some(Kind::Words(list)), hint: Hint::Open });
        if let Some(name) = self.plan.names.get_mut(id.index()) {
            name.kind = Kind::Words(list);
        }
    }
}
