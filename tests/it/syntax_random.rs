//! Reading and tidying of texts that nobody wrote: made from the language, made from fixtures by slips, and of any signs.

#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its own files are amiss")]

use crate::rulebook_maker::{self, Dice};
use bloomward::source::SourceId;
use bloomward::syntax::{parse_text, tidy_text};
use proptest::prelude::{ProptestConfig, Strategy, any, prop, prop_assert, prop_assert_eq, proptest};
use proptest::test_runner::TestCaseError;
use std::sync::LazyLock;

/// The fixtures of this phase, the broken ones too.
static FIXTURES: LazyLock<Vec<String>> = LazyLock::new(|| {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/syntax");
    let folders = [folder.clone(), folder.join("messy"), folder.join("broken")];
    let entries = folders.iter().flat_map(|folder| std::fs::read_dir(folder).unwrap());
    let mut paths: Vec<_> =
        entries.map(|entry| entry.unwrap().path()).filter(|path| path.is_file()).collect();
    paths.sort();
    paths.iter().map(|path| std::fs::read_to_string(path).unwrap()).collect()
});

/// Bits of text that slips are made of.
const BITS: &[&str] = &[
    "\"",
    "(",
    ")",
    "#",
    ",",
    "\n",
    "\n  ",
    " ",
    "\t",
    "\r\n",
    "-",
    " - ",
    "\\",
    "=",
    "/",
    "^",
    "in",
    "in hours when",
    "or else",
    "and",
    "or",
    "not",
    "if",
    "at most",
    "at",
    "5",
    "5 in",
    "0.2",
    "2027-02-11",
    "06:30",
    "1 Dec",
    "°F",
    "F",
    "%",
    "lb / 100 gal",
    "with",
    "of text",
    "text",
    "\"Kent\"",
    "because",
    "cites",
    "kept from",
    "é",
    "\u{feff}",
    "\u{0}",
    "\u{a0}",
    "“",
    "😀",
    "replace",
    "omit",
    "rulebook",
    "# c\n",
];

/// A text can be read and tidied, or is reported; what is tidied keeps its meaning and its comments, and stays so.
fn holds(text: &str) -> Result<(), TestCaseError> {
    let id = SourceId::default();
    let (tree, problems) = parse_text(text, id);
    for problem in problems.iter() {
        prop_assert!(text.get(problem.at.start as usize..problem.at.end as usize).is_some(), "{problem:?}");
        let message = &problem.message;
        prop_assert!(!message.contains("could not be understood"), "{message}\n{text}");
    }
    match tidy_text(text, id) {
        Ok(tidied) => {
            prop_assert!(problems.is_empty());
            prop_assert_eq!(&parse_text(&tidied, id).0, &tree);
            let again =
                tidy_text(&tidied, id).map_err(|problems| TestCaseError::fail(format!("{problems:?}")))?;
            prop_assert_eq!(&again, &tidied, "tidied twice:\n{}\nonce:\n{}\nof:\n{}", again, tidied, text);
            prop_assert!(!tidied.contains('\r') || text.contains('\r'));
            prop_assert!(!tidied.lines().any(|line| line.ends_with(' ')), "{tidied}");
        }
        Err(found) => {
            prop_assert!(!problems.is_empty(), "{found:?}\n{text}");
        }
    }
    Ok(())
}

/// Makes a slip in a text: a piece left out, doubled, or put in.
fn slip(text: &str, (at, length, what, bit): (usize, usize, u8, usize)) -> String {
    let signs: Vec<char> = text.chars().collect();
    let at = at % (signs.len() + 1);
    let end = (at + length % 30).min(signs.len());
    let mut out: String = signs[..at].iter().collect();
    match what % 4 {
        0 => {}
        1 => out.extend(signs[at..end].iter().chain(&signs[at..end])),
        2 => {
            out += BITS[bit % BITS.len()];
            out.extend(&signs[at..end]);
        }
        _ => out += BITS[bit % BITS.len()],
    }
    out.extend(&signs[end..]);
    out
}

