//! A season, replayed: every morning says what the guide says of it when asked for that morning, and the pages tell it.

use super::case::{Case, case};
use super::cli::{folder, ran};
use bloomward::advice::{Advisor, Depth};
use bloomward::replay::{PartingKind, Replay, ReplayWanted, partings, replay};
use bloomward::report::season::{self, SeasonPage};
use bloomward::words::{Language, Speech, Words};
use bloomward::workspace::{GroveRequest, OpenGrove, Purpose, Unopened, open_grove};
use chrono::{DateTime, NaiveDate, NaiveTime, Utc};
use serde_json::Value;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// A rulebook with weather behind and ahead, covers, intervals, caps, panicles and a window since a spray.
const BOOK: &str = "\
scale bloom\n  closed  510  \"closed\"\n  open  615  \"open\"\n  set  619  \"set\"\n\n\
observe mildew \"panicles with mildew\"\n  kind  share\n  lasts  12 d\n\n\
observe stage \"stage\"\n  kind  bloom\n  of  panicles\n  lasts  20 d\n\n\
observe exposed \"windy spot\"\n  kind  yes-no\n\n\
hourly wet \"wet hours\" = rain above 0 mm or humidity at least 90 %\n\
measure night-low = lowest temperature over last 2 nights\n\
measure wet-hours = hours with wet over last 48 h\n\
measure rain-ahead = total rain over next 24 h\n\
measure sulfur-age = days since last sulfur\n\
measure washed = total rain since last sulfur\n\
measure sulfur-count = sprays of sulfur this season\n\
measure in-bloom = some panicles with stage is open\n\n\
band pressure \"mildew weather\"\n  because  \"wet hours let it grow\"\n  levels  quiet, building, severe\n  \
building if wet-hours at least 6 h\n  severe if wet-hours at least 14 h and night-low below 19 °C\n\n\
product sulfur\n  strength  weak  2 g/L\n  strength  full  4 g/L\n  label  interval at least 7 d\n  cites  own\n\n\
product copper\n  strength  full  3 g/L\n  cites  own\n\n\
gate rain-soon\n  shuts  sulfur\n  if  rain-ahead at least 4 mm\n\n\
gate open-flowers\n  shuts  copper\n  if  in-bloom\n\n\
choice treat\n  advise  sulfur at full\n  or else  copper at full\n  if  mildew at least 10 % and pressure at least building\n  \
because  \"mildew is there and the weather is right for it\"\n  outranks  renew, keep-watching\n\n\
choice renew\n  advise  sulfur at weak\n  if  washed at least 3 mm and sulfur-count below 3 and exposed\n  \
because  \"rain took the cover off\"\n  outranks  keep-watching\n\n\
choice keep-watching\n  advise  hold\n  if  mildew below 10 % or pressure is quiet\n  because  \"nothing to fight yet\"\n";

/// Numbers that look like chance and are the same everywhere.
struct Dice(u64);

impl Dice {
    fn below(&mut self, most: u64) -> u64 {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % most
    }
}

