//! CHECK FIRST and NOTHING ALLOWED TODAY as a grower reads them: what is asked, why, and until when.

use crate::cli::{folder, ran};

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Advice of an example for some trees at a moment.
#[track_caller]
fn advice(test: &str, example: &str, arguments: &[&str]) -> String {
    let grove = folder(test).join("grove");
    let grove = grove.to_str().unwrap();
    ran(&["start", grove, "--example", example], 0);
    flat(&ran(&[&["advise", "--long", grove], arguments].concat(), 0).0)
}

/// A stage holds for five days by the guide: twelve days later every tree is asked for it, with when it was seen last.
#[test]
fn a_stage_that_is_too_old_is_named_and_asked_for() {
    let later = advice("check_first_too_old", "mixed-grove", &["--as-of", "2027-02-21T04:30"]);
    let asks = "stage: At which stage are these panicles? (last seen";
    assert_eq!(later.matches("CHECK FIRST").count(), later.matches(asks).count(), "{later}");
    assert!(later.contains("(last seen Mon, Feb 8, 2027, 13 days ago: too old)"), "{later}");
    assert!(!later.contains("SPRAY "), "{later}");
    let grove = folder("check_first_asked").join("grove");
    ran(&["start", grove.to_str().unwrap(), "--example", "mixed-grove"], 0);
    let asked = flat(&ran(&["ask", grove.to_str().unwrap()], 0).0);
    assert!(
        asked.contains("A14, A15 ")
            && asked.contains("stage: At which stage are these panicles? (last seen Thu, Jan 21"),
        "{asked}"
    );
    let fresh = advice("check_first_fresh", "mixed-grove", &["--tree", "C12"]);
    assert!(!fresh.contains("too old"), "{fresh}");
}

/// Of a tree of which much is open only what settles something is told; the question that it is told for comes first.
#[test]
fn an_answer_that_settles_nothing_is_not_told() {
    let page = advice("check_first_settles", "mixed-grove", &["--tree", "A14"]);
    assert!(page.contains("Look at stage: At which stage"), "{page}");
    assert!(
        page.contains("Then stage bud burst or lower or stage marble or higher: do not spray Too much"),
        "{page}"
    );
    assert!(!page.contains(": check first"), "{page}");
}

/// Where both diseases are to be sprayed against for certain, nothing says that it is perhaps so.
#[test]
fn what_is_certain_is_not_said_to_be_perhaps() {
    let page = advice("check_first_certain", "mixed-grove", &["--tree", "C12"]);
    assert!(page.contains("both diseases at once for certain; which spray is open"), "{page}");
    assert!(!page.contains("perhaps both"), "{page}");
    let spanish = advice("check_first_spanish", "mixed-grove", &["--tree", "C12", "--language", "es"]);
    assert!(!spanish.contains(".."), "{spanish}");
    assert!(spanish.contains("con certeza; falta saber con qué producto"), "{spanish}");
}

/// A tree on which nothing may be sprayed is not covered: it waits.
#[test]
fn where_nothing_is_allowed_nobody_is_told_of_cover() {
    let page = advice("check_first_all_shut", "garden", &["--tree", "T04"]);
    assert!(page.contains("NOTHING ALLOWED TODAY"), "{page}");
    assert!(page.contains("Until Sat, Mar 6, 2027; then sulfur (reduced rate)"), "{page}");
    assert!(!page.contains("Covered until"), "{page}");
    let held = advice("check_first_covered", "mixed-grove", &["--tree", "H01"]);
    assert!(held.contains("DO NOT SPRAY") && held.contains("Covered until Wed, Feb 10, 2027"), "{held}");
}
