//! A rulebook of many gates and choices over few names, the same at every run; and the same with a few edits.

use std::fmt::Write;

/// A small generator of numbers, the same at every run (Marsaglia 2003, 64-bit xorshift).
struct Numbers(u64);

impl Numbers {
    fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        (self.0 >> 11) % bound
    }
}

const STAGES: [&str; 5] = ["closed", "first", "half", "full", "faded"];
const LEVELS: [&str; 3] = ["none", "some", "much"];
/// How many products there are.
const PRODUCTS: usize = 12;

/// Writes a rulebook: half of the rules are gates, half choices, each choice outranking the next. The names have from two to
/// five cells. With edits, so many rules have another threshold.
pub fn rulebook(rules: usize, names: usize, edits: usize) -> String {
    let mut numbers = Numbers(0x9E37_79B9_7F4A_7C15);
    let mut book = String::from(
        "rulebook \"Many rules\"\n  caution \"For measuring only.\"\n\nsource own \"made for measuring\"\n",
    );
    for (scale, levels) in [("bloom", &STAGES[..]), ("need", &LEVELS[..])] {
        let _ = write!(book, "\nscale {scale}\n  {}\n", levels.join("\n  "));
    }
    for name in 0..names {
        let kind = ["bloom", "share", "yes-no", "need"][kind(name)];
        let _ = write!(book, "\nobserve n{name}\n  kind {kind}\n");
    }
    for product in 0..PRODUCTS {
        let _ =
            write!(book, "\nproduct p{product}\n  strength low 1 g/L\n  strength high 2 g/L\n  cites own\n");
    }
    for at in 0..rules {
        let moved = edits > 0 && at % (rules / edits).max(1) == rules / edits / 2;
        let first = numbers.below(names as u64) as usize;
        let count = 3 + at % 2 + numbers.below(3) as usize;
        let tests: Vec<String> = (0..count)
            .map(|it| {
                let one = (numbers.below(8), numbers.below(4));
                test((first + it * 5 + 1) % names, one, moved && it == 0)
            })
            .collect();
        let condition = match numbers.below(4) {
            0 => format!("({}) or ({})", tests[0], tests[1..].join(" and ")),
            1 => format!("{}\n  unless {}", tests[1..].join(" and "), tests[0]),
            _ => tests.join(" and "),
        };
        let (one, further) = (numbers.below(12) as usize, 1 + numbers.below(11) as usize);
        let (product, other) = (format!("p{one}"), format!("p{}", (one + further) % PRODUCTS));
        if at % 2 == 0 {
            let does = ["shuts", "holds"][usize::from(numbers.below(3) == 0)];
            let to = if does == "holds" { " to low" } else { "" };
            let _ = write!(
                book,
                "\ngate g{at}\n  {does} {product}{to}\n  if {condition}\n  because \"x\"\n  cites own\n"
            );
        } else {
            let strength = ["low", "high"][numbers.below(2) as usize];
            let lower = if at + 2 < rules { format!("c{}", at + 2) } else { "rest".to_owned() };
            let _ = write!(
                book,
                "\nchoice c{at}\n  advise {product} at {strength}\n  or else {other} at low\n  if {condition}\n  outranks {lower}\n  because \"x\"\n  cites own\n"
            );
        }
    }
    book + "\nchoice rest\n  advise hold\n  because \"x\"\n  cites own\n"
}

/// Returns the kind of a name: one stage, and shares, answers and needs in turn.
fn kind(name: usize) -> usize {
    if name == 0 { 0 } else { 1 + name % 3 }
}

fn test(name: usize, (at, form): (u64, u64), moved: bool) -> String {
    let at = if moved { at + 1 } else { at } as usize;
    match kind(name) {
        0 => {
            let (low, high) = (at % 5, (at % 5 + 1 + form as usize % 2).min(4));
            format!("n{name} from {} to {}", STAGES[low], STAGES[high])
        }
        1 => format!("n{name} {} {} %", ["at least", "below"][form as usize % 2], [5, 20, 50][at % 3]),
        2 => ["", "not "][at % 2].to_owned() + &format!("n{name}"),
        _ => format!("n{name} {} {}", ["is", "is not"][form as usize % 2], LEVELS[at % 3]),
    }
}