fn date(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

/// Hours from the first of January on: damp nights, showers, and gaps where there are to be any.
fn weather(dice: &mut Dice, days: u32, with_gaps: bool) -> String {
    let mut text = "time,temperature [°C],humidity [%],rain [mm]\n".to_string();
    let mut damp = 70;
    for hour in 0..u64::from(days) * 24 {
        if hour % 24 == 0 {
            damp = 60 + dice.below(30);
        }
        let at = date("2027-01-01").and_hms_opt(0, 0, 0).unwrap() + chrono::Duration::hours(hour as i64);
        let of_day =
            [18, 17, 17, 16, 16, 17, 19, 21, 24, 26, 27, 28, 29, 29, 28, 27, 26, 24, 22, 21, 20, 20, 19, 18];
        let night = !(7..19).contains(&(hour % 24));
        let rain = if dice.below(30) == 0 { dice.below(40) as f64 / 10.0 } else { 0.0 };
        let humidity = (damp + dice.below(10) + if night { 8 } else { 0 }).min(100);
        if with_gaps && dice.below(9) == 0 && dice.below(2) == 0 {
            continue;
        }
        let warmth = of_day[(hour % 24) as usize] as f64 + dice.below(30) as f64 / 10.0;
        let _ = writeln!(text, "{},{warmth:.1},{humidity},{rain:.1}", at.format("%Y-%m-%dT%H:%M"));
    }
    text
}

/// A grove of some trees in two blocks, seen and sprayed now and then.
fn random_case(seed: u64) -> Case {
    let mut dice = Dice(seed);
    let mut keys = "blocks:\n  - { block: low, spacing: 20 ft x 20 ft }\n  - { block: high, spacing: 20 ft x 20 ft }\ntrees:\n"
        .to_string();
    for tree in 1..=5 {
        let block = if tree < 3 { "low" } else { "high" };
        let windy = ["", ", exposed: yes", ", exposed: no"][dice.below(3) as usize];
        let seen = if dice.below(2) == 0 { ", seen: 2027-01-12, mildew: 20 %" } else { "" };
        let _ = writeln!(keys, "  - {{ tree: T{tree}, block: {block}{windy}{seen} }}");
    }
    let mut scouting = "when,on,panicles,stage,mildew,rain\n".to_string();
    for _ in 0..14 {
        let day = date("2027-01-02") + chrono::Days::new(dice.below(40));
        let clock = ["", "T04:00", "T10:30"][dice.below(3) as usize];
        let on = ["T1", "T4", "T2-T4", "low", "high", "grove"][dice.below(6) as usize];
        let (share, mildew) = (dice.below(40), ["closed", "open", "set"][dice.below(3) as usize]);
        match dice.below(5) {
            0 => {
                let other = ["closed", "open"][dice.below(2) as usize];
                let _ =
                    writeln!(scouting, "{day}{clock},{on},40 %,{mildew},,\n{day}{clock},{on},60 %,{other},,");
            }
            1 => {
                let _ = writeln!(scouting, "{day}{clock},grove,,,,{} mm", dice.below(20));
            }
            2 => {
                let _ = writeln!(scouting, "{day}{clock},{on},,{mildew},,");
            }
            _ => {
                let _ = writeln!(scouting, "{day}{clock},{on},,{mildew},{share} %,");
            }
        }
    }
    let mut sprays = "start,end,on,product,strength,corrects\n".to_string();
    for row in 0..4u64 {
        let day = date("2027-01-05") + chrono::Days::new(row * 9 + dice.below(8));
        let (hour, on) = (3 + dice.below(8), ["T1", "high", "low", "grove"][dice.below(4) as usize]);
        let (product, strength) =
            [("sulfur", "weak"), ("sulfur", "full"), ("copper", "full")][dice.below(3) as usize];
        let corrects = if row == 3 && dice.below(2) == 0 { "3" } else { "" };
        let _ =
            writeln!(sprays, "{day}T{hour:02}:10,{day}T{hour:02}:50,{on},{product},{strength},{corrects}");
    }
    let days = 42;
    let issued = ["2027-01-24T12:00", "2027-02-08T04:00", "2027-02-10T06:00"][dice.below(3) as usize];
    let gaps = dice.below(2) == 0;
    case(BOOK, &keys).scouting(scouting).sprays(sprays).weather(weather(&mut dice, days, gaps), issued)
}

fn open(case: &Case, as_of: &str, purpose: Purpose) -> OpenGrove {
    let opened = open_grove(&GroveRequest {
        store: &case.store(),
        grove: Path::new("grove.yaml"),
        by: None,
        library: None,
        as_of: Some(as_of),
        now: Utc::now(),
        purpose,
    });
    match opened {
        Ok(open) => open,
        Err(Unopened::Refusal(refusal)) => panic!("{}", refusal.message),
        Err(Unopened::Findings(problems, sources)) => panic!("{}", problems.plain(&sources)),
    }
}

type Replayed = (OpenGrove, Replay, Vec<usize>);

fn replayed(case: &Case, days: (&str, &str), at: &str, assume_sprayed: bool) -> Replayed {
    replayed_of(case, days, at, assume_sprayed, None)
}

fn replayed_of(
    case: &Case,
    days: (&str, &str),
    at: &str,
    assume_sprayed: bool,
    trees: Option<&[usize]>,
) -> Replayed {
    let open = open(case, &format!("{}T23:59", days.1), Purpose::Season);
    let all = || (0..open.grove.trees.len()).collect();
    let trees: Vec<usize> = trees.map_or_else(all, <[usize]>::to_vec);
    let wanted = ReplayWanted {
        days: (date(days.0), date(days.1)),
        at: at.parse::<NaiveTime>().unwrap(),
        assume_sprayed,
        trees: &trees,
        depth: Depth::Verdict,
    };
    let replay = replay(&open, &wanted, |_| {});
    (open, replay, trees)
}

/// What `advise` says of every tree at a moment: the verdict and the choices that lead to it.
fn advised(open: &OpenGrove) -> Vec<(String, Vec<u32>)> {
    let measures = open.weather_measures();
    let advice = Advisor::new(&open.plan, &open.grove, &measures, open.as_of).advise();
    let told = advice.trees.iter().map(|tree| {
        let decision = &advice.case_of(tree).unwrap().decision;
        let choices = decision.choices.iter().map(|choice| choice.0).collect();
        (format!("{:?}", decision.verdict), choices)
    });
    told.collect()
}

/// The replay shares much between trees and mornings; asking for each morning alone shares nothing.
#[test]
fn every_morning_says_what_advise_says_of_that_morning() {
    let (mut verdicts, mut mornings) = (std::collections::BTreeSet::new(), 0);
    for seed in 0..14 {
        let case = random_case(seed);
        let at = ["05:00", "04:00", "23:30"][(seed % 3) as usize];
        let (_, replay, trees) = replayed(&case, ("2027-01-01", "2027-02-10"), at, false);
        assert_eq!(replay.days.len(), 41, "{seed}");
        for day in replay.days.iter().skip((seed % 4) as usize).step_by(4) {
            let moment = day.morning.format("%Y-%m-%dT%H:%M").to_string();
            let alone = open(&case, &moment, Purpose::Reading);
            let own: Vec<(String, Vec<u32>)> = trees
                .iter()
                .map(|tree| {
                    let group = day.decision(*tree).unwrap();
                    let choices = group.choices.iter().map(|choice| choice.0).collect();
                    (format!("{:?}", group.verdict), choices)
                })
                .collect();
            assert_eq!(own, advised(&alone), "seed {seed}, {moment}");
            verdicts.extend(own.into_iter().map(|(verdict, _)| verdict));
            mornings += 1;
        }
    }
    // The groves are such that all of it comes up.
    assert!(mornings > 130, "{mornings}");
    for word in ["Spray([(ProductId(0)", "Spray([(ProductId(1)", "Hold", "AllShut", "Look"] {
        assert!(verdicts.iter().any(|verdict| verdict.starts_with(word)), "{word}: {verdicts:?}");
    }
}

/// A month without rain: damp to the twentieth, dry from then on; a tree with mildew, and one without.
fn plain_case(sprays: &str) -> Case {
    let mut hours = "time,temperature [°C],humidity [%],rain [mm]\n".to_string();
    for hour in 0..31 * 24 {
        let at = date("2027-01-01").and_hms_opt(0, 0, 0).unwrap() + chrono::Duration::hours(hour);
        let humidity = if hour < 20 * 24 { 95 } else { 60 };
        let _ = writeln!(hours, "{},22,{humidity},0", at.format("%Y-%m-%dT%H:%M"));
    }
    let trees = "trees:\n  - { tree: A1 }\n  - { tree: A2 }\n";
    let scouting = "when,on,stage,mildew\n2027-01-10,A1,open,20 %\n2027-01-10,A2,open,0 %\n2027-01-20,A1,open,30 %\n2027-01-20,A2,open,5 %\n";
    case(BOOK, trees)
        .scouting(scouting)
        .measured(hours)
        .sprays(format!("start,end,on,product,strength\n{sprays}"))
}

/// The mornings on which a tree is to be sprayed.
fn to_spray(replay: &Replay, tree: usize) -> Vec<u32> {
    use chrono::Datelike;
    let days = replay.days.iter().filter(|day| day.decision(tree).is_some_and(|it| it.verdict.is_spray()));
    days.map(|day| day.date().day()).collect()
}

#[test]
fn what_is_advised_and_what_is_done_are_held_against_each_other() {
    // Seen on the 10th, damp until the 21st: advised from the 10th on.
    let (_, replay, trees) = replayed(&plain_case(""), ("2027-01-08", "2027-01-30"), "05:00", false);
    assert_eq!(to_spray(&replay, 0), (10..=22).collect::<Vec<_>>());
    let (found, counts) = partings(&replay.days, &trees);
    let [missed] = &found[..] else { panic!("{found:?}") };
    assert_eq!((missed.kind, missed.days, &missed.trees[..]), (PartingKind::NotSprayed, (2, 14), &[0][..]));
    assert_eq!((counts.advised, counts.followed, counts.done), (1, 0, 0));

    // Sprayed as advised on the 11th: closed by its label for a week, then advised again and left.
    let log = "2027-01-11T05:30,2027-01-11T06:00,A1,sulfur,full\n";
    let (_, replay, trees) = replayed(&plain_case(log), ("2027-01-08", "2027-01-30"), "05:00", false);
    assert_eq!(to_spray(&replay, 0), [10, 11, 18, 19, 20, 21, 22]);
    let (found, counts) = partings(&replay.days, &trees);
    let [missed] = &found[..] else { panic!("{found:?}") };
    assert_eq!((missed.kind, missed.days), (PartingKind::NotSprayed, (10, 14)));
    assert_eq!((counts.advised, counts.followed, counts.done), (2, 1, 1));

    // Another product; a tree that asked for nothing; a spray before the morning is one of the day before.
    let log = "2027-01-11T04:30,2027-01-11T04:50,A1,copper,full\n2027-01-14T06:00,2027-01-14T06:30,A2,sulfur,weak\n";
    let (_, replay, trees) = replayed(&plain_case(log), ("2027-01-08", "2027-01-20"), "05:00", false);
    let (found, counts) = partings(&replay.days, &trees);
    let kinds: Vec<(PartingKind, (usize, usize), &[usize])> =
        found.iter().map(|it| (it.kind, it.days, &it.trees[..])).collect();
    assert_eq!(
        kinds,
        [
            (PartingKind::OtherProduct, (2, 2), &[0][..]),
            (PartingKind::StillOpen, (3, 12), &[0][..]),
            (PartingKind::NotAdvised, (6, 6), &[1][..]),
        ]
    );
    assert_eq!((counts.advised, counts.followed, counts.done), (2, 0, 2));
}

#[test]
fn advice_that_is_taken_as_followed_closes_and_covers() {
    let (open, replay, trees) = replayed(&plain_case(""), ("2027-01-08", "2027-01-30"), "05:00", true);
    // The label keeps sulfur off for seven days, copper is shut by open flowers.
    assert_eq!(to_spray(&replay, 0), [10, 17]);
    assert_eq!(replay.log.rows().len(), 2);
    assert!(replay.days.iter().flat_map(|day| &day.done).all(|tank| tank.assumed && tank.trees == [0]));
    let (found, counts) = partings(&replay.days, &trees);
    assert_eq!((found.len(), counts.advised, counts.followed, counts.done), (0, 2, 2, 2));
    assert!(open.grove.log.rows().is_empty());
}

/// Nobody's weather is mended: a morning whose hours are missing is blank, and counted.
#[test]
fn a_morning_without_weather_is_blank() {
    let mut case = plain_case("");
    let gone = |line: &&str| !line.starts_with("2027-01-14") && !line.starts_with("2027-01-15");
    case.weather =
        case.weather.map(|text| text.lines().filter(gone).map(|line| format!("{line}\n")).collect());
    // The other tree is decided without the weather: it has no mildew.
    let days = ("2027-01-10", "2027-01-20");
    let both = replayed(&case, days, "05:00", false).1;
    assert!(both.days.iter().all(|day| day.blank.is_none()));
    let waits =
        |day: &&bloomward::replay::ReplayedDay| day.groups.iter().any(|group| group.waits_for_weather);
    assert_eq!(both.days.iter().filter(waits).count(), 5);
    let replay = replayed_of(&case, days, "05:00", false, Some(&[0])).1;
    let blank: Vec<String> =
        replay.days.iter().filter(|day| day.blank.is_some()).map(|day| day.date().to_string()).collect();
    // On the thirteenth it is the rain ahead that is not known.
    assert_eq!(blank, ["2027-01-13", "2027-01-14", "2027-01-15", "2027-01-16", "2027-01-17"]);
    let missing = replay.days.iter().find(|day| day.date() == date("2027-01-14")).unwrap();
    assert_eq!((missing.air.hours, missing.air.temperature), ((0, 24), None));
}

/// Writes a case into a folder, as a grower has it.
fn written(name: &str, case: &Case) -> PathBuf {
    let folder = folder(name);
    let files = [
        ("test.rulebook", Some(&case.book)),
        ("grove.yaml", Some(&case.grove)),
        ("weather.csv", case.weather.as_ref()),
        ("scouting.csv", case.scouting.as_ref()),
        ("sprays.csv", case.sprays.as_ref()),
    ];
    for (file, text) in files {
        if let Some(text) = text {
            fs::write(folder.join(file), text).unwrap();
        }
    }
    folder
}

fn log() -> &'static str {
    "2027-01-11T05:30,2027-01-11T06:00,A1,sulfur,full\n2027-01-14T06:00,2027-01-14T06:30,A2,copper,full\n"
}

