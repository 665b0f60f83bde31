//! A comparison as Markdown for a review comment.

use super::words::{direction_words, heading, in_short, item_line};
use super::{Compared, HEADLINES, ToldChanges, by_change};
use crate::prove::compare::VerdictTurn;
use crate::prove::compare::items::{Change, ItemChange, RowChange};

impl Compared<'_> {
    /// Returns the page as Markdown.
    pub fn markdown(&self) -> String {
        let mut out = format!("### `{}` → `{}`\n\n**{}**\n", self.names[0], self.names[1], self.summary());
        for words in self.called_otherwise() {
            out += &format!("\n{words}\n");
        }
        out += &self.mended_first_markdown();
        out += &self.protection_markdown();
        let (listed, otherwise) = self.listed_items();
        out += &items_table(&listed);
        let mut told = ToldChanges::default();
        for (at, headline) in self.comparison.headlines.iter().take(HEADLINES).enumerate() {
            out += &format!("\n#### {}. {}\n\n", at + 1, heading(headline, &self.comparison.items));
            for (label, words) in self.headline_lines(headline) {
                out += &format!("* {label}: {words}\n");
            }
            let (new, again) = told.of(headline);
            out += &turns_table(&new);
            out += &again.map_or(String::new(), |words| format!("\n{words}\n"));
        }
        let redefined = self.redefined();
        for (words, texts) in &redefined {
            out += &format!("\n{words}\n{}", was_and_now(texts));
        }
        let left = self.unnamed();
        if !left.is_empty() {
            out += &format!("\n#### Elsewhere also\n{}", turns_table(&left));
        }
        out += &self.cut().map_or(String::new(), |words| format!("\n{words}\n"));
        for (at, line) in self.certified_turns().iter().enumerate() {
            out += &if at == 0 { format!("\n**{line}**\n\n") } else { format!("* {}\n", line.trim_start()) };
        }
        for (grove, trees) in self.groves {
            let here: Vec<_> = self.trees.iter().filter(|it| it.grove == *grove).collect();
            out += &format!("\n**{grove}**: {} of {trees} trees are decided otherwise today.\n", here.len());
            for (change, trees) in by_change(&here) {
                out += &format!("* {change}: {}\n", trees.join(", "));
            }
        }
        let told: Vec<_> = redefined.into_iter().map(|(_, texts)| texts).collect();
        out + &self.folded(&listed, &told, otherwise)
    }

    fn mended_first_markdown(&self) -> String {
        let (new, before) = self.mended_first();
        if new.is_empty() {
            return String::new();
        }
        let lines: String = new.iter().map(|words| format!("* {words}\n")).collect();
        let before = before.map_or(String::new(), |words| format!("\n{words}\n"));
        format!("\n**To mend before merging (new with this change: {})**\n\n{lines}{before}", new.len())
    }

    fn protection_markdown(&self) -> String {
        let mut out = String::new();
        for it in self.weakened() {
            out += &format!("* **{}**\n", item_line(it));
            out += &was_and_now(&self.texts(it));
        }
        out.extend(self.gates_opened().iter().map(|words| format!("* **{words}**\n")));
        if !out.is_empty() {
            out.insert_str(0, "\n**What protects, weakened or gone**\n\n");
        }
        out + &self.promises_kept().map_or(String::new(), |words| format!("\n{words}\n"))
    }

    /// Returns the texts of what changed, and what changed in its form only, folded away.
    fn folded(
        &self,
        listed: &[&ItemChange],
        told: &[[Option<String>; 2]],
        otherwise: Option<String>,
    ) -> String {
        let mut out = String::new();
        for it in listed {
            let texts = self.texts(it);
            if texts.iter().any(Option::is_some) && !told.contains(&texts) {
                out += &format!("* {}\n{}", item_line(it), was_and_now(&texts));
            }
        }
        out += &otherwise.map_or(String::new(), |words| format!("* {words}\n"));
        if out.is_empty() {
            return out;
        }
        format!("\n<details><summary>Text of the items</summary>\n\n{out}\n</details>\n")
    }
}

fn items_table(items: &[&ItemChange]) -> String {
    let row = |it: &&ItemChange| {
        let (was, now) = match (&it.written, it.change) {
            (Some((was, now)), _) => (was.clone(), format!("**{now}**")),
            (None, Change::Changed) if !it.rows.is_empty() => {
                let side = |of: fn(&RowChange) -> &Option<String>| {
                    let one =
                        |row: &RowChange| format!("{} {}", row.key, of(row).as_deref().unwrap_or("none"));
                    it.rows.iter().map(one).collect::<Vec<String>>().join("; ")
                };
                (side(|row| &row.was), format!("**{}**", side(|row| &row.now)))
            }
            (None, Change::Added) => ("none".to_owned(), "**new**".to_owned()),
            (None, Change::Omitted) => ("there".to_owned(), "**gone**".to_owned()),
            (None, _) => ("text below".to_owned(), "text below".to_owned()),
        };
        format!("| {} | {} | {} | {} |\n", cell(&it.item), cell(&was), cell(&now), in_short(it))
    };
    if items.is_empty() {
        return String::new();
    }
    let rows: String = items.iter().map(row).collect();
    format!("\n| item | was | now | in short |\n| --- | --- | --- | --- |\n{rows}")
}

fn turns_table(turns: &[VerdictTurn]) -> String {
    if turns.is_empty() {
        return String::new();
    }
    let row = |turn: &VerdictTurn| format!("| {} | {} | {} |\n", turn.was, turn.now, direction_words(turn));
    format!("\n| was | now | |\n| --- | --- | --- |\n{}", turns.iter().map(row).collect::<String>())
}

fn was_and_now(texts: &[Option<String>; 2]) -> String {
    let lines =
        ["was", "now"].into_iter().zip(texts).filter_map(|(label, text)| Some((label, text.as_ref()?)));
    lines.map(|(label, text)| format!("  * {label}: `{}`\n", text.replace('`', "'"))).collect()
}

fn cell(words: &str) -> String {
    words.replace('|', "\\|")
}
