//! A comparison as Markdown for a review comment.

use super::Compared;
use super::page::{ItemRow, Page, Told};
use super::turns::TurnRow;

/// How many of what is newly broken stand before what protects.
const MENDED: usize = 3;

impl Compared<'_> {
    /// Returns the page as Markdown.
    pub fn markdown(&self) -> String {
        self.fitting(|page| self.markdown_of(page))
    }

    fn markdown_of(&self, page: &Page<'_>) -> String {
        let mut out = format!("### `{}` → `{}`\n\n**{}**\n", self.names[0], self.names[1], page.summary);
        page.called.iter().for_each(|words| out += &format!("\n{words}\n"));
        if !page.also.is_empty() {
            out.push('\n');
            page.also.iter().for_each(|words| out += &format!("* {words}\n"));
        }
        out += &mend(page);
        if !page.protects.is_empty() {
            out += "\n**What protects, weakened or gone**\n\n";
            page.protects.iter().for_each(|it| out += &told(it));
        }
        out += &page.promises.map_or(String::new(), |words| format!("\n{words}\n"));
        out += &items(&page.table);
        if !page.follows.is_empty() {
            out.push('\n');
            page.follows.iter().for_each(|words| out += &format!("* {words}\n"));
        }
        for section in &page.sections {
            out += &format!("\n#### {}\n\n", section.title);
            for (label, words) in &section.lines {
                out += &format!("* {label}: {words}\n");
            }
            out += &format!("* such a tree: {}\n", section.such);
            section.again.iter().for_each(|words| out += &format!("* {words}\n"));
            out += &turns(&section.rows);
        }
        if !page.redefined.is_empty() {
            out.push('\n');
            page.redefined.iter().for_each(|words| out += &format!("* {words}\n"));
        }
        if !page.elsewhere.is_empty() {
            out += &format!("\n#### Elsewhere also\n{}", turns(&page.elsewhere));
        }
        out += &page.cut.as_ref().map_or(String::new(), |words| format!("\n{words}\n"));
        if let Some((heading, rows)) = &page.certified {
            out += &format!("\n**{heading}**\n{}", turns(rows));
        }
        for (heading, lines) in &page.groves {
            out += &format!("\n**{heading}.**\n\n");
            lines.iter().for_each(|words| out += &format!("* {words}\n"));
        }
        out + &folded(page)
    }
}

fn mend(page: &Page<'_>) -> String {
    let all = &page.mend.all;
    if all.is_empty() {
        return String::new();
    }
    let mut out = format!("\n**To mend before merging (new with this change: {})**\n\n", all.len());
    all.iter().take(MENDED).for_each(|words| out += &format!("* {words}\n"));
    if all.len() > MENDED {
        out += &format!("* and {} more, folded below\n", all.len() - MENDED);
    }
    out + &page.mend.before.as_ref().map_or(String::new(), |words| format!("\n{words}\n"))
}

fn told(it: &Told) -> String {
    let lines: String =
        it.lines.iter().map(|(label, words)| format!("  * {label}: {}\n", words.replace('`', "'"))).collect();
    format!("* **{}**\n{lines}", it.title)
}

fn items(rows: &[ItemRow]) -> String {
    let row = |it: &ItemRow| {
        format!(
            "| {} | {} | {} | **{}** | {} |\n",
            it.number,
            cell(&it.item),
            cell(&it.was),
            cell(&it.now),
            it.short
        )
    };
    if rows.is_empty() {
        return String::new();
    }
    let rows: String = rows.iter().map(row).collect();
    format!("\n| | item | was | now | in short |\n| --- | --- | --- | --- | --- |\n{rows}")
}

fn turns(rows: &[TurnRow]) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let row = |row: &TurnRow| format!("| {} | {} | {} |\n", cell(&row.was), cell(&row.now), row.words);
    format!("\n| was | now | |\n| --- | --- | --- |\n{}", rows.iter().map(row).collect::<String>())
}

/// Returns what is folded away: the rest of what is to mend, and the texts of items.
fn folded(page: &Page<'_>) -> String {
    let mut out = String::new();
    let rest: String = page.mend.all.iter().skip(MENDED).map(|words| format!("* {words}\n")).collect();
    let texts: String = page.folded.iter().map(told).collect();
    let rows = turns(&page.rest);
    let parts = [
        ("The rest of what is to mend", rest),
        ("The rest of the changes of verdict", rows),
        ("Text of the items", texts),
    ];
    for (summary, lines) in parts {
        if !lines.is_empty() {
            out += &format!("\n<details><summary>{summary}</summary>\n\n{lines}\n</details>\n");
        }
    }
    out
}

fn cell(words: &str) -> String {
    words.replace('|', "\\|")
}
