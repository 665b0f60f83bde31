//! The grower's week, typed as a grower types it: set up, look, decide, plan the day, mix.

use crate::cli::{folder, ran, top};
use crate::start::{ANSWERS, typed};
use serde_json::Value;
use std::fs;
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};

const BOOK: &str = r#"rulebook "A week"
  caution "For tests only."
observe mildew "mildew"
  kind share
product sulfur
  strength plain 4 g/L
  cites common-practice
choice fight
  advise sulfur at plain
  if mildew at least 10 %
  cites common-practice
choice wait
  advise hold
  if mildew below 10 %
  cites common-practice
"#;
const MORNING: &str = "2027-02-11T05:30";

/// Runs `start` with what is typed, and returns its results, its questions and its status.
fn start(grove: &Path, typed: &str, arguments: &[&str]) -> (String, String, Option<i32>) {
    let mut command = Command::new(env!("CARGO_BIN_EXE_bloomward"));
    command.arg("start").arg(grove).args(arguments).current_dir(top());
    command.stdin(Stdio::piped()).stdout(Stdio::piped()).stderr(Stdio::piped());
    let mut child = command.spawn().unwrap();
    // Where the command ends before it reads, what is typed goes nowhere.
    let _ = child.stdin.take().unwrap().write_all(typed.as_bytes());
    let output = child.wait_with_output().unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

fn book(test: &str) -> (PathBuf, String) {
    let folder = folder(test);
    let book = folder.join("week.rulebook");
    fs::write(&book, BOOK).unwrap();
    (folder.join("grove"), book.to_str().unwrap().to_string())
}

#[track_caller]
fn json(command: &str, grove: &Path, more: &[&str]) -> Value {
    let all = [&[command, grove.to_str().unwrap(), "--as-of", MORNING, "--format", "json"], more].concat();
    serde_json::from_str(&ran(&all, 0).0).unwrap()
}

#[test]
fn a_week_from_the_first_question_to_the_tank() {
    let (grove, book) = book("a_week_from_the_first_question");
    let shown = grove.to_str().unwrap();

    // Set up, stopped in the middle of the rows, and gone on with.
    let (out, asked, status) = start(
        &grove,
        &format!(
            "Cerro Verde\n{book}\nus\n18.05, -66.50, 120 m\nAmerica/Puerto_Rico\n24 ft x 20 ft\nA 5 Kent\n"
        ),
        &[],
    );
    assert_eq!(status, Some(1), "{asked}");
    assert!(out.contains("`row` is next"), "{out}");
    assert!(!grove.join("grove.yaml").exists());
    let rest = "A 5 Kent\nB 3 Haden\n\nhandgun, tank 5 gal, 1.5 gal per tree, pace 25 gal/h\n2027-06-20\n\nno\n\n\
                wettable sulfur\ndemo-0002\npowder\n80 %\n24 h\n1 d\n\n\n\n\n";
    let (out, asked, status) = start(&grove, rest, &[]);
    assert_eq!(status, Some(0), "{asked}");
    assert!(asked.contains("the row `A` is given twice"), "{asked}");
    assert!(out.contains("8 trees in 2 rows"), "{out}");
    assert!(out.contains("A01–A05") && out.contains("5 Kent"), "{out}");
    assert!(out.contains("B01–B03") && out.contains("3 Haden"), "{out}");

    // Look: nothing was seen, so everything is asked of every tree.
    let stops = json("ask", &grove, &[]);
    assert!(stops.to_string().contains("mildew"), "{stops}");
    let (sheet, _) = ran(&["ask", shown, "--as-of", MORNING, "--sheet", "--width", "80"], 0);
    assert!(["A01", "A05", "B01", "B03"].iter().all(|tree| sheet.contains(tree)), "{sheet}");

    // Write down what was seen, as one types on a phone.
    let (said, _) =
        ran(&["scouted", shown, "--as-of", MORNING, "--who", "M", "a1-5 mildew 40", "b1-3 mildew 2"], 0);
    assert!(
        said.contains("A01–A05 (5 trees): mildew 40 %") && said.contains("B01–B03 (3 trees): mildew 2 %"),
        "{said}"
    );
    let table = fs::read_to_string(grove.join("scouting.csv")).unwrap();
    assert_eq!(table, "when,who,on,mildew,rain\n2027-02-11,M,A01-A05,40 %,\n2027-02-11,M,B01-B03,2 %,\n");
    assert!(!json("ask", &grove, &[]).to_string().contains("\"mildew\""));

    // Decide.
    let advice = json("advise", &grove, &[]);
    let verdicts: Vec<&str> =
        advice["trees"].as_array().unwrap().iter().map(|tree| tree["verdict"].as_str().unwrap()).collect();
    assert_eq!(verdicts, ["spray", "spray", "spray", "spray", "spray", "hold", "hold", "hold"]);

    // Plan: five trees of 1.5 gal are 7.5 gal: a full tank of 5 gal and a last one of 2.5 gal.
    let (page, _) = ran(&["sprayday", shown, "--as-of", MORNING], 0);
    assert!(page.contains("7.5 gal") && page.contains("2.5 gal"), "{page}");
    let kept: Vec<_> = fs::read_dir(grove.join("sheets")).unwrap().map(|it| it.unwrap().path()).collect();
    assert_eq!(kept.len(), 1, "{kept:?}");
    let sheet = fs::read_to_string(&kept[0]).unwrap();
    assert!(sheet.contains("A05") && !sheet.contains("B01"), "{sheet}");

    // Mix: 4 g/L of 2.5 gal (9.464 L, one US gallon being 231 cubic inches) are 37.8 g, never rounded up.
    let mix = json_of_mix(&grove);
    assert!(mix.contains("37.8 g"), "{mix}");
    assert!(page.contains("37.8 g"), "{page}");

    // Spray, all but one tree: 4 of 5 trees are 6 gal; 4 g/L of them (22.712 L) are 90.8 g, 3.20 oz.
    let evening = "2027-02-11T20:00";
    let sprayed = ["sprayed", shown, "--as-of", evening, "--sheet", "1", "--except", "A03"];
    let times = ["--start", "18:30", "--end", "19:00", "--operator", "M"];
    let (said, _) = ran(&[&sprayed[..], &times[..]].concat(), 0);
    assert!(said.contains("4 trees: A01, A02, A04, A05") && said.contains("6 gal"), "{said}");
    // The label's 24 h count from the end of the spray.
    assert!(said.contains("until Fri, Feb 12, 2027, 7:00 pm"), "{said}");
    let (record, _) = ran(&["records", shown, "--as-of", evening], 0);
    for words in ["3.20 oz", "Re-entry from Fri, Feb 12, 2027, 7:00 pm (REI)", "4 trees: A03, B01–B03"] {
        assert!(record.contains(words), "{words}\n{record}");
    }

    // Once it is there, nothing asks again and nothing is overwritten.
    let yaml = fs::read_to_string(grove.join("grove.yaml")).unwrap();
    let (out, _, status) = start(&grove, "", &["--answer", "grove: Another"]);
    assert_eq!(status, Some(0));
    let flat = out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("nothing is overwritten"), "{out}");
    assert_eq!(fs::read_to_string(grove.join("grove.yaml")).unwrap(), yaml);
}

