//! The places of a note: `a1` for A01, `a1-15` for A01-A15, `row a`, `terrace`, `terrace/kent`, `grove`, and `except a7`.
//!
//! Capitals, blanks, dashes and leading zeros do not matter where only one tree can be meant.

use super::signs::Word;
use crate::grove::block::Block;
use crate::grove::target::{Places, Target};
use crate::grove::tree::Trees;
use crate::grove::trouble::Trouble;
use crate::phrase::{Phrase, said};
use rustc_hash::FxHashMap;

/// The names of a grove, tolerantly.
pub(in crate::grove) struct NotePlaces<'g> {
    trees: &'g Trees,
    blocks: &'g [Block],
    exact: Places<'g>,
    by_key: FxHashMap<String, Vec<u32>>,
}

/// What a note speaks of.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct NotedPlace {
    /// As the column `on` of a log says it.
    pub on: String,
    /// The trees, in walking order.
    pub trees: Vec<usize>,
    pub(in crate::grove) targets: Vec<Target>,
}

type Found<T> = Option<Result<T, Trouble>>;

/// What stands between the ends of a range.
const TO: [&str; 6] = [" to ", " thru ", " through ", " a ", " al ", " hasta "];
/// What says that a row is meant.
const ROW: [&str; 6] = ["row ", "rows ", "hilera ", "hileras ", "fila ", "filas "];
/// What says that all of something is meant, before it and behind it.
const ALL_OF: [&str; 10] = [
    "all of ",
    "all ",
    "the whole ",
    "whole ",
    "every ",
    "toda la ",
    "todo el ",
    "toda ",
    "todo ",
    "todos los ",
];
const ALL: [&str; 6] = [" all", " whole", " todo", " toda", " todos", " entera"];

/// Fewer letters name no cultivar by themselves.
const SHORTEST_CULTIVAR: usize = 4;
/// So many words has the longest place.
const MOST_WORDS: usize = 6;

impl<'g> NotePlaces<'g> {
    /// Takes the names of a grove.
    pub fn new(trees: &'g Trees, blocks: &'g [Block]) -> Self {
        let mut by_key: FxHashMap<String, Vec<u32>> = FxHashMap::default();
        for tree in 0..trees.len() {
            by_key.entry(key(trees.name(tree))).or_default().push(u32::try_from(tree).unwrap_or(u32::MAX));
        }
        Self { trees, blocks, exact: Places::new(trees, blocks), by_key }
    }

    /// Reads the places at the beginning of some words, and how many words they take; nothing where there are none.
    pub fn read(&self, words: &[Word]) -> Found<(NotedPlace, usize)> {
        let (mut targets, mut taken) = match self.list(words)? {
            Ok(found) => found,
            Err(trouble) => return Some(Err(trouble)),
        };
        let rest = words.get(taken..).unwrap_or_default();
        let excepts = rest.first().is_some_and(|word| {
            matches!(word.small.as_str(), "except" | "but" | "without" | "excepto" | "menos")
        });
        if excepts {
            match self.list(rest.get(1..).unwrap_or_default()) {
                Some(Ok((left_out, count))) => {
                    taken += count + 1;
                    match self.without(&targets, &left_out) {
                        Ok(rest) => targets = rest,
                        Err(trouble) => return Some(Err(trouble)),
                    }
                }
                Some(Err(trouble)) => return Some(Err(trouble)),
                None => {
                    let help = "write the trees that are left out: `a1-15 except a7`";
                    return Some(Err(Trouble::new("no tree follows `except`").help(help)));
                }
            }
        }
        Some(Ok((self.place(targets), taken)))
    }

    /// Reads places from a text of their own, with `,` or `;` between them.
    pub fn read_all(&self, text: &str) -> Result<NotedPlace, Trouble> {
        let words: Vec<Word> =
            super::signs::notes(&text.replace(';', ",")).into_iter().flat_map(|line| line.words).collect();
        match self.read(&words) {
            Some(Ok((place, taken))) if taken == words.len() => Ok(place),
            Some(Err(trouble)) => Err(trouble),
            Some(Ok(_)) | None => self.exact.read(text.trim()).map(|targets| self.place(targets)),
        }
    }

