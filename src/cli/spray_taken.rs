//! What a correction takes over from the row that it stands in for: whatever is not said anew.

use super::groves::Opened;
use super::spray_sheet::KeptSheet;
use super::spray_times::iso;
use crate::grove::SprayRow;

/// The columns that stand for themselves, whatever else is corrected.
const OWN: [&str; 8] =
    ["stage", "wind", "temperature", "humidity", "operator", "certificate", "sheet", "note"];

/// The row that is corrected.
#[derive(Clone, Copy, Debug)]
pub struct Taken<'r> {
    row: &'r SprayRow,
    /// Its line in the log.
    pub line: usize,
}

impl<'r> Taken<'r> {
    /// Finds the row that `--corrects` names, by its line or as the one row of a sheet, among those that count.
    pub fn named(named: &str, read: &'r Opened) -> Option<Self> {
        let rows = || {
            let line = |row: &SprayRow| read.sources.place(row.at).line;
            read.grove.log.rows().iter().map(move |row| Self { row, line: line(row) })
        };
        let word = |lead: &str| named.strip_prefix(lead).map(str::trim);
        let sheet = word("sheet ");
        let line = word("line ").or_else(|| word("row ")).unwrap_or(named).parse::<usize>().ok();
        let by_line = line.filter(|_| sheet.is_none()).and_then(|line| rows().find(|it| it.line == line));
        by_line.or_else(|| {
            let of_sheet =
                |it: &Self| it.row.fields.get("sheet").is_some_and(|own| **own == *sheet.unwrap_or(named));
            let mut of_sheet = rows().filter(of_sheet);
            of_sheet.next().filter(|_| of_sheet.next().is_none())
        })
    }

    /// Returns it as a sheet, whose trees and hours are those that were written down.
    pub fn sheet(self, read: &Opened) -> KeptSheet {
        let of = |column: &str| self.row.fields.get(column).map(|text| text.to_string());
        let trees = self.row.trees(&read.grove.trees);
        KeptSheet {
            day: Some(self.row.day().to_string()),
            product: of("product"),
            jug: of("jug"),
            registration: of("registration"),
            strength: of("strength"),
            rate: of("rate"),
            volume: of("volume"),
            area: of("area"),
            start: Some(iso(&self.row.start)),
            end: Some(iso(&self.row.end)),
            target: of("target"),
            trees: trees.iter().map(|tree| read.grove.trees.name(*tree).to_string()).collect(),
        }
    }

    /// Returns what stands in a column that is taken over as it is.
    pub fn own(self, column: &str) -> Option<String> {
        // A note may itself name a row that it corrects.
        let text =
            self.row.fields.get(column).filter(|text| OWN.contains(&column) && !text.contains("corrects "));
        text.map(|text| text.to_string())
    }

    /// Returns the columns of a row that say what this one says, apart from the name of the row.
    pub fn kept_in(self, row: &crate::grove::NewRow) -> Vec<&'static str> {
        let same = |column: &&&str| {
            let own = self.row.fields.get(**column);
            own.is_some_and(|own| row.iter().any(|(name, value)| *name == **column && **value == **own))
        };
        crate::grove::LOG_COLUMNS.iter().filter(same).copied().collect()
    }
}
