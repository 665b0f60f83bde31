//! What is said of answers and of what would change a decision: in each language and in the grower's units, made from facts.

use super::case::{Case, case};
use super::cli::{folder, ran};
use bloomward::advice;
use bloomward::words::{Language, Speech, Words};

const HEAD: &str = "observe bugs\n  kind count\nobserve warm\n  kind temperature\nobserve sown\n  kind date\n\
                    product copper\n  strength full 2 g/L\n  cites own\n";

/// Makes a grove of one tree with a rulebook that sprays where a condition holds, and holds where another does.
fn grove(spray_if: &str, hold_if: &str, seen: &str) -> Case {
    let choice = |name: &str, advise: &str, condition: &str| {
        format!(
            "choice {name}\n  advise {advise}\n  if {condition}\n  within 24 h\n  recheck in 3 d\n  cites own\n"
        )
    };
    let items = HEAD.to_owned() + &choice("aa", "copper at full", spray_if) + &choice("bb", "hold", hold_if);
    case(&items, &format!("sprays: none yet\nunits: us\ntrees:\n  - {{ tree: A1{seen} }}\n"))
}

/// Writes a grove into a folder of its own, and returns what a command prints of it.
fn printed(name: &str, case: &Case, command: &[&str]) -> String {
    let folder = folder(name);
    std::fs::write(folder.join("test.rulebook"), &case.book).unwrap();
    std::fs::write(folder.join("grove.yaml"), &case.grove).unwrap();
    let (first, rest) = command.split_first().unwrap();
    let (page, _) = ran(&[&[*first, folder.to_str().unwrap()], rest].concat(), 0);
    page.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Returns what is said of a tree's answers and tipping points in English and in Spanish.
fn said(case: &Case, say: impl Fn(Words<'_>, &advice::Case) -> Vec<String>) -> [Vec<String>; 2] {
    let Ok(read) = case.open() else { panic!("{}", case.book) };
    let weather_measures = read.weather_measures();
    let advised = read.advisor(&weather_measures).advise();
    let of_case = |language| say(Words { language, speech: Speech::Us, plan: &read.plan }, &advised.cases[0]);
    [of_case(Language::English), of_case(Language::Spanish)]
}

#[test]
fn what_would_change_a_decision_is_said_in_each_language() {
    let tipping = |words: Words<'_>, case: &advice::Case| {
        case.tipping_points.iter().map(|point| words.tipping(point)).collect()
    };
    let warm = grove("warm above 30 °C", "warm at most 30 °C", ", seen: 2027-02-10, warm: 25 °C");
    let [english, spanish] = said(&warm, tipping);
    assert_eq!(english, ["warm above 86 °F: spray copper (full rate)"]);
    assert_eq!(spanish.len(), 1);
    assert!(spanish[0].starts_with("warm más de 86 °F: aplique copper ("), "{spanish:?}");
    let sown =
        grove("sown below 2027-02-05", "not sown below 2027-02-05", ", seen: 2027-02-10, sown: 2027-02-03");
    let [english, spanish] = said(&sown, tipping);
    assert_eq!(english, ["sown Fri, Feb 5, 2027 or later: do not spray"]);
    assert_eq!(spanish.len(), 1);
    assert!(spanish[0].ends_with("o después: no asperje"), "{spanish:?}");
}

#[test]
fn an_answer_is_said_in_each_language() {
    let answers = |words: Words<'_>, case: &advice::Case| {
        case.answers.iter().map(|answer| words.answer(answer, |_| "")).collect()
    };
    let [english, spanish] = said(&grove("bugs at least 5", "bugs below 5", ""), answers);
    assert_eq!(english, ["bugs below 5: do not spray", "bugs 5 or more: spray copper (full rate)"]);
    assert_eq!(spanish.len(), 2);
    assert_eq!(spanish[0], "bugs menos de 5: no asperje");
    assert!(spanish[1].starts_with("bugs 5 o más: aplique copper ("), "{spanish:?}");
}

#[test]
fn a_decision_stays_the_same_up_to_where_it_changes_with_both_ends() {
    for (within, seen, stays) in [
        ("bugs from 2 to 4", "bugs: 3", "bugs from 2 to 4"),
        ("bugs at least 2", "bugs: 3", "bugs 2 or more"),
        ("warm from 10 °C to below 20 °C", "warm: 15 °C", "warm from 50 °F to below 68 °F"),
        ("warm at most 20 °C", "warm: 15 °C", "warm 68 °F or less"),
        (
            "sown from 2027-02-01 to 2027-02-05",
            "sown: 2027-02-03",
            "sown from Mon, Feb 1, 2027 to Fri, Feb 5, 2027",
        ),
        ("sown at least 2027-02-02", "sown: 2027-02-03", "sown Tue, Feb 2, 2027 or later"),
    ] {
        let seen = format!(", seen: 2027-02-10, {seen}");
        let case = grove(within, &format!("not {within}"), &seen);
        let why = printed("tipping_stays", &case, &["why", "--all", "A1"]);
        let same = why.split_once("(one value changed at a time)").map_or("", |(_, after)| after);
        let same = same.trim_start_matches([' ', '-']);
        assert!(same.starts_with(&format!("{stays} ")), "{within}: {why}");
    }
}