    /// Returns the place that some trees are.
    pub fn of_trees(&self, trees: &[usize]) -> NotedPlace {
        let mut targets = Vec::new();
        let number = |tree: usize| u32::try_from(tree).unwrap_or(u32::MAX);
        for run in trees.chunk_by(|a, b| a + 1 == *b && self.trees.block(*a) == self.trees.block(*b)) {
            match run {
                [] => {}
                [one] => targets.push(Target::Tree(number(*one))),
                [first, .., last] => targets.push(Target::Range(number(*first), number(*last))),
            }
        }
        if trees.len() == self.trees.len() {
            targets = vec![Target::Grove];
        }
        self.place(targets)
    }

    fn without(&self, targets: &[Target], left_out: &[Target]) -> Result<Vec<Target>, Trouble> {
        let (all, out) = (self.trees_of(targets), self.trees_of(left_out));
        if let Some(stranger) = out.iter().find(|tree| !all.contains(tree)) {
            let name = self.trees.name(*stranger);
            return Err(Trouble::new(said!("`{name}` is left out, but it is not among the trees", name)));
        }
        let rest: Vec<usize> = all.into_iter().filter(|tree| !out.contains(tree)).collect();
        if rest.is_empty() {
            return Err(Trouble::new("every tree is left out"));
        }
        Ok(self.of_trees(&rest).targets)
    }

    fn place(&self, targets: Vec<Target>) -> NotedPlace {
        let trees = self.trees_of(&targets);
        let words: Vec<String> = targets.iter().map(|target| target.words(self.trees, self.blocks)).collect();
        let on = words.join("; ");
        // A tree may bear a name that reads as a range: then each tree is written out.
        if self.exact.read(&on).is_ok_and(|again| again == targets) {
            return NotedPlace { on, trees, targets };
        }
        let names: Vec<&str> = trees.iter().map(|tree| self.trees.name(*tree)).collect();
        let targets = trees.iter().map(|tree| Target::Tree(u32::try_from(*tree).unwrap_or(u32::MAX)));
        NotedPlace { on: names.join("; "), targets: targets.collect(), trees }
    }

    fn trees_of(&self, targets: &[Target]) -> Vec<usize> {
        let mut trees = Vec::new();
        targets.iter().for_each(|target| target.each_tree(self.trees, |tree| trees.push(tree)));
        trees.sort_unstable();
        trees.dedup();
        trees
    }

    /// Reads places with commas or `and` between them.
    fn list(&self, words: &[Word]) -> Found<(Vec<Target>, usize)> {
        if let Some(found) = self.glued(words) {
            return Some(Ok((found, 1)));
        }
        let (first, mut taken) = match self.longest(words).or_else(|| self.of_cultivar(words))? {
            Ok(found) => found,
            Err(trouble) => return Some(Err(trouble)),
        };
        let of_rows = words.first().is_some_and(|word| ROW.iter().any(|row| row.trim_end() == word.small));
        let mut targets = first;
        loop {
            let rest = words.get(taken..).unwrap_or_default();
            let joins = rest
                .iter()
                .take_while(|word| matches!(word.small.as_str(), "," | "and" | "y" | "&" | "+"))
                .count();
            // `C1 C2 full`: a tree or a range may follow with no sign between them.
            if joins == 0 && !self.begins(rest) {
                break;
            }
            let next = rest.get(joins..).unwrap_or_default();
            // `rows b and c`
            let row = next.first().filter(|_| of_rows).and_then(|word| self.row(&word.small));
            let row = row.map(|row| Ok((vec![row], 1)));
            match row.or_else(|| self.longest(next)).or_else(|| self.of_cultivar(next)) {
                Some(Ok((found, count))) => {
                    taken += joins + count;
                    for target in found {
                        if !targets.contains(&target) {
                            targets.push(target);
                        }
                    }
                }
                Some(Err(trouble)) => return Some(Err(trouble)),
                None => break,
            }
        }
        Some(Ok((targets, taken)))
    }