fn slips() -> impl Strategy<Value = Vec<(usize, usize, u8, usize)>> {
    prop::collection::vec((any::<usize>(), any::<usize>(), any::<u8>(), any::<usize>()), 1..4)
}

#[test]
fn long_runs_of_one_thing_are_read_or_reported() {
    let rep = |bit: &str| bit.repeat(20_000 / bit.len());
    let cases = [
        format!("gate a because {}", rep("\"")),
        format!("table t of text {}", rep("\" \\")),
        format!("table t of text {}", rep("\"a\" ")),
        format!("table t of text {}", rep("\"a\" b\n")),
        format!("table t cites a \"b\" {}", rep("\"a\",b\n")),
        format!("gate a if x above {}", rep("5 in ")),
        format!("figure a = 5 in {}", rep(" ")),
        format!("figure a = 5 {}", rep("# a\n")),
        format!("figure a = {} 5 # a", rep("# a\n  ")),
        format!("worked \"a\" take {} a 5", rep("a 5,")),
        format!("worked \"a\" {}", rep("take a 5 # c\n")),
        format!("table t of share {}", rep("\n 5 % 7 # c")),
        format!("rulebook \"t\" {}", rep("\n builds-on \"a\" edition \"b\"")),
        format!("gate a if {} b", rep("a or ")),
        format!("hourly a = {} b", rep("a or ")),
        format!("gate a if x at{}", rep(" ")),
        format!("gate {}", rep("a")),
        format!("{} a", rep("a")),
        format!("gate a{}", rep("-a")),
        format!("figure a = {}", rep("1")),
        format!("gate a if ( {}", rep("\n if (")),
        format!("gate a {}", rep("\n if b c")),
        format!("gate a because \"{}\"", rep("word ")),
        format!("gate a because \"{}\"", rep("\n")),
        format!("measure x = {}", rep("greater of (a and ")),
        format!("measure x = {}", rep("hours with a over ")),
        format!("gate a because \"{}", rep("if \n")),
        format!("measure x = {}", rep("a at b + ")),
        format!("measure x = {}", rep("(")),
        rep("\u{feff}"),
        rep("\0"),
        rep("gate a if\n"),
        format!("scale a{}", rep("\n b 5 to 6 # c")),
    ];
    for text in cases {
        if let Err(error) = holds(&text) {
            panic!("{error} in {}…", text.chars().take(60).collect::<String>());
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn a_made_rulebook_reads_and_keeps_its_meaning(choices in prop::collection::vec(any::<u8>(), 0..400)) {
        let text = rulebook_maker::rulebook(&mut Dice::new(&choices));
        let (tree, problems) = parse_text(&text, SourceId::default());
        prop_assert!(problems.is_empty(), "{problems:?}\n{text}");
        prop_assert!(!tree.items.is_empty());
        holds(&text)?;
    }

    #[test]
    fn a_fixture_with_slips_is_read_or_reported(which in any::<usize>(), slips in slips()) {
        let fixture = &FIXTURES[which % FIXTURES.len()];
        holds(&slips.into_iter().fold(fixture.clone(), |text, one| slip(&text, one)))?;
    }

    #[test]
    fn a_made_rulebook_with_slips_is_read_or_reported(
        choices in prop::collection::vec(any::<u8>(), 0..200),
        slips in slips(),
    ) {
        let text = rulebook_maker::rulebook(&mut Dice::new(&choices));
        holds(&slips.into_iter().fold(text, |text, one| slip(&text, one)))?;
    }

    #[test]
    fn any_text_is_read_or_reported(text in any::<String>()) {
        holds(&text)?;
    }

    #[test]
    fn any_row_of_bits_is_read_or_reported(bits in prop::collection::vec(0..BITS.len(), 0..40)) {
        let text: String = bits.into_iter().flat_map(|bit| [BITS[bit], " "]).collect();
        holds(&text)?;
        holds(&format!("gate a {text}"))?;
        holds(&format!("measure x = {text}"))?;
        holds(&format!("table t of text {text}"))?;
    }
}
