//! What a spray that was written down means: labels, totals, re-entry, harvest.

use super::stored::{row_json, stored_json};
use super::{GroveTrees, Lines, count, json, ranges};
use crate::advice::{LabelRecord, LineKept, LineMet};
use crate::explain::{Speech, weekday, words};
use crate::grove::{NewRow, SprayRow};
use crate::measure::Truth;
use crate::plan::{LabelWord, Plan};
use crate::units::{Dimension, Unit, clean, plain, show, spoken};
use chrono::DateTime;
use chrono_tz::Tz;

/// A spray with all that is said of it.
pub struct LoggedPage<'l> {
    /// Its row, as the log reads it.
    pub row: &'l SprayRow,
    /// What its labels say.
    pub record: &'l LabelRecord,
    /// Later sprays whose labels it breaks.
    pub later: &'l [(SprayRow, LabelRecord)],
    /// The rows that it stands in for, each with its line in the log.
    pub instead_of: &'l [(usize, &'l SprayRow)],
    /// The names of trees, under the plan with the labels of the jugs that were used.
    pub ground: &'l GroveTrees<'l>,
    /// In which units it is said.
    pub speech: Speech,
    /// What was taken for granted.
    pub remarks: &'l [String],
    /// What should be looked at twice.
    pub doubts: &'l [String],
}

impl LoggedPage<'_> {
    /// Writes the page.
    pub fn write(&self, lines: &mut Lines) {
        let row = self.row;
        lines.text(0, &format!("Understood: {}", self.what()));
        lines.blank();
        let trees = row.trees(&self.ground.grove.trees);
        lines.field("When", &times(row));
        lines.field("Trees", &format!("{}: {}", count(trees.len()), ranges(self.ground, &trees)));
        for (column, label) in [
            ("jug", "Jug"),
            ("registration", "Registration"),
            ("volume", "Spray"),
            ("stage", "Stage"),
            ("target", "Against"),
            ("wind", "Wind"),
            ("temperature", "Temperature"),
            ("humidity", "Humidity"),
            ("operator", "Operator"),
            ("certificate", "Certificate"),
            ("sheet", "Sheet"),
            ("note", "Note"),
        ] {
            if let Some(value) = row.fields.get(column) {
                let is_name = matches!(column, "stage" | "target");
                lines.field(label, &if is_name { words::spaced(value) } else { value.to_string() });
            }
        }
        instead_of(lines, self.instead_of, self.ground);
        self.remarks.iter().for_each(|remark| lines.field("", remark));
        self.labels(lines);
        lines.blank();
        lines.field(
            "Keep out",
            &match self.record.re_entry {
                Some(until) => format!("until {}", moment(until)),
                None => "no label in the rulebook or the shed gives a time: read the label".into(),
            },
        );
        lines.field(
            "Pick",
            &match self.record.picking {
                Some(day) => {
                    format!("not before {} (calendar days; and not before people may go in)", weekday(day))
                }
                None => "no label in the rulebook or the shed gives days: read the label".into(),
            },
        );
        for (product, day) in &self.record.next {
            let label = &self.ground.plan[*product].label;
            lines.field("Next", &format!("{label} again from {} on", weekday(*day)));
        }
        if !self.doubts.is_empty() {
            lines.blank();
            lines.text(0, "Look twice:");
            self.doubts.iter().for_each(|doubt| lines.text(2, doubt));
        }
    }

    /// Returns what was sprayed: `copper at reduced with oil at thin`.
    fn what(&self) -> String {
        tank_words(self.row, self.ground.plan)
    }

    fn labels(&self, lines: &mut Lines) {
        let of = |wanted: Truth| self.record.lines.iter().filter(move |line| line.broken == wanted);
        if of(Truth::Yes).next().is_some() {
            lines.blank();
            lines.text(0, "LABEL BROKEN");
            for line in of(Truth::Yes) {
                lines.text(2, &line_words(line, self.ground, self.speech));
            }
        }
        for (row, record) in self.later {
            let ground = GroveTrees { plan: &record.plan, grove: self.ground.grove };
            lines.blank();
            lines.text(
                0,
                &format!(
                    "LABEL BROKEN of a later spray, {} on {}",
                    tank_words(row, self.ground.plan),
                    times(row)
                ),
            );
            for line in &record.lines {
                lines.text(2, &line_words(line, &ground, self.speech));
            }
        }
        if of(Truth::Open).next().is_some() {
            lines.blank();
            lines.text(0, "Not known whether kept");
            for line in of(Truth::Open) {
                lines.text(2, &line_words(line, self.ground, self.speech));
            }
        }
        let total =
            |line: &&LineKept| matches!(line.word, LabelWord::Season | LabelWord::Year | LabelWord::Single);
        if of(Truth::No).any(|line| total(&line)) {
            lines.blank();
            lines.text(0, "So far");
            for line in of(Truth::No).filter(total) {
                lines.text(2, &line_words(line, self.ground, self.speech));
            }
        }
    }
}

