//! What a spray that was written down means: labels, totals, re-entry, harvest.

use super::stored::twice;
use super::{GroveTrees, Lines, ranges};
use crate::advice::RuledOut;
use crate::grove::SprayRow;
use crate::labels::{LabelRecord, LineKept};
use crate::measure::Truth;
use crate::plan::{LabelWord, Plan, ProductId};
use crate::words::Words;

/// A spray with all that is said of it.
pub struct LoggedPage<'l> {
    /// Its row, as the log reads it.
    pub row: &'l SprayRow,
    /// What its labels say.
    pub record: &'l LabelRecord,
    /// Later sprays whose labels it breaks.
    pub later: &'l [(SprayRow, LabelRecord)],
    /// The gates that ruled it out, and the guide that has them.
    pub ruled_out: (&'l [RuledOut], &'l Plan),
    /// The rows that it stands in for, each with its line in the log.
    pub instead_of: &'l [(usize, &'l SprayRow)],
    /// The names of trees, under the plan with the labels of the jugs that were used.
    pub ground: &'l GroveTrees<'l>,
    /// In which words it is said, under that plan.
    pub words: Words<'l>,
    /// What was taken for granted.
    pub remarks: &'l [String],
    /// What should be looked at twice.
    pub doubts: &'l [String],
}

impl LoggedPage<'_> {
    /// Writes the page.
    pub fn write(&self, lines: &mut Lines) {
        let (row, words, language) = (self.row, self.words, self.words.language);
        let say = |key: &str| language.say(key, &[]);
        lines.text(0, &language.say("logged.understood", &[("what", &self.what(row))]));
        lines.blank();
        let trees = row.trees(&self.ground.grove.trees);
        lines.field(&say("sheet.when"), &words.span(row.start, row.end));
        let list = [("count", &*language.trees(trees.len())), ("list", &ranges(self.ground, &trees))];
        lines.field(&say("sheet.trees"), &language.say("sheet.trees.list", &list));
        for (column, label) in [
            ("jug", "sheet.jug"),
            ("registration", "logged.registration"),
            ("volume", "sheet.volume"),
            ("stage", "logged.stage"),
            ("target", "sheet.against"),
            ("wind", "sheet.done.wind"),
            ("temperature", "sheet.done.temperature"),
            ("humidity", "sheet.done.humidity"),
            ("operator", "sheet.done.operator"),
            ("certificate", "sheet.done.certificate"),
            ("sheet", "logged.sheet"),
            ("note", "logged.note"),
        ] {
            if let Some(value) = row.fields.get(column) {
                let words = match column {
                    "target" => words.targets(value),
                    "stage" => words.plan.shown(value),
                    _ => value.to_string(),
                };
                lines.field(&say(label), &words);
            }
        }
        instead_of(lines, self.instead_of, words);
        self.remarks.iter().for_each(|remark| lines.field("", remark));
        self.labels(lines);
        self.guide(lines);
        lines.blank();
        let keep_out = match self.record.re_entry {
            Some(until) => language.say("logged.keep-out.words", &[("until", &words.moment(until))]),
            None => say("logged.keep-out.none"),
        };
        lines.field(&say("sheet.keep-out"), &keep_out);
        let pick = match self.record.picking {
            Some(day) => words.pick(day, self.record.re_entry),
            None => say("logged.pick.none"),
        };
        lines.field(&say("sheet.pick"), &pick);
        for (product, day) in &self.record.next {
            let places = [("product", &*words.product(*product)), ("day", &words.day(*day))];
            lines.field(&say("logged.next"), &words.say("logged.next.words", &places));
        }
        let sprayed: Vec<ProductId> = row.parts.iter().filter_map(|part| part.product).collect();
        let bars = words.barred(&sprayed, row.day());
        lines.fields(&say("sheet.apart"), bars.iter().map(String::as_str));
        twice(lines, self.doubts, language);
    }

    /// Returns what was sprayed: `copper at reduced with oil at thin`.
    fn what(&self, row: &SprayRow) -> String {
        tank_words(row, self.words)
    }

    /// Writes what the guide would not have allowed, with the reason of each gate.
    fn guide(&self, lines: &mut Lines) {
        for (at, it) in self.ruled_out.0.iter().enumerate() {
            if at == 0 {
                lines.blank();
                lines.text(0, &self.words.say("logged.ruled-out", &[]));
            }
            lines.text(2, &self.ruled_out_words(it));
        }
    }

    pub(super) fn ruled_out_words(&self, it: &RuledOut) -> String {
        let (plan, language) = (self.ruled_out.1, self.words.language);
        let gate = &plan[it.gate];
        let join = |one: String, other: String| language.say("with", &[("one", &one), ("other", &other)]);
        let products = it.products.iter().map(|product| plan[*product].label.to_string());
        let products = products.reduce(join).unwrap_or_else(|| language.say("logged.ruled-out.all", &[]));
        let strength = it.held_to.zip(it.products.first()).and_then(|(most, product)| {
            plan[*product].strengths.get(usize::from(most)).map(|strength| strength.shown.to_string())
        });
        let because = gate.why.because.as_ref().map_or_else(String::new, |why| format!(": {why}"));
        let trees = ranges(self.ground, &it.trees);
        let words = [("product", &*products), ("gate", &*gate.label), ("trees", &trees), ("why", &because)];
        match strength {
            Some(strength) => {
                let words = [&words[..], &[("strength", &*strength)]].concat();
                language.say("logged.ruled-out.held", &words)
            }
            None => language.say("logged.ruled-out.shut", &words),
        }
    }

    fn labels(&self, lines: &mut Lines) {
        let of = |wanted: Truth| self.record.lines.iter().filter(move |line| line.broken == wanted);
        let mut told = |title: &str, record: &LabelRecord, which: &mut dyn Iterator<Item = &LineKept>| {
            let ground = GroveTrees { plan: &record.plan, grove: self.ground.grove };
            for (at, line) in which.enumerate() {
                if at == 0 {
                    lines.blank();
                    lines.text(0, title);
                }
                let words = Words { plan: &record.plan, ..self.words };
                lines.text(2, &words.label_kept(line, &ranges(&ground, &line.trees)));
            }
        };
        let say = |key: &str| self.words.say(key, &[]);
        told(&say("logged.broken"), self.record, &mut of(Truth::Yes));
        for (row, record) in self.later {
            let when = self.words.span(row.start, row.end);
            let words = [("what", &*self.what(row)), ("when", &when)];
            told(&self.words.say("logged.broken.later", &words), record, &mut record.lines.iter());
        }
        told(&say("logged.unknown"), self.record, &mut of(Truth::Open));
        let total = |line: &&LineKept| {
            matches!(
                line.label.word,
                LabelWord::Season | LabelWord::Year | LabelWord::Single | LabelWord::Strength
            )
        };
        told(&say("logged.so-far"), self.record, &mut of(Truth::No).filter(total));
    }
}

