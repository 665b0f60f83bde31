//! What counts as seen of a tree: the newest day, then the most specific row, then the later one.

use crate::grove::{GROVE, Read, read, read_at};
use bloomward::grove::{SeenOf, SeenValue, UnknownNames};
use chrono::{NaiveDate, TimeZone};
use chrono_tz::America::Puerto_Rico;

/// Returns what was seen of a tree, as text: value, day, of what.
#[track_caller]
fn seen(read: &Read, tree: &str, name: &str) -> String {
    let grove = read.whole();
    let tree = grove.trees.find(tree).expect("a tree");
    let id = read.plan.name(name).expect("a name");
    let Some(found) = grove.seen(tree, id) else { return "nothing".to_string() };
    format!("{} {} {:?}", value(&found.value), found.on, found.of)
}

/// Returns what was seen of each group of a tree's panicles.
#[track_caller]
fn groups(read: &Read, tree: &str, name: &str) -> Vec<String> {
    let grove = read.whole();
    let tree = grove.trees.find(tree).expect("a tree");
    let id = read.plan.name(name).expect("a name");
    let of = |(at, group): (usize, &bloomward::grove::Group)| {
        let found = grove.seen_in_group(tree, at, id);
        let found =
            found.map_or("nothing".to_string(), |found| format!("{} {}", value(&found.value), found.on));
        format!("{:.0} %: {found}", group.share * 100.0)
    };
    grove.groups(tree).iter().enumerate().map(of).collect()
}

fn value(value: &SeenValue) -> String {
    match value {
        SeenValue::Number(number) => format!("{}", bloomward::units::clean(*number)),
        SeenValue::Between(low, high) => format!("{low} to {high}"),
        SeenValue::Sample { found, of } => format!("{found} of {of}"),
        SeenValue::Word(word) => format!("word {word}"),
        SeenValue::Words(low, high) => format!("words {low} to {high}"),
        SeenValue::Text(text) => format!("\"{text}\""),
    }
}

fn scouted(rows: &str) -> Read {
    read(&[("scouting.csv", rows)])
}

#[test]
fn every_way_to_write_a_value() {
    let read = scouted(
        "when,on,stage,flowers-open,least-set,vigour,leaf-heat,pruned,remark,rating,panicle-length,night-fog,bees-about\n\
         2027-02-10,A01,full-bloom,80 %,3,strong,212 °F,2027-01-31,\"late, on the east\",4.5,1 ft,,\n\
         2027-02-10,A02,615,40 to 60 %,3 to 5,Weak,16 C,,,-2,10-12 in,,\n\
         2027-02-10,A03,more than half of the flowers open,2 of 20,3–5,,,,,,,,\n\
         2027-02-10,B01,511 to full-bloom,40%,,?,,,,,,,\n\
         2027-02-10,terrace,,,,,,,,,,yes,\n\
         2027-02-10,grove,,,,,,,,,,,no\n",
    );
    assert_eq!(seen(&read, "A01", "stage"), "word 3 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.8 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "least-set"), "3 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "vigour"), "word 2 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "leaf-heat"), "100 2027-02-10 Tree");
    // 2027-01-31 is day 739,647 of the common era: 2000-01-01 is day 730,120, and 9,892 days lie between.
    assert_eq!(seen(&read, "A01", "pruned"), format!("{} 2027-02-10 Tree", 730_120 + 9_892));
    assert_eq!(seen(&read, "A01", "remark"), "\"late, on the east\" 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "rating"), "4.5 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "panicle-length"), "304.8 2027-02-10 Tree");
    assert_eq!(seen(&read, "A02", "stage"), "word 3 2027-02-10 Tree");
    assert_eq!(seen(&read, "A02", "flowers-open"), "0.4 to 0.6 2027-02-10 Tree");
    assert_eq!(seen(&read, "A02", "least-set"), "3 to 5 2027-02-10 Tree");
    assert_eq!(seen(&read, "A02", "leaf-heat"), "16 2027-02-10 Tree");
    assert_eq!(seen(&read, "A02", "panicle-length"), "254 to 304.79999999999995 2027-02-10 Tree");
    assert_eq!(seen(&read, "A03", "stage"), "word 3 2027-02-10 Tree");
    assert_eq!(seen(&read, "A03", "flowers-open"), "2 of 20 2027-02-10 Tree");
    assert_eq!(seen(&read, "A03", "vigour"), "nothing");
    assert_eq!(seen(&read, "B01", "stage"), "words 1 to 3 2027-02-10 Tree");
    assert_eq!(seen(&read, "B01", "vigour"), "nothing");
    assert_eq!(seen(&read, "A03", "night-fog"), "word 1 2027-02-10 Block");
    assert_eq!(seen(&read, "B01", "night-fog"), "nothing");
    assert_eq!(seen(&read, "B02", "bees-about"), "word 0 2027-02-10 Grove");
}