fn json_of_mix(grove: &Path) -> String {
    ran(&["mix", grove.to_str().unwrap(), "sulfur", "plain", "2.5 gal"], 0).0
}

#[test]
fn answers_of_a_file_that_will_not_do_are_told_in_one_run_and_none_is_kept() {
    let (grove, book) = book("answers_of_a_file");
    let file = grove.with_file_name("answers.txt");
    fs::write(
        &file,
        format!("guide: {book}\nrows: A 5 Kent\nunits: miles\nplace: here\nrow: A Kent\nsulfur form: paste\nsprayer: tank 5\n"),
    )
    .unwrap();
    let (_, told, status) = start(&grove, "", &["--from", file.to_str().unwrap()]);
    assert_eq!(status, Some(2), "{told}");
    assert!(told.contains("did you mean `row`?"), "{told}");
    for line in 2..=7 {
        assert!(told.contains(&format!("answers.txt:{line}:")), "{line}\n{told}");
    }
    assert!(!grove.exists());
}

#[test]
fn a_guide_that_comes_along_is_copied_and_a_broken_setup_is_gone_on_with() {
    let (grove, _) = book("a_guide_that_comes_along");
    let answers =
        ["grove: G", "guide: humid-lowland", "place: 18.05, -66.5", "timezone: America/Puerto_Rico"];
    let mut arguments: Vec<&str> = answers.iter().flat_map(|answer| ["--answer", answer]).collect();
    arguments.extend(["--answer", "row: A 2 Kent"]);
    // As a run leaves it that was ended between its files, in the middle of an answer.
    let whole = top().join("rulebooks/humid-lowland.rulebook");
    fs::create_dir_all(grove.join("rulebooks")).unwrap();
    fs::copy(whole, grove.join("rulebooks/humid-lowland.rulebook")).unwrap();
    fs::write(grove.join("start.txt"), "grove: Kept\nguide: humid-low").unwrap();
    let (out, told, status) = start(&grove, "", &arguments);
    assert_eq!(status, Some(0), "{told}");
    assert!(out.contains("Kept: 2 trees in 1 row,"), "{out}");
    ran(&["advise", "--long", grove.to_str().unwrap(), "--as-of", MORNING], 0);
}