    /// Returns whether a tree or a range stands at the beginning of some words, named with letters and a number.
    pub fn begins(&self, words: &[Word]) -> bool {
        let named = words.first().is_some_and(|word| {
            word.small.starts_with(char::is_alphabetic)
                && word.small.contains(|sign: char| sign.is_ascii_digit())
        });
        let found = named.then(|| self.longest(words)).flatten();
        let is_tree = |targets: &[Target]| matches!(targets, [Target::Tree(_) | Target::Range(..)]);
        found.is_some_and(|found| found.map_or(true, |(targets, _)| is_tree(&targets)))
    }

    /// Reads several trees of a row in one word, `a1,2,5-7`.
    fn glued(&self, words: &[Word]) -> Option<Vec<Target>> {
        let small = &words.first().filter(|word| word.small.starts_with(char::is_alphabetic))?.small;
        let mut parts = small.split(',');
        let first = parts.next()?;
        let letters: String = first.chars().take_while(|sign| !sign.is_ascii_digit()).collect();
        let mut targets = vec![self.one(first)?.ok()?];
        for part in parts {
            let named = if part.starts_with(|sign: char| sign.is_ascii_digit()) { &*letters } else { "" };
            targets.push(self.one(&format!("{named}{part}"))?.ok()?);
        }
        (targets.len() > 1).then_some(targets)
    }

    /// Reads the trees of a cultivar, in whatever block they stand: by its name, its first word or its first letters.
    fn of_cultivar(&self, words: &[Word]) -> Found<(Vec<Target>, usize)> {
        for count in (1..=words.len().min(3)).rev() {
            let text: Vec<&str> = words.iter().take(count).map(|word| word.small.as_str()).collect();
            let text = text.join(" ");
            if text.chars().count() < SHORTEST_CULTIVAR {
                continue;
            }
            let blocks = (0..self.blocks.len()).filter_map(|block| u16::try_from(block).ok());
            let found: Vec<Target> = blocks
                .filter_map(|block| self.cultivar(block, &text)?.ok())
                .filter(|target| !self.trees_of(std::slice::from_ref(target)).is_empty())
                .collect();
            if !found.is_empty() {
                return Some(Ok((found, count)));
            }
        }
        None
    }

    fn longest(&self, words: &[Word]) -> Found<(Vec<Target>, usize)> {
        let most = words.iter().take_while(|word| !matches!(word.text.as_str(), "," | "+" | "&")).count();
        let mut wrong = None;
        for count in (1..=most.min(MOST_WORDS)).rev() {
            let text: Vec<&str> = words.iter().take(count).map(|word| word.text.as_str()).collect();
            match self.one(&text.join(" ")) {
                Some(Ok(target)) => return Some(Ok((vec![target], count))),
                // Fewer words may make a place all the same.
                Some(Err(trouble)) => wrong = Some(Err(trouble)),
                None => {}
            }
        }
        wrong
    }

    fn one(&self, text: &str) -> Found<Target> {
        match self.exact.one(text) {
            Ok(Some(target)) => return Some(Ok(target)),
            Err(trouble) if !text.contains('/') => return Some(Err(trouble)),
            Ok(None) | Err(_) => {}
        }
        let small = text.to_lowercase();
        if matches!(
            small.as_str(),
            "all"
                | "all trees"
                | "the grove"
                | "whole grove"
                | "todos"
                | "todos los árboles"
                | "toda la finca"
        ) {
            return Some(Ok(Target::Grove));
        }
        if let Some(block) = self.block(&small) {
            return Some(Ok(Target::Block(block)));
        }
        if let Some(rows) =
            ROW.iter().find_map(|word| small.strip_prefix(word)).and_then(|row| self.rows(row))
        {
            return Some(Ok(rows));
        }
        let whole = ALL_OF.iter().find_map(|word| small.strip_prefix(word));
        let whole = whole.or_else(|| ALL.iter().find_map(|word| small.strip_suffix(word))).map(str::trim);
        if let Some(found) = whole.and_then(|rest| self.rows(rest).map(Ok).or_else(|| self.one(rest))) {
            return Some(found);
        }
        if let Some((block, cultivar)) = small.split_once('/').or_else(|| small.split_once(' '))
            && let Some(block) = self.block(block.trim())
        {
            let found = self.cultivar(block, cultivar.trim());
            // `terrace full` is a block and a stage; `terrace/full` can only be a cultivar.
            return found.or_else(|| small.contains('/').then(|| Err(self.no_cultivar(&small))));
        }
        if let Some(tree) = self.tree(&small) {
            return Some(tree.map(Target::Tree));
        }
        self.range(&small)
    }

