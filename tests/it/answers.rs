//! What the page promises of an answer or of a change is what comes when that value is put in: every promise is held
//! against the verdict of the value itself.

use super::case::{case, tree, verdict};
use serde_json::{Value, json};

const HEAD: &str = "
observe n
  kind count
observe k
  kind count
observe day0
  kind date
product copper
  group M01
  strength reduced 1 g/L
  strength full    2 g/L
  cites own
table steps
  of count
  gives count
  cites own
  at most 1      10
  from 2 to 6     3
  above 6         7
";

fn book(items: &str, spray_if: &str, hold_if: &str) -> String {
    format!(
        "{HEAD}{items}\nchoice aa\n  advise copper at full\n  if {spray_if}\n  within 24 h\n  recheck in 3 d\n  because \"x\"\n  cites own\n\
         choice bb\n  advise hold\n  if {hold_if}\n  within 12 h\n  recheck in 2 d\n  because \"x\"\n  cites own\n"
    )
}

fn advised(book: &str, seen: &str) -> Value {
    let keys = format!("sprays: none yet\nseen: 2027-02-10\ntrees:\n  - {{ tree: A1{seen} }}\n");
    case(book, &keys).advise()
}

/// Returns whether a count is meant by the words of an answer or a flip.
fn meant(words: &str, count: f64) -> bool {
    let number = |text: &str| text.parse::<f64>().unwrap_or_else(|_| panic!("`{text}` of `{words}`"));
    if let Some(least) = words.strip_prefix("at least ") {
        count >= number(least)
    } else if let Some(most) = words.strip_prefix("at most ") {
        count <= number(most)
    } else if let Some(below) = words.strip_prefix("below ") {
        count < number(below)
    } else if let Some((from, to)) = words.strip_prefix("from ").and_then(|it| it.split_once(" to ")) {
        number(from) <= count && count <= number(to)
    } else {
        count == number(words)
    }
}

/// Measures of one count that rise, fall, turn, step and stand still.
const MEASURES: [&str; 9] = [
    "n",
    "n * 2",
    "20 - n",
    "(n - 3) * (n - 3)",
    "steps at n",
    "lesser of n and 7",
    "(steps at n) + n",
    "(n / 3) rounded to 1",
    "square root of n",
];

#[test]
fn each_answer_leads_where_it_says() {
    let mut told = 0;
    for measure in MEASURES {
        for limit in [3, 4, 5, 8] {
            let book = book(
                &format!("measure sum = {measure}\n"),
                &format!("sum at least {limit}"),
                &format!("sum below {limit}"),
            );
            let open = advised(&book, "");
            let tree = tree(&open, "A1");
            if tree["verdict"] != "look" {
                continue;
            }
            assert_eq!(tree["needs"], json!(["n"]), "{measure} {limit}");
            let answers = tree["answers"].as_array().unwrap();
            for count in 0..=14 {
                let now = verdict(&advised(&book, &format!(", n: {count}")), "A1");
                let of_count = |it: &&Value| {
                    assert_eq!(it["name"], "n", "{measure} {limit}");
                    meant(it["at"].as_str().unwrap(), f64::from(count))
                };
                let meant: Vec<&Value> = answers.iter().filter(of_count).collect();
                assert_eq!(meant.len(), 1, "{measure} {limit}, {count}: {answers:?}");
                assert_eq!(meant[0]["then"], now, "{measure} {limit}, {count}: {answers:?}");
                told += 1;
            }
        }
    }
    assert!(told > 400, "{told}");
}