#[test]
fn the_newest_day_counts_then_the_most_specific_row_then_the_later() {
    let read = scouted(
        "when,on,flowers-open\n\
         2027-02-09,A01,10 %\n\
         2027-02-10,grove,20 %\n\
         2027-02-10,terrace,30 %\n\
         2027-02-10,terrace/Kent,40 %\n\
         2027-02-10,A02-A03,50 %\n\
         2027-02-10,A03,60 %\n\
         2027-02-10,A03,65 %\n\
         2027-02-10,hollow,70 %\n\
         2027-02-10,hollow,75 %\n\
         2027-02-11,B02,80 %\n\
         2027-02-12,B02,90 %\n",
    );
    // Of A01 an older row is more specific, and the newer day goes before it.
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.4 2027-02-10 Cultivar");
    assert_eq!(seen(&read, "A02", "flowers-open"), "0.5 2027-02-10 Range");
    assert_eq!(seen(&read, "A03", "flowers-open"), "0.65 2027-02-10 Tree");
    assert_eq!(seen(&read, "B01", "flowers-open"), "0.75 2027-02-10 Block");
    // The row of the day after is left out.
    assert_eq!(seen(&read, "B02", "flowers-open"), "0.8 2027-02-11 Tree");
    let tree = read.whole().trees.find("B02").unwrap();
    assert_eq!(read.whole().last_seen(tree), NaiveDate::from_ymd_opt(2027, 2, 11));
}

#[test]
fn each_value_has_a_date_of_its_own() {
    let read = scouted(
        "when,on,flowers-open,stage\n2027-02-08,A01,10 %,first-open\n2027-02-09,A01,,full-bloom\n2027-02-10,A01,,\n",
    );
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.1 2027-02-08 Tree");
    assert_eq!(seen(&read, "A01", "stage"), "word 3 2027-02-09 Tree");
}

#[test]
fn a_moment_after_the_advice_is_left_out_and_one_before_it_counts() {
    let read = scouted(
        "when,on,flowers-open\n2027-02-11T05:00,A01,10 %\n2027-02-11T06:00,A01,20 %\n2027-02-11,A02,30 %\n",
    );
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.1 2027-02-11 Tree");
    assert_eq!(seen(&read, "A02", "flowers-open"), "0.3 2027-02-11 Tree");
}

#[test]
fn overlapping_ranges_are_cut_into_stretches() {
    let read = scouted(
        "when,on,flowers-open\n\
         2027-02-08,A01-B02,10 %\n\
         2027-02-10,A02-B01,20 %\n\
         2027-02-09,A03-B02,30 %\n",
    );
    let all: Vec<String> =
        ["A01", "A02", "A03", "B01", "B02"].iter().map(|tree| seen(&read, tree, "flowers-open")).collect();
    assert_eq!(
        all,
        [
            "0.1 2027-02-08 Range",
            "0.2 2027-02-10 Range",
            "0.2 2027-02-10 Range",
            "0.2 2027-02-10 Range",
            "0.3 2027-02-09 Range"
        ]
    );
}