#[track_caller]
fn json_of(arguments: &[&str]) -> Value {
    serde_json::from_str(&ran(&[arguments, &["--format", "json"]].concat(), 0).0).unwrap()
}

/// A month of weather before the moment of the week and two days after it: mild days, damp nights, no rain.
fn weather(grove: &Path) {
    let mut csv = String::from("time,temperature [°C],humidity [%],rain [mm],wind [mph]\n");
    let days = (10..=31).map(|day| (1, day)).chain((1..=13).map(|day| (2, day)));
    for (month, day) in days {
        for hour in 0..24 {
            let (heat, damp) = if (8..18).contains(&hour) { (26, 60) } else { (17, 88) };
            csv += &format!("2027-{month:02}-{day:02}T{hour:02}:00,{heat},{damp},0,4\n");
        }
    }
    fs::write(grove.join("weather.csv"), csv).unwrap();
    let file = grove.join("grove.yaml");
    let yaml = fs::read_to_string(&file).unwrap();
    let line = "weather: { file: weather.csv, forecast-issued: 2027-02-11T04:00 }\nas-of: 2027-02-11T05:00\n";
    fs::write(file, yaml.replace("scouting: scouting.csv\n", &format!("{line}scouting: scouting.csv\n")))
        .unwrap();
}

#[test]
fn a_week_under_the_lowland_guide_with_weather() {
    let folder = folder("week").join("grove");
    let grove = folder.to_str().unwrap();

    // Monday: set it up.
    let made = typed(&folder, ANSWERS);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    weather(&folder);

    // What is to be looked at: nothing was seen, so every tree waits.
    let asked = json_of(&["ask", grove]);
    let waiting: usize =
        asked["stops"].as_array().unwrap().iter().map(|stop| stop["trees"].as_array().unwrap().len()).sum();
    assert_eq!(waiting, 27);
    let (sheet, _) = ran(&["ask", grove, "--sheet"], 0);
    assert!(sheet.contains("SCOUTING SHEET") && sheet.contains("B12"), "{sheet}");

    // Thursday at first light: look, with short notes.
    let notes = [
        "grove low-spot no spotted-leaves 0/20 dead-wood no fruit-touching no",
        "a1-15 full-bloom open 80 set 0 mildew 4/20 blight 0/20",
        "b1-12 dormant mildew 0/20 blight 0/20",
    ];
    let (said, _) = ran(&[&["scouted", grove], &notes[..]].concat(), 0);
    for words in ["A01–A15 (15 trees): stage full bloom", "open flowers 80 %", "panicles with mildew 4 of 20"]
    {
        assert!(said.split_whitespace().collect::<Vec<_>>().join(" ").contains(words), "{words}\n{said}");
    }
    assert_eq!(json_of(&["ask", grove])["stops"].as_array().unwrap().len(), 0);

    // Thursday: decide.
    let advice = json_of(&["advise", grove]);
    let sprays = |row: &str| -> Vec<String> {
        let trees = advice["trees"].as_array().unwrap().iter();
        let of_row = trees.filter(|tree| tree["tree"].as_str().unwrap().starts_with(row));
        of_row.map(|tree| tree["spray"].to_string()).collect()
    };
    // In bloom with mildew and in dry weather: sulfur, the weaker mix. Dormant: the stronger mix of copper.
    let dose = |product: &str, strength: &str| {
        serde_json::json!([{ "product": product, "strength": strength }]).to_string()
    };
    assert_eq!(sprays("A"), vec![dose("sulfur", "reduced"); 15]);
    assert_eq!(sprays("B"), vec![dose("copper", "full"); 12]);

    // Plan the day: two rounds, whose sheets are kept.
    let day = json_of(&["sprayday", grove]);
    let sheets = day["sheets"].as_array().unwrap();
    let numbers: Vec<&Value> = sheets.iter().map(|sheet| &sheet["number"]).collect();
    assert_eq!(numbers, [1, 2]);
    let sheet = sheets.iter().find(|sheet| sheet["product"] == "sulfur").unwrap();
    assert_eq!(sheet["volume"], "22.5 gal");
    let file = folder.join(format!("sheets/{}.yaml", sheet["number"]));
    let kept = fs::read_to_string(file).unwrap();
    assert!(kept.contains("product: \"sulfur\"") && kept.contains("A15") && !kept.contains("B01"), "{kept}");
    let (page, _) = ran(&["sprayday", grove, "--language", "es", "--format", "html"], 0);
    assert!(page.contains("HOJA DE APLICACIÓN 1"));

    // Mix: what the sheet says of a load is what `mix` says of the same volume.
    let mix = json_of(&["mix", grove, "sulfur", "reduced", "22.5 gal"]);
    assert_eq!(mix["shown"], sheet["loads"][0]["amounts"][0]["shown"]);

    // Spray and write down, two trees of the sulfur left out: 13 of 15 trees are 19.5 gal.
    let evening = "2027-02-11T22:00";
    let by_sheet = |sheet: &str, more: &[&str]| {
        let sprayed = ["sprayed", grove, "--as-of", evening, "--sheet", sheet, "--operator", "M. Tester"];
        ran(&[&sprayed[..], more].concat(), 0).0
    };
    let said = by_sheet("1", &["--except", "A03,A07", "--start", "19:00", "--end", "19:50"]);
    assert!(said.contains("13 trees: A01, A02, A04–A06, A08–A15") && said.contains("19.5 gal"), "{said}");
    let said = by_sheet("2", &["--start", "20:00", "--end", "20:45"]);
    // 1200 ppm of 18 gal (68.137 L) are 81.76 g of copper, 0.18026 lb, on 12 trees of 24 ft by 20 ft, 0.13223 ac.
    let flat = said.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(flat.contains("1.36 lb / ac copper of 18 lb / ac"), "{said}");
    assert!(flat.contains("this is spray 1 of 6"), "{said}");
    let (page, _) = ran(&["records", grove, "--as-of", evening], 0);
    // 2 g/L of 19.5 gal (73.816 L) are 147.63 g, 5.21 oz; of copper powder at 50 % twice the copper, 163.5 g, 5.77 oz. And 80 %
    // of 5.21 oz on 13 trees, 6240 square feet, 0.14325 ac, are 1.82 lb an acre.
    for words in ["5.21 oz", "5.77 oz", "sulfur 1.82 lb/ac", "copper 1.36 lb/ac", "2 trees: A03, A07"] {
        assert!(page.contains(words), "{words}\n{page}");
    }
    // At the moment that the grove names both are still to come, and that is said.
    let (page, told) = ran(&["records", grove], 0);
    assert!(page.contains("Rows          0"), "{page}");
    assert!(
        told.split_whitespace().collect::<Vec<_>>().join(" ").contains("this spray and 1 more begin after"),
        "{told}"
    );
    // The next morning the sprays are in the way of sprays.
    let after = json_of(&["advise", grove, "--as-of", "2027-02-12T05:00"]);
    let trees = after["trees"].as_array().unwrap();
    let of = |name: &str| trees.iter().find(|tree| tree["tree"] == name).unwrap();
    let sulfur_label = |tree: &Value| {
        let shut = tree["shut"].as_array().unwrap();
        shut.iter().any(|it| it["product"] == "sulfur" && it["by"].as_str().unwrap().contains("interval"))
    };
    assert!(sulfur_label(of("A01")) && !sulfur_label(of("A03")), "{}", of("A01"));
}
