//! A comparison as text.

use super::words::{direction_words, heading, item_line};
use super::{Compared, HEADLINES, ToldChanges, by_change};
use crate::prove::compare::VerdictTurn;
use crate::prove::compare::items::Concern;
use crate::report::filling::{filled, paragraph};

/// How many changed items a page lists.
const ITEMS: usize = 40;

impl Compared<'_> {
    /// Returns the page as text of which no line is longer than the width.
    pub fn text(&self, width: usize) -> String {
        let mut out = paragraph(&format!("{} compared with {}", self.names[0], self.names[1]), width);
        out += &paragraph(&self.summary(), width);
        for words in self.called_otherwise() {
            out += &format!("\n{}", paragraph(&words, width));
        }
        out += &self.mended_first_text(width);
        out += &self.protection_text(width);
        let mut told = ToldChanges::default();
        for (at, headline) in self.comparison.headlines.iter().take(HEADLINES).enumerate() {
            let number = format!("{}. ", at + 1);
            out += &format!(
                "\n{}",
                joined(filled(&heading(headline, &self.comparison.items), &number, "   ", width))
            );
            for (label, words) in self.headline_lines(headline) {
                out += &joined(filled(&words, &format!("   {label:<9}"), "            ", width));
            }
            let (new, again) = told.of(headline);
            out += &turns(&new, width);
            out += &again.map_or(String::new(), |words| joined(filled(&words, "   ", "     ", width)));
        }
        let mut redefined = Vec::new();
        for (words, texts) in self.redefined() {
            redefined.push(texts.clone());
            out += &format!("\n{}{}", paragraph(&words, width), was_and_now(texts, "  ", width));
        }
        let left = self.unnamed();
        if !left.is_empty() {
            out += &format!("\n{}{}", paragraph("Elsewhere also", width), turns(&left, width));
        }
        out += &self.cut().map_or(String::new(), |words| format!("\n{}", paragraph(&words, width)));
        out += &self.items_text(&redefined, width);
        for (grove, trees) in self.groves {
            let here: Vec<_> = self.trees.iter().filter(|it| it.grove == *grove).collect();
            let words = format!("{grove}: {} of {trees} trees are decided otherwise today", here.len());
            out += &format!("\n{}", paragraph(&words, width));
            for (change, trees) in by_change(&here) {
                out += &joined(filled(&format!("{change}: {}", trees.join(", ")), "  ", "    ", width));
            }
        }
        for line in self.certified_turns() {
            out += &joined(filled(&line, "", "  ", width));
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

    fn mended_first_text(&self, width: usize) -> String {
        let (new, before) = self.mended_first();
        if new.is_empty() {
            return String::new();
        }
        let mut out = format!("\nTo mend before merging (new with this change: {})\n", new.len());
        new.iter().for_each(|words| out += &joined(filled(words, "  ", "    ", width)));
        out + &before.map_or(String::new(), |words| joined(filled(&words, "  ", "    ", width)))
    }

    fn protection_text(&self, width: usize) -> String {
        let mut out = String::new();
        for it in self.weakened() {
            out += &joined(filled(&item_line(it), "  ", "    ", width));
            out += &was_and_now(self.texts(it), "    ", width);
        }
        for words in self.gates_opened() {
            out += &joined(filled(&words, "  ", "    ", width));
        }
        if !out.is_empty() {
            out.insert_str(0, "\nWhat protects, weakened or gone\n");
        }
        let kept =
            self.promises_kept().map_or(String::new(), |words| format!("\n{}", paragraph(words, width)));
        out + &kept
    }

    fn items_text(&self, told: &[[Option<String>; 2]], width: usize) -> String {
        let (listed, otherwise) = self.listed_items();
        let mut out = String::new();
        for it in listed.iter().take(ITEMS) {
            out += &joined(filled(&item_line(it), "  ", "    ", width));
            let texts = self.texts(it);
            let is_by_text = matches!(it.concern, Concern::Hours | Concern::Definition);
            if is_by_text && it.in_meaning() && !told.contains(&texts) {
                out += &was_and_now(texts, "    ", width);
            }
        }
        if listed.len() > ITEMS {
            out += &paragraph(&format!("  {} more are in the JSON.", listed.len() - ITEMS), width);
        }
        out += &otherwise.map_or(String::new(), |words| joined(filled(&words, "  ", "    ", width)));
        if out.is_empty() { out } else { format!("\nItems\n{out}") }
    }
}

/// Returns changes of verdict, a line each.
fn turns(turns: &[VerdictTurn], width: usize) -> String {
    let line = |turn: &VerdictTurn| format!("{} → {} ({})", turn.was, turn.now, direction_words(turn));
    turns.iter().map(|turn| joined(filled(&line(turn), "   ", "     ", width))).collect()
}

fn was_and_now(texts: [Option<String>; 2], before: &str, width: usize) -> String {
    let further = format!("{before}     ");
    let lines = ["was", "now"].into_iter().zip(texts).filter_map(|(label, text)| Some((label, text?)));
    lines.map(|(label, text)| joined(filled(&text, &format!("{before}{label}: "), &further, width))).collect()
}

fn joined(lines: Vec<String>) -> String {
    lines.iter().map(|line| line.trim_end().to_owned() + "\n").collect()
}