#[test]
fn a_name_with_a_hyphen_is_no_range() {
    let grove = GROVE.replace("tree: A02,", "tree: A01-A03,");
    let read =
        read(&[("grove.yaml", &grove), ("scouting.csv", "when,on,flowers-open\n2027-02-10,A01-A03,20 %\n")]);
    assert_eq!(seen(&read, "A01-A03", "flowers-open"), "0.2 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "flowers-open"), "nothing");
}

#[test]
fn several_places_in_one_row() {
    let read =
        scouted("when,on,flowers-open\n2027-02-10,A01; B01,20 %\n2027-02-10,\"A03, hollow/Haden\",30 %\n");
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.2 2027-02-10 Tree");
    assert_eq!(seen(&read, "B01", "flowers-open"), "0.2 2027-02-10 Tree");
    assert_eq!(seen(&read, "A03", "flowers-open"), "0.3 2027-02-10 Tree");
    assert_eq!(seen(&read, "B02", "flowers-open"), "0.3 2027-02-10 Cultivar");
    assert_eq!(seen(&read, "A02", "flowers-open"), "nothing");
}

#[test]
fn groups_are_those_of_the_newest_day_that_gives_shares() {
    let read = scouted(
        "when,on,panicles,stage,vigour\n\
         2027-02-08,A01,100 %,dormant,\n\
         2027-02-09,A01,60 %,full-bloom,\n\
         2027-02-09,A01,40 %,marble,weak\n\
         2027-02-09,A02,70 %,full-bloom,\n\
         2027-02-09,A02,30 %,,\n\
         2027-02-10,A02,,first-open,strong\n",
    );
    assert_eq!(groups(&read, "A01", "stage"), ["60 %: word 3 2027-02-09", "40 %: word 4 2027-02-09"]);
    // What is seen of the tree stands in any of its rows.
    assert_eq!(groups(&read, "A01", "vigour"), ["60 %: word 0 2027-02-09", "40 %: word 0 2027-02-09"]);
    assert_eq!(seen(&read, "A01", "vigour"), "word 0 2027-02-09 Tree");
    assert_eq!(seen(&read, "A01", "stage"), "nothing");
    // A newer row of the whole tree goes before what was seen of a group.
    assert_eq!(groups(&read, "A02", "stage"), ["70 %: word 2 2027-02-10", "30 %: word 2 2027-02-10"]);
    assert_eq!(groups(&read, "A03", "stage"), ["100 %: nothing"]);
}

#[test]
fn on_one_day_a_group_goes_before_its_tree_and_the_tree_before_its_block() {
    let read = scouted(
        "when,on,panicles,stage,flowers-open\n\
         2027-02-10,A01,,first-open,5 %\n\
         2027-02-10,A01,50 %,full-bloom,\n\
         2027-02-10,A01,50 %,marble,0 %\n\
         2027-02-10,terrace,20 %,dormant,\n\
         2027-02-10,terrace,80 %,bud-swell,\n",
    );
    assert_eq!(groups(&read, "A01", "stage"), ["50 %: word 3 2027-02-10", "50 %: word 4 2027-02-10"]);
    assert_eq!(groups(&read, "A01", "flowers-open"), ["50 %: 0.05 2027-02-10", "50 %: 0 2027-02-10"]);
    assert_eq!(groups(&read, "A02", "stage"), ["20 %: word 0 2027-02-10", "80 %: word 1 2027-02-10"]);
    assert_eq!(groups(&read, "B01", "stage"), ["100 %: nothing"]);
}

#[test]
fn a_correction_of_groups_is_later_rows() {
    let read = scouted(
        "when,on,panicles,stage\n\
         2027-02-10,A01,60 %,full-bloom\n\
         2027-02-10,A01,30 %,marble\n\
         2027-02-10,A01,60 %,full-bloom\n\
         2027-02-10,A01,40 %,marble\n\
         2027-02-10,A02-A03,100 %,marble\n\
         2027-02-10,A02-A03,33.3 %,full-bloom\n\
         2027-02-10,A02-A03,33.3 %,marble\n\
         2027-02-10,A02-A03,33.4 %,dormant\n",
    );
    assert_eq!(groups(&read, "A01", "stage"), ["60 %: word 3 2027-02-10", "40 %: word 4 2027-02-10"]);
    assert_eq!(groups(&read, "A03", "stage").len(), 3);
}

#[test]
fn trees_may_bear_what_was_seen_of_them() {
    let grove = GROVE.replace(
        "  - { tree: A01, block: terrace, cultivar: Kent, at: [0, 0] }\n",
        "  - { tree: A01, block: terrace, cultivar: Kent, seen: 2027-02-10, stage: 615, vigour: strong }\n  \
         - { tree: A09, block: terrace, seen: 2027-02-10, panicles: [ { share: 25 %, stage: marble }, { share: 75 %, \
         stage: full-bloom } ] }\n",
    );
    let grove =
        grove.replace("block: hollow, spacing: 6 m x 5 m", "block: hollow, seen: 2027-02-10, night-fog: yes");
    let grove = format!("{grove}seen: 2027-02-09\nbees-about: yes\n");
    let rows = "when,on,stage\n2027-02-10,A01,marble\n2027-02-09,A09,dormant\n";
    let read = read(&[("grove.yaml", &grove), ("scouting.csv", rows)]);
    // A row of scouting of the same day and tree is the later one.
    assert_eq!(seen(&read, "A01", "stage"), "word 4 2027-02-10 Tree");
    assert_eq!(seen(&read, "A01", "vigour"), "word 2 2027-02-10 Tree");
    assert_eq!(groups(&read, "A09", "stage"), ["25 %: word 4 2027-02-10", "75 %: word 3 2027-02-10"]);
    assert_eq!(seen(&read, "B02", "night-fog"), "word 1 2027-02-10 Block");
    assert_eq!(seen(&read, "A01", "bees-about"), "word 1 2027-02-09 Grove");
}

#[test]
fn a_sheet_of_trees_as_a_spreadsheet_writes_it() {
    let yaml = "grove: Sheet\nplace: { timezone: America/Puerto_Rico }\ntrees: trees.csv\n";
    let comma = "\u{feff}tree,block,cultivar,seen,stage,flowers-open,harvest,east,north,\r\n\
                 A01,north,Kent,2027-02-10,615,80 %,2027-06-01,12.5,40,\r\n\
                 \r\n\
                 \"A,2\",south,\"Tommy \"\"A\"\"\",2027-02-09,,2 of 20,,,,\r\n\
                 A03,,,2027-02-12,615,80 %";
    for text in
        [comma.to_string(), comma.replace("\"A,2\"", "A2").replace(',', ";"), comma.replace(',', "\t")]
    {
        let whole =
            format!("{text},,,,").replacen(",,,,", if text.contains(';') { ";;;;" } else { ",,,," }, 1);
        let whole = if text.contains('\t') { format!("{text}\t\t\t\t") } else { whole };
        let read = read(&[("grove.yaml", yaml), ("trees.csv", &whole)]);
        let grove = read.whole();
        assert_eq!(grove.trees.len(), 3);
        assert_eq!(seen(&read, "A01", "flowers-open"), "0.8 2027-02-10 Tree");
        let second = grove.trees.name(1).to_string();
        assert_eq!(seen(&read, &second, "flowers-open"), "2 of 20 2027-02-09 Tree");
        assert_eq!(grove.trees.cultivar(1).map(|cultivar| &**cultivar), Some("Tommy \"A\""));
        assert_eq!(grove.trees.position(0), Some((12.5, 40.0)));
        assert_eq!(grove.trees.position(1), None);
        assert_eq!(grove.block_of(1).map(|block| &*block.name), Some("south"));
        assert_eq!(grove.trees.cultivar(2), None);
        // Seen after the moment of the advice.
        assert_eq!(seen(&read, "A03", "stage"), "nothing");
    }
}

#[test]
fn a_harvest_of_the_tree_goes_before_cultivar_and_block() {
    let grove = GROVE.replace(
        "harvest: 2027-06-20",
        "harvest: { grove: 2027-06-20, Kent: 2027-06-10, hollow: 2027-06-05, terrace/Kent: 2027-06-12, A03: 2027-07-01 }",
    );
    let read = read(&[("grove.yaml", &grove)]);
    let day = |tree: &str| {
        let grove = read.whole();
        grove.harvest(grove.trees.find(tree).unwrap()).unwrap().to_string()
    };
    assert_eq!(day("A01"), "2027-06-12");
    assert_eq!(day("A02"), "2027-06-20");
    assert_eq!(day("A03"), "2027-07-01");
    assert_eq!(day("B01"), "2027-06-05");
    assert_eq!(day("B02"), "2027-06-05");
}

#[test]
fn the_gauge_gives_the_rain_of_a_day() {
    let read = scouted(
        "when,on,rain,flowers-open\n2027-02-09,grove,0.5 in,\n2027-02-10,grove,4 mm,\n2027-02-10,grove,5 mm,\n2027-02-12,grove,9 mm,\n",
    );
    let gauge: Vec<(String, f64)> =
        read.whole().gauge.iter().map(|(day, reading)| (day.to_string(), reading.total)).collect();
    assert_eq!(gauge, [("2027-02-09".to_string(), 12.7), ("2027-02-10".to_string(), 5.0)]);
}

#[test]
fn an_observation_of_another_book_is_named_once_and_left_out() {
    let files = [(
        "scouting.csv",
        "when,on,fruit-fall,flowers-open\n2027-02-10,A01,80 %,80 %\n2027-02-10,A02,1,80 %\n",
    )];
    let read = read_at(&files.into_iter().collect(), None, UnknownNames::LeaveOut);
    assert_eq!(read.problems.len(), 1);
    assert_eq!(seen(&read, "A02", "flowers-open"), "0.8 2027-02-10 Tree");
}

#[test]
fn an_earlier_moment_sees_less() {
    let rows = [("scouting.csv", "when,on,flowers-open\n2027-02-01,A01,10 %\n2027-02-10,A01,80 %\n")];
    let earlier = Puerto_Rico.with_ymd_and_hms(2027, 2, 5, 12, 0, 0).unwrap();
    let read = read_at(&rows.into_iter().collect(), Some(earlier), UnknownNames::Refuse);
    assert_eq!(seen(&read, "A01", "flowers-open"), "0.1 2027-02-01 Tree");
    assert_eq!(read.whole().seen(0, read.plan.name("flowers-open").unwrap()).unwrap().of, SeenOf::Tree);
}

#[test]
fn tables_that_a_spreadsheet_saved_again_are_read() {
    let us = "\u{feff}when;on;flowers-open\n2/8/2027;A01;2 of 20\n2/9/2027 6:30 AM;A02;3 of 20\n";
    let read = super::grove::read(&[("scouting.csv", us)]);
    let grove = read.whole();
    let open = read.plan.observations().find(|(_, name, _)| &*name.word == "flowers-open").unwrap().0;
    let on = |tree: &str| grove.seen(grove.trees.find(tree).unwrap(), open).unwrap().on.to_string();
    assert_eq!((on("A01"), on("A02")), ("2027-02-08".to_string(), "2027-02-09".to_string()));
    // What cannot be a day in this order is asked about, with the day that it would be in the other.
    let turned = super::grove::read(&[("scouting.csv", "when,on,flowers-open\n13/2/2027,A01,2 of 20\n")]);
    let said = turned.problems.plain(&turned.sources);
    assert!(
        said.contains("`13/2/2027` is no day with the month first") && said.contains("write `2027-02-13`"),
        "{said}"
    );
}
