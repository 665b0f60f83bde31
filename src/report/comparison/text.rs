//! A comparison as text.

use super::Compared;
use super::page::{ItemRow, Page, Told};
use super::turns::TurnRow;
use super::words::counted;
use crate::report::filling::{filled, paragraph};

/// How many of what is newly broken stand before what protects.
const MENDED: usize = 2;

impl Compared<'_> {
    /// Returns the page as text of which no line is longer than the width.
    pub fn text(&self, width: usize) -> String {
        self.fitting(|page| self.text_of(page, width))
    }

    fn text_of(&self, page: &Page<'_>, width: usize) -> String {
        let mut out = paragraph(&format!("{} compared with {}", self.names[0], self.names[1]), width);
        out += &paragraph(&page.summary, width);
        page.also.iter().for_each(|words| out += &paragraph(words, width));
        page.called.iter().for_each(|words| out += &format!("\n{}", paragraph(words, width)));
        out += &mend(page, width);
        if !page.protects.is_empty() {
            out += "\nWhat protects, weakened or gone\n";
            page.protects.iter().for_each(|it| out += &told(it, width));
        }
        if let Some(words) = page.promises {
            out += if page.mend.all.is_empty() && page.protects.is_empty() { "\n" } else { "" };
            out += &paragraph(words, width);
        }
        if !page.table.is_empty() || !page.follows.is_empty() {
            out += "\nItems\n";
            page.table.iter().for_each(|it| out += &row(it, width));
            page.follows.iter().for_each(|words| out += &joined(filled(words, "  ", "    ", width)));
        }
        for section in &page.sections {
            out += &format!("\n{}", joined(filled(&section.title, "", "   ", width)));
            for (label, words) in &section.lines {
                out += &joined(filled(words, &format!("  {label:<9}"), "           ", width));
            }
            out += &turns(&section.rows, width);
            out +=
                &section.again.as_ref().map_or(String::new(), |it| joined(filled(it, "  ", "    ", width)));
            out += &joined(filled(&section.such, "  such a tree: ", "    ", width));
        }
        if !page.redefined.is_empty() {
            out.push('\n');
            page.redefined.iter().for_each(|words| out += &paragraph(words, width));
        }
        if !page.elsewhere.is_empty() {
            out += &format!("\nElsewhere also\n{}", turns(&page.elsewhere, width));
        }
        out += &page.cut.as_ref().map_or(String::new(), |words| format!("\n{}", paragraph(words, width)));
        if let Some((heading, rows)) = &page.certified {
            out += &format!("\n{}{}", paragraph(heading, width), turns(rows, width));
        }
        if !page.rest.is_empty() {
            let words = format!(
                "{} of changes of verdict, in --format markdown.",
                counted(page.rest.len(), "more row")
            );
            out += &format!("\n{}", paragraph(&words, width));
        }
        for (heading, lines) in &page.groves {
            out += &format!("\n{}", paragraph(heading, width));
            lines.iter().for_each(|words| out += &joined(filled(words, "  ", "    ", width)));
        }
        let next = if self.comparison.same {
            "Next: nothing to look at in the decisions."
        } else if self.comparison.same_verdicts {
            "Next: read the items that changed in meaning; the verdicts are the same."
        } else if self.groves.is_empty() {
            "Next: read each change above, or add --on GROVE to see whose trees it touches."
        } else {
            "Next: read each change above."
        };
        format!("{out}\n{}", paragraph(next, width))
    }
}

fn mend(page: &Page<'_>, width: usize) -> String {
    let all = &page.mend.all;
    if all.is_empty() {
        return String::new();
    }
    let mut out = format!("\nTo mend before merging (new with this change: {})\n", all.len());
    let mut line = |words: &str| out += &joined(filled(words, "  ", "    ", width));
    all.iter().take(MENDED).for_each(|words| line(words));
    if all.len() > MENDED {
        line(&format!("and {} more, which `proofread` and `rehearse` tell", all.len() - MENDED));
    }
    page.mend.before.iter().for_each(|words| line(words));
    out
}

fn told(it: &Told, width: usize) -> String {
    let mut out = joined(filled(&it.title, "  ", "    ", width));
    for (label, words) in &it.lines {
        out += &joined(filled(words, &format!("    {label}: "), "      ", width));
    }
    out
}

/// Returns a row of the table of items: in one line where it fits.
fn row(it: &ItemRow, width: usize) -> String {
    let short = if it.short.is_empty() { String::new() } else { format!(" ({})", it.short) };
    if it.is_told {
        return joined(filled(&format!("{}. {}{short}: above", it.number, it.item), "  ", "     ", width));
    }
    let whole = format!("{}. {}: {} → {}{short}", it.number, it.item, it.was, it.now);
    if textwrap::core::display_width(&whole) <= 2 * (width.saturating_sub(4)) {
        return joined(filled(&whole, "  ", "     ", width));
    }
    let title = format!("{}. {}{short}", it.number, it.item);
    let mut out = joined(filled(&title, "  ", "     ", width));
    for (label, words) in [("was", &it.was), ("now", &it.now)] {
        out += &joined(filled(words, &format!("     {label}: "), "       ", width));
    }
    out
}

/// Returns changes of verdict, a row each.
fn turns(rows: &[TurnRow], width: usize) -> String {
    let line = |row: &TurnRow| format!("{} → {} ({})", row.was, row.now, row.words);
    rows.iter().map(|row| joined(filled(&line(row), "  ", "    ", width))).collect()
}

fn joined(lines: Vec<String>) -> String {
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