    fn block(&self, small: &str) -> Option<u16> {
        let at = self.blocks.iter().position(|block| block.name.to_lowercase() == small)?;
        u16::try_from(at).ok()
    }

    /// Returns a row, or all from one row to another: `b`, `b-d`, `b to d`.
    fn rows(&self, small: &str) -> Option<Target> {
        if let Some(row) = self.row(small.trim()) {
            return Some(row);
        }
        let ends = ["-"].iter().chain(&TO).find_map(|sign| small.split_once(sign))?;
        match (self.row(ends.0.trim())?, self.row(ends.1.trim())?) {
            (Target::Range(first, _) | Target::Tree(first), Target::Range(_, last) | Target::Tree(last)) => {
                (first < last).then_some(Target::Range(first, last))
            }
            _ => None,
        }
    }

    /// Returns the trees whose names are these letters and a number, where they stand one after the other.
    fn row(&self, letters: &str) -> Option<Target> {
        let of_row = |tree: &usize| {
            let name = self.trees.name(*tree).to_lowercase();
            let start = name.trim_end_matches(|sign: char| sign.is_ascii_digit());
            start.len() < name.len() && start.trim_end_matches(['-', '_', ' ', '.']) == letters
        };
        let row: Vec<usize> = (0..self.trees.len()).filter(of_row).collect();
        let (first, last) = (*row.first()?, *row.last()?);
        let number = |tree: usize| u32::try_from(tree).unwrap_or(u32::MAX);
        match last - first + 1 {
            1 => Some(Target::Tree(number(first))),
            length => (length == row.len()).then(|| Target::Range(number(first), number(last))),
        }
    }

    fn cultivar(&self, block: u16, small: &str) -> Found<Target> {
        let names = self.trees.cultivar_names();
        let matching = |fits: &dyn Fn(&str) -> bool| -> Vec<u32> {
            let all = names.iter().enumerate().filter(|(_, name)| fits(&name.to_lowercase()));
            all.filter_map(|(at, _)| u32::try_from(at).ok()).collect()
        };
        let mut found = matching(&|name| name == small);
        if found.is_empty() && small.chars().count() >= 2 {
            found = matching(&|name| name.starts_with(small));
        }
        match &found[..] {
            [] => None,
            [one] => Some(Ok(Target::Cultivar(block, *one))),
            several => {
                let names: Vec<&str> =
                    several.iter().filter_map(|at| names.get(*at as usize)).map(|it| &**it).collect();
                Some(Err(ambiguous(small, &names)))
            }
        }
    }

    fn no_cultivar(&self, small: &str) -> Trouble {
        let names: Vec<String> = self.trees.cultivar_names().iter().map(|name| format!("`{name}`")).collect();
        Trouble::new(said!("`{text}` names no cultivar of the grove", text = small))
            .help(said!("the cultivars are {names}", names = names.join(", ")))
    }

    /// Says that no tree or block has this name.
    pub fn unknown(&self, text: &str) -> Trouble {
        if let Some(trouble) = self.exact.missing_of_range(text) {
            return trouble;
        }
        let letters = text.to_lowercase();
        let letters = letters.split(|sign: char| sign.is_ascii_digit()).next().unwrap_or_default();
        let trouble = Trouble::new(said!("there is no tree or block `{text}`", text));
        match self.last_of(letters).filter(|_| !letters.is_empty()) {
            Some(help) => trouble.help(help),
            None => self.exact.unknown(text),
        }
    }