/// Returns what a tank held: `copper at reduced with oil at thin`.
pub fn tank_words(row: &SprayRow, plan: &Plan) -> String {
    let part = |part: &crate::grove::SprayPart| {
        let product = part.product.map(|id| &plan[id]);
        let name = product.map_or(&*part.word, |product| &product.label);
        let strength = part.strength.and_then(|at| product?.strengths.get(usize::from(at)));
        match (strength, &part.rate) {
            (Some(strength), None) => format!("{name} at {}", words::spaced(&strength.name)),
            (Some(strength), Some(rate)) => {
                format!("{name} at {} ({})", words::spaced(&strength.name), rate.written)
            }
            (None, Some(rate)) => format!("{name}, {}", rate.written),
            (None, None) => name.to_string(),
        }
    };
    row.parts.iter().map(part).collect::<Vec<_>>().join(" with ")
}

/// Writes what a row strikes out that says nothing else.
pub fn struck_out(lines: &mut Lines, struck: &[(usize, &SprayRow)], ground: &GroveTrees<'_>) {
    lines.text(0, "Understood: nothing was sprayed, and the log is to forget it");
    lines.blank();
    instead_of(lines, struck, ground);
}

/// Writes the rows that one stands in for, as the log has them.
fn instead_of(lines: &mut Lines, rows: &[(usize, &SprayRow)], ground: &GroveTrees<'_>) {
    for (line, row) in rows {
        let words = format!("line {line}: {}; {}; {}", tank_words(row, ground.plan), row.on, times(row));
        lines.field("Instead of", &words);
    }
}

/// Returns a label line with what it met: `copper, interval at least 7 d: 5 d since the last (A01–A15)`.
pub(super) fn line_words(line: &LineKept, ground: &GroveTrees<'_>, speech: Speech) -> String {
    let plan = ground.plan;
    let product = &plan[line.product].label;
    let met = match &line.met {
        LineMet::Value(name, reading) => {
            let said = words::reading(plan, *name, reading, speech);
            format!("{} {said}", plan[*name].label)
        }
        LineMet::Sprays(so_far, most) => format!("spray {} of {}", clean(*so_far), clean(*most)),
        LineMet::Amount(total, most, of) => {
            let unit = cap_unit(&line.written, speech);
            let of = of.as_ref().map_or_else(String::new, |of| format!(" {of}"));
            let amount = |base: f64| show_amount(base, &unit);
            match total {
                Some(total) => format!("{}{of} of {}", amount(*total), amount(*most)),
                None => format!("how much it was is not known, of {}{of}", amount(*most)),
            }
        }
        LineMet::Together => "both in one tank".to_string(),
    };
    format!("{product}, {}: {met} ({})", line.written, ranges(ground, &line.trees))
}

/// Returns the unit of a cap as its line writes it, in the grower's speech.
fn cap_unit(written: &str, speech: Speech) -> Unit {
    let cap = written.rsplit("at most ").next().unwrap_or(written);
    let said = spoken::parse(cap).map(|said| said.unit).ok();
    let unit = said
        .filter(|unit| unit.dimension != Dimension::NONE)
        .or_else(|| plain("g"))
        .unwrap_or_else(Unit::none);
    speech.unit(&unit)
}

fn show_amount(base: f64, unit: &Unit) -> String {
    show((unit.amount_from_base(base) * 1000.0).round() / 1000.0, &unit.symbol)
}

