//! The clauses of one item in their canonical spelling, and those by which two editions of it differ.
//!
//! Comes in: the text of an item, or of a clause. Goes out: lines. Knows no meaning.

use super::layout::{flat, width};
use super::tokens::{Token, TokenSort, tokens};
use super::{ClauseEntry, EntryRole, ItemText, entries};
use crate::source::SourceId;

/// The widest clause of which all is said, where a part of it differs.
const WHOLE: usize = 60;

/// One clause in one line.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct ClauseLine {
    /// The word that it begins with.
    pub word: String,
    /// All of it, or the part of a long one that differs.
    pub line: String,
}

/// An item in its clauses.
#[derive(Debug)]
pub struct ItemClauses {
    list: Vec<ClauseEntry>,
}

impl ItemClauses {
    /// Reads the text of an item; nothing where it is none.
    pub fn of(text: &str) -> Option<Self> {
        let item = ItemText { text, base: 0, source: SourceId::default() };
        let mut pieces = Vec::new();
        item.read(&mut pieces).ok()?;
        let (tokens, comments) = tokens(text, &pieces);
        Some(Self { list: entries::entries(&pieces, tokens, comments).list })
    }

    /// Returns the words of its clauses: all that they can name is among them.
    pub fn words(&self) -> impl Iterator<Item = &str> {
        let rules = self.list.iter().filter(|it| !gives_reasons(it)).flat_map(|it| &it.tokens);
        rules.filter(|token| token.sort == TokenSort::Word).map(|token| &*token.text)
    }

    /// Returns its clauses, a line each, without its reasons; the head where it has no other.
    pub fn lines(&self) -> Vec<ClauseLine> {
        let rules: Vec<&ClauseEntry> = self.list.iter().filter(|it| is_rule(it)).collect();
        let lines = if rules.is_empty() { self.list.iter().take(1).collect() } else { rules };
        lines.into_iter().map(|it| ClauseLine { word: word(it), line: key(it) }).collect()
    }

    /// Returns the whole item in one line.
    pub fn whole(&self) -> String {
        self.list.iter().map(|it| flat(&it.tokens)).collect::<Vec<String>>().join(" ")
    }

    /// Returns the clauses that each of two editions has alone: those that decide, else the reasons.
    pub fn differing(was: &Self, now: &Self) -> [Vec<ClauseLine>; 2] {
        let kept = |list: &[ClauseEntry], it: &ClauseEntry| list.iter().any(|one| key(one) == key(it));
        let alone = |of: &Self, other: &Self| -> Vec<ClauseEntry> {
            of.list.iter().filter(|it| !kept(&other.list, it)).cloned().collect()
        };
        let mut sides = [alone(was, now), alone(now, was)];
        if sides.iter().flatten().any(|it| !gives_reasons(it)) {
            sides.iter_mut().for_each(|side| side.retain(|it| !gives_reasons(it)));
        }
        let [before, after] = &sides;
        [lines_beside(before, after), lines_beside(after, before)]
    }
}

/// Returns whether a clause says why, on whose authority, and nothing else.
fn gives_reasons(entry: &ClauseEntry) -> bool {
    matches!(entry.tokens.first().map(|it| &*it.text), Some("because" | "cites" | "how"))
}

/// Returns whether a clause decides something: the labels and cautions of a product are items of their own.
fn is_rule(entry: &ClauseEntry) -> bool {
    entry.role != EntryRole::Head && !gives_reasons(entry)
}

/// Returns what a clause says; that a head replaces another is no difference.
fn key(entry: &ClauseEntry) -> String {
    let replaces = entry.tokens.first().is_some_and(|it| it.text == "replace");
    flat(entry.tokens.get(usize::from(replaces)..).unwrap_or_default())
}