#[test]
fn each_change_leads_where_it_says_and_is_the_nearest() {
    for (spray, hold) in [
        ("n at least 2", "n below 2"),
        ("n at least 10", "n below 10"),
        ("n from 2 to 4", "not n from 2 to 4"),
        ("n is 2", "n is not 2"),
        ("n above 4", "n at most 4"),
    ] {
        let book = book("", spray, hold);
        let at = |count: i32| advised(&book, &format!(", n: {count}"));
        let verdicts: Vec<String> = (0..=14).map(|count| verdict(&at(count), "A1")).collect();
        for count in 0..=12usize {
            let advice = at(count as i32);
            let flips = &advice["situations"][tree(&advice, "A1")["situation"].as_str().unwrap()]["flips"];
            let flips: Vec<(&str, &str)> = flips
                .as_array()
                .unwrap()
                .iter()
                .map(|it| (it["at"].as_str().unwrap(), it["then"].as_str().unwrap()))
                .collect();
            let up = (count + 1..=14).find(|it| verdicts[*it] != verdicts[count]);
            let down = (0..count).rev().find(|it| verdicts[*it] != verdicts[count]);
            let said =
                |at: Option<usize>, words: &str| at.map(|at| (format!("{words} {at}"), verdicts[at].clone()));
            let expected: Vec<(String, String)> =
                said(down, "at most").into_iter().chain(said(up, "at least")).collect();
            let expected: Vec<(&str, &str)> = expected.iter().map(|(a, b)| (&**a, &**b)).collect();
            assert_eq!(flips, expected, "{spray}, {count}");
        }
    }
}

#[test]
fn a_value_of_two_unknown_counts_asks_for_both() {
    let book = book("measure sum = n + k\n", "sum at least 5", "sum below 5");
    let advice = advised(&book, "");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["k", "n"]));
    for answer in tree(&advice, "A1")["answers"].as_array().unwrap() {
        assert_eq!(answer["name"], "sum", "an answer speaks of what settles the verdict");
    }
}

#[test]
fn a_date_is_answered_with_dates() {
    let book = book("measure age = days since day0\n", "age at least 10 d", "age below 10 d");
    let advice = advised(&book, "");
    assert_eq!(tree(&advice, "A1")["needs"], json!(["day0"]));
    assert_eq!(
        tree(&advice, "A1")["answers"],
        json!([
            { "name": "day0", "at": "at most 2027-02-01", "then": "spray copper at full" },
            { "name": "day0", "at": "at least 2027-02-02", "then": "hold" }
        ])
    );
}

#[test]
fn a_verdict_to_which_several_choices_lead_names_them_all() {
    let book = book("", "n at least 5", "n below 5").replace("advise hold", "advise copper at full");
    let advice = advised(&book, "");
    let tree = tree(&advice, "A1");
    assert_eq!(verdict(&advice, "A1"), "spray copper at full");
    assert_eq!((&tree["choice"], &tree["choices"]), (&json!("aa"), &json!(["aa", "bb"])));
    assert_eq!(tree["recheck"], "2027-02-13", "the earliest");
}

/// A gate that may or may not hold a product to a weaker strength leaves the weaker one whatever the answer is.
#[test]
fn the_strength_that_is_left_either_way_is_safe() {
    let holds = "gate gentle\n  holds copper to reduced\n  if k at least 3\n  because \"x\"\n  cites own\n";
    let shuts = holds
        .replace("holds copper to reduced", "shuts copper")
        .replace("gentle", "closed")
        .replace('3', "9");
    for (gates, safe) in [
        (String::new(), json!([[{ "product": "copper", "strength": "full" }]])),
        (holds.to_string(), json!([[{ "product": "copper", "strength": "reduced" }]])),
        (format!("{holds}{shuts}"), json!([])),
    ] {
        let book = book(&gates, "n at least 5", "n below 5");
        let advice = advised(&book, "");
        assert_eq!(tree(&advice, "A1")["verdict"], "look");
        assert_eq!(tree(&advice, "A1")["safe"], safe, "{gates}");
        // Held against what comes where everything is known: copper is allowed at least at that strength.
        let sprayed: Vec<String> =
            (0..12).map(|k| verdict(&advised(&book, &format!(", n: 7, k: {k}")), "A1")).collect();
        let always = |strength: &str| sprayed.iter().all(|it| it.ends_with(strength));
        match safe[0][0]["strength"].as_str() {
            Some("full") => assert!(always("copper at full"), "{sprayed:?}"),
            Some(_) => {
                assert!(sprayed.iter().all(|it| it.starts_with("spray copper")), "{sprayed:?}");
                assert!(sprayed.iter().any(|it| it.ends_with("reduced")), "{sprayed:?}");
            }
            None => assert!(sprayed.contains(&"hold".to_string()), "{sprayed:?}"),
        }
    }
}