    fn tree(&self, small: &str) -> Found<u32> {
        match self.by_key.get(&key(small)).map(Vec::as_slice) {
            None | Some([]) => None,
            Some([one]) => Some(Ok(*one)),
            Some(several) => {
                let exact =
                    several.iter().find(|tree| self.trees.name(**tree as usize).to_lowercase() == small);
                let names: Vec<&str> = several.iter().map(|tree| self.trees.name(*tree as usize)).collect();
                Some(exact.copied().ok_or_else(|| ambiguous(small, &names)))
            }
        }
    }

    fn range(&self, small: &str) -> Found<Target> {
        let dashes = small.match_indices('-').map(|(at, dash)| (at, at + dash.len()));
        let words = TO.iter().flat_map(|word| small.match_indices(word));
        let words = words.map(|(at, word)| (at, at + word.len()));
        for (end, start) in dashes.chain(words) {
            let (Some(first), Some(last)) = (small.get(..end), small.get(start..)) else { continue };
            let (first, last) = (first.trim(), last.trim());
            if first.is_empty() || last.is_empty() {
                continue;
            }
            // `a1-15` ends at a15.
            let letters = first.trim_end_matches(|letter: char| letter.is_ascii_digit());
            let number = last.bytes().all(|letter| letter.is_ascii_digit());
            let whole =
                if number && !letters.is_empty() { format!("{letters}{last}") } else { last.to_string() };
            match (self.tree(first), self.tree(&whole)) {
                (Some(Ok(from)), Some(Ok(to))) if from > to => {
                    let (from, to) = (self.trees.name(from as usize), self.trees.name(to as usize));
                    let message = said!("the range `{text}` runs against the walking order", text = small);
                    return Some(Err(Trouble::new(message).help(said!("write `{to}-{from}`", to, from))));
                }
                (Some(Ok(from)), Some(Ok(to))) if from == to => return Some(Ok(Target::Tree(from))),
                (Some(Ok(from)), Some(Ok(to))) => return Some(Ok(Target::Range(from, to))),
                (Some(Err(trouble)), Some(_)) | (Some(Ok(_)), Some(Err(trouble))) => {
                    return Some(Err(trouble));
                }
                (Some(_), None) if number && !letters.is_empty() => {
                    return Some(Err(self.exact.missing_of(first, &whole).unwrap_or_else(|| {
                        let message = said!(
                            "there is no tree `{whole}`, where `{text}` would end",
                            whole,
                            text = small
                        );
                        Trouble::new(message).maybe_help(self.last_of(letters))
                    })));
                }
                (None, _) | (_, None) => {}
            }
        }
        None
    }

    fn last_of(&self, letters: &str) -> Option<Phrase> {
        let begins = |tree: &usize| self.trees.name(*tree).to_lowercase().starts_with(letters);
        let last = (0..self.trees.len()).rev().find(begins)?;
        Some(said!("the last tree of that row is `{trees}`", trees = self.trees.name(last)))
    }
}

fn ambiguous(small: &str, names: &[&str]) -> Trouble {
    let names: Vec<String> = names.iter().map(|name| format!("`{name}`")).collect();
    Trouble::new(said!("`{text}` may be {names}", text = small, names = Phrase::any_of(names)))
        .help("write the one that is meant")
}

/// Returns what remains of a name without capitals, blanks, dashes and leading zeros. A dash between two numbers stays:
/// `a1-15` is no tree `A115`.
fn key(name: &str) -> String {
    let (mut key, mut number, mut parted) = (String::new(), String::new(), false);
    let finish = |number: &mut String, key: &mut String| {
        let bare = number.trim_start_matches('0');
        key.push_str(if bare.is_empty() && !number.is_empty() { "0" } else { bare });
        number.clear();
    };
    for sign in name.chars().flat_map(char::to_lowercase) {
        if sign.is_ascii_digit() {
            if parted {
                key.push('-');
            }
            number.push(sign);
            parted = false;
            continue;
        }
        parted = !number.is_empty() || (parted && matches!(sign, '-' | '_' | ' ' | '.'));
        finish(&mut number, &mut key);
        if !matches!(sign, '-' | '_' | ' ' | '.') {
            key.push(sign);
            parted = false;
        }
    }
    finish(&mut number, &mut key);
    key
}