#[test]
fn the_page_has_a_calendar_and_what_differs() {
    let (open, replay, trees) = replayed(&plain_case(log()), ("2027-01-08", "2027-01-26"), "05:00", false);
    let at = NaiveTime::from_hms_opt(5, 0, 0).unwrap();
    let words = |language| Words { language, speech: Speech::Metric, plan: &open.plan };
    let page = |language| SeasonPage::new((&open, "my-grove"), &replay, words(language), &trees, (at, false));
    for (width, name) in [(80, "wide"), (40, "narrow")] {
        let text = season::text(&page(Language::English), width);
        assert!(text.lines().all(|line| line.chars().count() <= width), "{text}");
        insta::with_settings!({
            snapshot_path => "../snapshots/season", prepend_module_to_snapshot => false, omit_expression => true
        }, {
            insta::assert_snapshot!(name, text);
        });
    }
    let spanish = season::text(&page(Language::Spanish), 80);
    assert!(spanish.contains("DONDE EL CONSEJO Y EL REGISTRO DIFIEREN"), "{spanish}");
}

#[test]
fn programs_and_spreadsheets_read_the_same_season() {
    let grove = written("season_forms", &plain_case(log()));
    let asked = ["season", grove.to_str().unwrap(), "--from", "2027-01-08", "--to", "2027-01-26", "--format"];
    let (json, _) = ran(&[&asked[..], &["json"]].concat(), 0);
    let json: Value = serde_json::from_str(&json).unwrap();
    let schema: Value = serde_json::from_str(&ran(&["season", "--schema"], 0).0).unwrap();
    let wrong: Vec<String> =
        jsonschema::validator_for(&schema).unwrap().iter_errors(&json).map(|it| it.to_string()).collect();
    assert!(wrong.is_empty(), "{wrong:?}");
    assert_eq!(json["counts"]["mornings"], 19);
    let kinds: Vec<&Value> = json["partings"].as_array().unwrap().iter().map(|it| &it["kind"]).collect();
    assert_eq!(kinds, ["not-advised", "not-sprayed"]);
    let (csv, _) = ran(&[&asked[..], &["csv"]].concat(), 0);
    let mut reader = csv::Reader::from_reader(csv.as_bytes());
    let rows: Vec<csv::StringRecord> = reader.records().map(|row| row.unwrap()).collect();
    let decisions: usize =
        json["mornings"].as_array().unwrap().iter().map(|it| it["decisions"].as_array().unwrap().len()).sum();
    assert_eq!(rows.iter().filter(|row| &row[1] == "advised").count(), decisions);
    assert_eq!(rows.iter().filter(|row| &row[1] == "sprayed").count(), 2);
}