/// What a table of the rulebook does not know nobody can look at: the name itself is what is missing, not the
/// observation it is looked up with, which is known; a sample that is too small is looked at again.
#[test]
fn what_nobody_can_look_at_is_no_question() {
    let table = "table rating\n  of count\n  gives count\n  cites own\n  1 10\n  otherwise unknown\n\
                 measure rated = rating at k\nmeasure twice = rated * 2\n";
    let book_of_table = book(table, "twice at least 5", "twice below 5");
    assert_eq!(tree(&advised(&book_of_table, ", k: 2"), "A1")["needs"], json!(["rated"]));
    assert_eq!(tree(&advised(&book_of_table, ""), "A1")["needs"], json!(["k"]));
    let sample = "observe sick\n  kind share\nmeasure likely = likely range of sick\n";
    let book_of_sample = book(sample, "likely at least 10 %", "likely below 10 %");
    assert_eq!(tree(&advised(&book_of_sample, ", sick: 2 of 20"), "A1")["needs"], json!(["sick"]));
}

/// A count that is compared itself and stands in a measure, too, is split twice; its answer says once what is left.
#[test]
fn an_answer_says_each_name_once() {
    let two = "measure twice = n * 2\n";
    let mut told = 0;
    for (spray, hold) in [
        ("n at most 6 and twice at least 5", "n above 6 or twice below 5"),
        ("n at least 4 and twice at most 15", "n below 4 or twice above 15"),
        ("n below 8 and twice below 9", "n at least 8 or twice at least 9"),
    ] {
        let book = book(two, spray, hold);
        for answer in tree(&advised(&book, ""), "A1")["answers"].as_array().unwrap() {
            let names: Vec<&str> = answer["name"].as_str().unwrap().split(" and ").collect();
            let at: Vec<&str> = answer["at"].as_str().unwrap().split(" and ").collect();
            assert_eq!(names.len(), at.len(), "{answer}");
            let upper = at.iter().filter(|at| at.starts_with("below") || at.starts_with("at most")).count();
            assert!(upper <= 1 && at.len() - upper <= 1, "{answer}");
            // Every count that it means leads where it says.
            for count in 0..14 {
                if at.iter().all(|at| *at == "any" || meant(at, f64::from(count))) {
                    let then = verdict(&advised(&book, &format!(", n: {count}")), "A1");
                    assert_eq!(then, answer["then"], "{answer}, {count}");
                    told += 1;
                }
            }
        }
    }
    assert!(told > 20, "{told}");
}

#[test]
fn an_answer_is_its_own_question_s_where_a_cultivar_is_called_this_and_that() {
    let items = "observe mildew\n  kind share\n  ask \"How many panicles have mildew?\"\n";
    let salt = "cultivar is \"Salt and Pepper\"";
    let book = book(items, &format!("{salt} and mildew at least 5 %"), "mildew below 5 %")
        + "choice cc\n  advise hold\n  if cultivar is not \"Salt and Pepper\"\n  within 12 h\n  recheck in 2 d\n  because \"x\"\n  cites own\n";
    let case = case(&book, "sprays: none yet\nseen: 2027-02-10\ntrees:\n  - { tree: A1 }\n");
    let answers = tree(&case.advise(), "A1")["answers"].clone();
    let told =
        |cultivar: &str, mildew: &str| {
            answers.as_array().unwrap().iter().any(|it| {
                it["name"] == "cultivar and mildew" && it["at"] == format!("{cultivar} and {mildew}")
            })
        };
    assert!(told("Salt and Pepper", "at least 5 %") && told("Salt and Pepper", "below 5 %"), "{answers}");
    let folder = super::cli::folder("answers_salt_and_pepper");
    std::fs::write(folder.join("test.rulebook"), &case.book).unwrap();
    std::fs::write(folder.join("grove.yaml"), &case.grove).unwrap();
    let page = super::cli::run(&["advise", "--long", folder.to_str().unwrap()]);
    let page = String::from_utf8(page.stdout).unwrap();
    let words = page.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        words.contains("cultivar: Salt and Pepper and mildew 5 % or more: spray copper (full rate)"),
        "{page}"
    );
    // Answers that lead to the same are one.
    let hold = "cultivar: Salt and Pepper and mildew below 5 % or cultivar: one that the guide does not name: do not spray";
    assert!(words.contains(hold), "{page}");
}