/// Returns clauses in lines, each cut to what differs where the other side has one clause of that word.
fn lines_beside(own: &[ClauseEntry], others: &[ClauseEntry]) -> Vec<ClauseLine> {
    let of = |list: &[ClauseEntry], it: &ClauseEntry| list.iter().filter(|one| word(one) == word(it)).count();
    let line = |it: &ClauseEntry| {
        let other = others.iter().find(|one| word(one) == word(it));
        let is_pair = of(own, it) == 1 && of(others, it) == 1;
        let line = match other.filter(|_| is_pair) {
            Some(other) => cut(&it.tokens, &other.tokens),
            None => key(it),
        };
        ClauseLine { word: word(it), line }
    };
    own.iter().map(line).collect()
}

/// Returns the word that a clause begins with.
fn word(entry: &ClauseEntry) -> String {
    entry.tokens.first().map(|it| it.text.clone()).unwrap_or_default()
}

/// Returns a clause in one line: of a long one its first word, and the part between two joints in which it differs.
fn cut(own: &[Token], other: &[Token]) -> String {
    if width(own) <= WHOLE {
        return flat(own);
    }
    let same = |(a, b): &(&Token, &Token)| a.text == b.text;
    let before = own.iter().zip(other).take_while(same).count();
    let left = own.len().min(other.len()) - before;
    let behind = own.iter().rev().zip(other.iter().rev()).take(left).take_while(same).count();
    let is_end = |it: &Token| matches!(it.sort, TokenSort::Joint | TokenSort::Comma) || it.text == "=";
    let start = own.iter().take(before).rposition(is_end).map_or(0, |at| at + 1);
    let last = own.len() - behind;
    let end = own.iter().skip(last).position(is_end).map_or(own.len(), |at| last + at);
    let part = own.get(start..end.max(start)).unwrap_or_default();
    // What is defined is named, too.
    let named = own.iter().take(start).position(|it| it.text == "=").map_or(0, |at| at + 1);
    let first = own.get(..named.max(1)).filter(|_| start > named).map(|it| format!("{} … ", flat(it)));
    let first =
        first.or_else(|| own.get(..named).filter(|it| !it.is_empty()).map(|it| format!("{} ", flat(it))));
    let first = first.unwrap_or_default();
    format!("{first}{}{}", flat(part), if end < own.len() { " …" } else { "" })
}

#[cfg(test)]
mod tests {
    use super::ItemClauses;

    fn differing(was: &str, now: &str) -> [Vec<String>; 2] {
        let sides = ItemClauses::differing(&ItemClauses::of(was).unwrap(), &ItemClauses::of(now).unwrap());
        sides.map(|side| side.into_iter().map(|it| it.line).collect())
    }

    #[test]
    fn only_what_differs_is_told() {
        let gate = |hours: &str, because: &str| {
            format!("gate windy\n shuts spraying\n in hours when\n   wind {hours}\n because \"{because}\"\n")
        };
        assert_eq!(
            differing(&gate("above 10 mph", "it drifts"), &gate("above 14 mph", "it does")),
            [["in hours when wind above 10 mph"], ["in hours when wind above 14 mph"]]
        );
        let words = differing(&gate("above 10 mph", "it drifts"), &gate("above 10 mph", "it does"));
        assert_eq!(words, [["because \"it drifts\""], ["because \"it does\""]]);
        assert_eq!(differing("figure hot = 90 °F", "replace figure hot = 90 °F"), [[""; 0], [""; 0]]);
    }

    #[test]
    fn a_long_clause_is_cut_to_the_part_that_differs() {
        let measure = |few: &str| {
            format!(
                "measure open = some panicles with (stage from half-open to full-bloom or open-flowers above {few} \
                 or fruit-set below 20)"
            )
        };
        let [was, now] = differing(&measure("20 %"), &measure("60 %"));
        assert_eq!(
            (&*was[0], &*now[0]),
            ("measure open = … open-flowers above 20 % …", "measure open = … open-flowers above 60 % …")
        );
    }
}
