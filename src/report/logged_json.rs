//! A spray that was written down as JSON, `bloomward.sprayed/1`.

use super::json::{self, Day, Moment, Object};
use super::logged::LoggedPage;
use super::stored::{RowEntry, StoredEntry, row_entry};
use super::{GroveTrees, ranges};
use crate::advice::RuledOut;
use crate::grove::{NewRow, SprayRow};
use crate::labels::LineKept;
use crate::measure::Truth;
use crate::words::{Language, Words};
use serde::Serialize;

/// A spray that was written down, and what it means. A row that only strikes out others says no more than which.
#[derive(Serialize)]
#[serde(tag = "format", rename = "bloomward.sprayed/1")]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub(super) struct LoggedForm<'a> {
    #[serde(flatten)]
    stored: StoredEntry<'a>,
    row: RowEntry<'a>,
    #[serde(flatten)]
    means: Option<MeansEntry<'a>>,
    /// The lines of the rows that it stands in for.
    instead_of: Vec<usize>,
    #[serde(skip_serializing_if = "Option::is_none")]
    remarks: Option<&'a [String]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    doubts: Option<&'a [String]>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct MeansEntry<'a> {
    trees: Vec<&'a str>,
    /// Lines of labels that it broke; it is recorded all the same.
    broken: Vec<LineEntry<'a>>,
    not_known: Vec<LineEntry<'a>>,
    kept: Vec<LineEntry<'a>>,
    /// Lines of later sprays that are broken only since it is there.
    later_broken: Vec<LineEntry<'a>>,
    /// Gates of the guide that ruled it out when it was sprayed; it is recorded all the same.
    ruled_out: Vec<RuledOutEntry<'a>>,
    #[cfg_attr(test, schemars(extend("nullable" = true)))]
    keep_out_until: Option<Moment>,
    #[cfg_attr(test, schemars(extend("nullable" = true)))]
    pick_not_before: Option<Day>,
    /// For each product with an interval the first day of its next spray.
    next: Object<'a, &'a str, Day>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct LineEntry<'a> {
    product: &'a str,
    /// As the label says it.
    line: &'a str,
    /// With what was met.
    says: String,
    trees: Vec<&'a str>,
}

#[derive(Serialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
struct RuledOutEntry<'a> {
    gate: &'a str,
    /// With the gate's own reason.
    says: String,
    trees: Vec<&'a str>,
}

/// Returns the JSON form.
pub fn logged_json(page: &LoggedPage<'_>, row: &NewRow, stored: Option<(&str, usize)>) -> String {
    json::line(&LoggedForm {
        stored: stored.into(),
        row: row_entry(row),
        means: Some(page.means()),
        instead_of: lines(page.instead_of),
        remarks: Some(page.remarks),
        doubts: Some(page.doubts),
    })
}

/// Returns the JSON form of a row that only strikes out others.
pub fn struck_out_json(row: &NewRow, struck: &[(usize, &SprayRow)], stored: Option<(&str, usize)>) -> String {
    let (stored, row, instead_of) = (stored.into(), row_entry(row), lines(struck));
    json::line(&LoggedForm { stored, row, means: None, instead_of, remarks: None, doubts: None })
}

/// Returns the lines of the rows that one stands in for.
fn lines(rows: &[(usize, &SprayRow)]) -> Vec<usize> {
    rows.iter().map(|(line, _)| *line).collect()
}

impl<'l> LoggedPage<'l> {
    fn means(&self) -> MeansEntry<'_> {
        let (ground, plan) = (self.ground, self.ground.plan);
        let of = |wanted: Truth| {
            let lines = self.record.lines.iter().filter(|line| line.broken == wanted);
            lines.map(|line| self.line(line, *ground)).collect()
        };
        let later = self.later.iter().flat_map(|(_, record)| {
            let ground = GroveTrees { plan: &record.plan, grove: ground.grove };
            record.lines.iter().map(move |line| self.line(line, ground))
        });
        let ruled_out = |it: &'l RuledOut| RuledOutEntry {
            gate: &self.ruled_out.1[it.gate].name,
            says: self.ruled_out_words(it),
            trees: names(ground, &it.trees),
        };
        let next = self.record.next.iter();
        MeansEntry {
            trees: names(ground, &self.row.trees(&ground.grove.trees)),
            broken: of(Truth::Yes),
            not_known: of(Truth::Open),
            kept: of(Truth::No),
            later_broken: later.collect(),
            ruled_out: self.ruled_out.0.iter().map(ruled_out).collect(),
            keep_out_until: self.record.re_entry.map(Moment::from),
            pick_not_before: self.record.picking.map(Day::from),
            next: Object::of(next.map(|(product, day)| (&*plan[*product].name, (*day).into()))),
        }
    }

    fn line<'e>(&self, line: &'e LineKept, ground: GroveTrees<'e>) -> LineEntry<'e> {
        let words = Words { language: Language::English, speech: self.words.speech, plan: ground.plan };
        LineEntry {
            product: &ground.plan[line.product].name,
            line: &line.label.written,
            says: words.label_kept(line, &ranges(&ground, &line.trees)),
            trees: names(&ground, &line.trees),
        }
    }
}

fn names<'e>(ground: &GroveTrees<'e>, trees: &[usize]) -> Vec<&'e str> {
    trees.iter().map(|tree| ground.grove.trees.name(*tree)).collect()
}
