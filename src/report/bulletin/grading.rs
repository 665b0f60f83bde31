//! What to look at, and how weather, cultivar and log are graded: observations, bands, tables, measures.

use super::Bulletin;
use crate::plan::{
    CellValue, Expr, Kind, Name, NameId, Origin, Pattern, Table, TableRow, Word, WordList, Yields,
};
use crate::report::paper::Piece;
use crate::source::Span;
use crate::trace::Sense;
use crate::units::{Threshold, Unit};

impl Bulletin<'_> {
    /// Returns what a person looks at: the question, how to look, how long it counts, the words of the answer.
    pub(super) fn looks(&self) -> Vec<Piece> {
        let one = |(_, name, observed): (NameId, &Name, &crate::plan::Observation)| {
            let mut says: Vec<String> = observed.ask.iter().map(|ask| ask.to_string()).collect();
            says.extend(observed.how.iter().map(|how| self.say("guide.look.how", &[("how", how)])));
            if let Some(hours) = observed.lasts {
                let days = crate::units::clean(hours / 24.0).to_string();
                says.push(self.say("guide.look.lasts", &[("days", &days)]));
            }
            says.extend(self.why(&name.why));
            let mut pieces = vec![self.item(&name.label, says)];
            pieces.extend(name.kind.list().map(|list| self.scale(&self.plan()[list])));
            pieces
        };
        self.plan().observations().flat_map(one).collect()
    }

    /// Returns the words of an answer, with the codes of the standard scale where they have some.
    fn scale(&self, list: &WordList) -> Piece {
        let coded = list.words.iter().any(|word| word.codes.is_some());
        let row = |word: &Word| {
            let codes = word.codes.map(|codes| match codes {
                (from, to) if from == to => from.to_string(),
                (from, to) => format!("{from}–{to}"),
            });
            let mut row = vec![word.shown.to_string()];
            row.extend(coded.then(|| codes.unwrap_or_else(|| String::from("–"))));
            row.push(word.label.to_string());
            row
        };
        let mut head = vec![self.say("guide.look.word", &[])];
        head.extend(coded.then(|| self.say("guide.look.code", &[])));
        head.push(self.say("guide.look.meaning", &[]));
        Piece::Table(head, list.words.iter().map(row).collect())
    }

    /// Returns the bands as tables, each level with what leads to it.
    pub(super) fn grades(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for name in &self.plan().names {
            let Origin::Band(band) = &name.origin else { continue };
            let level = |at: u16| self.words.word(name.kind, at);
            let mut rows = vec![vec![level(0), self.say("guide.grade.else", &[])]];
            for row in &band.rows {
                let key = if row.caps { "guide.grade.caps" } else { "guide.grade.raises" };
                let mut when = self.words.condition(&row.condition, Sense::Asked);
                for why in self.why(&row.why) {
                    when = self.say("guide.grade.why", &[("when", &when), ("why", &why)]);
                }
                rows.push(vec![self.say(key, &[("level", &level(row.level))]), when]);
            }
            let head = vec![self.say("guide.grade.level", &[]), self.say("guide.grade.if", &[])];
            pieces.push(self.item(&name.label, self.why(&name.why)));
            pieces.push(Piece::Table(head, rows));
            pieces.push(Piece::Gap);
        }
        pieces
    }

    /// Returns the tables of the rulebook.
    pub(super) fn tables(&self) -> Vec<Piece> {
        let mut pieces = Vec::new();
        for table in &self.plan().tables {
            let mut rows: Vec<Vec<String>> = table.rows.iter().map(|row| self.row(table, row)).collect();
            if let Some(otherwise) = table.otherwise {
                let mut row = vec![self.say("guide.table.otherwise", &[])];
                row.extend(table.keys.iter().skip(1).map(|_| String::from("–")));
                row.push(self.given(table, otherwise));
                rows.push(row);
            }
            let mut head: Vec<String> = table.keys.iter().map(|_| self.say("guide.table.of", &[])).collect();
            head.push(self.say("guide.table.gives", &[]));
            pieces.push(self.item(&table.label, self.why(&table.why)));
            pieces.push(Piece::Table(head, rows));
            pieces.push(Piece::Gap);
        }
        pieces
    }

    fn row(&self, table: &Table, row: &TableRow) -> Vec<String> {
        let keys = row.patterns.iter().zip(&table.keys).zip(&table.key_units);
        let mut cells: Vec<String> =
            keys.map(|((pattern, kind), unit)| self.pattern(pattern, *kind, unit)).collect();
        cells.push(self.given(table, row.gives));
        cells
    }

    fn pattern(&self, pattern: &Pattern, kind: Kind, unit: &Unit) -> String {
        match pattern {
            Pattern::Any => self.say("guide.table.any", &[]),
            Pattern::Is(datum) => self.words.datum(kind, unit, *datum),
            Pattern::Numbers { low: Some((low, _)), high: Some((high, _)) }
                if low.value() == high.value() =>
            {
                self.words.datum(kind, unit, crate::plan::Datum::Number(low.value()))
            }
            Pattern::Numbers { low, high } => {
                let end = |end: &Option<(Threshold, bool)>| {
                    end.as_ref().map(|(at, counts)| {
                        (self.words.datum(kind, unit, crate::plan::Datum::Number(at.value())), *counts)
                    })
                };
                self.words.ends(kind, end(low), end(high))
            }
        }
    }

    fn given(&self, table: &Table, value: CellValue) -> String {
        let said = |datum| self.words.datum(table.gives, &table.unit, datum);
        match value {
            CellValue::One(datum) => said(datum),
            CellValue::Between(low, high) => {
                self.say("value.span", &[("low", &said(low)), ("high", &said(high))])
            }
            CellValue::Unknown => self.say("value.unknown", &[]),
            CellValue::Empty => self.say("value.none", &[]),
        }
    }

    /// Returns what the computed names mean, each with its definition.
    pub(super) fn meanings(&self) -> Vec<Piece> {
        let plan = self.plan();
        let named = plan.names.iter().filter(|name| !name.hidden).filter_map(|name| {
            let meaning = match &name.origin {
                Origin::Measure(measure) => {
                    self.words.stands_for(name).unwrap_or(self.code(measure.expr.span))
                }
                Origin::Tally(_) => self.code(name.span),
                Origin::Observed(_) | Origin::Band(_) | Origin::Cultivar | Origin::Block | Origin::Date => {
                    return None;
                }
            };
            Some((name.label.to_string(), meaning))
        });
        let yields = |yields: &Yields| match yields {
            Yields::Condition(condition) => self.words.condition(condition, Sense::Asked),
            Yields::Value(Expr { span, .. }) => self.code(*span),
        };
        let hourlies = plan.hourlies.iter().map(|it| (crate::plan::spaced(&it.label), yields(&it.yields)));
        let dailies = plan.dailies.iter().map(|it| (crate::plan::spaced(&it.label), yields(&it.yields)));
        named
            .chain(hourlies)
            .chain(dailies)
            .map(|(label, meaning)| Piece::Field(label, vec![meaning]))
            .collect()
    }

    /// Returns a piece of the rulebook as it is written, its blanks and line ends as single blanks.
    fn code(&self, span: Span) -> String {
        let lines = self.sources.words(span).lines();
        // A comment ends with its line; no text in quotes holds its sign here but the author's own, which stays.
        let bare = lines.map(|line| {
            line.split(" #").next().unwrap_or(line).split_whitespace().collect::<Vec<_>>().join(" ")
        });
        format!("`{}`", bare.filter(|line| !line.is_empty()).collect::<Vec<_>>().join(" "))
    }
}