#[test]
fn the_page_for_a_browser_stands_alone() {
    let grove = written("season_html", &plain_case(log()));
    let asked =
        ["season", grove.to_str().unwrap(), "--from", "2027-01-08", "--to", "2027-01-26", "--format", "html"];
    let (page, _) = ran(&asked, 0);
    assert_eq!(page.matches("<details>").count(), 19);
    assert!(page.matches("<svg").count() >= 7);
    assert_eq!(page.matches("<svg").count(), page.matches("</svg>").count());
    for forbidden in ["<script", "http://", "https://", "src=", "NaN", "inf\""] {
        assert!(!page.contains(forbidden), "{forbidden}");
    }
    // A day opens to its reasons.
    assert!(page.contains("Mildew is there and the weather is right for it."), "{page}");
    let out = grove.join("season.html");
    ran(&[&asked[..], &["--out", out.to_str().unwrap()]].concat(), 0);
    assert_eq!(fs::read_to_string(out).unwrap(), page);
}

#[test]
fn what_cannot_be_asked_is_said() {
    let grove = written("season_refused", &plain_case(""));
    let grove = grove.to_str().unwrap();
    for (more, words) in [
        ("--at dawn", "write it as `05:00`"),
        ("--from 2027-03-01", "is later than"),
        ("--to yesterday", "write year, month and day"),
        ("--tree Z9", "Z9"),
        ("--as-of 2027-01-08T04:00 --from 2027-01-08", "write `--to`"),
    ] {
        let more: Vec<&str> = more.split(' ').collect();
        let (_, error) = ran(&[&["season", grove], &more[..]].concat(), 2);
        assert!(error.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{more:?}: {error}");
    }
}

/// The moment of a grove bounds what it can tell: later rows of the log are none of its season.
#[test]
fn a_season_ends_with_the_moment_of_its_grove() {
    let case = plain_case(log());
    let open = open(&case, "2027-01-12T04:00", Purpose::Season);
    let wanted = ReplayWanted {
        days: (date("2027-01-08"), date("2027-01-30")),
        at: NaiveTime::from_hms_opt(5, 0, 0).unwrap(),
        assume_sprayed: false,
        trees: &[0, 1],
        depth: Depth::Verdict,
    };
    let season = replay(&open, &wanted, |_| {});
    assert_eq!(season.days.len(), 4);
    assert!(
        season
            .days
            .iter()
            .map(|day| day.morning.with_timezone(&Utc))
            .all(|it: DateTime<Utc>| it < open.as_of)
    );
    assert_eq!(season.days.iter().flat_map(|day| &day.done).count(), 1);
}

/// Two guides over one season: what each would have sprayed, and where they first part.
#[test]
fn another_guide_is_held_against_the_groves_own() {
    let case = plain_case("");
    let grove = written("season_against", &case);
    let drier = grove.join("drier.rulebook");
    // The second flush of damp hours is never long enough for it: of 48 hours it wants more than there are.
    fs::write(
        &drier,
        case.book
            .replace("wet-hours at least 6 h", "wet-hours at least 49 h")
            .replace("wet-hours at least 14 h", "wet-hours at least 50 h"),
    )
    .unwrap();
    let (grove, drier) = (grove.to_str().unwrap(), drier.to_str().unwrap());
    let asked =
        ["season", grove, "--from", "2027-01-10", "--to", "2027-01-30", "--width", "100", "--against"];
    let (page, _) = ran(&[&asked[..], &[drier]].concat(), 0);
    let line = |begins: &str| {
        let line = page
            .lines()
            .map(str::trim)
            .find(|line| line.starts_with(begins))
            .unwrap_or_else(|| panic!("{begins}: {page}"));
        line.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    assert_eq!(line("sulfur: times advised"), "sulfur: times advised 2 0");
    assert_eq!(line("mornings a spray is wanted"), "mornings a spray is wanted 13 0");
    assert_eq!(line("of these, none allowed"), "of these, none allowed 11 0");
    assert!(line("On ").contains("10 Jan 2027") || line("On ").contains("Jan 10, 2027"), "{page}");
    assert!(page.contains("Mildew is there and the weather is right for it."), "{page}");
    assert!(page.contains("Nothing to fight yet."), "{page}");
    let own = format!("{grove}/test.rulebook");
    let (same, _) = ran(&[&asked[..], &[own.as_str()]].concat(), 0);
    assert!(same.contains("They say the same of every tree on every morning."), "{same}");
    let (_, error) = ran(&[&asked[..], &[drier, "--format", "json"]].concat(), 2);
    assert!(error.contains("--format html"), "{error}");
    ran(&[&asked[..], &["nowhere.rulebook"]].concat(), 2);
}
