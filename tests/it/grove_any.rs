//! Whatever stands in a file, reading it ends with problems and never with a panic.

use crate::grove::{GROVE, book, read_at};
use bloomward::grove::{self, UnknownNames};
use bloomward::source::Sources;
use bloomward::units::spoken;
use proptest::prelude::*;

/// Pieces of which files are made, so that the readers are entered and not only turned away at the door.
fn piece() -> impl Strategy<Value = String> {
    prop_oneof![
        4 => prop::sample::select(vec![
            "tree", "block", "when", "on", "start", "end", "product", "strength", "rate", "panicles", "stage", "seen",
            "flowers-open", "copper", "oil with copper", "none", "corrects 2", "A01", "A01-A03", "B02-A01", "terrace/Kent", "grove",
            "2027-02-10", "2027-02-10T05:00", "80 %", "40 to 60 %", "2 of 20", "615", "600 ppm copper", "1:100", "-", "\"", "''",
            ",", ",", ",", ";", "\n", "\n", "\r\n", "\t", ": ", "{", "}", "[", "]", "- ", "&a ", "*a", "|", "#", "\0",
            "\u{feff}", "½", "\u{202e}", "1e309", "9999999999999999999", "NaN", "inf",
        ]).prop_map(str::to_string),
        1 => any::<String>(),
        1 => prop::collection::vec(any::<u8>(), 0..24).prop_map(|bytes| String::from_utf8_lossy(&bytes).into_owned()),
    ]
}

fn text() -> impl Strategy<Value = String> {
    prop::collection::vec(piece(), 0..60).prop_map(|pieces| pieces.concat())
}

/// Asks a grove everything that it can be asked.
fn ask(read: &crate::grove::Read) {
    let Some(grove) = &read.grove else { return };
    for tree in 0..grove.trees.len() + 1 {
        for (name, _, _) in read.plan.observations() {
            let groups = grove.groups(tree);
            assert!(!groups.is_empty());
            for group in 0..groups.len() {
                let _ = grove.seen_in_group(tree, group, name);
            }
            let _ = grove.seen(tree, name);
        }
        let _ = (grove.harvest(tree), grove.last_seen(tree), grove.log.of_tree(tree).count());
        let year = (chrono::NaiveDate::MIN, chrono::NaiveDate::MAX);
        let _ = grove.amount_sprayed(tree, grove::Counting::Ingredient("copper"), year, &read.plan);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 192, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn any_grove_file(text in text()) {
        let mut sources = Sources::default();
        let id = sources.add("grove.yaml", text.clone());
        let (outline, problems) = grove::outline(id, &sources);
        prop_assert!(outline.is_some() || problems.any_error());
        for body in [text.clone(), format!("place: {{ timezone: America/Lima }}\n{text}"), format!("{GROVE}{text}")] {
            ask(&read_at(&[("grove.yaml", body.as_str())].into_iter().collect(), None, UnknownNames::LeaveOut));
        }
    }

    #[test]
    fn any_scouting(text in text()) {
        for body in [text.clone(), format!("when,on,panicles,stage,flowers-open,rain\n{text}")] {
            ask(&read_at(&[("scouting.csv", body.as_str())].into_iter().collect(), None, UnknownNames::Refuse));
        }
    }

    #[test]
    fn any_log(text in text()) {
        for body in [text.clone(), format!("start,end,on,product,strength,rate,volume,area,note\n{text}")] {
            ask(&read_at(&[("sprays.csv", body.as_str())].into_iter().collect(), None, UnknownNames::Refuse));
        }
    }

    #[test]
    fn any_sheet_of_trees(text in text()) {
        let yaml = "grove: Any\nplace: { timezone: America/Lima }\ntrees: trees.csv\n";
        for body in [text.clone(), format!("tree,block,cultivar,seen,stage,flowers-open,at\n{text}")] {
            let files = [("grove.yaml", yaml), ("trees.csv", body.as_str())];
            ask(&read_at(&files.into_iter().collect(), None, UnknownNames::Refuse));
        }
    }

    #[test]
    fn any_value_of_any_kind(text in text()) {
        let mut sources = Sources::default();
        let plan = book(&mut sources);
        let cell = format!("\"{}\"", text.replace('"', "\"\""));
        for (_, name, _) in plan.observations() {
            let body = format!("when,on,{}\n2027-02-10,A01,{cell}\n2027-02-10,grove,{cell}\n", name.word);
            ask(&read_at(&[("scouting.csv", body.as_str())].into_iter().collect(), None, UnknownNames::Refuse));
        }
        let _ = spoken::parse(&text);
        let _ = bloomward::sprayday::WantedStrength::spoken(&text);
    }
}