/// A word of the rulebook that is also a word of the program is said as it is.
#[test]
fn a_cultivar_called_any_is_an_answer() {
    for cultivar in ["any", "below zero"] {
        let (is, is_not) = (format!("cultivar is \"{cultivar}\""), format!("cultivar is not \"{cultivar}\""));
        let page = printed("tipping_cultivar", &grove(&is, &is_not, ""), &["advise", "--long"]);
        assert!(page.contains(&format!("cultivar: {cultivar}: spray copper")), "{page}");
    }
}

#[test]
fn a_mix_is_said_in_the_order_of_its_author() {
    let mut case = grove("bugs at least 5", "bugs below 5", ", seen: 2027-02-10, bugs: 1");
    case.book = case
        .book
        .replace("advise copper at full", "advise sulfur at low with copper at full")
        .replace("product copper", "product sulfur\n  strength low 1 g/L\n  cites own\nproduct copper");
    let reversed = Case {
        book: case.book.replace("sulfur at low with copper at full", "copper at full with sulfur at low"),
        ..case.clone()
    };
    let tipping = |words: Words<'_>, case: &advice::Case| {
        case.tipping_points.iter().map(|point| words.tipping(point)).collect()
    };
    let [english, _] = said(&case, tipping);
    assert_eq!(english, ["bugs 5 or more: spray sulfur (low rate) + copper (full rate)"]);
    let [english, _] = said(&reversed, tipping);
    assert_eq!(english, ["bugs 5 or more: spray copper (full rate) + sulfur (low rate)"]);
}

#[test]
fn of_several_groups_of_panicles_the_one_is_named_with_its_share() {
    let items = "observe open\n  kind share\n  of panicles\nproduct copper\n  strength low 1 g/L\n  cites own\n\
                 choice one\n  advise copper at low\n  if all panicles with (open below 90 %)\n  cites own\n\
                 choice two\n  advise hold\n  if some panicles with (open at least 90 %)\n  cites own\n";
    let keys = "sprays: none yet\ntrees:\n  - { tree: A1 }\n";
    let with = |rows: &str| case(items, keys).scouting(format!("when,on,panicles,open\n{rows}"));
    let known = with("2027-02-10,A1,25 %,40 %\n2027-02-10,A1,75 %,0 %\n");
    let of_open = |words: Words<'_>, case: &advice::Case| {
        let open = case.tipping_points.iter().filter(|it| &*words.plan[it.name].word == "open");
        open.map(|point| words.tipping(point)).collect()
    };
    let [english, spanish] = said(&known, of_open);
    let group = |group: u8, share: u8| {
        format!("open 90 % or more on group {group}, {share} % of the panicles: do not spray")
    };
    assert_eq!(english, [group(1, 25), group(2, 75)]);
    assert_eq!(spanish[0], "open 90 % o más en el grupo 1, 25 % de las panículas: no asperje");
    let half = with("2027-02-10,A1,25 %,40 %\n2027-02-10,A1,75 %,\n");
    let answers = |words: Words<'_>, case: &advice::Case| {
        case.answers.iter().map(|answer| words.answer(answer, |_| "")).collect()
    };
    let [english, spanish] = said(&half, answers);
    assert!(
        english.contains(&"group 2 (75 % of panicles): open 90 % or more: do not spray".to_string()),
        "{english:?}"
    );
    assert!(
        spanish.contains(&"grupo 2 (75 % de las panículas): open 90 % o más: no asperje".to_string()),
        "{spanish:?}"
    );
}

#[test]
fn of_other_trees_it_is_said_at_how_many_of_them() {
    let items = "observe open\n  kind yes-no\nmeasure part = share of trees in grove with open\nproduct copper\n  \
                 strength low 1 g/L\n  cites own\nchoice one\n  advise copper at low\n  if part at least 50 %\n  cites own\n\
                 choice two\n  advise hold\n  if part below 50 %\n  cites own\n";
    let trees =
        "  - { tree: A1, open: yes }\n  - { tree: A2 }\n  - { tree: A3 }\n  - { tree: A4, open: no }\n";
    let case = case(items, &format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n{trees}"));
    let answers = |words: Words<'_>, case: &advice::Case| {
        case.answers.iter().map(|answer| words.answer(answer, |_| "")).collect()
    };
    let [english, spanish] = said(&case, answers);
    assert_eq!(
        english,
        [
            "other trees: open: 0 of them: do not spray",
            "other trees: open: 1 to 2 of them: spray copper (low rate)"
        ]
    );
    assert_eq!(spanish[0], "otros árboles: open: 0 de ellos: no asperje");
}