/// Returns what a tank held: `copper at reduced with oil at thin`.
pub fn tank_words(row: &SprayRow, words: Words<'_>) -> String {
    let (plan, language) = (words.plan, words.language);
    let part = |part: &crate::grove::SprayPart| {
        let product = part.product.map(|id| &plan[id]);
        let name = product.map_or_else(|| part.word.to_string(), |product| product.label.to_string());
        let strength = part.strength.and_then(|at| product?.strengths.get(usize::from(at)));
        let strength = strength.map(|strength| strength.shown.to_string());
        let rate = part.rate.as_ref().map(|rate| plan.amount_shown(&rate.written));
        let say = |key: &str| {
            let [strength, rate] = [&strength, &rate].map(|text| text.as_deref().unwrap_or_default());
            language.say(key, &[("product", &name), ("strength", strength), ("rate", rate)])
        };
        match (&strength, &rate) {
            (Some(_), None) => say("logged.dose"),
            (Some(_), Some(_)) => say("logged.dose.rate"),
            (None, Some(_)) => say("logged.dose.figures"),
            (None, None) => name,
        }
    };
    let join = |one: String, other: String| language.say("with", &[("one", &one), ("other", &other)]);
    row.parts.iter().map(part).reduce(join).unwrap_or_default()
}

/// Writes what a row strikes out that says nothing else.
pub fn struck_out(lines: &mut Lines, struck: &[(usize, &SprayRow)], words: Words<'_>) {
    lines.text(0, &words.say("logged.struck", &[]));
    lines.blank();
    instead_of(lines, struck, words);
}

/// Writes the rows that one stands in for, as the log has them.
fn instead_of(lines: &mut Lines, rows: &[(usize, &SprayRow)], words: Words<'_>) {
    for (line, row) in rows {
        let (line, what) = (line.to_string(), tank_words(row, words));
        let when = words.span(row.start, row.end);
        let places = [("line", &*line), ("what", &what), ("on", &row.on), ("when", &when)];
        let said = words.say("logged.instead-of.words", &places);
        lines.field(&words.say("logged.instead-of", &[]), &said);
    }
}