/// Returns when a row was sprayed: `Thu 11 Feb 2027, 05:30–07:00`.
pub(super) fn times(row: &SprayRow) -> String {
    let (start, end) = (row.start, row.end);
    if start.date_naive() == end.date_naive() {
        return format!("{}–{}", moment(start), end.format("%H:%M"));
    }
    format!("{} to {}", moment(start), moment(end))
}

pub(super) fn moment(moment: DateTime<Tz>) -> String {
    format!("{}, {}", weekday(moment.date_naive()), moment.format("%H:%M"))
}

/// Returns the JSON form.
pub fn logged_json(page: &LoggedPage<'_>, row: &NewRow, stored: Option<(&str, usize)>) -> String {
    let mut out = begun(stored);
    out.extend_from_slice(b",\"row\":");
    row_json(&mut out, row);
    let names = |out: &mut Vec<u8>, trees: &[usize]| {
        json::texts(out, trees.iter().map(|tree| page.ground.grove.trees.name(*tree)));
    };
    out.extend_from_slice(b",\"trees\":");
    names(&mut out, &page.row.trees(&page.ground.grove.trees));
    for (key, wanted) in [("broken", Truth::Yes), ("not_known", Truth::Open), ("kept", Truth::No)] {
        out.push(b',');
        json::key(&mut out, key);
        let lines = page.record.lines.iter().filter(|line| line.broken == wanted);
        json::list(&mut out, lines, |out, line| line_json(out, line, page.ground, page.speech));
    }
    out.extend_from_slice(b",\"later_broken\":");
    let later = page.later.iter().flat_map(|(_, record)| record.lines.iter().map(move |line| (record, line)));
    json::list(&mut out, later, |out, (record, line)| {
        let ground = GroveTrees { plan: &record.plan, grove: page.ground.grove };
        line_json(out, line, &ground, page.speech);
    });
    out.extend_from_slice(b",\"keep_out_until\":");
    json::moment(&mut out, page.record.re_entry);
    out.extend_from_slice(b",\"pick_not_before\":");
    json::day(&mut out, page.record.picking);
    out.extend_from_slice(b",\"next\":{");
    for (at, (product, day)) in page.record.next.iter().enumerate() {
        if at > 0 {
            out.push(b',');
        }
        json::key(&mut out, &page.ground.plan[*product].name);
        json::day(&mut out, Some(*day));
    }
    out.push(b'}');
    lines_json(&mut out, page.instead_of);
    for (key, texts) in [("remarks", page.remarks), ("doubts", page.doubts)] {
        out.push(b',');
        json::key(&mut out, key);
        json::texts(&mut out, texts.iter().map(String::as_str));
    }
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}

/// Returns the JSON form of a row that only strikes out others.
pub fn struck_out_json(row: &NewRow, struck: &[(usize, &SprayRow)], stored: Option<(&str, usize)>) -> String {
    let mut out = begun(stored);
    out.extend_from_slice(b",\"row\":");
    row_json(&mut out, row);
    lines_json(&mut out, struck);
    out.extend_from_slice(b"}\n");
    String::from_utf8_lossy(&out).into_owned()
}

fn begun(stored: Option<(&str, usize)>) -> Vec<u8> {
    let mut out = b"{\"format\":\"bloomward.sprayed/1\",".to_vec();
    stored_json(&mut out, stored);
    out
}

/// Writes the lines of the rows that one stands in for.
fn lines_json(out: &mut Vec<u8>, rows: &[(usize, &SprayRow)]) {
    out.extend_from_slice(b",\"instead_of\":");
    json::list(out, rows, |out, (line, _)| json::number(out, *line as f64));
}

fn line_json(out: &mut Vec<u8>, line: &LineKept, ground: &GroveTrees<'_>, speech: Speech) {
    out.extend_from_slice(b"{\"product\":");
    json::text(out, &ground.plan[line.product].name);
    out.extend_from_slice(b",\"line\":");
    json::text(out, &line.written);
    out.extend_from_slice(b",\"says\":");
    json::text(out, &line_words(line, ground, speech));
    out.extend_from_slice(b",\"trees\":");
    json::texts(out, line.trees.iter().map(|tree| ground.grove.trees.name(*tree)));
    out.push(b'}');
}
